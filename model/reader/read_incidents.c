/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_incidents.c - reads incidents: what is done to the workshop from outside,
 * and to which part of it. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* ---- drop and clear ---- */
static void read_drop(struct reading *reading, struct node *node,
                      struct scenario_incident *incident) {
    struct fields fields;
    incident->kind = INCIDENT_DROP;
    if (!reading_open(reading, node, CATALOGUE_DROP, &fields))
        return;
    const struct node *item = reading_get(&fields, "item");
    bool placed = read_place_track(reading, &fields, &incident->track);
    incident->item = reading_item(reading, item, "item");
    read_key_count(reading, &fields, "count", &incident->count);
    if (!placed || incident->item == NO_INDEX)
        return;
    uint32_t cells = read_place_cells(reading->scenario, incident->track);
    uint32_t length = reading->scenario->item[incident->item].length;
    if (cells > 0 && length > cells)
        fault_note(
            reading_warning(reading, item,
                            "`%s` is longer than the lane or line it is dropped on: none appears",
                            item->text),
            "it is %" PRIu32 " cells long, there are %" PRIu32, length, cells);
}

static void read_clear(struct reading *reading, struct node *node,
                       struct scenario_incident *incident) {
    struct fields fields;
    incident->kind = INCIDENT_CLEAR;
    if (!reading_open(reading, node, CATALOGUE_CLEAR, &fields))
        return;
    read_place_track(reading, &fields, &incident->track);
    incident->item = reading_item(reading, reading_get(&fields, "item"), "item");
}

/* ---- stop and start ---- */
static const struct {
    enum thing_kind thing;
    enum part_kind actor;
} actor_table[PART_KINDS_THAT_ACT] = {{THING_ARM, PART_ARM},       {THING_STATION, PART_STATION},
                                      {THING_LOOP, PART_LOOP},     {THING_LINE, PART_LINE},
                                      {THING_SUPPLY, PART_SUPPLY}, {THING_DEMAND, PART_DEMAND}};

static struct part actor_of(const struct thing *thing) {
    size_t i = 0;
    while (actor_table[i].thing != thing->kind) {
        i++;
        require(i < PART_KINDS_THAT_ACT);
    }
    return (struct part){actor_table[i].actor, thing->index};
}

static void read_actor(struct reading *reading, const struct node *node, const char *key,
                       struct scenario_incident *incident) {
    unsigned set = 0;
    for (size_t i = 0; i < PART_KINDS_THAT_ACT; i++)
        set |= THING_SET(actor_table[i].thing);
    const struct thing *thing =
        reading_thing(reading, node, key, set, "an arm, station, supply, demand, loop or line");
    incident->kind = strcmp(key, "stop") == 0 ? INCIDENT_STOP : INCIDENT_START;
    if (thing != NULL)
        incident->actor = actor_of(thing);
}

/* ---- set ---- */

static void read_set_capacity(struct reading *reading, const struct fields *fields,
                              struct scenario_incident *incident) {
    const struct node *capacity = reading_get(fields, "capacity");
    const struct thing *chest = reading_thing(reading, reading_get(fields, "chest"), "chest",
                                              THING_SET(THING_CHEST), "a chest");
    incident->kind = INCIDENT_SET_CAPACITY;
    incident->value = NO_LIMIT;
    if (chest != NULL)
        incident->chest = chest->index;
    if (reading_refuse(reading, fields, "chest") && capacity == NULL)
        return;
    if (reading_one_of(reading, fields, "capacity") != NULL &&
        (!yaml_tree_is_null(capacity) || capacity->count == 0))
        read_key_count(reading, fields, "capacity", &incident->value);
}

/* The one gate of an arm, station or supply; NO_INDEX, reported, when it has none or several. */
static uint32_t gate_of(struct reading *reading, const struct node *node,
                        const struct thing *owner) {
    const struct scenario *scenario = reading->scenario;
    uint32_t gate = owner->kind == THING_ARM       ? scenario->arm[owner->index].gate
                    : owner->kind == THING_STATION ? scenario->station[owner->index].gate
                                                   : scenario->supply[owner->index].gate;
    const struct node *part = reading->part[owner->kind][owner->index];
    bool written = part->kind == NODE_MAP && yaml_tree_find(part, "gate") != NULL;
    if (gate == NO_INDEX && !written)
        reading_error(reading, node, "`%s` has no gate", owner->name);
    if (gate == NO_INDEX)
        return NO_INDEX;
    if (scenario->gate[gate].kind == GATE_BELOW || scenario->gate[gate].kind == GATE_AT_LEAST)
        return gate;
    reading_error(reading, node,
                  "the gate of `%s` is made of several gates: its thresholds cannot be set",
                  owner->name);
    return NO_INDEX;
}

