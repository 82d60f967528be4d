/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_gates.c - reads gates, chests and incidents for what they allow at worst. */
#include "model/budget/budget_gates.h"

#include <stdlib.h>

#include "model/budget/budget_rates.h"
#include "sim/array.h"
#include "sim/require.h"

/* The highest threshold that a leaf may get. */
static int64_t highest(const struct scenario *scenario, uint32_t leaf) {
    int64_t most = scenario->gate[leaf].threshold;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_SET_BELOW && incident->gate == leaf &&
            incident->value > most)
            most = incident->value;
    }
    return most;
}

int64_t budget_gate_below(const struct scenario *scenario, uint32_t gate,
                          bool (*suits)(const void *self, const struct scenario_gate *leaf),
                          const void *self) {
    if (gate == NO_INDEX)
        return 0;
    const struct scenario_gate *node = &scenario->gate[gate];
    if (node->kind == GATE_BELOW || node->kind == GATE_AT_LEAST) {
        if (node->kind != GATE_BELOW || !suits(self, node))
            return 0;
        int64_t most = highest(scenario, gate);
        return most > 0 ? most : 1;
    }
    int64_t found = 0;
    for (uint32_t child = node->first_child; child != NO_INDEX;
         child = scenario->gate[child].next_sibling) {
        int64_t below = budget_gate_below(scenario, child, suits, self);
        if (below == 0 && node->kind == GATE_ANY)
            return 0;
        bool better = node->kind == GATE_ANY ? below > found : found == 0 || below < found;
        found = below > 0 && better ? below : found;
    }
    return found;
}

bool budget_gate_suits(const struct scenario *scenario, uint32_t gate,
                       bool (*suits)(const void *self, const struct scenario_gate *leaf),
                       const void *self) {
    return budget_gate_below(scenario, gate, suits, self) > 0;
}

uint32_t budget_source_gate(const struct scenario *scenario, uint32_t arm) {
    struct place from = scenario->arm[arm].from;
    return from.kind == PLACE_STATION ? scenario->station[from.index].gate : NO_INDEX;
}

/* ---- downstream ---- */

void budget_downstream_init(struct budget_downstream *downstream, const struct budget_net *net) {
    *downstream = (struct budget_downstream){.net = net};
    downstream->mark = require_memory(net->pair_count, sizeof *downstream->mark);
}

void budget_downstream_free(struct budget_downstream *downstream) {
    free(downstream->mark);
    free(downstream->reached);
}

static void reach(struct budget_downstream *downstream, uint32_t pair) {
    if (downstream->mark[pair])
        return;
    downstream->reached = array_with_room(downstream->reached, downstream->count,
                                          &downstream->capacity, sizeof *downstream->reached);
    downstream->mark[pair] = true;
    downstream->reached[downstream->count++] = pair;
}

static void follow_arms(struct budget_downstream *downstream, uint32_t pair) {
    const struct budget_net *net = downstream->net;
    uint32_t item = net->pair_item[pair];
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++)
        if (net->source_pair[net->carrier_entry[k]] == pair)
            reach(downstream, net->target_pair[net->carrier_entry[k]]);
}

static void follow_station(struct budget_downstream *downstream, uint32_t pair) {
    const struct budget_net *net = downstream->net;
    uint32_t inputs = layout_input_place(net->scenario, 0), place = net->pair_place[pair];
    if (place < inputs || place >= inputs + net->scenario->station_count ||
        budget_takes(net->scenario, place - inputs, net->pair_item[pair]) <= 0)
        return;
    const struct scenario_station *station = &net->scenario->station[place - inputs];
    uint32_t output = layout_output_place(net->scenario, place - inputs);
    for (uint32_t i = 0; i < station->makes_count; i++)
        reach(downstream, budget_place_item_index(net, output, station->makes[i].item));
}

void budget_downstream_mark(struct budget_downstream *downstream, uint32_t place, uint32_t item,
                            bool products) {
    while (downstream->count > 0)
        downstream->mark[downstream->reached[--downstream->count]] = false;
    reach(downstream, budget_place_item_index(downstream->net, place, item));
    for (uint32_t i = 0; i < downstream->count; i++) {
        follow_arms(downstream, downstream->reached[i]);
        if (products)
            follow_station(downstream, downstream->reached[i]);
    }
}

bool budget_downstream_has(const struct budget_downstream *downstream, uint32_t place,
                           uint32_t item) {
    uint32_t pair = budget_place_item_index(downstream->net, place, item);
    return pair != NO_INDEX && downstream->mark[pair];
}

uint32_t budget_ahead(const struct scenario *scenario, uint32_t lane, uint32_t from, uint32_t to) {
    uint32_t cells = layout_track_cells(scenario, lane);
    return to > from ? to - from : to + cells - from;
}

/* ---- incidents ---- */

int64_t budget_dropped(const struct scenario *scenario, uint32_t lane, uint32_t item) {
    int64_t all = 0, most = INT64_MAX / 4;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind != INCIDENT_DROP || incident->item != item ||
            incident->track.kind != PLACE_LANE || incident->track.index != lane)
            continue;
        if (incident->repeats)
            return INT64_MAX;
        all = incident->count > most - all ? most : all + incident->count;
    }
    return all;
}

bool budget_may_stop(const struct scenario *scenario, struct part part) {
    if (part.kind != PART_DEMAND && scenario_part_breaks(scenario, part)->present)
        return true;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_STOP && incident->actor.kind == part.kind &&
            incident->actor.index == part.index)
            return true;
    }
    return false;
}
