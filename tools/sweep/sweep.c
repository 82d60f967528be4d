/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/sweep/sweep.c - `loopwright sweep`: all combinations of some values, with common random
 * numbers, on all processors. */
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "model/reader/read.h"
#include "model/scenario/limits.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/base/command.h"
#include "tools/base/diagnostics.h"
#include "tools/base/directory.h"
#include "tools/base/interrupt.h"
#include "tools/base/load.h"
#include "tools/base/pool.h"
#include "tools/base/progress.h"
#include "tools/base/status.h"
#include "tools/sweep/sweep_journal.h"
#include "tools/sweep/sweep_rows.h"

static const char name[] = "sweep";
enum { RUNS_DEFAULT = 20, RUNS_MOST = 1000000 };

struct sweep {
    const struct options *options;
    struct scenario *base;
    struct scenario **scenario; /* [combination] */
    struct sweep_axes axes;
    struct sweep_measures measures;
    struct sweep_result *result; /* [combination * runs + run] */
    double *values;              /* of all results */
    uint64_t *todo;              /* units that are not done */
    uint64_t units, todo_count;
    int64_t runs, jobs;
    struct directory directory;
    bool has_directory;
    struct sweep_journal journal;
    pthread_mutex_t lock; /* of the journal and what follows */
    uint64_t done;
    int error; /* of a write */
    struct progress progress;
};

/* ---- the command line ---- */

static int usage(const char *what) {
    fprintf(stderr, "loopwright sweep: %s\n    help: loopwright sweep --help\n", what);
    return STATUS_USAGE;
}

static int read_axes(struct sweep *sweep) {
    const struct options *options = sweep->options;
    if (options->over_count == 0)
        return usage("nothing to sweep: give --over PATH=V1,V2,...");
    for (size_t i = 0; i < options->over_count; i++)
        if (!sweep_axes_add(&sweep->axes, options->over[i]))
            return STATUS_USAGE;
    return STATUS_HOLDS;
}

/* One run says all where nothing is left to chance. */
static bool has_chance(const struct sweep *sweep) {
    for (uint32_t c = 0; c < sweep->axes.combinations; c++)
        if (scenario_has_chance(sweep->scenario[c]))
            return true;
    return false;
}

static int read_runs(struct sweep *sweep) {
    sweep->runs = has_chance(sweep) ? RUNS_DEFAULT : 1;
    sweep->jobs = pool_processors();
    if (!options_number(sweep->options, name, OPTION_RUNS, &sweep->runs) ||
        !options_number(sweep->options, name, OPTION_JOBS, &sweep->jobs))
        return STATUS_USAGE;
    if (sweep->runs * sweep->axes.combinations > RUNS_MOST)
        return usage("these are more than 1,000,000 runs");
    return STATUS_HOLDS;
}

/* ---- scenarios ---- */

/* "ring.yaml with arms.taker.swing=1s", freed by the caller. */
static char *combination_name(const struct sweep *sweep, char *const *change) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    fputs(sweep->options->operand, out);
    for (uint32_t i = 0; i < sweep->axes.count; i++)
        fprintf(out, "%s%s", i == 0 ? " with " : " and ", change[i]);
    return text_stream_end(&stream);
}

/* The scenario of a combination, made of the text of the first; NULL, reported: it is wrong. What
 * is useless in the scenario was said when it was read. */
static struct scenario *read_combination(const struct sweep *sweep, uint32_t combination) {
    struct faults faults = {0};
    char **change = require_memory(sweep->axes.count, sizeof *change);
    const char *text = sweep->base->text;
    sweep_axes_changes(&sweep->axes, combination, change);
    char *own_name = combination_name(sweep, change);
    struct scenario *scenario = read_scenario(
        text, strlen(text), own_name, (const char *const *)change, sweep->axes.count, &faults);
    if (scenario == NULL)
        diagnostics_print(stderr, &faults);
    free(own_name);
    for (uint32_t i = 0; i < sweep->axes.count; i++)
        free(change[i]);
    free(change);
    faults_free(&faults);
    return scenario;
}

