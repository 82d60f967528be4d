/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record.c - passes on what the world tells to those who keep it. */
#include "tools/record.h"

#include <string.h>

static void moved(void *self, const struct move *move) {
    struct record *record = self;
    moves_add(record->moves, move);
}

static void happened(void *self, const struct event *event) {
    struct record *record = self;
    events_happened(record->events, event);
}

static void began(void *self, const struct event *event) {
    struct record *record = self;
    events_began(record->events, event);
    if (event->kind == EVENT_STARVED)
        starvation_began(record->starvation, event);
}

static void ended(void *self, const struct event *event) {
    struct record *record = self;
    events_ended(record->events, event);
    if (event->kind == EVENT_STARVED)
        starvation_ended(record->starvation, event, events_are_last(record->events));
}

static bool open_files(struct record *record, bool with_moves) {
    if (!events_keep(record->events, record->directory))
        return false;
    record->samples = samples_open(record->scenario, record->directory);
    if (with_moves)
        record->moves = moves_open(record->scenario, record->directory);
    return true;
}

bool record_open(struct record *record, const struct scenario *scenario, struct world *world,
                 const struct directory *directory, bool with_moves) {
    *record = (struct record){.scenario = scenario,
                              .world = world,
                              .directory = directory,
                              .events = events_new(scenario),
                              .starvation = starvation_new(scenario, world)};
    window_init(&record->window, scenario, world);
    if (directory != NULL && !open_files(record, with_moves)) {
        record_free(record);
        return false;
    }
    struct listener listener = {record, record->moves != NULL ? moved : NULL, happened, began,
                                ended};
    world_listen(world, &listener);
    return true;
}

void record_free(struct record *record) {
    samples_discard(record->samples);
    moves_discard(record->moves);
    events_free(record->events);
    starvation_free(record->starvation);
    window_free(&record->window);
    verdict_free(&record->verdict);
    *record = (struct record){0};
}

void record_sample(struct record *record) {
    starvation_look(record->starvation);
    if (record->samples != NULL)
        samples_take(record->samples, record->world);
}

void record_warm(struct record *record) {
    window_open(&record->window);
    world_forget_most(record->world);
}

bool record_failed(const struct record *record) {
    return record->samples != NULL &&
           (samples_failed(record->samples) || events_failed(record->events) ||
            (record->moves != NULL && moves_failed(record->moves)));
}

void record_end(struct record *record) {
    events_last(record->events);
    world_tell_open(record->world);
    verdict_reach(&record->verdict, record->scenario, record->world, record->events,
                  record->starvation);
}

struct outcome record_outcome(const struct record *record) {
    return (struct outcome){record->scenario, record->world, record->events, &record->window,
                            &record->verdict};
}

static bool close_tables(struct record *record) {
    bool written = samples_close(record->samples, record->directory);
    record->samples = NULL;
    if (record->moves != NULL)
        written = moves_close(record->moves, record->directory) && written;
    record->moves = NULL;
    return written;
}

bool record_write(struct record *record, const char *summary) {
    const char *text = record->scenario->text;
    return close_tables(record) && events_write(record->events, record->directory) &&
           directory_add(record->directory, "summary.json", summary, strlen(summary)) &&
           directory_add(record->directory, "scenario.yaml", text, strlen(text));
}
