/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_gate.c - reads gates. A tree of gates is flattened into one list in which
 * the children of a node are linked. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

static uint32_t add_gate(struct reading *reading, const struct node *node) {
    struct scenario *scenario = reading->scenario;
    if (scenario->gate_count == reading->gate_capacity) {
        reading->gate_capacity = reading->gate_capacity > 0 ? 2 * reading->gate_capacity : 64;
        size_t room = reading->gate_capacity;
        scenario->gate = require_more_memory(scenario->gate, room, sizeof *scenario->gate);
        reading->gate_node = require_more_memory(reading->gate_node, room, sizeof(struct node *));
    }
    uint32_t index = scenario->gate_count++;
    scenario->gate[index] = (struct scenario_gate){.item = NO_INDEX,
                                                   .threshold = NOT_GIVEN,
                                                   .reopen_below = NOT_GIVEN,
                                                   .first_child = NO_INDEX,
                                                   .next_sibling = NO_INDEX};
    reading->gate_node[index] = node;
    return index;
}

/* ---- what a gate reads ---- */

/* An item that a station takes (`input`) or makes (`output`). */
static bool read_stock(struct reading *reading, const struct fields *fields, const char *side,
                       struct scenario_gate *gate) {
    const struct node *node = reading_get(fields, side);
    const struct scenario_station *station = &reading->scenario->station[gate->subject];
    bool input = strcmp(side, "input") == 0;
    gate->reads = input ? READS_STATION_INPUT : READS_STATION_OUTPUT;
    gate->item = reading_item(reading, node, side);
    if (gate->item == NO_INDEX)
        return false;
    if (!reading->station_known[gate->subject])
        return true;
    const struct pairs *known = input ? &reading->takes : &reading->makes;
    if (pairs_find(known, gate->subject, gate->item) != NO_INDEX)
        return true;
    reading_error(reading, node, "station `%s` does not %s `%s`", station->name,
                  input ? "take" : "make", node->text);
    return false;
}

static bool read_station_reading(struct reading *reading, const struct fields *fields,
                                 struct scenario_gate *gate) {
    const struct thing *station = reading_thing(reading, reading_get(fields, "station"), "station",
                                                THING_SET(THING_STATION), "a station");
    bool refused = reading_refuse(reading, fields, "station");
    const char *side = reading_one_of(reading, fields, "input");
    if (station == NULL || side == NULL)
        return false;
    gate->subject = station->index;
    return read_stock(reading, fields, side, gate) && !refused;
}

/* All subjects but stations: a kind of thing, and an item or the total. */
static const struct {
    const char *key;
    enum thing_kind kind;
    enum reading_kind reads;
} subject_table[] = {{"chest", THING_CHEST, READS_CHEST},
                     {"loop", THING_LOOP, READS_LOOP},
                     {"line", THING_LINE, READS_LINE}};

static bool find_subject(struct reading *reading, const struct node *node, const char *key,
                         struct scenario_gate *gate) {
    if (strcmp(key, "lane") == 0) {
        const char *text = reading_name(reading, node, key);
        gate->reads = READS_LANE;
        return text != NULL && read_place_lane(reading, node, text, &gate->subject);
    }
    for (size_t i = 0; i < sizeof subject_table / sizeof *subject_table; i++) {
        enum thing_kind kind = subject_table[i].kind;
        if (strcmp(key, subject_table[i].key) != 0)
            continue;
        const struct thing *thing =
            reading_thing(reading, node, key, THING_SET(kind), reading_kind_name(kind));
        gate->reads = subject_table[i].reads;
        gate->subject = thing != NULL ? thing->index : NO_INDEX;
        return thing != NULL;
    }
    require(false);
    return false;
}

static bool read_total_reading(struct reading *reading, const struct fields *fields,
                               const char *key, struct scenario_gate *gate) {
    const struct node *item = reading_get(fields, "item");
    reading_refuse(reading, fields, key);
    bool found = find_subject(reading, reading_get(fields, key), key, gate);
    if (item != NULL)
        gate->item = reading_item(reading, item, "item");
    return found && (item == NULL || gate->item != NO_INDEX);
}

