/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_outside.c - supplies, demands, incidents, breakdowns, gates and the standstill
 * as rows of a state. */
#include <string.h>

#include "model/engine/gate.h"
#include "model/engine/stream.h"
#include "model/state/state_table.h"
#include "sim/bytes.h"
#include "sim/sealed_file.h"

static uint32_t one(const struct world *world) {
    (void)world;
    return 1;
}

/* ---- supplies and demands ---- */

_Static_assert(sizeof(struct stream) == 16, "struct stream is in stream_field");

struct stream_row {
    uint8_t stops;
    struct stream stream;
    struct stream_words interval;
};

static const struct state_field stream_field[] = {
    FIELD(struct stream_row, STATE_BYTE, stops),
    FIELD_OF(struct stream_row, stream, STATE_DUE, due),
    FIELD_OF(struct stream_row, stream, STATE_AMOUNT, open),
    STREAM_FIELDS(struct stream_row, interval)};

/* With another `until` no event may be due any more. */
static bool put_stream(struct stream *stream, uint8_t *stops, const struct stream_row *row,
                       int64_t until) {
    *stream = row->stream;
    *stops = row->stops;
    if (stream->due > until)
        stream->due = AGENDA_NEVER;
    return state_stops_fit(row->stops);
}

static uint32_t supplies(const struct world *world) { return world->scenario->supply_count; }

static void get_supply(const struct world *world, uint32_t index, struct state_cursor *cursor,
                       void *row) {
    (void)cursor;
    *(struct stream_row *)row = (struct stream_row){
        .stops = world->supply_stops[index],
        .stream = world->supply[index],
        .interval = state_words_of(world, stream_chance_of_supply(world, index))};
}

static bool put_supply(struct state_filling *filling, uint32_t index, const void *from) {
    const struct stream_row *row = from;
    struct world *world = filling->world;
    return put_stream(&world->supply[index], &world->supply_stops[index], row,
                      world->scenario->supply[index].until_tick) &&
           state_put_words(filling, stream_chance_of_supply(world, index), row->interval);
}

static uint32_t demands(const struct world *world) { return world->scenario->demand_count; }

static void get_demand(const struct world *world, uint32_t index, struct state_cursor *cursor,
                       void *row) {
    (void)cursor;
    *(struct stream_row *)row = (struct stream_row){
        .stops = world->demand_stops[index],
        .stream = world->demand[index],
        .interval = state_words_of(world, stream_chance_of_demand(world, index))};
}

static bool put_demand(struct state_filling *filling, uint32_t index, const void *from) {
    const struct stream_row *row = from;
    struct world *world = filling->world;
    return put_stream(&world->demand[index], &world->demand_stops[index], row,
                      world->scenario->demand[index].until_tick) &&
           state_put_words(filling, stream_chance_of_demand(world, index), row->interval);
}

/* ---- incidents: identified by their labels, since a what-if may add one or take one away ----
 * One that does not repeat has no state: it is to come as long as its tick is. */

_Static_assert(sizeof(struct incident) == 8, "struct incident is in incident_field");

struct incident_row {
    uint64_t label; /* a checksum of it */
    struct incident incident;
    struct stream_words interval;
};

static const struct state_field incident_field[] = {
    FIELD(struct incident_row, STATE_KEY, label),
    FIELD_OF(struct incident_row, incident, STATE_DUE, due),
    STREAM_FIELDS(struct incident_row, interval)};

static uint32_t incidents(const struct world *world) { return world->scenario->incident_count; }

static uint64_t label_of(const struct world *world, uint32_t incident) {
    const char *label = world->scenario->incident[incident].label;
    return sealed_checksum(0, label, strlen(label));
}

static void get_incident(const struct world *world, uint32_t index, struct state_cursor *cursor,
                         void *row) {
    (void)cursor;
    bool repeats = world->scenario->incident[index].repeats;
    *(struct incident_row *)row =
        (struct incident_row){.label = label_of(world, index),
                              .incident.due = repeats ? world->incident[index].due : 0,
                              .interval = state_words_of(world, world->incident_chance[index])};
}

