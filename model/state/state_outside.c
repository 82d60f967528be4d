/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_outside.c - supplies, demands, incidents, breakdowns, gates and the standstill
 * as rows of a state. */
#include <string.h>

#include "model/state/state_table.h"
#include "sim/bytes.h"
#include "sim/sealed_file.h"

static uint32_t one(const struct world *world) {
    (void)world;
    return 1;
}

/* ---- supplies and demands ----
 * derived: waits_for_gate; fixed: tally, total, item, chance, gate */

_Static_assert(sizeof(struct stream) == 40, "struct stream is in struct stream_row");

struct stream_row {
    uint8_t stops;
    int64_t due, open;
    struct stream_words interval;
};

static const struct state_field stream_field[] = {
    FIELD(struct stream_row, STATE_BYTE, stops), FIELD(struct stream_row, STATE_DUE, due),
    FIELD(struct stream_row, STATE_AMOUNT, open), STREAM_FIELDS(struct stream_row, interval)};

static void get_stream(const struct world *world, const struct stream *stream, void *row) {
    *(struct stream_row *)row =
        (struct stream_row){.stops = stream->stops,
                            .due = stream->due,
                            .open = stream->open,
                            .interval = state_words_of(world, stream->chance)};
}

static bool put_stream(struct state_filling *filling, struct stream *stream, int64_t until,
                       const struct stream_row *row) {
    if (!state_stops_fit(row->stops))
        return false;
    stream->stops = row->stops;
    stream->due = row->due <= until ? row->due : AGENDA_NEVER;
    stream->open = row->open;
    return state_put_words(filling, stream->chance, row->interval);
}

static uint32_t supplies(const struct world *world) { return world->scenario->supply_count; }

static void get_supply(const struct world *world, uint32_t index, struct state_cursor *cursor,
                       void *row) {
    (void)cursor;
    get_stream(world, &world->supply[index], row);
}

static bool put_supply(struct state_filling *filling, uint32_t index, const void *row) {
    return put_stream(filling, &filling->world->supply[index],
                      filling->world->scenario->supply[index].until_tick, row);
}

static uint32_t demands(const struct world *world) { return world->scenario->demand_count; }

static void get_demand(const struct world *world, uint32_t index, struct state_cursor *cursor,
                       void *row) {
    (void)cursor;
    get_stream(world, &world->demand[index], row);
}

static bool put_demand(struct state_filling *filling, uint32_t index, const void *row) {
    return put_stream(filling, &filling->world->demand[index],
                      filling->world->scenario->demand[index].until_tick, row);
}

/* ---- incidents: told by their labels, since a what-if may add one or take one away ----
 * One that does not repeat has no state: it is to come as long as its tick is. */

_Static_assert(sizeof(struct incident) == 16, "struct incident is in struct incident_row");

struct incident_row {
    uint64_t label; /* a checksum of it */
    int64_t due;
    struct stream_words interval;
};

static const struct state_field incident_field[] = {FIELD(struct incident_row, STATE_KEY, label),
                                                    FIELD(struct incident_row, STATE_DUE, due),
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
                              .due = repeats ? world->incident[index].due : 0,
                              .interval = state_words_of(world, world->incident[index].chance)};
}

/* Looks for number `index` from where the last one was found on, going round: as a rule it stands
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
    if (row->due > filling->tick)
        world->incident[index].due = row->due;
    return state_put_words(filling, world->incident[index].chance, row->interval);
}

/* ---- breakdowns ---- */

_Static_assert(sizeof(struct breakdown) == 32, "struct breakdown is in struct breakdown_row");

struct breakdown_row {
    bool broken;
    int64_t due;
    struct stream_words after, repair;
};

static const struct state_field breakdown_field[] = {
    FIELD(struct breakdown_row, STATE_FLAG, broken), FIELD(struct breakdown_row, STATE_DUE, due),
    STREAM_FIELDS(struct breakdown_row, after), STREAM_FIELDS(struct breakdown_row, repair)};

static uint32_t breakdowns(const struct world *world) { return world->breakdown_count; }

static void get_breakdown(const struct world *world, uint32_t index, struct state_cursor *cursor,
                          void *row) {
    (void)cursor;
    const struct breakdown *self = &world->breakdown[index];
    *(struct breakdown_row *)row =
        (struct breakdown_row){.broken = self->broken,
                               .due = self->due,
                               .after = state_words_of(world, self->after_chance),
                               .repair = state_words_of(world, self->repair_chance)};
}

static bool put_breakdown(struct state_filling *filling, uint32_t index, const void *from) {
    const struct breakdown_row *row = from;
    struct breakdown *self = &filling->world->breakdown[index];
    self->broken = row->broken;
    self->due = row->due;
    return state_put_words(filling, self->after_chance, row->after) &&
           state_put_words(filling, self->repair_chance, row->repair);
}

/* ---- gates: each node is told by what it reads and whose it is ----
 * fixed: all but open and the thresholds; these are told where an incident has set them */

_Static_assert(sizeof(struct gate) == 56, "struct gate is in struct gate_row");

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

/* The top of the tree that a node is in. */
static uint32_t top_of(const struct world *world, uint32_t gate) {
    while (world->gate[gate].parent != NO_INDEX)
        gate = world->gate[gate].parent;
    return gate;
}

