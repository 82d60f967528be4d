/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_json.c - prints the report of `loopwright cause` as JSON, keys in the order
 * of the manual. */

#include <math.h>

#include "tools/base/json_text.h"
#include "tools/cause/cause_report.h"
#include "tools/cause/remedy_json.h"
#include "tools/cause/short_report.h"
#include "tools/cause/wait_words.h"
#include "tools/record/event_kinds.h"

static json_t *lane_json(const struct cause_case *self) {
    if (self->kind == EVENT_STARVED)
        return json_null();
    const struct scenario *scenario = self->waits.scenario;
    json_t *object = json_object(), *items = json_object();
    json_text_put(object, "cells",
                  json_text_whole(scenario->loop[scenario->lane[self->index].loop].cell_count));
    json_text_put(object, "occupied", json_text_whole(self->cells_held));
    for (uint32_t i = 0; i < self->held.count; i++)
        json_text_put(items, scenario->item[self->held.entry[i].item].name,
                      json_text_whole(self->held.entry[i].count));
    json_text_put(object, "items", items);
    return object;
}

static json_t *waits_json(const struct cause_case *self) {
    const struct waits *waits = &self->waits;
    json_t *array = json_array();
    char text[WAIT_WORDS_BYTES];
    for (uint32_t i = 0; i < waits->edge_count; i++) {
        const struct waits_edge *edge = &waits->edge[i];
        if (edge->to == WAITS_NOBODY || !self->roots.walked[edge->from] ||
            !self->roots.walked[edge->to])
            continue;
        json_t *object = json_object();
        json_text_put(object, "who", json_string(wait_words_name(waits, edge->from, text)));
        json_text_put(object, "what", json_string(wait_words_what(waits, edge, text)));
        json_text_put(object, "on", json_string(wait_words_name(waits, edge->to, text)));
        json_text_put(object, "since_s", remedy_json_seconds(waits->scenario, edge->since));
        json_text_append(array, object);
    }
    return array;
}

static json_t *ring_json(const struct cause_case *self) {
    if (self->roots.ring_length == 0)
        return json_null();
    json_t *array = json_array();
    char text[WAIT_WORDS_BYTES];
    for (uint32_t i = 0; i < self->roots.ring_length; i++)
        json_text_append(array,
                         json_string(wait_words_name(&self->waits, self->roots.ring[i], text)));
    return array;
}

static json_t *roots_json(const struct cause_case *self) {
    json_t *array = json_array();
    char text[WAIT_WORDS_BYTES];
    for (uint32_t i = 0; i < self->roots.count; i++) {
        const struct root *root = &self->roots.root[i];
        json_t *object = json_object();
        json_text_put(object, "kind", json_string(wait_words_root_word(root->kind)));
        json_text_put(object, "subject",
                      json_string(scenario_part_name(self->waits.scenario, root->subject)));
        json_text_put(object, "item",
                      root->item == NO_INDEX
                          ? json_null()
                          : json_string(self->waits.scenario->item[root->item].name));
        json_text_put(object, "since_s", remedy_json_seconds(self->waits.scenario, root->since));
        if (root->deed.incident != NO_INDEX)
            json_text_put(object, "incident",
                          json_string(wait_words_incident_path(self->waits.scenario,
                                                               root->deed.incident, text)));
        json_text_append(array, object);
    }
    return array;
}

static json_t *remedy_of(const struct cause_report *report, const struct cause_case *self,
                         const struct remedy *remedy) {
    const struct trial_book *book = report->remedies->book;
    const struct trial *trial = &book->trial[remedy->trial];
    return remedy_json(book, trial, case_remedies_failed(report->cases, self, trial),
                       case_remedies_starved(report->cases, self, trial));
}

static json_t *remedies_json(const struct cause_report *report, uint32_t index) {
    const struct remedy_list *list = &report->remedies->list[index];
    json_t *array = json_array();
    for (uint32_t i = 0; i < remedy_list_shown(list); i++)
        json_text_append(array,
                         remedy_of(report, &report->cases->jam_case[index], &list->remedy[i]));
    return array;
}

static const char *subject_of(const struct cause_case *self) {
    const struct scenario *scenario = self->waits.scenario;
    return self->kind == EVENT_STARVED ? scenario->station[self->index].name
                                       : scenario->lane[self->index].full_name;
}

static json_t *case_json(const struct cause_report *report, uint32_t index) {
    const struct cause_case *self = &report->cases->jam_case[index];
    const struct scenario *scenario = report->cases->scenario;
    json_t *object = json_object();
    json_text_put(object, "kind", json_string(event_kind_name(self->kind)));
    json_text_put(object, "subject", json_string(subject_of(self)));
    json_text_put(object, "start_s", remedy_json_seconds(scenario, self->start_tick));
    json_text_put(object, "since_s", remedy_json_seconds(scenario, self->since_tick));
    json_text_put(object, "end_s",
                  self->open ? json_null() : remedy_json_seconds(scenario, self->end_tick));
    json_text_put(object, "lane", lane_json(self));
    json_text_put(object, "waits", waits_json(self));
    json_text_put(object, "cycle", ring_json(self));
    json_text_put(object, "turning_point_s", remedy_json_seconds(scenario, self->turning_tick));
    json_text_put(object, "roots", roots_json(self));
    json_text_put(object, "remedies", remedies_json(report, index));
    return object;
}

char *cause_report_json(const struct cause_report *report) {
    json_t *object = json_object(), *found = json_array();
    for (uint32_t i = 0; i < report->cases->count; i++)
        json_text_append(found, case_json(report, i));
    for (uint32_t i = 0; i < report->shorts->count; i++)
        json_text_append(found, short_report_json(report->shorts, report->short_remedies, i));
    json_text_put(object, "scenario", json_string(report->scenario_path));
    json_text_put(object, "seed", json_text_whole((int64_t)report->cases->scenario->seed));
    json_text_put(object, "found", found);
    return json_text_of(object, JSON_TEXT_DIGITS);
}