static bool same_measures(const struct sweep_measures *one, const struct sweep_measures *other) {
    return one->track_count == other->track_count && one->product_count == other->product_count &&
           memcmp(one->product, other->product, one->product_count * sizeof *one->product) == 0;
}

/* All of them are read before the first is run. */
static int read_scenarios(struct sweep *sweep) {
    sweep->scenario = require_memory(sweep->axes.combinations, sizeof(struct scenario *));
    for (uint32_t c = 0; c < sweep->axes.combinations; c++) {
        sweep->scenario[c] = read_combination(sweep, c);
        if (sweep->scenario[c] == NULL)
            return STATUS_SCENARIO;
        struct sweep_measures own;
        sweep_measures_init(&own, sweep->scenario[c]);
        bool same = c == 0 || same_measures(&own, &sweep->measures);
        if (c == 0)
            sweep->measures = own;
        else
            sweep_measures_free(&own);
        if (!same)
            return usage("the combinations differ in their lanes or products, so that they have no "
                         "columns in common");
    }
    return STATUS_HOLDS;
}

/* ---- one run ---- */

static bool do_unit(void *self, uint64_t piece) {
    struct sweep *sweep = self;
    uint64_t unit = sweep->todo[piece], run = unit % (uint64_t)sweep->runs;
    uint64_t combination = unit / (uint64_t)sweep->runs;
    const struct scenario *scenario = sweep->scenario[combination];
    uint64_t seed = (scenario->seed + run) & (uint64_t)LIMIT_SEED;
    if (!sweep_run(scenario, seed, &sweep->measures, &sweep->result[unit]))
        return false;
    pthread_mutex_lock(&sweep->lock);
    int error = sweep_journal_add(&sweep->journal, unit, &sweep->result[unit]);
    sweep->error = sweep->error == 0 ? error : sweep->error;
    sweep->done++;
    bool goes_on = sweep->error == 0;
    pthread_mutex_unlock(&sweep->lock);
    return goes_on;
}

static void look(void *self) {
    struct sweep *sweep = self;
    pthread_mutex_lock(&sweep->lock);
    uint64_t done = sweep->done;
    pthread_mutex_unlock(&sweep->lock);
    progress_show(&sweep->progress, (int64_t)(done + sweep->todo_count - sweep->units));
}

/* ---- all runs ---- */

static uint64_t identity_of(const struct sweep *sweep) {
    char runs[64];
    uint64_t identity = sweep_journal_identity(0, sweep->base->text);
    for (size_t i = 0; i < sweep->options->over_count; i++)
        identity = sweep_journal_identity(identity, sweep->options->over[i]);
    snprintf(runs, sizeof runs, "%" PRId64, sweep->runs);
    return sweep_journal_identity(identity, runs);
}

static void tell_line(const struct sweep *sweep) {
    options_print_words(sweep->options, name, stderr);
    fputs(sweep->options->given[OPTION_RESUME] ? "\n" : " --resume\n", stderr);
}

/* How what was begun there is finished, or given up: `done` of the runs of this sweep, or another
 * one. */
static int refuse_unfinished(const struct sweep *sweep, bool other, uint64_t done) {
    const struct directory *directory = &sweep->directory;
    fprintf(stderr, "loopwright sweep: %s: an unfinished sweep is there, ", directory->path);
    if (other) {
        fputs("begun with another command line\n"
              "    finish it with the command line that it was begun with, and --resume\n",
              stderr);
    } else {
        fprintf(stderr, "with %" PRIu64 " of %" PRIu64 " runs done\n    finish it with ", done,
                sweep->units);
        tell_line(sweep);
    }
    fprintf(stderr, "    or remove it, with all that it has done: rm -r %s/%s\n", directory->within,
            directory->unfinished);
    return STATUS_FILE;
}

static int refuse_finished(struct sweep *sweep) {
    fprintf(stderr,
            "loopwright sweep: %s: a finished sweep of another command line is there\n"
            "    to run this one, which replaces it when it is complete, leave out --resume\n"
            "    to keep that one, give --out another directory\n",
            sweep->directory.path);
    return STATUS_FILE;
}