/* Whose it is, where in the tree, what it reads and how. */
static uint64_t key_of_gate(const struct world *world, uint32_t index) {
    const struct scenario_gate *fixed = &world->scenario->gate[index];
    uint32_t top = top_of(world, index);
    struct part owner = world->gate[top].owner;
    bool leaf = fixed->first_child == NO_INDEX;
    const uint32_t part[] = {owner.kind,
                             owner.index,
                             index - top,
                             fixed->kind,
                             leaf ? fixed->reads : 0,
                             leaf ? fixed->subject : 0,
                             leaf ? fixed->item : 0,
                             leaf && fixed->reopen_below != NOT_GIVEN};
    struct bytes bytes = {0};
    for (size_t i = 0; i < sizeof part / sizeof *part; i++)
        bytes_add(&bytes, part[i], sizeof *part);
    uint64_t key = sealed_checksum(0, bytes.data, bytes.length);
    bytes_free(&bytes);
    return key;
}

static void get_gate(const struct world *world, uint32_t index, struct state_cursor *cursor,
                     void *to) {
    (void)cursor;
    const struct scenario_gate *fixed = &world->scenario->gate[index];
    const struct gate *gate = &world->gate[index];
    struct gate_row *row = to;
    *row = (struct gate_row){.key = key_of_gate(world, index), .open = gate->open};
    if (fixed->first_child != NO_INDEX)
        return;
    row->is_set = gate->threshold != fixed->threshold;
    row->reopen_is_set = gate->reopen_below != fixed->reopen_below;
    row->threshold = row->is_set ? gate->threshold : 0;
    row->reopen_below = row->reopen_is_set ? gate->reopen_below : 0;
}

enum { WAS_SHUT = 1, WAS_OPEN };

static bool put_gate(struct state_filling *filling, uint32_t owner, const void *from) {
    (void)owner;
    const struct gate_row *row = from;
    uint32_t index = find_key(filling, gates(filling->world), row->key, key_of_gate);
    if (index == NO_INDEX)
        return true;
    struct gate *gate = &filling->world->gate[index];
    filling->gate[index] = row->open ? WAS_OPEN : WAS_SHUT;
    if (row->is_set)
        gate->threshold = row->threshold;
    if (row->reopen_is_set && gate->reopen_below != NOT_GIVEN)
        gate->reopen_below = row->reopen_below;
    if (gate->reopen_below > gate->threshold) /* a what-if below what was set */
        gate->reopen_below = gate->threshold;
    return row->threshold >= 0 && row->reopen_below >= 0;
}

/* ---- the standstill ----
 * derived: jammed_tracks, deadlocked_tracks; only within a tick: before */

_Static_assert(sizeof(struct standstill) == 80, "struct standstill is in struct still_row");

struct still_row {
    int64_t rest_anchor, deadlock_anchor, outside_tick;
    bool rest_open, clogged_open;
    int64_t rest_since, rest_start;
};

static const struct state_field still_field[] = {
    FIELD(struct still_row, STATE_PAST, rest_anchor),
    FIELD(struct still_row, STATE_PAST, deadlock_anchor),
    FIELD(struct still_row, STATE_PAST, outside_tick),
    FIELD(struct still_row, STATE_FLAG, rest_open),
    FIELD(struct still_row, STATE_FLAG, clogged_open),
    FIELD(struct still_row, STATE_PAST, rest_since),
    FIELD(struct still_row, STATE_PAST, rest_start)};

static void get_still(const struct world *world, uint32_t owner, struct state_cursor *cursor,
                      void *row) {
    (void)owner, (void)cursor;
    const struct standstill *still = &world->standstill;
    *(struct still_row *)row =
        (struct still_row){.rest_anchor = still->anchor[STANDSTILL_REST],
                           .deadlock_anchor = still->anchor[STANDSTILL_DEADLOCK],
                           .outside_tick = still->outside_tick,
                           .rest_open = still->rest_open,
                           .clogged_open = still->clogged_open,
                           .rest_since = still->rest_since,
                           .rest_start = still->rest_start};
}

static bool put_still(struct state_filling *filling, uint32_t owner, const void *from) {
    (void)owner;
    const struct still_row *row = from;
    struct standstill *still = &filling->world->standstill;
    still->anchor[STANDSTILL_REST] = row->rest_anchor;
    still->anchor[STANDSTILL_DEADLOCK] = row->deadlock_anchor;
    still->outside_tick = row->outside_tick;
    still->rest_open = row->rest_open;
    still->clogged_open = row->clogged_open;
    still->rest_since = row->rest_since;
    still->rest_start = row->rest_start;
    return row->rest_open || !row->clogged_open;
}

/* ---- in this order ---- */

static const struct state_part part[] = {
    {"supply", NULL, false, supplies, NULL, get_supply, put_supply, FIELDS(stream_field)},
    {"demand", NULL, false, demands, NULL, get_demand, put_demand, FIELDS(stream_field)},
    {"incident", NULL, true, incidents, NULL, get_incident, put_incident, FIELDS(incident_field)},
    {"breakdown", NULL, false, breakdowns, NULL, get_breakdown, put_breakdown,
     FIELDS(breakdown_field)},
    {"gate", NULL, true, gates, NULL, get_gate, put_gate, FIELDS(gate_field)},
    {"stillness", NULL, false, one, NULL, get_still, put_still, FIELDS(still_field)},
};
const struct state_group state_outside = GROUP(part);
