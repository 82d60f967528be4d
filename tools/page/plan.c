/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/plan.c - a list for each kind of part; null is "none" or "no bound". */
#include "tools/page/plan.h"

#include <stdlib.h>

#include "model/scenario/gate_text.h"
#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/base/json_text.h"
#include "tools/page/recording.h"

static json_t *bounded(int64_t number) {
    return number == NO_LIMIT ? json_null() : json_text_whole(number);
}

static json_t *index_json(uint32_t index) {
    return index == NO_INDEX ? json_null() : json_text_whole(index);
}

static json_t *pair_json(int64_t a, int64_t b) {
    json_t *pair = json_array();
    json_text_append(pair, json_text_whole(a));
    json_text_append(pair, json_text_whole(b));
    return pair;
}

static json_t *counts_json(const struct item_counts *counts) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < counts->count; i++)
        json_text_append(array, pair_json(counts->entry[i].item, counts->entry[i].count));
    return array;
}

static json_t *place_json(struct place place) {
    static const char *const kind[] = {[PLACE_CHEST] = "chest",
                                       [PLACE_STATION] = "station",
                                       [PLACE_LANE] = "lane",
                                       [PLACE_LINE] = "line"};
    json_t *object = json_object();
    json_text_put(object, "kind", json_string(kind[place.kind]));
    json_text_put(object, "index", json_text_whole(place.index));
    json_text_put(object, "cell", json_text_whole(place.cell));
    return object;
}

static json_t *part_json(json_t *list, const char *name) {
    json_t *object = json_object();
    json_text_put(object, "name", json_string(name));
    json_text_append(list, object);
    return object;
}

/* Steps in so many ticks, in lowest terms, as belts count them. */
static json_t *pace_json(struct ratio rate, int64_t ticks_per_second) {
    struct belt_clock clock;
    belt_clock_init(&clock, rate, ticks_per_second);
    return pair_json(clock.steps, clock.ticks);
}

/* ---- the kinds of parts ---- */

static json_t *items_json(const struct scenario *scenario) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < scenario->item_count; i++)
        json_text_put(part_json(list, scenario->item[i].name), "length",
                      json_text_whole(scenario->item[i].length));
    return list;
}

static json_t *loops_json(const struct scenario *scenario) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        const struct scenario_loop *loop = &scenario->loop[i];
        json_t *object = part_json(list, loop->name), *lanes = json_array();
        for (uint32_t j = 0; j < loop->lane_count; j++)
            json_text_append(lanes, json_string(scenario->lane[loop->first_lane + j].name));
        json_text_put(object, "cells", json_text_whole(loop->cell_count));
        json_text_put(object, "pace", pace_json(loop->rate, scenario->ticks_per_second));
        json_text_put(object, "first", json_text_whole(loop->first_lane));
        json_text_put(object, "lanes", lanes);
    }
    return list;
}

static json_t *lines_json(const struct scenario *scenario) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < scenario->line_count; i++) {
        const struct scenario_line *line = &scenario->line[i];
        json_t *object = part_json(list, line->name);
        json_text_put(object, "cells", json_text_whole(line->cell_count));
        json_text_put(object, "pace", pace_json(line->rate, scenario->ticks_per_second));
    }
    return list;
}

static json_t *tracks_json(const struct scenario *scenario) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        json_text_append(list, json_string(layout_track_name(scenario, i)));
    return list;
}

/* ---- what incidents have set before the page begins ---- */

/* The last incident before a tick that has set the capacity of a chest, or the threshold of a gate;
 * NULL: none has. Of those that happen again and again nobody knows when, without the run. */
static const struct scenario_incident *set_before(const struct scenario *scenario, int64_t tick,
                                                  bool capacity, uint32_t index) {
    const struct scenario_incident *last = NULL;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        bool sets = capacity ? incident->kind == INCIDENT_SET_CAPACITY && incident->chest == index
                             : (incident->kind == INCIDENT_SET_BELOW ||
                                incident->kind == INCIDENT_SET_AT_LEAST) &&
                                   incident->gate == index;
        if (sets && !incident->repeats && incident->at_tick < tick &&
            (last == NULL || incident->at_tick >= last->at_tick))
            last = incident;
    }
    return last;
}

static json_t *chests_json(const struct scenario *scenario, int64_t first_tick) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < scenario->chest_count; i++) {
        const struct scenario_chest *chest = &scenario->chest[i];
        json_t *object = part_json(list, chest->name);
        const struct scenario_incident *set = set_before(scenario, first_tick, true, i);
        json_text_put(object, "capacity", bounded(set != NULL ? set->value : chest->capacity));
        json_text_put(object, "limits", counts_json(&chest->limits));
    }
    return list;
}

