/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/record.c - passes on what the world reports to those who keep it. */
#include "tools/record/record.h"

#include <string.h>

#include "sim/require.h"
#include "tools/record/drive.h"

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
    if (event->kind == EVENT_JAM && record->keeper.self != NULL)
        record->keeper.jam_began(record->keeper.self, event->since_tick);
}

static void ended(void *self, const struct event *event) {
    struct record *record = self;
    events_ended(record->events, event);
    if (event->kind == EVENT_STARVED)
        starvation_ended(record->starvation, event, events_are_last(record->events));
}

static void arm_changed(void *self, uint32_t arm) {
    struct record *record = self;
    starvation_arm_changed(record->starvation, arm);
}

void record_listen(struct record *record) {
    struct listener listener = record_listener(record);
    world_listen(record->world, &listener);
}

void record_begin(struct record *record, const struct scenario *scenario, struct world *world,
                  bool tables) {
    *record = (struct record){.scenario = scenario,
                              .world = world,
                              .events = events_new(scenario),
                              .starvation = starvation_new(scenario, world),
                              .samples = tables ? samples_new(scenario, world) : NULL};
    totals_init(&record->window, scenario, world);
    chest_levels_init(&record->levels, scenario, world);
    record_listen(record);
}

bool record_keep(struct record *record, const struct directory *directory, bool with_moves) {
    record->directory = directory;
    if (!events_keep(record->events, directory))
        return false;
    samples_keep(record->samples, directory);
    if (with_moves)
        record->moves = moves_open(record->scenario, directory);
    record_listen(record);
    return true;
}

bool record_open(struct record *record, const struct scenario *scenario, struct world *world,
                 const struct directory *directory, bool with_moves) {
    record_begin(record, scenario, world, directory != NULL);
    if (directory == NULL || record_keep(record, directory, with_moves))
        return true;
    record_free(record);
    return false;
}

/* A pick and a place for each swing, as many as there can be. */
static double moves_bytes(const struct scenario *scenario, int64_t ticks) {
    enum { ROWS = 2, ROW_BYTES = 45 };
    double bytes = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        int64_t swing = scenario->arm[i].swing.mean_ticks;
        bytes += (double)ticks / (double)(swing > 0 ? swing : 1) * ROWS * ROW_BYTES;
    }
    return bytes;
}

double record_bytes(const struct record *record, int64_t ticks) {
    double samples = (double)(ticks / record->scenario->watch.every_ticks + 1);
    return samples * samples_bytes(record->samples) +
           (record->moves != NULL ? moves_bytes(record->scenario, ticks) : 0);
}

/* What only tables need stands in a block of its own, which may be passed over. */
static void save_samples(const struct record *record, struct bytes *bytes) {
    size_t begin = bytes_begin_block(bytes);
    if (record->samples != NULL)
        samples_save(record->samples, bytes);
    bytes_end_block(bytes, begin);
}

void record_save(const struct record *record, struct bytes *bytes) {
    totals_save(&record->window, bytes);
    chest_levels_save(&record->levels, bytes);
    events_save(record->events, bytes);
    starvation_save(record->starvation, bytes);
    save_samples(record, bytes);
}

static bool restore_samples(struct record *record, struct bytes_reader *reader) {
    size_t length;
    const void *block = bytes_take_block(reader, &length);
    struct bytes_reader levels = bytes_reader_of(block, length);
    return length == 0 || record->samples == NULL || samples_restore(record->samples, &levels);
}

bool record_restore(struct record *record, const struct bytes *saved) {
    struct bytes_reader reader = bytes_reader_of(saved->data, saved->length);
    bool fits = totals_restore(&record->window, &reader) &&
                chest_levels_restore(&record->levels, &reader) &&
                events_restore(record->events, record->world, &reader) &&
                starvation_restore(record->starvation, &reader) &&
                restore_samples(record, &reader) && bytes_at_end(&reader);
    record_listen(record);
    return fits;
}

struct listener record_listener(struct record *record) {
    return (struct listener){
        record, record->moves != NULL ? moved : NULL, happened, began, ended, arm_changed};
}

void record_free(struct record *record) {
    samples_discard(record->samples);
    moves_discard(record->moves);
    events_free(record->events);
    starvation_free(record->starvation);
    totals_free(&record->window);
    chest_levels_free(&record->levels);
    verdict_free(&record->verdict);
    *record = (struct record){0};
}

void record_sample(struct record *record) {
    chest_levels_look(&record->levels, record->world);
    if (record->samples != NULL)
        samples_take(record->samples, record->world);
}

void record_warm(struct record *record) {
    totals_open(&record->window);
    chest_levels_forget(&record->levels);
    world_forget_most(record->world);
}

/* ---- running ---- */

struct running {
    struct record *record;
    struct progress *progress;
    const struct record_onlooker *onlooker;
};

static bool look(void *self) {
    const struct running *running = self;
    return running->onlooker->look(running->onlooker->self);
}

static void warm_up_ended(void *self) {
    const struct running *running = self;
    record_warm(running->record);
}

static void sample(void *self) {
    const struct running *running = self;
    record_sample(running->record);
}

static bool stop(void *self) {
    const struct running *running = self;
    const struct record_keeper *keeper = &running->record->keeper;
    if (keeper->self != NULL)
        keeper->take(keeper->self);
    progress_show(running->progress, world_tick(running->record->world));
    return !record_failed(running->record);
}

static int64_t next_stop(void *self, int64_t tick) {
    const struct running *running = self;
    const struct record_keeper *keeper = &running->record->keeper;
    return keeper->next_stop(keeper->self, tick);
}

bool record_run_until(struct record *record, struct progress *progress,
                      const struct record_onlooker *onlooker, int64_t last_tick) {
    struct running running = {record, progress, onlooker};
    struct drive drive = {.scenario = record->scenario,
                          .world = record->world,
                          .starvation = record->starvation,
                          .is_warm = record->window.open,
                          .self = &running,
                          .look = onlooker != NULL ? look : NULL,
                          .warm_up_ended = warm_up_ended,
                          .sample = sample,
                          .stop = stop,
                          .next_stop = record->keeper.self != NULL ? next_stop : NULL};
    return drive_until(&drive, last_tick);
}

bool record_failed(const struct record *record) {
    return record->samples != NULL &&
           (samples_failed(record->samples) || events_failed(record->events) ||
            (record->moves != NULL && moves_failed(record->moves)));
}

/* ---- the audit ---- */

static void check_levels(const struct chest_levels *levels) {
    for (uint32_t i = 0; i < levels->count; i++)
        require(levels->level[i].lowest <= levels->level[i].highest);
}

void record_audit(struct record *record) {
    world_audit(record->world);
    events_audit(record->events, record->world);
    starvation_audit(record->starvation);
    totals_audit(&record->window);
    check_levels(&record->levels);
}

void record_end(struct record *record) {
    events_last(record->events);
    world_report_open(record->world);
    chest_levels_look(&record->levels, record->world);
    struct evidence evidence = {record->scenario, record->world, record->events,
                                record->starvation};
    verdict_reach(&record->verdict, &evidence);
}

struct outcome record_outcome(const struct record *record) {
    return (struct outcome){.scenario = record->scenario,
                            .world = record->world,
                            .events = record->events,
                            .starvation = record->starvation,
                            .window = &record->window,
                            .levels = &record->levels,
                            .verdict = &record->verdict};
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
