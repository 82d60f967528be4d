/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause_json.c - an object of jansson, keys in the order in which they are put in. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "sim/require.h"
#include "tools/cause_tell.h"
#include "tools/cause_words.h"
#include "tools/csv.h"
#include "tools/events.h"

enum { REAL_DIGITS = 15 };

static void put(json_t *object, const char *key, json_t *value) {
    require(json_object_set_new(object, key, value) == 0);
}

static void append(json_t *array, json_t *value) {
    require(json_array_append_new(array, value) == 0);
}

static json_t *whole(int64_t number) { return json_integer((json_int_t)number); }

/* Ticks in seconds, as events.csv tells them: the double nearest to the exact decimal. */
static json_t *seconds(const struct scenario *scenario, int64_t tick) {
    if (tick == NOT_GIVEN)
        return json_null();
    if (tick % scenario->ticks_per_second == 0)
        return whole(tick / scenario->ticks_per_second);
    return json_real((double)tick / (double)scenario->ticks_per_second);
}

static json_t *lane_json(const struct cause_case *self) {
    if (self->kind == EVENT_STARVED)
        return json_null();
    const struct scenario *scenario = self->waits.scenario;
    json_t *object = json_object(), *items = json_object();
    put(object, "cells", whole(scenario->loop[scenario->lane[self->index].loop].cell_count));
    put(object, "occupied", whole(self->cells_held));
    for (uint32_t i = 0; i < self->held.count; i++)
        put(items, scenario->item[self->held.entry[i].item].name, whole(self->held.entry[i].count));
    put(object, "items", items);
    return object;
}

static json_t *waits_json(const struct cause_case *self) {
    const struct waits *waits = &self->waits;
    json_t *array = json_array();
    char text[CAUSE_TEXT_BYTES];
    for (uint32_t i = 0; i < waits->edge_count; i++) {
        const struct waits_edge *edge = &waits->edge[i];
        if (edge->to == WAITS_NOBODY || !self->around[edge->from] || !self->around[edge->to])
            continue;
        json_t *object = json_object();
        put(object, "who", json_string(cause_name(waits, edge->from, text)));
        put(object, "what", json_string(cause_what(waits, edge, text)));
        put(object, "on", json_string(cause_name(waits, edge->to, text)));
        put(object, "since_s", seconds(waits->scenario, edge->since));
        append(array, object);
    }
    return array;
}

static json_t *ring_json(const struct cause_case *self) {
    if (self->roots.ring_length == 0)
        return json_null();
    json_t *array = json_array();
    char text[CAUSE_TEXT_BYTES];
    for (uint32_t i = 0; i < self->roots.ring_length; i++)
        append(array, json_string(cause_name(&self->waits, self->roots.ring[i], text)));
    return array;
}

static json_t *roots_json(const struct cause_case *self) {
    json_t *array = json_array();
    char text[CAUSE_TEXT_BYTES];
    for (uint32_t i = 0; i < self->roots.count; i++) {
        const struct root *root = &self->roots.root[i];
        json_t *object = json_object();
        put(object, "kind", json_string(cause_root_word(root->kind)));
        put(object, "subject", json_string(cause_subject_name(&self->waits, root->subject, text)));
        put(object, "item",
            root->item == NO_INDEX ? json_null()
                                   : json_string(self->waits.scenario->item[root->item].name));
        put(object, "since_s", seconds(self->waits.scenario, root->since));
        append(array, object);
    }
    return array;
}

static json_t *throughput_json(const struct cause_report *report, const struct trial *trial) {
    const struct scenario *scenario = report->cases->scenario;
    json_t *object = json_object();
    double minutes = (double)(scenario->run_ticks - scenario->warm_up_ticks) /
                     (60 * (double)scenario->ticks_per_second);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (report->remedies->product[i])
            put(object, scenario->item[i].name,
                minutes > 0 ? json_real((double)trial->made[i] / minutes) : json_null());
    return object;
}

static json_t *remedy_json(const struct cause_report *report, const struct cause_case *self,
                           const struct remedy *remedy) {
    const struct trial *trial = &report->remedies->trial[remedy->trial];
    json_t *object = json_object(), *set = json_array();
    for (uint32_t i = 0; i < trial->set_count; i++)
        append(set, json_string(trial->set[i]));
    int64_t jam = remedies_jam_of(report->cases, self, trial);
    put(object, "set", set);
    put(object, "jam", json_boolean(jam != NOT_GIVEN));
    put(object, "first_jam_s", seconds(report->cases->scenario, jam));
    put(object, "starved",
        json_boolean(self->kind == EVENT_STARVED ? trial->starved[self->index]
                                                 : trial->some_starved));
    put(object, "throughput", throughput_json(report, trial));
    return object;
}

static json_t *remedies_json(const struct cause_report *report, uint32_t index) {
    const struct remedy *remedy;
    uint32_t count = remedies_of(report->remedies, index, &remedy);
    json_t *array = json_array();
    for (uint32_t i = 0; i < count; i++)
        append(array, remedy_json(report, &report->cases->one[index], &remedy[i]));
    return array;
}

static const char *subject_of(const struct cause_case *self) {
    const struct scenario *scenario = self->waits.scenario;
    return self->kind == EVENT_STARVED ? scenario->station[self->index].name
                                       : scenario->lane[self->index].full_name;
}

static json_t *case_json(const struct cause_report *report, uint32_t index) {
    const struct cause_case *self = &report->cases->one[index];
    const struct scenario *scenario = report->cases->scenario;
    json_t *object = json_object();
    put(object, "kind", json_string(events_kind_name(self->kind)));
    put(object, "subject", json_string(subject_of(self)));
    put(object, "start_s", seconds(scenario, self->start_tick));
    put(object, "since_s", seconds(scenario, self->since_tick));
    put(object, "end_s", self->open ? json_null() : seconds(scenario, self->end_tick));
    put(object, "lane", lane_json(self));
    put(object, "waits", waits_json(self));
    put(object, "cycle", ring_json(self));
    put(object, "turning_point_s", seconds(scenario, self->turning_tick));
    put(object, "roots", roots_json(self));
    put(object, "remedies", remedies_json(report, index));
    return object;
}

char *cause_tell_json(const struct cause_report *report) {
    json_t *object = json_object(), *found = json_array();
    for (uint32_t i = 0; i < report->cases->count; i++)
        append(found, case_json(report, i));
    put(object, "scenario", json_string(report->scenario_path));
    put(object, "seed", whole((int64_t)report->cases->scenario->seed));
    put(object, "found", found);
    char *text = json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(REAL_DIGITS));
    require(text != NULL);
    json_decref(object);
    size_t length = strlen(text);
    text = require_more_memory(text, length + 2, 1);
    memcpy(text + length, "\n", 2);
    return text;
}
