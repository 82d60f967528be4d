/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/same_scenario.c - every field of model/scenario/scenario.h is named here once. */
#include "tests/unit/same_scenario.h"

#include <string.h>

#define SAME(field)                                                                                \
    do {                                                                                           \
        if (a->field != b->field)                                                                  \
            return #field;                                                                         \
    } while (0)
#define SAME_TEXT(field)                                                                           \
    do {                                                                                           \
        if ((a->field == NULL) != (b->field == NULL) ||                                            \
            (a->field != NULL && strcmp(a->field, b->field) != 0))                                 \
            return #field;                                                                         \
    } while (0)
#define SAME_RATIO(field)                                                                          \
    do {                                                                                           \
        SAME(field.numerator);                                                                     \
        SAME(field.denominator);                                                                   \
    } while (0)
#define SAME_SPAN(field)                                                                           \
    do {                                                                                           \
        SAME(field.kind);                                                                          \
        SAME(field.ticks);                                                                         \
        SAME(field.a);                                                                             \
        SAME(field.b);                                                                             \
        SAME(field.c);                                                                             \
        SAME(field.mean_ticks);                                                                    \
        SAME(field.least_ticks);                                                                   \
    } while (0)
#define SAME_BREAKS(field)                                                                         \
    do {                                                                                           \
        SAME(field->present);                                                                      \
        if (a->field->present) {                                                                   \
            SAME_SPAN(field->after);                                                               \
            SAME_SPAN(field->repair);                                                              \
        }                                                                                          \
    } while (0)
#define SAME_PLACE(field)                                                                          \
    do {                                                                                           \
        SAME(field.kind);                                                                          \
        SAME(field.index);                                                                         \
        SAME(field.cell);                                                                          \
    } while (0)
#define SAME_COUNTS(field)                                                                         \
    do {                                                                                           \
        SAME(field.count);                                                                         \
        for (uint32_t k = 0; k < a->field.count; k++) {                                            \
            SAME(field.entry[k].item);                                                             \
            SAME(field.entry[k].count);                                                            \
        }                                                                                          \
    } while (0)
#define SAME_BOUND(field)                                                                          \
    do {                                                                                           \
        SAME(field.has_least);                                                                     \
        SAME(field.has_most);                                                                      \
        if (a->field.has_least)                                                                    \
            SAME_RATIO(field.least);                                                               \
        if (a->field.has_most)                                                                     \
            SAME_RATIO(field.most);                                                                \
    } while (0)

static const char *head_difference(const struct scenario *a, const struct scenario *b) {
    SAME_TEXT(title);
    SAME_TEXT(text);
    SAME(ticks_per_second);
    SAME(run_ticks);
    SAME(warm_up_ticks);
    SAME(seed);
    SAME(watch.every_ticks);
    SAME(watch.starved_after_ticks);
    SAME(watch.blocked_after_ticks);
    SAME(watch.blocked_default_ticks);
    SAME_RATIO(watch.congested_at);
    SAME(watch.jam_after_ticks);
    SAME(item_count);
    SAME(loop_count);
    SAME(lane_count);
    SAME(line_count);
    SAME(chest_count);
    SAME(station_count);
    SAME(arm_count);
    SAME(supply_count);
    SAME(demand_count);
    SAME(incident_count);
    SAME(gate_count);
    return NULL;
}

static const char *floor_difference(const struct scenario *a, const struct scenario *b) {
    for (uint32_t i = 0; i < a->item_count; i++) {
        SAME_TEXT(item[i].name);
        SAME(item[i].length);
    }
    for (uint32_t i = 0; i < a->loop_count; i++) {
        SAME_TEXT(loop[i].name);
        SAME(loop[i].cell_count);
        SAME_RATIO(loop[i].rate);
        SAME(loop[i].lane_count);
        SAME(loop[i].first_lane);
        SAME_BREAKS(loop[i].breaks);
    }
    for (uint32_t i = 0; i < a->lane_count; i++) {
        SAME_TEXT(lane[i].name);
        SAME_TEXT(lane[i].full_name);
        SAME(lane[i].loop);
    }
    for (uint32_t i = 0; i < a->line_count; i++) {
        SAME_TEXT(line[i].name);
        SAME(line[i].cell_count);
        SAME_RATIO(line[i].rate);
        SAME_BREAKS(line[i].breaks);
    }
    for (uint32_t i = 0; i < a->chest_count; i++) {
        SAME_TEXT(chest[i].name);
        SAME(chest[i].capacity);
        SAME_COUNTS(chest[i].start);
        SAME_COUNTS(chest[i].limits);
    }
    return NULL;
}

