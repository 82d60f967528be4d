/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/chest_levels.h - how low and how high the counts of chests went that something
 * bounds or that a gate reads: of chests as a whole and of single items. They are looked at when
 * samples are taken, so what comes and goes between two samples is not seen. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "sim/bytes.h"

struct chest_level {
    uint32_t chest;
    uint32_t item;           /* NO_INDEX: all items together */
    uint32_t stock;          /* its number in a world: world_chest_stock() */
    bool is_gated;           /* a gate reads it */
    int64_t lowest, highest; /* NOT_GIVEN: not looked at yet */
};

struct chest_levels {
    const struct scenario *scenario; /* borrowed */
    struct chest_level *level;       /* by chest, then by item; all items together last */
    uint32_t count;
};

/* One for each capacity, each limit and each count of a chest that a gate reads. `world` is any of
 * the scenario. Freed with chest_levels_free. */
void chest_levels_init(struct chest_levels *levels, const struct scenario *scenario,
                       const struct world *world);
void chest_levels_free(struct chest_levels *levels);

/* Looks at a world of the scenario, between ticks. */
void chest_levels_look(struct chest_levels *levels, const struct world *world);
/* Forgets what was seen: the warm-up is over. */
void chest_levels_forget(struct chest_levels *levels);

/* What bounds a level from above: a capacity or limit; NO_LIMIT: nothing. */
int64_t chest_levels_bound(const struct chest_levels *levels, uint32_t index);

/* Adds what was seen to `bytes`; takes that back. False: it does not fit. */
void chest_levels_save(const struct chest_levels *levels, struct bytes *bytes);
bool chest_levels_restore(struct chest_levels *levels, struct bytes_reader *reader);