static void leave_nothing(struct sweep *sweep) {
    sweep_journal_close(&sweep->journal);
    directory_abandon(&sweep->directory);
    sweep->has_directory = false;
}

static uint64_t count_done(const struct sweep *sweep) {
    uint64_t done = 0;
    for (uint64_t unit = 0; unit < sweep->units; unit++)
        done += sweep->result[unit].done;
    return done;
}

/* Where nothing was begun: a sweep that is finished already is taken as it is. */
static int take_finished(struct sweep *sweep) {
    int place = open(sweep->directory.path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (place < 0)
        return STATUS_HOLDS;
    enum sweep_journal_found found =
        sweep_journal_finished(&sweep->journal, place, sweep->result, sweep->units);
    bool complete = faccessat(place, "sweep.csv", F_OK, 0) == 0 &&
                    faccessat(place, "scenario.yaml", F_OK, 0) == 0;
    close(place);
    complete = complete && count_done(sweep) == sweep->units;
    int status = found == SWEEP_JOURNAL_OTHER ? refuse_finished(sweep) : STATUS_HOLDS;
    if (status != STATUS_HOLDS || complete)
        leave_nothing(sweep);
    return status;
}

static int open_journal(struct sweep *sweep) {
    const char *path = sweep->options->value[OPTION_OUT];
    bool resume = sweep->options->given[OPTION_RESUME];
    enum sweep_journal_found found;
    sweep->journal = (struct sweep_journal){-1, identity_of(sweep), sweep->measures.count};
    if (path == NULL)
        return STATUS_HOLDS;
    if (!directory_resume(&sweep->directory, path))
        return STATUS_FILE;
    sweep->has_directory = true;
    int error = sweep_journal_open(&sweep->journal, sweep->directory.work, sweep->result,
                                   sweep->units, &found);
    if (error != 0) {
        directory_tell(&sweep->directory, SWEEP_JOURNAL_NAME, error);
        return STATUS_FILE;
    }
    uint64_t done = count_done(sweep);
    if (found == SWEEP_JOURNAL_OTHER || (done > 0 && !resume))
        return refuse_unfinished(sweep, found == SWEEP_JOURNAL_OTHER, done);
    return resume && found == SWEEP_JOURNAL_NONE ? take_finished(sweep) : STATUS_HOLDS;
}

static void list_units(struct sweep *sweep) {
    sweep->todo = require_memory(sweep->units, sizeof *sweep->todo);
    for (uint64_t unit = 0; unit < sweep->units; unit++)
        if (!sweep->result[unit].done)
            sweep->todo[sweep->todo_count++] = unit;
    sweep->done = sweep->units - sweep->todo_count;
}

static void tell_resume(const struct sweep *sweep) {
    if (!sweep->has_directory)
        return;
    fputs("loopwright sweep: stopped; this continues it:\n    ", stderr);
    tell_line(sweep);
}

static int run_all(struct sweep *sweep) {
    struct pool_task task = {sweep, sweep->todo_count, (uint32_t)sweep->jobs, do_unit, look};
    progress_init_count(&sweep->progress, (int64_t)sweep->todo_count, "runs",
                        !sweep->options->given[OPTION_QUIET]);
    bool whole = sweep->todo_count == 0 || pool_run(&task);
    progress_end(&sweep->progress);
    if (whole)
        return STATUS_HOLDS;
    if (sweep->error != 0)
        directory_tell(&sweep->directory, SWEEP_JOURNAL_NAME, sweep->error);
    tell_resume(sweep);
    return sweep->error != 0 ? STATUS_FILE : STATUS_SIGNAL + interrupt_signal();
}

/* ---- what comes of it ---- */

/* In place of what an attempt that was stopped here left. False: reported. */
static bool add_anew(const struct directory *directory, const char *file_name, const char *text) {
    if (unlinkat(directory->work, file_name, 0) == 0 || errno == ENOENT)
        return directory_add(directory, file_name, text, strlen(text));
    directory_tell(directory, file_name, errno);
    return false;
}

/* The journal stays until the directory is in its place, which removes it. */
static int write_files(struct sweep *sweep, const struct sweep_rows *rows) {
    char *csv = sweep_rows_csv(rows);
    char *results = sweep_journal_results(&sweep->journal, sweep->result, sweep->units);
    sweep_journal_close(&sweep->journal);
    bool written = add_anew(&sweep->directory, "sweep.csv", csv) &&
                   add_anew(&sweep->directory, SWEEP_RESULTS_NAME, results) &&
                   add_anew(&sweep->directory, "scenario.yaml", sweep->base->text);
    free(results);
    free(csv);
    if (!written)
        return STATUS_FILE;
    sweep->has_directory = false;
    return directory_commit(&sweep->directory) ? STATUS_HOLDS : STATUS_FILE;
}

static void tell(const struct sweep *sweep, const struct sweep_rows *rows) {
    if (sweep->options->given[OPTION_JSON]) {
        char *text = sweep_rows_json(rows);
        fputs(text, stdout);
        free(text);
    } else if (!sweep->options->given[OPTION_QUIET]) {
        sweep_rows_print(rows, stdout);
        const char *out = sweep->options->value[OPTION_OUT];
        if (out != NULL)
            printf("\nThe files of the sweep are in %s; as lines or maps: loopwright report %s\n",
                   out, out);
    }
}

/* ---- all together ---- */

static void make_room(struct sweep *sweep) {
    sweep->units = (uint64_t)sweep->runs * sweep->axes.combinations;
    sweep->result = require_memory(sweep->units, sizeof *sweep->result);
    sweep->values = require_memory(sweep->units * sweep->measures.count, sizeof(double));
    for (uint64_t unit = 0; unit < sweep->units; unit++)
        sweep->result[unit].value = &sweep->values[unit * sweep->measures.count];
}

static int work(struct sweep *sweep) {
    int status = read_axes(sweep);
    if (status != STATUS_HOLDS)
        return status;
    sweep->base = load_scenario(sweep->options, name, sweep->options->operand, &status);
    if (sweep->base == NULL)
        return status;
    status = read_scenarios(sweep);
    if (status == STATUS_HOLDS)
        status = read_runs(sweep);
    if (status != STATUS_HOLDS)
        return status;
    make_room(sweep);
    status = open_journal(sweep);
    if (status != STATUS_HOLDS)
        return status;
    list_units(sweep);
    status = run_all(sweep);
    if (status != STATUS_HOLDS)
        return status;
    struct sweep_rows rows = {sweep->base, &sweep->axes, &sweep->measures, sweep->result,
                              (uint32_t)sweep->runs};
    if (sweep->has_directory)
        status = write_files(sweep, &rows);
    if (status == STATUS_HOLDS)
        tell(sweep, &rows);
    return status;
}

static void sweep_free(struct sweep *sweep) {
    sweep_journal_close(&sweep->journal);
    if (sweep->has_directory)
        directory_leave(&sweep->directory); /* for --resume */
    for (uint32_t c = 0; sweep->scenario != NULL && c < sweep->axes.combinations; c++)
        scenario_free(sweep->scenario[c]);
    free(sweep->scenario);
    scenario_free(sweep->base);
    sweep_measures_free(&sweep->measures);
    sweep_axes_free(&sweep->axes);
    free(sweep->result);
    free(sweep->values);
    free(sweep->todo);
}

int sweep_command(const struct options *options) {
    struct sweep sweep = {.options = options, .journal = {.file = -1}};
    if (options->given[OPTION_RESUME] && !options->given[OPTION_OUT])
        return usage("`--resume` needs the directory of the sweep: add --out DIR");
    pthread_mutex_init(&sweep.lock, NULL);
    int status = work(&sweep);
    pthread_mutex_destroy(&sweep.lock);
    sweep_free(&sweep);
    return status;
}
