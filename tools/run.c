/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/run.c - `loopwright run`: a scenario from its first tick to its last, a summary, its
 * files. */
#include <stdlib.h>

#include "model/read.h"
#include "model/world.h"
#include "sim/require.h"
#include "tools/command.h"
#include "tools/complaint.h"
#include "tools/directory.h"
#include "tools/interrupt.h"
#include "tools/progress.h"
#include "tools/record.h"
#include "tools/screen.h"
#include "tools/status.h"

static const char name[] = "run";

/* Simulated seconds in one go, so that a signal is noticed soon. */
enum { STRETCH_SECONDS = 60 };

static int64_t earlier(int64_t a, int64_t b) { return a < b ? a : b; }

/* Advances the world to its end, with a sample at each multiple of watch.every; stops early at a
 * signal or when a file can't be written. */
static void advance(struct record *record, struct progress *progress) {
    const struct scenario *scenario = record->scenario;
    struct world *world = record->world;
    int64_t sample = 0, stretch = STRETCH_SECONDS * scenario->ticks_per_second;
    while (world_tick(world) < scenario->run_ticks) {
        int64_t next = earlier(scenario->run_ticks, earlier(sample, world_tick(world) + stretch));
        if (!record->window.open && scenario->warm_up_ticks < next)
            next = scenario->warm_up_ticks;
        world_advance(world, next);
        if (next == scenario->warm_up_ticks)
            record_warm(record);
        if (next == sample) {
            record_sample(record);
            sample += scenario->watch.every_ticks;
        }
        progress_show(progress, next);
        if (interrupt_signal() != 0 || record_failed(record))
            return;
    }
}

static void print_outcome(const struct options *options, const struct outcome *outcome,
                          const char *summary) {
    if (options->given[OPTION_JSON])
        fputs(summary, stdout);
    else if (!options->given[OPTION_QUIET])
        screen_print(outcome, options->value[OPTION_OUT], stdout);
}

/* The files are in their place before anything is said about them. */
static int conclude(const struct options *options, struct record *record,
                    struct directory *directory) {
    record_end(record);
    struct outcome outcome = record_outcome(record);
    char *summary = summary_text(&outcome);
    bool written = directory == NULL || record_write(record, summary);
    if (written && directory != NULL)
        written = directory_commit(directory);
    if (written)
        print_outcome(options, &outcome, summary);
    free(summary);
    if (!written)
        return STATUS_FILE;
    return record->verdict.holds ? STATUS_HOLDS : STATUS_FAILS;
}

static int run_world(const struct options *options, const struct scenario *scenario,
                     struct world *world, struct directory *directory) {
    struct record record;
    struct progress progress;
    if (!record_open(&record, scenario, world, directory, options->given[OPTION_MOVES]))
        return STATUS_FILE;
    progress_init(&progress, scenario->run_ticks, scenario->ticks_per_second,
                  !options->given[OPTION_QUIET]);
    advance(&record, &progress);
    progress_end(&progress);
    int status = interrupt_signal() != 0 ? STATUS_SIGNAL + interrupt_signal()
                                         : conclude(options, &record, directory);
    record_free(&record);
    return status;
}

static int run_scenario(const struct options *options, const struct scenario *scenario) {
    struct directory directory, *place = NULL;
    if (options->value[OPTION_OUT] != NULL) {
        if (!directory_begin(&directory, options->value[OPTION_OUT]))
            return STATUS_FILE;
        place = &directory;
    }
    struct world *world = world_new(scenario);
    int status = run_world(options, scenario, world, place);
    world_free(world);
    if (place != NULL)
        directory_abandon(place);
    return status;
}

static int read_and_run(const struct options *options, const char *const *override, int count) {
    struct faults faults = {0};
    bool unreadable = false;
    struct scenario *scenario =
        read_scenario_file(options->operand, override, (size_t)count, &faults, &unreadable);
    complaint_print(stderr, &faults);
    faults_free(&faults);
    if (scenario == NULL)
        return unreadable ? STATUS_FILE : STATUS_SCENARIO;
    int status = run_scenario(options, scenario);
    scenario_free(scenario);
    return status;
}

int run_command(const struct options *options) {
    if (options->given[OPTION_MOVES] && options->value[OPTION_OUT] == NULL) {
        fputs("loopwright run: `--moves` needs a directory for moves.csv: add --out DIR\n", stderr);
        return STATUS_USAGE;
    }
    char *made[2] = {NULL, NULL};
    const char **override = require_memory(options->set_count + 2, sizeof *override);
    int count = options_overrides(options, name, override, made);
    int status = count < 0 ? STATUS_USAGE : read_and_run(options, override, count);
    free(override);
    free(made[0]);
    free(made[1]);
    return status;
}