/* Looks for number `index` from where the last one was found on, going round: as a rule it is
 * there. `key_of` is asked for each; NO_INDEX: none has the key. */
static uint32_t find_key(struct state_filling *filling, uint32_t count, uint64_t key,
                         uint64_t (*key_of)(const struct world *world, uint32_t index)) {
    for (uint32_t i = 0; i < count; i++) {
        uint32_t index = (uint32_t)(((uint64_t)filling->hint + i) % count);
        if (key_of(filling->world, index) != key)
            continue;
        filling->hint = index + 1;
        return index;
    }
    return NO_INDEX;
}

static bool put_incident(struct state_filling *filling, uint32_t owner, const void *from) {
    (void)owner;
    const struct incident_row *row = from;
    struct world *world = filling->world;
    uint32_t index = find_key(filling, incidents(world), row->label, label_of);
    if (index == NO_INDEX || !world->scenario->incident[index].repeats)
        return true;
    if (row->incident.due > filling->tick)
        world->incident[index] = row->incident;
    return state_put_words(filling, world->incident_chance[index], row->interval);
}

/* ---- breakdowns ---- */

_Static_assert(sizeof(struct breakdown) == 16, "struct breakdown is in breakdown_field");

struct breakdown_row {
    struct breakdown breakdown;
    struct stream_words after, repair;
};

static const struct state_field breakdown_field[] = {
    FIELD_OF(struct breakdown_row, breakdown, STATE_FLAG, broken),
    FIELD_OF(struct breakdown_row, breakdown, STATE_DUE, due),
    STREAM_FIELDS(struct breakdown_row, after), STREAM_FIELDS(struct breakdown_row, repair)};

static uint32_t breakdowns(const struct world *world) { return world->breakdown_count; }

static void get_breakdown(const struct world *world, uint32_t index, struct state_cursor *cursor,
                          void *row) {
    (void)cursor;
    const struct breakdown_plan *plan = &world->breakdown_plan[index];
    *(struct breakdown_row *)row =
        (struct breakdown_row){.breakdown = world->breakdown[index],
                               .after = state_words_of(world, plan->after_chance),
                               .repair = state_words_of(world, plan->repair_chance)};
}

static bool put_breakdown(struct state_filling *filling, uint32_t index, const void *from) {
    const struct breakdown_row *row = from;
    const struct breakdown_plan *plan = &filling->world->breakdown_plan[index];
    filling->world->breakdown[index] = row->breakdown;
    return state_put_words(filling, plan->after_chance, row->after) &&
           state_put_words(filling, plan->repair_chance, row->repair);
}

/* ---- gates: each node is identified by what it reads and by its owner ----
 * Thresholds are saved where an incident has set them. */

_Static_assert(sizeof(struct gate) == 24, "struct gate is in gate_row");

struct gate_row {
    uint64_t key;
    bool open, is_set, reopen_is_set;
    int64_t threshold, reopen_below;
};

static const struct state_field gate_field[] = {FIELD(struct gate_row, STATE_KEY, key),
                                                FIELD(struct gate_row, STATE_FLAG, open),
                                                FIELD(struct gate_row, STATE_FLAG, is_set),
                                                FIELD(struct gate_row, STATE_FLAG, reopen_is_set),
                                                FIELD(struct gate_row, STATE_VALUE, threshold),
                                                FIELD(struct gate_row, STATE_VALUE, reopen_below)};

static uint32_t gates(const struct world *world) { return world->scenario->gate_count; }

/* Whose it is, where in the tree, what it reads and how. */
static uint64_t key_of_gate(const struct world *world, uint32_t index) {
    const struct scenario_gate *fixed = &world->scenario->gate[index];
    uint32_t top = gate_top(world, index);
    bool leaf = fixed->first_child == NO_INDEX;
    const uint32_t part[] = {world->gate[top].owner_kind,
                             world->gate[top].above,
                             index - top,
                             fixed->kind,
                             leaf ? fixed->reads : 0,
                             leaf ? fixed->subject : 0,
                             leaf ? fixed->item : 0,
                             leaf && fixed->reopen_below != NOT_GIVEN};
    unsigned char bytes[sizeof part], *at = bytes;
    for (size_t i = 0; i < sizeof part / sizeof *part; i++)
        at = bytes_put_4(at, part[i]);
    return sealed_checksum(0, bytes, sizeof bytes);
}

