/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_trial.c - threads take the next trial of a list until there is none. */
#include "tools/cause/cause_trial.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/base/progress.h"
#include "tools/record/starvation.h"

void trial_init(struct trial *trial, const char *text) {
    *trial = (struct trial){.first_jam = NOT_GIVEN,
                            .any_jam = NOT_GIVEN,
                            .any_clog = NOT_GIVEN,
                            .open_clog = NOT_GIVEN};
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        char *set = require_memory(length + 1, 1);
        memcpy(set, text, length);
        trial->set = require_more_memory(trial->set, trial->set_count + 1, sizeof *trial->set);
        trial->set[trial->set_count++] = set;
        text += length + (text[length] == '\n');
    }
}

void trial_free(struct trial *trial) {
    for (uint32_t i = 0; i < trial->set_count; i++)
        free(trial->set[i]);
    free(trial->set);
    free(trial->starved);
    free(trial->made);
    *trial = (struct trial){0};
}

/* ---- one run ---- */

struct course {
    const struct scenario *scenario;
    struct starvation *starvation;
    struct trial *trial;
    bool last;
};

static void note_first(int64_t *first, int64_t tick) {
    if (*first == NOT_GIVEN || tick < *first)
        *first = tick;
}

static void began(void *self, const struct event *event) {
    struct course *course = self;
    if (event->kind == EVENT_JAM)
        note_first(&course->trial->any_jam, event->start_tick);
    if (event->kind == EVENT_CLOGGED)
        note_first(&course->trial->any_clog, event->start_tick);
    if (event->kind == EVENT_STARVED)
        starvation_began(course->starvation, event);
}

static void ended(void *self, const struct event *event) {
    struct course *course = self;
    if (event->kind == EVENT_JAM &&
        (course->last || event->end_tick >= course->scenario->warm_up_ticks))
        note_first(&course->trial->first_jam, event->start_tick);
    if (event->kind == EVENT_CLOGGED && course->last)
        note_first(&course->trial->open_clog, event->start_tick);
    if (event->kind == EVENT_STARVED)
        starvation_ended(course->starvation, event, course->last);
}

static void count_made(const struct course *course, const struct world *world, int sign) {
    for (uint32_t i = 0; i < course->scenario->item_count; i++)
        course->trial->made[i] += sign * world_item_totals(world, i).made;
}

static int64_t earlier(int64_t a, int64_t b) { return a < b ? a : b; }

static void run_world(struct course *course, struct world *world) {
    const struct scenario *scenario = course->scenario;
    int64_t sample = 0;
    while (world_tick(world) < scenario->run_ticks && interrupt_signal() == 0) {
        int64_t next = earlier(sample, scenario->run_ticks);
        if (world_tick(world) < scenario->warm_up_ticks)
            next = earlier(next, scenario->warm_up_ticks);
        starvation_advance(course->starvation, world, next);
        if (next == scenario->warm_up_ticks)
            count_made(course, world, -1);
        if (next == sample)
            sample += scenario->watch.every_ticks;
    }
    course->last = true;
    world_tell_open(world);
    count_made(course, world, 1);
}

static void run_scenario(struct trial *trial, const struct scenario *scenario,
                         const struct scenario *unchanged) {
    struct world *world = world_new(scenario);
    struct course course = {
        .scenario = scenario, .trial = trial, .starvation = starvation_new(scenario, world)};
    struct listener listener = {.self = &course, .began = began, .ended = ended};
    world_listen(world, &listener);
    trial->made = require_memory(scenario->item_count, sizeof *trial->made);
    trial->starved = require_memory(unchanged->station_count, sizeof *trial->starved);
    run_world(&course, world);
    for (uint32_t i = 0; i < unchanged->station_count && i < scenario->station_count; i++) {
        trial->starved[i] = starvation_lasted(course.starvation, i);
        trial->some_starved |= trial->starved[i];
    }
    starvation_free(course.starvation);
    world_free(world);
    trial->done = interrupt_signal() == 0;
}

/* A change that can't be read is no remedy: it was a guess. */
static void run_one(const struct scenario *unchanged, struct trial *trial) {
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario(unchanged->text, strlen(unchanged->text), "scenario.yaml",
                      (const char *const *)trial->set, trial->set_count, &faults);
    faults_free(&faults);
    if (scenario != NULL && scenario->item_count == unchanged->item_count)
        run_scenario(trial, scenario, unchanged);
    scenario_free(scenario);
}

/* ---- many ---- */

struct pool {
    const struct scenario *scenario;
    struct trial *trial;
    uint32_t count, next, done;
    pthread_mutex_t lock;
    struct progress progress;
};

static void *work(void *self) {
    struct pool *pool = self;
    pthread_mutex_lock(&pool->lock);
    while (pool->next < pool->count && interrupt_signal() == 0) {
        struct trial *trial = &pool->trial[pool->next++];
        pthread_mutex_unlock(&pool->lock);
        run_one(pool->scenario, trial);
        pthread_mutex_lock(&pool->lock);
        pool->done++;
        progress_show(&pool->progress, (int64_t)pool->done * pool->scenario->run_ticks);
    }
    pthread_mutex_unlock(&pool->lock);
    return NULL;
}

enum { THREADS_MOST = 64 };

static uint32_t threads_for(uint32_t count) {
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    uint32_t threads = processors < 1              ? 1
                       : processors > THREADS_MOST ? THREADS_MOST
                                                   : (uint32_t)processors;
    return threads < count ? threads : count;
}

bool trial_run_all(const struct scenario *scenario, struct trial *trial, uint32_t count,
                   bool told) {
    struct pool pool = {.scenario = scenario, .trial = trial, .count = count};
    pthread_t thread[THREADS_MOST];
    uint32_t threads = threads_for(count), started = 0;
    pthread_mutex_init(&pool.lock, NULL);
    progress_init(&pool.progress, (int64_t)count * scenario->run_ticks, scenario->ticks_per_second,
                  told);
    while (started + 1 < threads && pthread_create(&thread[started], NULL, work, &pool) == 0)
        started++;
    work(&pool); /* this one works too, and does all where there can be no other */
    for (uint32_t i = 0; i < started; i++)
        pthread_join(thread[i], NULL);
    progress_end(&pool.progress);
    pthread_mutex_destroy(&pool.lock);
    return interrupt_signal() == 0;
}
