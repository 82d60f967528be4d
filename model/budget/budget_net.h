/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_net.h - which item can be at which place, and who carries it. Private to this
 * room.
 *
 * Places are numbered as in layout.h. Of all pairs of a place and an item only those count to which
 * the item may come (see reach.h), or where it is demanded or taken by a station; they are numbered
 * by place, then by item. An arm and an item that may come to where it takes are an entry; those of
 * arm a begin at first_entry[a], in the order in which it names its items. Of each item its
 * carriers are listed: the arms that have an entry with it, in declared order. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/budget/budget_group.h"
#include "model/scenario/layout.h"

struct budget_net {
    const struct scenario *scenario; /* borrowed */

    uint32_t place_count, pair_count;
    uint32_t *first_pair;     /* [place] where its pairs begin; one more for the end */
    uint32_t *pair_place;     /* [pair] */
    uint32_t *pair_item;      /* [pair] */
    bool *reachable;          /* [pair] may ever be there, from starts and drops too */
    bool *reachable_long_run; /* [pair] the same, but in the long run */
    bool *unlimited;          /* [pair] of a chest: there is always more of it */
    double *supply;           /* [pair] of a chest: what supplies deliver a second while they do */
    double *demand;           /* [pair] of a chest: what demands take a second while they do */
    struct budget_groups by_item; /* pairs by item, in the order of places */

    uint32_t *first_entry; /* [arm]; one more for the end */
    uint32_t entry_capacity;
    uint32_t *entry_item;  /* [entry] */
    uint32_t *source_pair; /* [entry] the item where the arm takes */
    uint32_t *target_pair; /* [entry] the item where the arm puts */

    uint32_t *first_carrier; /* [item] where its carriers begin; one more for the end */
    uint32_t *carrier;       /* [carrier] arm */
    uint32_t *carrier_entry; /* [carrier] entry of that arm and the item */

    struct layout_arms by_source, by_target;
};

/* What begins nowhere, as a scenario is written, where an arm comes to fetch it. */
enum net_fetched {
    NET_FETCHED_WITHOUT_END, /* somebody is yet to bring it */
    NET_FETCHED_NEVER_COMES  /* the same only where nothing begins anywhere: a sketch */
};

/* Never NULL. The scenario must outlive it. Freed with budget_net_free. */
struct budget_net *budget_net_new(const struct scenario *scenario, enum net_fetched fetched);
void budget_net_free(struct budget_net *net);

/* The pair of a place and an item; NO_INDEX: nothing names it. */
uint32_t budget_place_item_index(const struct budget_net *net, uint32_t place, uint32_t item);
/* The entry of an arm and an item; NO_INDEX: it never has that item to carry. */
uint32_t budget_arm_item_index(const struct budget_net *net, uint32_t arm, uint32_t item);

/* Whether an item may ever be at a place; and in the long run. */
bool budget_is_reachable(const struct budget_net *net, uint32_t place, uint32_t item);
bool budget_is_reachable_long_run(const struct budget_net *net, uint32_t place, uint32_t item);

/* Whether the arm of an entry may ever carry the item. */
static inline bool budget_carries(const struct budget_net *net, uint32_t entry) {
    return net->reachable[net->source_pair[entry]];
}
/* Whether the arm of a carrier may put its item onto a lane: it feeds the lane. */
bool budget_feeds(const struct budget_net *net, uint32_t carrier, uint32_t lane);
/* Whether the arm of a carrier may take its item off a lane. */
bool budget_takes_off(const struct budget_net *net, uint32_t carrier, uint32_t lane);
/* Whether an item may ever be on a lane. */
bool budget_rides(const struct budget_net *net, uint32_t lane, uint32_t item);
