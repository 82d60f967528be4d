/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_gates.c - reads gates, chests and incidents for what they allow at worst. */
#include "model/budget/budget_gates.h"

#include <stdlib.h>

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

/* ---- ways ---- */

void budget_below_init(struct budget_below *below, const struct budget_net *net) {
    size_t all = (size_t)net->place_count * net->scenario->item_count;
    *below = (struct budget_below){.net = net};
    below->mark = require_memory(all, sizeof *below->mark);
}

void budget_below_free(struct budget_below *below) {
    free(below->mark);
    free(below->reached);
}

static void reach(struct budget_below *below, uint32_t place, uint32_t item) {
    size_t at = budget_at(below->net->scenario, place, item);
    if (below->mark[at])
        return;
    below->reached =
        array_with_room(below->reached, below->count, &below->room, sizeof *below->reached);
    below->mark[at] = true;
    below->reached[below->count++] = at;
}

static void follow_arms(struct budget_below *below, uint32_t place, uint32_t item) {
    const struct budget_net *net = below->net;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++)
        if (budget_from(net->scenario, net->carrier[k]) == place)
            reach(below, budget_to(net->scenario, net->carrier[k]), item);
}

static void follow_station(struct budget_below *below, uint32_t place, uint32_t item) {
    const struct scenario *scenario = below->net->scenario;
    uint32_t inputs = layout_input_place(scenario, 0);
    if (place < inputs || place >= inputs + scenario->station_count ||
        budget_takes(scenario, place - inputs, item) <= 0)
        return;
    const struct scenario_station *station = &scenario->station[place - inputs];
    for (uint32_t i = 0; i < station->makes_count; i++)
        reach(below, layout_output_place(scenario, place - inputs), station->makes[i].item);
}

void budget_mark_below(struct budget_below *below, uint32_t place, uint32_t item, bool products) {
    uint32_t items = below->net->scenario->item_count;
    while (below->count > 0)
        below->mark[below->reached[--below->count]] = false;
    reach(below, place, item);
    for (size_t i = 0; i < below->count; i++) {
        uint32_t at = (uint32_t)(below->reached[i] / items);
        uint32_t what = (uint32_t)(below->reached[i] % items);
        follow_arms(below, at, what);
        if (products)
            follow_station(below, at, what);
    }
}

bool budget_feeds(const struct budget_net *net, uint32_t arm, uint32_t lane, uint32_t item) {
    struct place to = net->scenario->arm[arm].to;
    return to.kind == PLACE_LANE && to.index == lane && budget_carries_item(net, arm, item);
}

bool budget_takes_off(const struct budget_net *net, uint32_t arm, uint32_t lane, uint32_t item) {
    struct place from = net->scenario->arm[arm].from;
    return from.kind == PLACE_LANE && from.index == lane && budget_carries_item(net, arm, item);
}

bool budget_rides(const struct budget_net *net, uint32_t lane, uint32_t item) {
    return net->comes[budget_at(net->scenario, layout_track_place(net->scenario, lane), item)];
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

bool budget_may_stop(const struct scenario *scenario, enum part_kind kind, uint32_t index) {
    if (kind != PART_DEMAND && scenario_part_breaks(scenario, (struct part){kind, index})->present)
        return true;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_STOP && incident->actor.kind == kind &&
            incident->actor.index == index)
            return true;
    }
    return false;
}
