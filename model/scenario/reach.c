/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/reach.c - a breadth-first search over pairs of place and item. Arms whose items
 * are written out are found by such a pair; those that carry whatever fits, by the place alone. */
#include "model/scenario/reach.h"

#include <stdlib.h>

#include "sim/require.h"

static uint64_t pair_of(uint32_t place, uint32_t item) { return (uint64_t)place << 32 | item; }

/* ---- arms ---- */

static int compare_edges(const void *left, const void *right) {
    const struct reach_edge *a = left, *b = right;
    if (a->pair != b->pair)
        return a->pair > b->pair ? 1 : -1;
    return (a->arm > b->arm) - (a->arm < b->arm);
}

static void list_edges(struct reach *reach) {
    const struct scenario *scenario = reach->scenario;
    size_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        count += scenario->arm[i].takes_what_fits ? 0 : scenario->arm[i].item_count;
    reach->edge = require_memory(count, sizeof *reach->edge);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        uint32_t place = layout_source(scenario, arm->from);
        for (uint32_t k = 0; !arm->takes_what_fits && k < arm->item_count; k++)
            reach->edge[reach->edge_count++] = (struct reach_edge){pair_of(place, arm->item[k]), i};
    }
    qsort(reach->edge, reach->edge_count, sizeof *reach->edge, compare_edges);
}

/* The first edge of a pair, or where it would stand. */
static uint32_t first_edge(const struct reach *reach, uint64_t pair) {
    uint32_t low = 0, high = reach->edge_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (reach->edge[middle].pair < pair)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* ---- the search ---- */

static void add_sources(struct reach *reach) {
    const struct scenario *scenario = reach->scenario;
    struct pairs *reached = &reach->reached;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t k = 0; k < scenario->chest[i].start.count; k++)
            if (scenario->chest[i].start.entry[k].count > 0)
                pairs_add(reached, i, scenario->chest[i].start.entry[k].item, NO_INDEX);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        pairs_add(reached, scenario->supply[i].chest, scenario->supply[i].item, NO_INDEX);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t k = 0; k < scenario->station[i].makes_count; k++)
            pairs_add(reached, layout_output_place(scenario, i), scenario->station[i].makes[k].item,
                      NO_INDEX);
}

static void add_drops(struct reach *reach) {
    const struct scenario *scenario = reach->scenario;
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].kind == INCIDENT_DROP)
            pairs_add(&reach->reached, layout_target(scenario, scenario->incident[i].track),
                      scenario->incident[i].item, scenario->arm_count + i);
}

static void carry(struct reach *reach, uint32_t arm, uint32_t item) {
    reach->arm_used[arm] = true;
    pairs_add(&reach->reached, layout_target(reach->scenario, reach->scenario->arm[arm].to), item,
              arm);
}

void reach_add(struct reach *reach, uint32_t place, uint32_t item) {
    pairs_add(&reach->reached, place, item, NO_INDEX);
}

void reach_spread(struct reach *reach, uint64_t steps_most) {
    uint64_t steps = 0;
    for (uint32_t next = 0; next < reach->reached.count; next++) {
        uint64_t pair = reach->reached.pair[next];
        uint32_t place = (uint32_t)(pair >> 32), item = (uint32_t)pair;
        uint32_t edge = first_edge(reach, pair);
        for (; edge < reach->edge_count && reach->edge[edge].pair == pair; edge++, steps++)
            carry(reach, reach->edge[edge].arm, item);
        for (uint32_t i = reach->fitting.first[place]; i < reach->fitting.first[place + 1];
             i++, steps++)
            if (layout_may_carry(&reach->scenario->arm[reach->fitting.arm[i]], item))
                carry(reach, reach->fitting.arm[i], item);
        if (steps > steps_most)
            return;
    }
    reach->complete = true;
}

struct reach reach_begin(const struct scenario *scenario, enum reach_drops drops) {
    struct reach reach = {.scenario = scenario,
                          .fitting = layout_arms_by_source(scenario),
                          .arm_used = require_memory(scenario->arm_count, sizeof(bool))};
    layout_arms_keep_fitting(&reach.fitting, scenario);
    list_edges(&reach);
    add_sources(&reach);
    if (drops == REACH_WITH_DROPS)
        add_drops(&reach);
    return reach;
}

struct reach reach_of(const struct scenario *scenario, enum reach_drops drops,
                      uint64_t steps_most) {
    struct reach reach = reach_begin(scenario, drops);
    reach_spread(&reach, steps_most);
    return reach;
}

void reach_free(struct reach *reach) {
    free(reach->edge);
    layout_arms_free(&reach->fitting);
    free(reach->arm_used);
    pairs_free(&reach->reached);
}

/* ---- answers ---- */

bool reach_comes_to(const struct reach *reach, uint32_t place, uint32_t item) {
    return pairs_find(&reach->reached, place, item) != NO_INDEX;
}

bool reach_leaves(const struct reach *reach, uint32_t place, uint32_t item) {
    uint64_t pair = pair_of(place, item);
    uint32_t edge = first_edge(reach, pair);
    if (edge < reach->edge_count && reach->edge[edge].pair == pair)
        return true;
    for (uint32_t i = reach->fitting.first[place]; i < reach->fitting.first[place + 1]; i++)
        if (layout_may_carry(&reach->scenario->arm[reach->fitting.arm[i]], item))
            return true;
    return false;
}

bool reach_has_taker(const struct reach *reach, uint32_t place) {
    uint32_t edge = first_edge(reach, pair_of(place, 0));
    return reach->fitting.first[place] < reach->fitting.first[place + 1] ||
           (edge < reach->edge_count && reach->edge[edge].pair >> 32 == place);
}