static json_t *stations_json(const struct scenario *scenario) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        const struct scenario_station *station = &scenario->station[i];
        json_t *object = part_json(list, station->name), *makes = json_array();
        for (uint32_t j = 0; j < station->makes_count; j++)
            json_text_append(makes, pair_json(station->makes[j].item, station->makes[j].count));
        json_text_put(object, "takes", counts_json(&station->takes));
        json_text_put(object, "makes", makes);
        json_text_put(object, "time", json_text_whole(station->time.mean_ticks));
        json_text_put(object, "varies", json_boolean(span_is_random(&station->time)));
    }
    return list;
}

static json_t *arms_json(const struct scenario *scenario) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        json_t *object = part_json(list, arm->name), *items = json_array();
        for (uint32_t j = 0; j < arm->item_count; j++)
            json_text_append(items, json_text_whole(arm->item[j]));
        json_text_put(object, "from", place_json(arm->from));
        json_text_put(object, "to", place_json(arm->to));
        json_text_put(object, "hand", json_text_whole(arm->hand));
        json_text_put(object, "swing", json_text_whole(arm->swing.mean_ticks));
        json_text_put(object, "items", items);
    }
    return list;
}

static json_t *streams_json(const struct scenario_stream *stream, uint32_t count) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < count; i++) {
        json_t *object = part_json(list, stream[i].name);
        json_text_put(object, "chest", json_text_whole(stream[i].chest));
        json_text_put(object, "item", json_text_whole(stream[i].item));
        json_text_put(object, "every", json_text_whole(stream[i].every.mean_ticks));
        json_text_put(object, "outlet", json_boolean(stream[i].outlet));
    }
    return list;
}

/* ---- gates ---- */

/* What the leaves of a gate compare, all of them. */
static void add_leaves(const struct scenario *scenario, int64_t first_tick, uint32_t index,
                       json_t *list) {
    static const char *const reads[] = {
        [READS_CHEST] = "chest", [READS_STATION_INPUT] = "input", [READS_STATION_OUTPUT] = "output",
        [READS_LOOP] = "loop",   [READS_LANE] = "lane",           [READS_LINE] = "line"};
    const struct scenario_gate *gate = &scenario->gate[index];
    for (uint32_t i = gate->first_child; i != NO_INDEX; i = scenario->gate[i].next_sibling)
        add_leaves(scenario, first_tick, i, list);
    if (gate->first_child != NO_INDEX)
        return;
    json_t *leaf = json_object();
    const struct scenario_incident *set = set_before(scenario, first_tick, false, index);
    json_text_put(leaf, "reads", json_string(reads[gate->reads]));
    json_text_put(leaf, "subject", json_text_whole(gate->subject));
    json_text_put(leaf, "item", index_json(gate->item));
    json_text_put(leaf, "below", json_boolean(gate->kind == GATE_BELOW));
    json_text_put(leaf, "threshold", json_text_whole(set != NULL ? set->value : gate->threshold));
    json_text_append(list, leaf);
}

static void add_gate(const struct scenario *scenario, int64_t first_tick, uint32_t index,
                     const char *kind, uint32_t owner, json_t *list) {
    if (index == NO_INDEX)
        return;
    json_t *object = json_object(), *leaves = json_array();
    char *text = gate_text(scenario, index);
    add_leaves(scenario, first_tick, index, leaves);
    json_text_put(object, "kind", json_string(kind));
    json_text_put(object, "owner", json_text_whole(owner));
    json_text_put(object, "text", json_string(text));
    json_text_put(object, "leaves", leaves);
    json_text_append(list, object);
    free(text);
}

/* In the order of recording_gates. */
static json_t *gates_json(const struct scenario *scenario, int64_t first_tick) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        add_gate(scenario, first_tick, scenario->arm[i].gate, "arm", i, list);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        add_gate(scenario, first_tick, scenario->station[i].gate, "station", i, list);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        add_gate(scenario, first_tick, scenario->supply[i].gate, "supply", i, list);
    return list;
}

json_t *plan_json(const struct scenario *scenario, int64_t first_tick) {
    json_t *plan = json_object();
    json_text_put(plan, "title", json_string(scenario->title));
    json_text_put(plan, "ticks_per_second", json_text_whole(scenario->ticks_per_second));
    json_text_put(plan, "warm_up", json_text_whole(scenario->warm_up_ticks));
    json_text_put(plan, "every", json_text_whole(scenario->watch.every_ticks));
    json_text_put(plan, "items", items_json(scenario));
    json_text_put(plan, "loops", loops_json(scenario));
    json_text_put(plan, "lines", lines_json(scenario));
    json_text_put(plan, "tracks", tracks_json(scenario));
    json_text_put(plan, "chests", chests_json(scenario, first_tick));
    json_text_put(plan, "stations", stations_json(scenario));
    json_text_put(plan, "arms", arms_json(scenario));
    json_text_put(plan, "supplies", streams_json(scenario->supply, scenario->supply_count));
    json_text_put(plan, "demands", streams_json(scenario->demand, scenario->demand_count));
    json_text_put(plan, "gates", gates_json(scenario, first_tick));
    return plan;
}
