/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/summary.c - an object of jansson, keys in the order in which they are put in. */
#include "tools/summary.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "sim/require.h"
#include "tools/version.h"

enum { REAL_DIGITS = 15 }; /* as many as every decimal of that length survives in a double */

/* A value that jansson has no memory for is NULL, and so is the text in the end. */
static void put(json_t *object, const char *key, json_t *value) {
    require(json_object_set_new(object, key, value) == 0);
}

static json_t *whole(int64_t number) { return json_integer((json_int_t)number); }

/* A share or rate; null where the run has no time after its warm-up. */
static json_t *real(double number) { return isfinite(number) ? json_real(number) : json_null(); }

/* ---- the verdict ---- */

static json_t *found_json(const struct verdict_point *point) {
    switch (point->kind) {
    case FOUND_WORDS: return json_string(point->words);
    case FOUND_COUNT: return whole(point->count);
    case FOUND_SHARE: return real(point->share);
    }
    return NULL;
}

static json_t *verdict_json(const struct verdict *verdict) {
    json_t *object = json_object(), *points = json_array();
    for (uint32_t i = 0; i < verdict->point_count; i++) {
        json_t *point = json_object();
        put(point, "what", json_string(verdict->point[i].what));
        put(point, "expected", json_string(verdict->point[i].expected));
        put(point, "found", found_json(&verdict->point[i]));
        put(point, "holds", json_boolean(verdict->point[i].holds));
        require(json_array_append_new(points, point) == 0);
    }
    put(object, "holds", json_boolean(verdict->holds));
    put(object, "jams", whole((int64_t)verdict->jams));
    put(object, "deadlocks", whole((int64_t)verdict->deadlocks));
    put(object, "expect", points);
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
    put(object, "made", whole(totals.made));
    put(object, "consumed", whole(totals.consumed));
    put(object, "supplied", whole(totals.supplied));
    put(object, "demanded", whole(totals.demanded));
    put(object, "met", whole(totals.met));
    put(object, "owed", whole(totals.owed));
    put(object, "lost", whole(totals.lost));
    put(object, "made_per_min", real(window_made_per_minute(outcome->window, item)));
    put(object, "left", whole(left));
    return object;
}

static json_t *items_json(const struct outcome *outcome) {
    json_t *object = json_object();
    int64_t *left = require_memory(outcome->scenario->item_count, sizeof *left);
    summary_left(outcome, left);
    for (uint32_t i = 0; i < outcome->scenario->item_count; i++)
        put(object, outcome->scenario->item[i].name, item_json(outcome, i, left[i]));
    free(left);
    return object;
}

/* ---- lanes, stations, arms, events ---- */

static json_t *track_json(const struct outcome *outcome, struct place track) {
    const struct scenario *scenario = outcome->scenario;
    json_t *object = json_object(), *items = json_object();
    double most = (double)world_track_totals(outcome->world, track).cells_most;
    int64_t rest = world_track_count(outcome->world, track, NO_INDEX);
    for (uint32_t i = 0; i < scenario->item_count && rest > 0; i++) {
        int64_t count = world_track_count(outcome->world, track, i);
        if (count > 0)
            put(items, scenario->item[i].name, whole(count));
        rest -= count;
    }
    put(object, "mean_share", real(window_track_share(outcome->window, track)));
    put(object, "max_share", real(most / window_track_cells(scenario, track)));
    put(object, "items", items);
    return object;
}

/* A line is a lane that accumulates: it stands here under its own name, behind those of loops. */
static json_t *lanes_json(const struct outcome *outcome) {
    const struct scenario *scenario = outcome->scenario;
    json_t *object = json_object();
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        put(object, scenario->lane[i].full_name,
            track_json(outcome, (struct place){PLACE_LANE, i, 0}));
    for (uint32_t i = 0; i < scenario->line_count; i++)
        put(object, scenario->line[i].name, track_json(outcome, (struct place){PLACE_LINE, i, 0}));
    return object;
}

static json_t *stations_json(const struct outcome *outcome) {
    static const char *const state_name[STATION_STATES] = {"working", "starved", "blocked",
                                                           "gated", "stopped"};
    json_t *object = json_object();
    for (uint32_t i = 0; i < outcome->scenario->station_count; i++) {
        json_t *station = json_object();
        put(station, "batches", whole(world_station_totals(outcome->world, i).batches));
        for (int state = 0; state < STATION_STATES; state++)
            put(station, state_name[state],
                real(window_station_share(outcome->window, i, (enum station_state)state)));
        put(object, outcome->scenario->station[i].name, station);
    }
    return object;
}

static json_t *arms_json(const struct outcome *outcome) {
    static const char *const state_name[ARM_STATES] = {"reaching", "carrying", "placing",
                                                       "returning", "stopped"};
    json_t *object = json_object();
    for (uint32_t i = 0; i < outcome->scenario->arm_count; i++) {
        json_t *arm = json_object();
        struct arm_totals totals = world_arm_totals(outcome->world, i);
        put(arm, "swings", whole(totals.swings));
        put(arm, "moved", whole(totals.moved));
        for (int state = 0; state < ARM_STATES; state++)
            put(arm, state_name[state],
                real(window_arm_share(outcome->window, i, (enum arm_state)state)));
        put(object, outcome->scenario->arm[i].name, arm);
    }
    return object;
}

static json_t *events_json(const struct outcome *outcome) {
    json_t *object = json_object();
    for (int kind = EVENT_STARVED; kind < EVENT_KINDS; kind++)
        put(object, events_kind_name((enum event_kind)kind),
            whole((int64_t)events_count(outcome->events, (enum event_kind)kind)));
    return object;
}

static json_t *summary_json(const struct outcome *outcome) {
    const struct scenario *scenario = outcome->scenario;
    json_t *object = json_object();
    put(object, "title", json_string(scenario->title));
    put(object, "version", json_string(LOOPWRIGHT_VERSION));
    put(object, "seed", whole((int64_t)scenario->seed));
    put(object, "ticks_per_second", whole(scenario->ticks_per_second));
    put(object, "ticks", whole(scenario->run_ticks));
    put(object, "moves", whole((int64_t)world_moves(outcome->world)));
    put(object, "verdict", verdict_json(outcome->verdict));
    put(object, "items", items_json(outcome));
    put(object, "lanes", lanes_json(outcome));
    put(object, "stations", stations_json(outcome));
    put(object, "arms", arms_json(outcome));
    put(object, "events", events_json(outcome));
    return object;
}

char *summary_text(const struct outcome *outcome) {
    json_t *object = summary_json(outcome);
    char *text = json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(REAL_DIGITS));
    require(text != NULL);
    json_decref(object);
    size_t length = strlen(text);
    text = require_more_memory(text, length + 2, 1);
    text[length] = '\n';
    text[length + 1] = '\0';
    return text;
}