/* Tells a `set` after which `reopen_below` could be above `below`, because of what `other` sets. */
static void tell_crossing(struct reading *reading, const struct node *node, int64_t reopen,
                          int64_t below, const struct threshold *other, bool other_is_below) {
    struct fault *fault = reading_error(
        reading, node, "`reopen_below` could come to be above `below`: %" PRId64 " and %" PRId64,
        reopen, below);
    if (other != NULL)
        fault_note(fault, "`%s` may be %" PRId64 " by then (line %" PRIu32 ")",
                   other_is_below ? "below" : "reopen_below", other->value, other->node->line);
}

/* Holds a `below` that is set against a `reopen_below`, and the other way round. */
static void check_below(struct reading *reading, struct threshold below,
                        const struct threshold *reopen) {
    if (below.value < reopen->value)
        tell_crossing(reading, below.node, reopen->value, below.value, reopen, false);
}

static void check_reopen(struct reading *reading, struct threshold reopen,
                         const struct threshold *below) {
    if (reopen.value > below->value)
        tell_crossing(reading, reopen.node, reopen.value, below->value, below, true);
}

static void keep_least(struct threshold *least, struct threshold threshold) {
    if (threshold.value < least->value)
        *least = threshold;
}

static void keep_most(struct threshold *most, struct threshold threshold) {
    if (threshold.value > most->value)
        *most = threshold;
}

/* Holds a `set` against what is known by now; a part that is not set has no node. */
static void check_bounds(struct reading *reading, uint32_t gate, struct threshold below,
                         struct threshold reopen) {
    struct gate_bounds *bounds = &reading->bounds[gate];
    bool both = below.node != NULL && reopen.node != NULL;
    if (both && reopen.value > below.value)
        tell_crossing(reading, reopen.node, reopen.value, below.value, NULL, false);
    if (below.node != NULL) {
        check_below(reading, below, both ? &bounds->reopen_alone : &bounds->reopen_most);
        keep_least(&bounds->below_least, below);
        keep_least(&bounds->below_alone, both ? bounds->below_alone : below);
    }
    if (reopen.node != NULL) {
        check_reopen(reading, reopen, both ? &bounds->below_alone : &bounds->below_least);
        keep_most(&bounds->reopen_most, reopen);
        keep_most(&bounds->reopen_alone, both ? bounds->reopen_alone : reopen);
    }
}

static const struct {
    const char *key;
    enum incident_kind kind;
} threshold_table[] = {{"below", INCIDENT_SET_BELOW},
                       {"at_least", INCIDENT_SET_AT_LEAST},
                       {"reopen_below", INCIDENT_SET_REOPEN}};
enum { THRESHOLDS = sizeof threshold_table / sizeof *threshold_table };

/* True when the gate has a threshold of the kind that is set. */
static bool check_kind(struct reading *reading, const struct fields *fields, const char *key,
                       const struct scenario_gate *gate, const char *owner) {
    const struct node *node = reading_key(fields, key);
    bool is_below = gate->kind == GATE_BELOW;
    if (strcmp(key, "reopen_below") == 0 && gate->reopen_below == NOT_GIVEN)
        reading_error(reading, node, "the gate of `%s` is no latch: it has no `reopen_below`",
                      owner);
    else if (strcmp(key, "reopen_below") != 0 && is_below != (strcmp(key, "below") == 0))
        reading_error(reading, node, "the gate of `%s` has `%s`, not `%s`", owner,
                      is_below ? "below" : "at_least", key);
    else
        return true;
    return false;
}

/* Reads one threshold of the gate; what is left out or wrong has no node. */
static struct threshold read_threshold(struct reading *reading, const struct fields *fields,
                                       const char *key, uint32_t gate, const char *owner) {
    struct threshold read = {.node = NULL};
    const struct node *value = reading_get(fields, key);
    if (value != NULL && check_kind(reading, fields, key, &reading->scenario->gate[gate], owner) &&
        read_key_count(reading, fields, key, &read.value))
        read.node = value;
    return read;
}

/* The threshold that is set, `below` where it is set with `reopen_below`; NULL, reported: none, or
 * some that exclude each other. */
static const char *threshold_key(struct reading *reading, const struct fields *fields) {
    const char *key = reading_one_of(reading, fields, "below");
    if (key == NULL || reading_key(fields, "at_least") == NULL)
        return key;
    return reading_refuse(reading, fields, "at_least") ? NULL : key;
}

static void read_set_thresholds(struct reading *reading, const struct fields *fields,
                                struct scenario_incident *incident, const char *key,
                                const char *owner) {
    struct threshold first = read_threshold(reading, fields, key, incident->gate, owner);
    struct threshold none = {.node = NULL}, second = none;
    for (size_t i = 0; i < THRESHOLDS; i++)
        if (strcmp(key, threshold_table[i].key) == 0)
            incident->kind = threshold_table[i].kind;
    if (incident->kind == INCIDENT_SET_BELOW)
        second = read_threshold(reading, fields, "reopen_below", incident->gate, owner);
    incident->value = first.value;
    incident->reopen_value = second.node != NULL ? second.value : NOT_GIVEN;
    if (incident->kind == INCIDENT_SET_BELOW)
        check_bounds(reading, incident->gate, first, second);
    else if (incident->kind == INCIDENT_SET_REOPEN)
        check_bounds(reading, incident->gate, none, first);
}