static const char *station_difference(const struct scenario *a, const struct scenario *b) {
    for (uint32_t i = 0; i < a->station_count; i++) {
        SAME_TEXT(station[i].name);
        SAME_COUNTS(station[i].takes);
        SAME(station[i].makes_count);
        for (uint32_t k = 0; k < a->station[i].makes_count; k++) {
            SAME(station[i].makes[k].item);
            SAME(station[i].makes[k].count);
            SAME(station[i].makes[k].has_chance);
            SAME(station[i].makes[k].chance);
            SAME(station[i].makes[k].room);
        }
        SAME_SPAN(station[i].time);
        SAME(station[i].ahead);
        SAME(station[i].gate);
        SAME_BREAKS(station[i].breaks);
    }
    return NULL;
}

static const char *arm_difference(const struct scenario *a, const struct scenario *b) {
    for (uint32_t i = 0; i < a->arm_count; i++) {
        SAME_TEXT(arm[i].name);
        SAME_PLACE(arm[i].from);
        SAME_PLACE(arm[i].to);
        SAME(arm[i].item_count);
        SAME(arm[i].takes_what_fits);
        SAME(arm[i].borrows_items);
        for (uint32_t k = 0; k < a->arm[i].item_count; k++)
            SAME(arm[i].item[k]);
        SAME(arm[i].hand);
        SAME_SPAN(arm[i].swing);
        SAME(arm[i].linger_ticks);
        SAME(arm[i].choose);
        SAME(arm[i].gate);
        SAME_BREAKS(arm[i].breaks);
    }
    for (uint32_t i = 0; i < a->gate_count; i++) {
        SAME(gate[i].kind);
        SAME(gate[i].reads);
        SAME(gate[i].subject);
        SAME(gate[i].item);
        SAME(gate[i].threshold);
        SAME(gate[i].reopen_below);
        SAME(gate[i].first_child);
        SAME(gate[i].next_sibling);
    }
    return NULL;
}

static const char *stream_difference(const struct scenario_stream *a,
                                     const struct scenario_stream *b) {
    SAME_TEXT(name);
    SAME(chest);
    SAME(item);
    SAME_SPAN(every);
    SAME(batch);
    SAME(first_tick);
    SAME(from_tick);
    SAME(until_tick);
    SAME(when);
    SAME(outlet);
    SAME(gate);
    SAME_BREAKS(breaks);
    return NULL;
}

static const char *incident_difference(const struct scenario *a, const struct scenario *b) {
    for (uint32_t i = 0; i < a->incident_count; i++) {
        SAME_TEXT(incident[i].name);
        SAME_TEXT(incident[i].label);
        SAME(incident[i].repeats);
        SAME(incident[i].at_tick);
        SAME_SPAN(incident[i].every);
        SAME(incident[i].first_tick);
        SAME(incident[i].kind);
        SAME(incident[i].reopen_value);
        SAME_PLACE(incident[i].track);
        SAME(incident[i].item);
        SAME(incident[i].count);
        SAME(incident[i].actor.kind);
        SAME(incident[i].actor.index);
        SAME(incident[i].chest);
        SAME(incident[i].gate);
        SAME(incident[i].value);
    }
    return NULL;
}

static const char *expect_difference(const struct scenario *a, const struct scenario *b) {
    SAME(expect.present);
    SAME(expect.jam);
    SAME(expect.deadlock);
    SAME(expect.drained);
    SAME(expect.rest);
    SAME(expect.clogged);
    SAME(expect.has_starved);
    SAME(expect.starved_count);
    for (uint32_t i = 0; i < a->expect.starved_count; i++)
        SAME(expect.starved[i]);
    SAME(expect.made_count);
    for (uint32_t i = 0; i < a->expect.made_count; i++) {
        SAME(expect.made[i].item);
        SAME_BOUND(expect.made[i].bound);
    }
    SAME(expect.demand_met_count);
    for (uint32_t i = 0; i < a->expect.demand_met_count; i++) {
        SAME(expect.demand_met[i].item);
        SAME_BOUND(expect.demand_met[i].bound);
    }
    SAME(expect.on_lane_count);
    for (uint32_t i = 0; i < a->expect.on_lane_count; i++) {
        SAME(expect.on_lane[i].lane);
        SAME_BOUND(expect.on_lane[i].bound);
    }
    return NULL;
}

const char *same_scenario_difference(const struct scenario *a, const struct scenario *b) {
    const char *found = head_difference(a, b);
    if (found == NULL)
        found = floor_difference(a, b);
    if (found == NULL)
        found = station_difference(a, b);
    if (found == NULL)
        found = arm_difference(a, b);
    for (uint32_t i = 0; found == NULL && i < a->supply_count; i++)
        found = stream_difference(&a->supply[i], &b->supply[i]);
    for (uint32_t i = 0; found == NULL && i < a->demand_count; i++)
        found = stream_difference(&a->demand[i], &b->demand[i]);
    if (found == NULL)
        found = incident_difference(a, b);
    return found != NULL ? found : expect_difference(a, b);
}
