/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/drain/drain_flood.h - a heap on lanes at the first tick, in random order and with random
 * gaps. It falls where it can lie: of all kinds, on lanes on which arms place any; of an item, on
 * lanes to which arms bring it, or on the one that is named.
 *
 * A drop fills the first free cells. So cells that should stay free are filled too, with an item
 * that the scenario gets only for this, and which is cleared in the same tick, before anything
 * can pick it. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"
#include "tools/base/scenario_edit.h"

/* A heap at tick 0 on every lane where it can lie, or on one. */
struct drain_flood {
    bool wanted;
    uint32_t lane;      /* on which it falls; NO_INDEX: on all where it can lie */
    uint32_t item;      /* NO_INDEX: all kinds that arms can place on the lane, equally */
    int64_t count;      /* of the item, on each lane */
    struct ratio share; /* of each lane's cells, when item is NO_INDEX */
    bool *falls_on;     /* [lane]: those on which it falls */
};

/* Reads what --flood says, [LANE:]ITEM=N or [LANE:]SHARE, and finds where it falls. False: it is
 * none, or nothing of it can lie anywhere; *wrong then says why. */
bool drain_flood_read(const char *text, const struct scenario *scenario, struct drain_flood *flood,
                      const char **wrong);
/* The same of a flood of all kinds on all lanes, whose share is still open. */
void drain_flood_init(struct drain_flood *flood, const struct scenario *scenario);
void drain_flood_free(struct drain_flood *flood);

/* Adds the flood for a run with this seed. Returns how many items it is, on all lanes together. */
int64_t drain_flood_add(const struct drain_flood *flood, uint64_t seed,
                        struct scenario_edit *additions);

/* The most of its item that fits on one of the lanes on which it falls. */
int64_t drain_flood_most(const struct drain_flood *flood, const struct scenario *scenario);
