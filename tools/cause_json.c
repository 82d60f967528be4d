/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause_json.c - an object of jansson, keys in the order in which they are put in. */

#include "tools/cause_tell.h"
#include "tools/cause_words.h"
#include "tools/csv.h"
#include "tools/data.h"
#include "tools/events.h"

/* Ticks in seconds, as events.csv tells them: the double nearest to the exact decimal. */
static json_t *seconds(const struct scenario *scenario, int64_t tick) {
    if (tick == NOT_GIVEN)
        return json_null();
    if (tick % scenario->ticks_per_second == 0)
        return data_whole(tick / scenario->ticks_per_second);
    return json_real((double)tick / (double)scenario->ticks_per_second);
}

static json_t *lane_json(const struct cause_case *self) {
    if (self->kind == EVENT_STARVED)
        return json_null();
    const struct scenario *scenario = self->waits.scenario;
    json_t *object = json_object(), *items = json_object();
    data_put(object, "cells",
             data_whole(scenario->loop[scenario->lane[self->index].loop].cell_count));
    data_put(object, "occupied", data_whole(self->cells_held));
    for (uint32_t i = 0; i < self->held.count; i++)
        data_put(items, scenario->item[self->held.entry[i].item].name,
                 data_whole(self->held.entry[i].count));
    data_put(object, "items", items);
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
        data_put(object, "who", json_string(cause_name(waits, edge->from, text)));
        data_put(object, "what", json_string(cause_what(waits, edge, text)));
        data_put(object, "on", json_string(cause_name(waits, edge->to, text)));
        data_put(object, "since_s", seconds(waits->scenario, edge->since));
        data_append(array, object);
    }
    return array;
}

static json_t *ring_json(const struct cause_case *self) {
    if (self->roots.ring_length == 0)
        return json_null();
    json_t *array = json_array();
    char text[CAUSE_TEXT_BYTES];
    for (uint32_t i = 0; i < self->roots.ring_length; i++)
        data_append(array, json_string(cause_name(&self->waits, self->roots.ring[i], text)));
    return array;
}

static json_t *roots_json(const struct cause_case *self) {
    json_t *array = json_array();
    char text[CAUSE_TEXT_BYTES];
    for (uint32_t i = 0; i < self->roots.count; i++) {
        const struct root *root = &self->roots.root[i];
        json_t *object = json_object();
        data_put(object, "kind", json_string(cause_root_word(root->kind)));
        data_put(object, "subject",
                 json_string(cause_subject_name(&self->waits, root->subject, text)));
        data_put(object, "item",
                 root->item == NO_INDEX ? json_null()
                                        : json_string(self->waits.scenario->item[root->item].name));
        data_put(object, "since_s", seconds(self->waits.scenario, root->since));
        if (root->deed.incident != NO_INDEX)
            data_put(object, "incident",
                     json_string(cause_incident_path(self->waits.scenario, root->deed.incident,
                                                     text)));
        data_append(array, object);
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
            data_put(object, scenario->item[i].name,
                     minutes > 0 ? json_real((double)trial->made[i] / minutes) : json_null());
    return object;
}

static json_t *remedy_json(const struct cause_report *report, const struct cause_case *self,
                           const struct remedy *remedy) {
    const struct trial *trial = &report->remedies->trial[remedy->trial];
    json_t *object = json_object(), *set = json_array();
    for (uint32_t i = 0; i < trial->set_count; i++)
        data_append(set, json_string(trial->set[i]));
    int64_t jam = remedies_jam_of(report->cases, self, trial);
    data_put(object, "set", set);
    data_put(object, "jam", json_boolean(jam != NOT_GIVEN));
    data_put(object, "first_jam_s", seconds(report->cases->scenario, jam));
    data_put(object, "starved",
             json_boolean(self->kind == EVENT_STARVED ? trial->starved[self->index]
                                                      : trial->some_starved));
    data_put(object, "throughput", throughput_json(report, trial));
    return object;
}

static json_t *remedies_json(const struct cause_report *report, uint32_t index) {
    const struct remedy *remedy;
    uint32_t count = remedies_of(report->remedies, index, &remedy);
    json_t *array = json_array();
    for (uint32_t i = 0; i < count; i++)
        data_append(array, remedy_json(report, &report->cases->one[index], &remedy[i]));
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
    data_put(object, "kind", json_string(events_kind_name(self->kind)));
    data_put(object, "subject", json_string(subject_of(self)));
    data_put(object, "start_s", seconds(scenario, self->start_tick));
    data_put(object, "since_s", seconds(scenario, self->since_tick));
    data_put(object, "end_s", self->open ? json_null() : seconds(scenario, self->end_tick));
    data_put(object, "lane", lane_json(self));
    data_put(object, "waits", waits_json(self));
    data_put(object, "cycle", ring_json(self));
    data_put(object, "turning_point_s", seconds(scenario, self->turning_tick));
    data_put(object, "roots", roots_json(self));
    data_put(object, "remedies", remedies_json(report, index));
    return object;
}

char *cause_tell_json(const struct cause_report *report) {
    json_t *object = json_object(), *found = json_array();
    for (uint32_t i = 0; i < report->cases->count; i++)
        data_append(found, case_json(report, i));
    data_put(object, "scenario", json_string(report->scenario_path));
    data_put(object, "seed", data_whole((int64_t)report->cases->scenario->seed));
    data_put(object, "found", found);
    return data_text(object, DATA_DIGITS);
}
