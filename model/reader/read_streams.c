/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_streams.c - reads supplies and demands, which have most of their keys in
 * common. */
#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* What supplies and demands have in common. */
static void read_stream(struct reading *reading, const struct fields *fields, const char *when,
                        struct scenario_stream *stream) {
    const struct thing *chest = reading_thing(reading, reading_get(fields, "chest"), "chest",
                                              THING_SET(THING_CHEST), "a chest");
    const struct node *until = reading_get(fields, "until");
    stream->chest = chest != NULL ? chest->index : NO_INDEX;
    stream->item = reading_item(reading, reading_get(fields, "item"), "item");
    read_span_interval(reading, reading_get(fields, "every"), &stream->every);
    read_key_count(reading, fields, "batch", &stream->batch);
    read_key_ticks(reading, fields, "first", &stream->first_tick);
    read_key_ticks(reading, fields, "from", &stream->from_tick);
    bool ends = read_key_ticks(reading, fields, "until", &stream->until_tick);
    if (ends && (stream->until_tick < stream->from_tick || stream->until_tick < stream->first_tick))
        reading_warning(reading, until, "`%s` ends before it begins", stream->name);
    stream->when = read_key_word(reading, fields, when) == 0 ? WHEN_WAIT : WHEN_LOSE;
}

static void set_defaults(struct scenario_stream *stream) {
    stream->batch = 1;
    stream->first_tick = NOT_GIVEN;
    stream->until_tick = NO_LIMIT;
    stream->gate = NO_INDEX;
    stream->breaks = &scenario_never_breaks;
}

void read_streams_supplies(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    for (uint32_t i = 0; i < scenario->supply_count; i++) {
        struct fields fields;
        set_defaults(&scenario->supply[i]);
        if (!reading_open(reading, reading->part[THING_SUPPLY][i], CATALOGUE_SUPPLY, &fields))
            continue;
        read_stream(reading, &fields, "when_full", &scenario->supply[i]);
        scenario->supply[i].gate = read_gate(reading, reading_get(&fields, "gate"));
        scenario->supply[i].breaks = read_span_breaks(reading, reading_get(&fields, "breaks"));
    }
}

/* An outlet owes nothing, so that nothing can be said about what it finds too little of. */
static void read_outlet(struct reading *reading, const struct fields *fields,
                        struct scenario_stream *demand) {
    read_key_flag(reading, fields, "outlet", &demand->outlet);
    const struct node *when = reading_key(fields, "when_short");
    if (!demand->outlet)
        return;
    demand->when = WHEN_LOSE;
    if (when != NULL)
        fault_note(reading_error(reading, when, "`when_short` is not for an outlet"),
                   "an outlet takes what is there, and owes and loses nothing");
}

void read_streams_demands(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        struct fields fields;
        set_defaults(&scenario->demand[i]);
        if (!reading_open(reading, reading->part[THING_DEMAND][i], CATALOGUE_DEMAND, &fields))
            continue;
        read_stream(reading, &fields, "when_short", &scenario->demand[i]);
        read_outlet(reading, &fields, &scenario->demand[i]);
    }
}