/* ---- thresholds ---- */
static void warn_of_thresholds(struct reading *reading, const struct fields *fields,
                               const struct scenario_gate *gate) {
    if (gate->threshold == 0 && gate->kind == GATE_BELOW)
        reading_warning(reading, reading_get(fields, "below"),
                        "a gate with `below: 0` never opens");
    else if (gate->threshold == 0)
        reading_warning(reading, reading_get(fields, "at_least"),
                        "a gate with `at_least: 0` is always open");
    else if (gate->reopen_below == 0)
        reading_warning(reading, reading_get(fields, "reopen_below"),
                        "a gate with `reopen_below: 0` never opens again");
}

static void read_reopen(struct reading *reading, const struct fields *fields, bool known,
                        struct scenario_gate *gate) {
    const struct node *node = reading_get(fields, "reopen_below");
    if (gate->kind == GATE_AT_LEAST) {
        reading_refuse(reading, fields, "at_least");
        return;
    }
    if (!read_key_count(reading, fields, "reopen_below", &gate->reopen_below) || !known ||
        gate->reopen_below <= gate->threshold)
        return;
    struct fault *fault = reading_error(reading, node, "`reopen_below` is above `below`: %" PRId64,
                                        gate->reopen_below);
    fault_note(fault, "`below` is %" PRId64, gate->threshold);
    fault_help(fault, "the gate shuts at `below`, and opens again under `reopen_below`, the less");
}

static void read_thresholds(struct reading *reading, const struct fields *fields,
                            struct scenario_gate *gate) {
    const char *key = reading_one_of(reading, fields, "below");
    if (key == NULL)
        return;
    gate->kind = strcmp(key, "below") == 0 ? GATE_BELOW : GATE_AT_LEAST;
    bool known = read_key_count(reading, fields, key, &gate->threshold);
    read_reopen(reading, fields, known, gate);
    if (known)
        warn_of_thresholds(reading, fields, gate);
}

/* ---- gates of gates ---- */
static void read_children(struct reading *reading, const struct fields *fields, const char *key,
                          uint32_t index) {
    const struct node *list = reading_get(fields, key);
    reading->scenario->gate[index].kind = strcmp(key, "all") == 0 ? GATE_ALL : GATE_ANY;
    reading_refuse(reading, fields, key);
    if (!read_value_list(reading, list, key, true))
        return;
    uint32_t last = NO_INDEX;
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t child = read_gate(reading, list->child[i]);
        if (child == NO_INDEX)
            continue;
        if (last == NO_INDEX)
            reading->scenario->gate[index].first_child = child;
        else
            reading->scenario->gate[last].next_sibling = child;
        last = child;
    }
}

static bool too_many(struct reading *reading, const struct node *node) {
    if (reading->scenario->gate_count < LIMIT_THINGS)
        return false;
    char limit[QUANTITY_TEXT_SIZE];
    if (reading->gate_limit_told)
        return true;
    reading->gate_limit_told = true;
    fault_note(reading_error(reading, node, "too many gates"), "at most %s",
               quantity_grouped(LIMIT_THINGS, limit));
    return true;
}

uint32_t read_gate(struct reading *reading, struct node *node) {
    struct fields fields;
    if (!reading_open(reading, node, CATALOGUE_GATE, &fields) || too_many(reading, node))
        return NO_INDEX;
    const char *key = reading_one_of(reading, &fields, "chest");
    if (key == NULL)
        return NO_INDEX;
    uint32_t index = add_gate(reading, node);
    if (strcmp(key, "all") == 0 || strcmp(key, "any") == 0) {
        read_children(reading, &fields, key, index);
        return index;
    }
    struct scenario_gate gate = reading->scenario->gate[index];
    if (strcmp(key, "station") == 0)
        read_station_reading(reading, &fields, &gate);
    else
        read_total_reading(reading, &fields, key, &gate);
    read_thresholds(reading, &fields, &gate);
    reading->scenario->gate[index] = gate;
    return index;
}