static void get_gate(const struct world *world, uint32_t index, struct state_cursor *cursor,
                     void *to) {
    (void)cursor;
    const struct scenario_gate *fixed = &world->scenario->gate[index];
    const struct gate *gate = &world->gate[index];
    struct gate_row *row = to;
    bool leaf = fixed->first_child == NO_INDEX;
    int64_t reopen_below = gate_reopen_below(world, index);
    *row = (struct gate_row){.key = key_of_gate(world, index),
                             .open = gate->open,
                             .is_set = leaf && gate->threshold != fixed->threshold,
                             .reopen_is_set = leaf && reopen_below != fixed->reopen_below};
    if (row->is_set)
        row->threshold = gate->threshold;
    if (row->reopen_is_set)
        row->reopen_below = reopen_below;
}

enum { WAS_SHUT = 1, WAS_OPEN };

static bool put_gate(struct state_filling *filling, uint32_t owner, const void *from) {
    (void)owner;
    const struct gate_row *row = from;
    uint32_t index = find_key(filling, gates(filling->world), row->key, key_of_gate);
    if (index == NO_INDEX)
        return true;
    struct world *world = filling->world;
    struct gate *gate = &world->gate[index];
    filling->gate[index] = row->open ? WAS_OPEN : WAS_SHUT;
    if (row->is_set)
        gate->threshold = row->threshold;
    if (row->reopen_is_set && gate_reopen_below(world, index) != NOT_GIVEN)
        world->gate_reopen[index] = row->reopen_below;
    if (gate_reopen_below(world, index) > gate->threshold) /* a what-if below what was set */
        world->gate_reopen[index] = gate->threshold;
    return row->threshold >= 0 && row->reopen_below >= 0;
}

/* ---- the standstill ---- */

_Static_assert(sizeof(struct standstill) == 48, "struct standstill is in standstill_field");

static const struct state_field standstill_field[] = {
    FIELD(struct standstill, STATE_PAST, anchor[STANDSTILL_REST]),
    FIELD(struct standstill, STATE_PAST, anchor[STANDSTILL_DEADLOCK]),
    FIELD(struct standstill, STATE_PAST, outside_tick),
    FIELD(struct standstill, STATE_FLAG, rest_open),
    FIELD(struct standstill, STATE_FLAG, clogged_open),
    FIELD(struct standstill, STATE_PAST, rest_since),
    FIELD(struct standstill, STATE_PAST, rest_start)};

static void get_standstill(const struct world *world, uint32_t owner, struct state_cursor *cursor,
                           void *row) {
    (void)owner, (void)cursor;
    *(struct standstill *)row = world->standstill;
}

static bool put_standstill(struct state_filling *filling, uint32_t owner, const void *row) {
    (void)owner;
    struct standstill *standstill = &filling->world->standstill;
    *standstill = *(const struct standstill *)row;
    return standstill->rest_open || !standstill->clogged_open;
}

/* ---- in this order ---- */

static const struct state_part part[] = {
    {"supply", NULL, false, supplies, NULL, get_supply, put_supply, FIELDS(stream_field)},
    {"demand", NULL, false, demands, NULL, get_demand, put_demand, FIELDS(stream_field)},
    {"incident", NULL, true, incidents, NULL, get_incident, put_incident, FIELDS(incident_field)},
    {"breakdown", NULL, false, breakdowns, NULL, get_breakdown, put_breakdown,
     FIELDS(breakdown_field)},
    {"gate", NULL, true, gates, NULL, get_gate, put_gate, FIELDS(gate_field)},
    {"standstill", NULL, false, one, NULL, get_standstill, put_standstill,
     FIELDS(standstill_field)},
};
const struct state_group state_outside = GROUP(part);
