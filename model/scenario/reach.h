/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/reach.h - which item can ever come to which place, as a scenario is written.
 *
 * Items begin where chests hold them at the start, where supplies deliver them, where stations make
 * them and, if asked for, where incidents drop them; arms carry them on. This is the least fixed
 * point: counts, times, gates, limits and chances are not looked at, and a station is taken to
 * work. An arm that may carry everything has in reach what it will ever find. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/layout.h"
#include "model/scenario/pairs.h"
#include "model/scenario/scenario.h"

/* An arm that may take one item out of one place. */
struct reach_edge {
    uint64_t pair; /* place << 32 | item */
    uint32_t arm;
};

struct reach {
    const struct scenario *scenario; /* borrowed */
    struct reach_edge *edge;         /* of arms whose items are written out, by pair, then by arm */
    uint32_t edge_count;
    struct layout_arms fitting; /* arms that carry whatever fits, by source */
    struct pairs reached; /* place and item, as they are found; the value says what brought it:
                             an arm's index; the number of arms plus the index of the incident that
                             drops it; NO_INDEX: it was there, was delivered or made */
    bool *arm_used;       /* [arm] it finds something */
    bool complete;        /* false: given up */
};

enum reach_drops { REACH_WITHOUT_DROPS, REACH_WITH_DROPS };
#define REACH_NO_STEPS_LIMIT UINT64_MAX

/* Works it out; gives up after `steps_most` looks at an arm and an item (REACH_NO_STEPS_LIMIT:
 * never). The scenario must outlive it. Freed with reach_free. */
struct reach reach_of(const struct scenario *scenario, enum reach_drops drops, uint64_t steps_most);
void reach_free(struct reach *reach);

/* The same step by step: the items where they begin; one more of them; the search. */
struct reach reach_begin(const struct scenario *scenario, enum reach_drops drops);
void reach_add(struct reach *reach, uint32_t place, uint32_t item);
void reach_spread(struct reach *reach, uint64_t steps_most);

/* True when the item can come to a place, numbered as in layout.h. */
bool reach_comes_to(const struct reach *reach, uint32_t place, uint32_t item);
/* True when some arm may take the item out of the place. */
bool reach_leaves(const struct reach *reach, uint32_t place, uint32_t item);
/* True when some arm takes anything from the place. */
bool reach_has_taker(const struct reach *reach, uint32_t place);
