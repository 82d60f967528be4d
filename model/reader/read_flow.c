/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_flow.c - spreads items from place to place until nothing new is reached. */
#include "model/reader/read_flow.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

static uint64_t pair_of(uint32_t place, uint32_t item) { return (uint64_t)place << 32 | item; }

/* ---- places and arms ---- */
uint32_t read_flow_place(const struct scenario *scenario, struct place place, enum flow_side side) {
    uint32_t lanes = scenario->chest_count, lines = lanes + scenario->lane_count;
    uint32_t outputs = lines + scenario->line_count, inputs = outputs + scenario->station_count;
    switch (place.kind) {
    case PLACE_CHEST: return place.index;
    case PLACE_LANE: return lanes + place.index;
    case PLACE_LINE: return lines + place.index;
    case PLACE_STATION: return (side == FLOW_FROM ? outputs : inputs) + place.index;
    }
    require(false);
    return 0;
}

static bool may_carry_all(const struct reading *reading, uint32_t arm) {
    return reading->items_by_default[arm] && reading->scenario->arm[arm].to.kind != PLACE_STATION;
}

static int compare_edges(const void *left, const void *right) {
    const struct flow_edge *a = left, *b = right;
    if (a->pair != b->pair)
        return a->pair > b->pair ? 1 : -1;
    return (a->arm > b->arm) - (a->arm < b->arm);
}

static void make_edges(const struct reading *reading, struct flow *flow) {
    const struct scenario *scenario = reading->scenario;
    size_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        count += may_carry_all(reading, i) ? 0 : scenario->arm[i].item_count;
    flow->edge = require_memory(count, sizeof *flow->edge);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        uint32_t place = read_flow_place(scenario, arm->from, FLOW_FROM);
        for (uint32_t k = 0; !may_carry_all(reading, i) && k < arm->item_count; k++)
            flow->edge[flow->edge_count++] = (struct flow_edge){pair_of(place, arm->item[k]), i};
    }
    qsort(flow->edge, flow->edge_count, sizeof *flow->edge, compare_edges);
}

/* Sorts the arms that carry all items by their sources, by counting. */
static void sort_all_arms(const struct reading *reading, struct flow *flow) {
    const struct scenario *scenario = reading->scenario;
    flow->all_first = require_memory((size_t)flow->place_count + 2, sizeof *flow->all_first);
    flow->all_arm = require_memory(scenario->arm_count, sizeof *flow->all_arm);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (may_carry_all(reading, i))
            flow->all_first[read_flow_place(scenario, scenario->arm[i].from, FLOW_FROM) + 2]++;
    for (uint32_t place = 2; place < flow->place_count + 2; place++)
        flow->all_first[place] += flow->all_first[place - 1];
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (may_carry_all(reading, i)) {
            uint32_t place = read_flow_place(scenario, scenario->arm[i].from, FLOW_FROM);
            flow->all_arm[flow->all_first[place + 1]++] = i;
        }
}

/* The first edge of a pair, or where it would stand. */
static uint32_t first_edge(const struct flow *flow, uint64_t pair) {
    uint32_t low = 0, high = flow->edge_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (flow->edge[middle].pair < pair)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Items of a default list stand in the scenario's order. */
static bool list_has(const struct scenario_arm *arm, uint32_t item) {
    uint32_t low = 0, high = arm->item_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (arm->item[middle] < item)
            low = middle + 1;
        else
            high = middle;
    }
    return low < arm->item_count && arm->item[low] == item;
}

/* ---- spreading ---- */
enum { STEPS_MAX = 50000000 };

static void seed(struct flow *flow) {
    const struct scenario *scenario = flow->scenario;
    struct pairs *reached = &flow->reached;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t k = 0; k < scenario->chest[i].start.count; k++)
            if (scenario->chest[i].start.entry[k].count > 0)
                pairs_add(reached, i, scenario->chest[i].start.entry[k].item, NO_INDEX);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        pairs_add(reached, scenario->supply[i].chest, scenario->supply[i].item, NO_INDEX);
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        uint32_t place = read_flow_place(scenario, (struct place){PLACE_STATION, i, 0}, FLOW_FROM);
        for (uint32_t k = 0; k < scenario->station[i].makes_count; k++)
            pairs_add(reached, place, scenario->station[i].makes[k].item, NO_INDEX);
    }
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].kind == INCIDENT_DROP)
            pairs_add(reached, read_flow_place(scenario, scenario->incident[i].track, FLOW_TO),
                      scenario->incident[i].item, scenario->arm_count + i);
}

static void carry(struct flow *flow, uint32_t arm, uint32_t item) {
    flow->arm_used[arm] = true;
    uint32_t place = read_flow_place(flow->scenario, flow->scenario->arm[arm].to, FLOW_TO);
    pairs_add(&flow->reached, place, item, arm);
}

static void spread(struct flow *flow) {
    uint64_t steps = 0;
    for (uint32_t next = 0; next < flow->reached.count; next++) {
        uint64_t pair = flow->reached.pair[next];
        uint32_t place = (uint32_t)(pair >> 32), item = (uint32_t)pair;
        uint32_t edge = first_edge(flow, pair);
        for (; edge < flow->edge_count && flow->edge[edge].pair == pair; edge++, steps++)
            carry(flow, flow->edge[edge].arm, item);
        for (uint32_t i = flow->all_first[place]; i < flow->all_first[place + 1]; i++, steps++)
            if (list_has(&flow->scenario->arm[flow->all_arm[i]], item))
                carry(flow, flow->all_arm[i], item);
        if (steps > STEPS_MAX)
            return;
    }
    flow->complete = true;
}

struct flow read_flow_init(const struct reading *reading) {
    const struct scenario *scenario = reading->scenario;
    struct flow flow = {.scenario = scenario};
    flow.place_count = scenario->chest_count + scenario->lane_count + scenario->line_count +
                       2 * scenario->station_count;
    flow.arm_used = require_memory(scenario->arm_count, sizeof(bool));
    make_edges(reading, &flow);
    sort_all_arms(reading, &flow);
    seed(&flow);
    spread(&flow);
    return flow;
}

void read_flow_free(struct flow *flow) {
    free(flow->edge);
    free(flow->all_arm);
    free(flow->all_first);
    free(flow->arm_used);
    pairs_free(&flow->reached);
}

/* ---- asking ---- */
bool read_flow_leaves(const struct flow *flow, uint32_t place, uint32_t item) {
    uint64_t pair = pair_of(place, item);
    uint32_t edge = first_edge(flow, pair);
    if (edge < flow->edge_count && flow->edge[edge].pair == pair)
        return true;
    for (uint32_t i = flow->all_first[place]; i < flow->all_first[place + 1]; i++)
        if (list_has(&flow->scenario->arm[flow->all_arm[i]], item))
            return true;
    return false;
}

bool read_flow_has_taker(const struct flow *flow, uint32_t place) {
    uint32_t edge = first_edge(flow, pair_of(place, 0));
    return flow->all_first[place] < flow->all_first[place + 1] ||
           (edge < flow->edge_count && flow->edge[edge].pair >> 32 == place);
}