static void read_set_gate(struct reading *reading, const struct fields *fields,
                          struct scenario_incident *incident) {
    static const unsigned owners =
        THING_SET(THING_ARM) | THING_SET(THING_STATION) | THING_SET(THING_SUPPLY);
    const struct node *owner_node = reading_get(fields, "gate");
    const struct thing *owner =
        reading_thing(reading, owner_node, "gate", owners, "an arm, station or supply with a gate");
    const char *key = NULL;
    if (!reading_refuse(reading, fields, "gate"))
        key = threshold_key(reading, fields);
    if (owner == NULL || key == NULL)
        return;
    incident->actor = actor_of(owner);
    incident->gate = gate_of(reading, owner_node, owner);
    if (incident->gate != NO_INDEX)
        read_set_thresholds(reading, fields, incident, key, owner->name);
}

static void read_set(struct reading *reading, struct node *node,
                     struct scenario_incident *incident) {
    struct fields fields;
    if (!reading_open(reading, node, CATALOGUE_SET, &fields))
        return;
    const char *key = reading_one_of(reading, &fields, "chest");
    if (key == NULL)
        return;
    if (strcmp(key, "chest") == 0)
        read_set_capacity(reading, &fields, incident);
    else
        read_set_gate(reading, &fields, incident);
}

/* ---- incidents ---- */
static void read_when(struct reading *reading, const struct fields *fields,
                      struct scenario_incident *incident) {
    const char *key = reading_one_of(reading, fields, "at");
    incident->first_tick = NOT_GIVEN;
    if (key == NULL)
        return;
    incident->repeats = strcmp(key, "every") == 0;
    if (!incident->repeats) {
        read_key_ticks(reading, fields, "at", &incident->at_tick);
        reading_refuse(reading, fields, "at");
        return;
    }
    read_span_interval(reading, reading_get(fields, "every"), &incident->every);
    read_key_ticks(reading, fields, "first", &incident->first_tick);
}

static void read_what(struct reading *reading, const struct fields *fields,
                      struct scenario_incident *incident) {
    const char *key = reading_one_of(reading, fields, "drop");
    struct node *node = key != NULL ? reading_get(fields, key) : NULL;
    if (node == NULL)
        return;
    if (strcmp(key, "drop") == 0)
        read_drop(reading, node, incident);
    else if (strcmp(key, "clear") == 0)
        read_clear(reading, node, incident);
    else if (strcmp(key, "set") == 0)
        read_set(reading, node, incident);
    else
        read_actor(reading, node, key, incident);
}

/* The name, else the text and its number among equal texts: "{at: 5, stop: saw}#1". */
static char *make_label(struct reading *reading, struct names *seen, uint32_t *times,
                        uint32_t index) {
    struct scenario_incident *incident = &reading->scenario->incident[index];
    if (incident->name != NULL)
        return require_text(incident->name);
    char *text = yaml_tree_write_flow(reading->part[THING_INCIDENT][index]);
    size_t bytes = strlen(text) + 1;
    char *kept = memcpy(yaml_tree_memory(&reading->tree, bytes), text, bytes);
    uint32_t first = names_add(seen, kept, index);
    uint32_t number = ++times[first != NO_INDEX ? first : index];
    text = require_more_memory(text, bytes + 12, 1);
    snprintf(text + bytes - 1, 13, "#%" PRIu32, number);
    return text;
}

static void make_labels(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    struct names seen = {0};
    uint32_t *times = require_memory(scenario->incident_count, sizeof *times);
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        scenario->incident[i].label = make_label(reading, &seen, times, i);
    free(times);
    names_free(&seen);
}

static void start_bounds(struct reading *reading) {
    const struct scenario *scenario = reading->scenario;
    reading->bounds = require_memory(scenario->gate_count, sizeof *reading->bounds);
    for (uint32_t i = 0; i < scenario->gate_count; i++) {
        int64_t threshold = scenario->gate[i].threshold;
        struct threshold below = {threshold != NOT_GIVEN ? threshold : INT64_MAX,
                                  reading->gate_node[i]};
        struct threshold reopen = {scenario->gate[i].reopen_below, reading->gate_node[i]};
        reading->bounds[i] = (struct gate_bounds){.below_least = below,
                                                  .reopen_most = reopen,
                                                  .below_alone = {INT64_MAX, NULL},
                                                  .reopen_alone = {NOT_GIVEN, NULL}};
    }
}

void read_incidents(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    start_bounds(reading);
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        struct fields fields;
        scenario->incident[i].item = NO_INDEX;
        scenario->incident[i].reopen_value = NOT_GIVEN;
        if (!reading_open(reading, reading->part[THING_INCIDENT][i], CATALOGUE_INCIDENT, &fields))
            continue;
        read_when(reading, &fields, &scenario->incident[i]);
        read_what(reading, &fields, &scenario->incident[i]);
    }
    if (!faults_failed(reading->faults))
        make_labels(reading);
}
