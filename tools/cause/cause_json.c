/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_json.c - an object of jansson, keys in the order in which they are put in. */

#include <math.h>

#include "tools/base/csv.h"
#include "tools/base/json_text.h"
#include "tools/cause/cause_report.h"
#include "tools/cause/wait_words.h"
#include "tools/record/event_kinds.h"

/* Ticks in seconds, as events.csv tells them: the double nearest to the exact decimal. */
static json_t *seconds(const struct scenario *scenario, int64_t tick) {
    if (tick == NOT_GIVEN)
        return json_null();
    if (tick % scenario->ticks_per_second == 0)
        return json_text_whole(tick / scenario->ticks_per_second);
    return json_real((double)tick / (double)scenario->ticks_per_second);
}

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
        json_text_put(object, "since_s", seconds(waits->scenario, edge->since));
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
        json_text_put(object, "since_s", seconds(self->waits.scenario, root->since));
        if (root->deed.incident != NO_INDEX)
            json_text_put(object, "incident",
                          json_string(wait_words_incident_path(self->waits.scenario,
                                                               root->deed.incident, text)));
        json_text_append(array, object);
    }
    return array;
}

static json_t *throughput_json(const struct trial_book *book, const struct trial *trial) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < book->scenario->item_count; i++) {
        double rate = book->product[i] ? trial_per_minute(book, trial, i) : NAN;
        if (book->product[i])
            json_text_put(object, book->scenario->item[i].name,
                          isnan(rate) ? json_null() : json_real(rate));
    }
    return object;
}

static json_t *growth_json(const struct trial_book *book, const struct trial *trial) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < trial->growth_count; i++) {
        json_t *object = json_object();
        json_text_put(object, "place", json_string(trial->growth[i].name));
        json_text_put(object, "item",
                      json_string(book->scenario->item[trial->growth[i].item].name));
        json_text_put(object, "per_min", json_real(trial->growth[i].per_minute));
        json_text_append(array, object);
    }
    return array;
}

static json_t *remedy_json(const struct cause_report *report, const struct cause_case *self,
                           const struct remedy *remedy) {
    const struct trial_book *book = report->remedies->book;
    const struct trial *trial = &book->trial[remedy->trial];
    json_t *object = json_object(), *set = json_array();
    for (uint32_t i = 0; i < trial->set_count; i++)
        json_text_append(set, json_string(trial->set[i]));
    int64_t failed = case_remedies_failed(report->cases, self, trial);
    json_text_put(object, "set", set);
    json_text_put(object, "jam", json_boolean(failed != NOT_GIVEN));
    json_text_put(object, "first_jam_s", seconds(book->scenario, failed));
    json_text_put(object, "starved",
                  json_boolean(case_remedies_starved(report->cases, self, trial)));
    json_text_put(object, "proved_s", seconds(book->scenario, trial->proved_ticks));
    json_text_put(object, "seeds", json_text_whole(trial->seeds));
    json_text_put(object, "met", isnan(trial->met) ? json_null() : json_real(trial->met));
    json_text_put(object, "grows", growth_json(book, trial));
    json_text_put(object, "throughput", throughput_json(book, trial));
    return object;
}

static json_t *remedies_json(const struct cause_report *report, uint32_t index) {
    const struct remedy_list *list = &report->remedies->list[index];
    json_t *array = json_array();
    for (uint32_t i = 0; i < remedy_list_shown(list); i++)
        json_text_append(array, remedy_json(report, &report->cases->one[index], &list->remedy[i]));
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
    json_text_put(object, "kind", json_string(event_kind_name(self->kind)));
    json_text_put(object, "subject", json_string(subject_of(self)));
    json_text_put(object, "start_s", seconds(scenario, self->start_tick));
    json_text_put(object, "since_s", seconds(scenario, self->since_tick));
    json_text_put(object, "end_s", self->open ? json_null() : seconds(scenario, self->end_tick));
    json_text_put(object, "lane", lane_json(self));
    json_text_put(object, "waits", waits_json(self));
    json_text_put(object, "cycle", ring_json(self));
    json_text_put(object, "turning_point_s", seconds(scenario, self->turning_tick));
    json_text_put(object, "roots", roots_json(self));
    json_text_put(object, "remedies", remedies_json(report, index));
    return object;
}

char *cause_report_json(const struct cause_report *report) {
    json_t *object = json_object(), *found = json_array();
    for (uint32_t i = 0; i < report->cases->count; i++)
        json_text_append(found, case_json(report, i));
    json_text_put(object, "scenario", json_string(report->scenario_path));
    json_text_put(object, "seed", json_text_whole((int64_t)report->cases->scenario->seed));
    json_text_put(object, "found", found);
    return json_text_of(object, JSON_TEXT_DIGITS);
}
