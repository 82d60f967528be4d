/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_trial.c - runs of changed scenarios, one for each thread at a time. */
#include "tools/cause/cause_trial.h"

#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/base/pool.h"
#include "tools/base/progress.h"
#include "tools/record/drive.h"

void trial_init(struct trial *trial, const char *text) {
    *trial = (struct trial){.first_jam = NOT_GIVEN,
                            .any_jam = NOT_GIVEN,
                            .any_clog = NOT_GIVEN,
                            .open_clog = NOT_GIVEN};
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        char *set = require_memory(length + 1, 1);
        memcpy(set, text, length);
        trial->set =
            array_with_room(trial->set, trial->set_count, &trial->set_capacity, sizeof *trial->set);
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
    struct world *world;
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

static void arm_changed(void *self, uint32_t arm) {
    const struct course *course = self;
    starvation_arm_changed(course->starvation, arm);
}

static void count_made(const struct course *course, int sign) {
    for (uint32_t i = 0; i < course->scenario->item_count; i++)
        course->trial->made[i] += sign * world_item_totals(course->world, i).made;
}

static void warm_up_ended(void *self) {
    const struct course *course = self;
    count_made(course, -1);
}

static void run_world(struct course *course) {
    struct drive drive = {.scenario = course->scenario,
                          .world = course->world,
                          .starvation = course->starvation,
                          .self = course,
                          .warm_up_ended = warm_up_ended};
    drive_until(&drive, course->scenario->run_ticks);
    course->last = true;
    world_report_open(course->world);
    count_made(course, 1);
}

static void run_scenario(struct trial *trial, const struct scenario *scenario,
                         const struct scenario *unchanged) {
    struct world *world = world_new(scenario);
    struct course course = {.scenario = scenario,
                            .world = world,
                            .starvation = starvation_new(scenario, world),
                            .trial = trial};
    struct listener listener = {
        .self = &course, .began = began, .ended = ended, .arm_changed = arm_changed};
    world_listen(world, &listener);
    trial->made = require_memory(scenario->item_count, sizeof *trial->made);
    trial->starved = require_memory(unchanged->station_count, sizeof *trial->starved);
    run_world(&course);
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

struct trials {
    const struct scenario *scenario;
    struct trial *trial;
    _Atomic uint64_t done;
    struct progress progress;
};

static bool run_piece(void *self, uint64_t piece) {
    struct trials *trials = self;
    run_one(trials->scenario, &trials->trial[piece]);
    trials->done++;
    return true;
}

static void look(void *self) {
    struct trials *trials = self;
    progress_show(&trials->progress, (int64_t)trials->done * trials->scenario->run_ticks);
}

bool trial_run_all(const struct scenario *scenario, struct trial *trial, uint32_t count,
                   bool show_progress) {
    struct trials trials = {.scenario = scenario, .trial = trial};
    progress_init(&trials.progress, (int64_t)count * scenario->run_ticks,
                  scenario->ticks_per_second, show_progress);
    struct pool_task task = {&trials, count, pool_processors(), run_piece, look};
    pool_run(&task);
    progress_end(&trials.progress);
    return interrupt_signal() == 0;
}
