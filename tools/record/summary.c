/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/summary.c - an object of jansson, keys in the order in which they are put in. */
#include "tools/record/summary.h"

#include <stdlib.h>

#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/base/json_text.h"
#include "tools/base/version.h"
#include "tools/record/event_kinds.h"
#include "tools/record/state_names.h"

/* ---- the verdict ---- */

static json_t *found_json(const struct verdict_point *point) {
    switch (point->kind) {
    case FOUND_WORDS: return json_string(point->words);
    case FOUND_COUNT: return json_text_whole(point->count);
    case FOUND_SHARE: return json_text_real(point->share);
    }
    return NULL;
}

static json_t *verdict_json(const struct verdict *verdict) {
    json_t *object = json_object(), *points = json_array();
    for (uint32_t i = 0; i < verdict->point_count; i++) {
        json_t *point = json_object();
        json_text_put(point, "what", json_string(verdict->point[i].what));
        json_text_put(point, "expected", json_string(verdict->point[i].expected));
        json_text_put(point, "found", found_json(&verdict->point[i]));
        json_text_put(point, "holds", json_boolean(verdict->point[i].holds));
        json_text_append(points, point);
    }
    json_text_put(object, "holds", json_boolean(verdict->holds));
    json_text_put(object, "jams", json_text_whole((int64_t)verdict->jams));
    json_text_put(object, "deadlocks", json_text_whole((int64_t)verdict->deadlocks));
    json_text_put(object, "expect", points);
    return object;
}

/* ---- items ---- */

/* By the identity of section 13 of the rules, so that nobody has to look into every place. */
void summary_left(const struct outcome *outcome, int64_t *left) {
    const struct scenario *scenario = outcome->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        struct item_totals totals = world_item_totals(outcome->world, i);
        left[i] = totals.supplied + totals.dropped + totals.made - totals.met - totals.consumed -
                  totals.cleared;
    }
    for (uint32_t i = 0; i < scenario->chest_count; i++) {
        const struct item_counts *start = &scenario->chest[i].start;
        for (uint32_t j = 0; j < start->count; j++)
            left[start->entry[j].item] += start->entry[j].count;
    }
}

static json_t *item_json(const struct outcome *outcome, uint32_t item, int64_t left) {
    struct item_totals totals = world_item_totals(outcome->world, item);
    json_t *object = json_object();
    json_text_put(object, "made", json_text_whole(totals.made));
    json_text_put(object, "consumed", json_text_whole(totals.consumed));
    json_text_put(object, "supplied", json_text_whole(totals.supplied));
    json_text_put(object, "demanded", json_text_whole(totals.demanded));
    json_text_put(object, "met", json_text_whole(totals.met));
    json_text_put(object, "owed", json_text_whole(totals.owed));
    json_text_put(object, "lost", json_text_whole(totals.lost));
    json_text_put(object, "made_per_min",
                  json_text_real(totals_made_per_minute(outcome->window, item)));
    json_text_put(object, "left", json_text_whole(left));
    return object;
}

static json_t *items_json(const struct outcome *outcome) {
    json_t *object = json_object();
    int64_t *left = require_memory(outcome->scenario->item_count, sizeof *left);
    summary_left(outcome, left);
    for (uint32_t i = 0; i < outcome->scenario->item_count; i++)
        json_text_put(object, outcome->scenario->item[i].name, item_json(outcome, i, left[i]));
    free(left);
    return object;
}

/* ---- lanes, stations, arms, events ---- */

static json_t *track_json(const struct outcome *outcome, uint32_t index) {
    const struct scenario *scenario = outcome->scenario;
    struct place track = layout_track_as_place(scenario, index);
    json_t *object = json_object(), *items = json_object();
    double most = (double)world_track_totals(outcome->world, track).cells_most;
    int64_t rest = world_track_count(outcome->world, track, NO_INDEX);
    for (uint32_t i = 0; i < scenario->item_count && rest > 0; i++) {
        int64_t count = world_track_count(outcome->world, track, i);
        if (count > 0)
            json_text_put(items, scenario->item[i].name, json_text_whole(count));
        rest -= count;
    }
    json_text_put(object, "mean_share", json_text_real(totals_track_share(outcome->window, index)));
    json_text_put(object, "max_share", json_text_real(most / layout_track_cells(scenario, index)));
    json_text_put(object, "items", items);
    return object;
}

/* A line is a lane that accumulates: it stands here under its own name, after those of loops. */
static json_t *lanes_json(const struct outcome *outcome) {
    const struct scenario *scenario = outcome->scenario;
    json_t *object = json_object();
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        json_text_put(object, layout_track_name(scenario, i), track_json(outcome, i));
    return object;
}

static json_t *stations_json(const struct outcome *outcome) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < outcome->scenario->station_count; i++) {
        json_t *station = json_object();
        json_text_put(station, "batches",
                      json_text_whole(world_station_totals(outcome->world, i).batches));
        for (int state = 0; state < STATION_STATES; state++)
            json_text_put(station, state_names_station((enum station_state)state),
                          json_text_real(
                              totals_station_share(outcome->window, i, (enum station_state)state)));
        json_text_put(object, outcome->scenario->station[i].name, station);
    }
    return object;
}

static json_t *arms_json(const struct outcome *outcome) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < outcome->scenario->arm_count; i++) {
        json_t *arm = json_object();
        struct arm_totals totals = world_arm_totals(outcome->world, i);
        json_text_put(arm, "swings", json_text_whole(totals.swings));
        json_text_put(arm, "moved", json_text_whole(totals.moved));
        for (int state = 0; state < ARM_STATES; state++)
            json_text_put(
                arm, state_names_arm((enum arm_state)state),
                json_text_real(totals_arm_share(outcome->window, i, (enum arm_state)state)));
        json_text_put(object, outcome->scenario->arm[i].name, arm);
    }
    return object;
}

static json_t *events_json(const struct outcome *outcome) {
    json_t *object = json_object();
    for (int number = 0; number < EVENT_KINDS; number++) {
        enum event_kind kind = (enum event_kind)number;
        if (event_kind_is_watched(kind))
            json_text_put(object, event_kind_name(kind),
                          json_text_whole((int64_t)events_count(outcome->events, kind)));
    }
    return object;
}

static json_t *object_of_summary(const struct outcome *outcome) {
    const struct scenario *scenario = outcome->scenario;
    json_t *object = json_object();
    json_text_put(object, "title", json_string(scenario->title));
    json_text_put(object, "version", json_string(LOOPWRIGHT_VERSION));
    json_text_put(object, "seed", json_text_whole((int64_t)scenario->seed));
    json_text_put(object, "ticks_per_second", json_text_whole(scenario->ticks_per_second));
    json_text_put(object, "ticks", json_text_whole(scenario->run_ticks));
    json_text_put(object, "moves", json_text_whole((int64_t)world_moves(outcome->world)));
    json_text_put(object, "verdict", verdict_json(outcome->verdict));
    json_text_put(object, "items", items_json(outcome));
    json_text_put(object, "lanes", lanes_json(outcome));
    json_text_put(object, "stations", stations_json(outcome));
    json_text_put(object, "arms", arms_json(outcome));
    json_text_put(object, "events", events_json(outcome));
    return object;
}

char *summary_as_json(const struct outcome *outcome) {
    json_t *object = object_of_summary(outcome);
    return json_text_of(object, JSON_TEXT_DIGITS);
}
