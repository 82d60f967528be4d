/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_work.c - runs the plan. Until a soak is complete its files are in a hidden
 * directory (tools/base/directory.h), where `soak.journal` grows by a result for each finished
 * run. */
#include "tools/soak/soak_work.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sim/require.h"
#include "tools/base/directory.h"
#include "tools/base/interrupt.h"
#include "tools/base/pool.h"
#include "tools/base/space.h"
#include "tools/base/status.h"
#include "tools/soak/soak_evidence.h"
#include "tools/soak/soak_files.h"
#include "tools/soak/soak_progress.h"
#include "tools/soak/soak_run.h"

static const char journal_name[] = DIRECTORY_JOURNAL, results_name[] = "soak.results";

struct work {
    struct soak_journal *book;
    const struct soak_order *order;
    struct directory *directory; /* NULL: no files */
    uint64_t *todo;              /* units that are not done */
    uint64_t todo_count;
    pthread_mutex_t lock; /* of the book, the journal and what follows */
    struct soak_state state;
    enum soak_reading finished; /* results in the place of the files, before anything is done */
    int error;                  /* errno of a write to the journal that failed */
    _Atomic int64_t *simulated; /* of each variant, in ticks */
    struct soak_progress progress;
};

/* ---- one run ---- */

/* Takes over a result under the lock; returns false when the work is to stop. */
static bool take_result(struct work *work, uint64_t unit, const struct soak_result *result,
                        bool kept) {
    uint64_t variants = work->book->plan->variant_count, dropped = 0;
    pthread_mutex_lock(&work->lock);
    bool full = work->book->jammed_count == work->book->plan->keep && work->book->jammed_count > 0;
    if (full)
        dropped = work->book->jammed[work->book->jammed_count - 1];
    int error = soak_journal_add(work->book, unit, result);
    if (work->error == 0)
        work->error = error;
    work->state.done++;
    work->state.jams += result->jams > 0;
    if (work->directory != NULL && full && !soak_journal_keeps(work->book, dropped))
        soak_keep_drop(work->directory, dropped);
    if (kept && !soak_journal_keeps(work->book, unit / variants))
        soak_keep_drop(work->directory, unit / variants);
    bool goes_on = work->error == 0;
    pthread_mutex_unlock(&work->lock);
    return goes_on;
}

/* Whether the capsule of a run with a jam is wanted, as far as is known now. */
static bool is_wanted(struct work *work, uint64_t unit, const struct soak_result *result) {
    const struct soak_journal *book = work->book;
    uint64_t variants = book->plan->variant_count;
    if (work->directory == NULL || unit % variants != 0 || result->jams == 0)
        return false;
    pthread_mutex_lock(&work->lock);
    bool wanted =
        book->jammed_count < book->plan->keep ||
        (book->jammed_count > 0 && unit / variants < book->jammed[book->jammed_count - 1]);
    pthread_mutex_unlock(&work->lock);
    return wanted;
}

static bool do_unit(void *self, uint64_t piece) {
    struct work *work = self;
    const struct soak_plan *plan = work->book->plan;
    uint64_t unit = work->todo[piece], run = unit / plan->variant_count;
    uint32_t variant = (uint32_t)(unit % plan->variant_count);
    struct soak_result result;
    if (!soak_run(plan, &work->book->measures[variant], variant, run, &work->simulated[variant],
                  &result))
        return false;
    bool wanted = is_wanted(work, unit, &result);
    if (wanted && !soak_keep(plan, run, &result, work->directory)) {
        soak_result_free(&result);
        return false; /* a signal, or it was reported */
    }
    return take_result(work, unit, &result, wanted);
}

/* ---- all runs ---- */

static double hours(const struct soak_plan *plan, uint32_t variant, int64_t ticks) {
    return (double)ticks / (double)plan->scenario[variant]->ticks_per_second / 3600;
}

static void look(void *self) {
    struct work *work = self;
    if (!soak_progress_is_due(&work->progress))
        return;
    pthread_mutex_lock(&work->lock);
    struct soak_state state = work->state;
    pthread_mutex_unlock(&work->lock);
    for (uint32_t i = 0; i < work->book->plan->variant_count; i++)
        state.hours += hours(work->book->plan, i, work->simulated[i]);
    soak_progress_show(&work->progress, &state);
}

/* Lists what is to do, and counts what is done. */
static void list_units(struct work *work) {
    const struct soak_plan *plan = work->book->plan;
    double all = 0, times = plan->disturb ? 2 : 1; /* each is run without disturbances, too */
    uint64_t units = 0;
    work->todo = require_memory(soak_plan_units(plan), sizeof *work->todo);
    for (uint64_t unit = 0; unit < soak_plan_units(plan); unit++) {
        const struct soak_result *result = &work->book->result[unit];
        uint32_t variant = (uint32_t)(unit % plan->variant_count);
        if (!soak_plan_has(plan, work->order->shard, unit / plan->variant_count))
            continue;
        units++;
        all += times * hours(plan, variant, plan->scenario[variant]->run_ticks);
        if (result->done) {
            work->state.done++;
            work->state.jams += result->jams > 0;
            work->state.hours += times * hours(plan, variant, result->ticks);
        } else {
            work->todo[work->todo_count++] = unit;
        }
    }
    soak_progress_init(&work->progress, units, all, work->state.hours, !work->order->quiet);
}

/* Results, series of the first runs, and capsules, each perhaps of a million bytes. */
static double bytes_of(const struct soak_plan *plan) {
    enum { RESULT_BYTES = 250, SERIES_BYTES = 8 * SOAK_WINDOWS_MAX, CAPSULE_BYTES = 1000000 };
    uint64_t units = soak_plan_units(plan);
    uint64_t kept = plan->keep < plan->run_count ? plan->keep : plan->run_count;
    return (double)units * RESULT_BYTES * 3 + (double)SOAK_SERIES_RUNS * SERIES_BYTES * 2 +
           (double)kept * CAPSULE_BYTES;
}

static bool do_units(struct work *work) {
    struct pool_task task = {work, work->todo_count, work->order->jobs, do_unit, look};
    bool done = pool_run(&task);
    soak_progress_end(&work->progress);
    int error = soak_journal_sync(work->book);
    if (work->error == 0)
        work->error = error;
    return done && work->error == 0;
}

/* ---- files ---- */

static bool add_file(void *self, const char *name, const void *bytes, size_t length) {
    return directory_add(self, name, bytes, length);
}

static bool is_stale(const struct work *work, const char *name) {
    return strcmp(name, ".") != 0 && strcmp(name, "..") != 0 && strcmp(name, journal_name) != 0 &&
           !soak_keep_is_of(work->book, name);
}

/* Takes away all but what is kept of jams: what an earlier program was writing when it was stopped.
 * False: reported. */
static bool sweep(const struct work *work) {
    int file = openat(work->directory->work, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    DIR *names = file >= 0 ? fdopendir(file) : NULL;
    const char *failed = names == NULL ? "." : NULL;
    int error = errno;
    for (struct dirent *entry; names != NULL && failed == NULL && (entry = readdir(names)) != NULL;)
        if (is_stale(work, entry->d_name) && unlinkat(file, entry->d_name, 0) != 0) {
            failed = entry->d_name;
            error = errno;
        }
    if (failed != NULL)
        directory_tell(work->directory, failed, error);
    if (names != NULL)
        closedir(names);
    else if (file >= 0)
        close(file);
    return failed == NULL;
}

/* Makes anew what is kept of jams and is not there, because somebody took it away, or a power
 * failure did. False: a signal, or it was reported. */
static bool keep_missing(const struct work *work) {
    const struct soak_journal *book = work->book;
    for (uint64_t i = 0; i < book->jammed_count; i++) {
        uint64_t run = book->jammed[i];
        const struct soak_result *result = &book->result[run * book->plan->variant_count];
        if (!soak_keep_is_there(work->directory->work, run) &&
            !soak_keep(book->plan, run, result, work->directory))
            return false;
    }
    return true;
}

static bool write_files(struct work *work) {
    struct soak_files files = {add_file, work->directory};
    return sweep(work) && keep_missing(work) &&
           soak_files_add_results(&files, work->book, work->order->shard) &&
           (work->order->shard != SOAK_NO_SHARD || soak_files_add_tables(&files, work->book));
}

/* ---- a soak that is finished already ---- */

/* Prints what another soak is whose file begins with its plan: "60 runs of ring.yaml". */
static void tell_plan(int directory, const char *file_name) {
    struct soak_plan plan;
    if (!soak_journal_read_plan(&plan, directory, file_name)) {
        fputs("of another version of the program", stderr);
        return;
    }
    fprintf(stderr, "%" PRIu64 " runs of %s", plan.run_count, plan.name[0]);
    if (plan.variant_count > 1)
        fprintf(stderr, " against %s", plan.name[1]);
    soak_plan_free(&plan);
}

static bool refuse_finished(const struct soak_order *order) {
    int place = open(order->path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    fprintf(stderr, "loopwright soak: %s: a finished soak of another command line is there (",
            order->path);
    tell_plan(place, results_name);
    fputs(
        order->shard == SOAK_NO_SHARD
            ? ")\n    to run this one, which replaces it when it is complete, leave out --resume\n"
              "    to keep that one, give --out another directory\n"
            : ")\n    move it away, or remove it, and give the same command again\n",
        stderr);
    if (place >= 0)
        close(place);
    return false;
}

static bool refuse_broken(const struct soak_order *order, const char *what) {
    fprintf(stderr, "loopwright soak: %s/%s: %s\n", order->path, results_name, what);
    fprintf(stderr, "    move %s away, or remove it, and give the same command again\n",
            order->path);
    return false;
}

/* Whether a soak that is to go on may begin with nothing, in view of what is finished there. */
static bool accept_finished(const struct work *work) {
    switch (work->finished) {
    case SOAK_FOREIGN: return refuse_finished(work->order);
    case SOAK_DAMAGED:
    case SOAK_PARTIAL: return refuse_broken(work->order, "is damaged, so nothing of it is used");
    case SOAK_UNREADABLE: return refuse_broken(work->order, "cannot be read");
    case SOAK_ABSENT:
    case SOAK_WHOLE: break;
    }
    return true;
}

/* What a finished soak consists of, but for what is kept of jams. */
static bool has_tables(int place, const struct soak_plan *plan) {
    return faccessat(place, "runs.csv", F_OK, 0) == 0 &&
           faccessat(place, "soak.json", F_OK, 0) == 0 &&
           faccessat(place, "scenario.yaml", F_OK, 0) == 0 &&
           (plan->variant_count == 1 || faccessat(place, "against.csv", F_OK, 0) == 0);
}

static bool has_all_files(int place, const struct soak_journal *book, uint64_t shard) {
    for (uint64_t i = 0; i < book->jammed_count; i++)
        if (!soak_keep_is_there(place, book->jammed[i]))
            return false;
    return shard != SOAK_NO_SHARD || has_tables(place, book->plan);
}

/* Reads the results of a finished soak in its place. True: it is the one that is asked for, with
 * all its files. */
static bool is_finished(struct work *work) {
    int64_t length;
    int place = open(work->order->path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (place < 0)
        return false;
    work->finished =
        soak_journal_read(work->book, work->order->shard, place, results_name, &length);
    bool finished =
        work->finished == SOAK_WHOLE && has_all_files(place, work->book, work->order->shard);
    close(place);
    return finished;
}

/* Unfinished work of the same soak is of no use once that is finished. */
static bool is_needless(void *self, int directory) {
    const struct work *work = self;
    struct soak_journal book;
    int64_t length;
    soak_journal_init(&book, work->book->plan);
    enum soak_reading reading =
        soak_journal_read(&book, work->order->shard, directory, journal_name, &length);
    soak_journal_free(&book);
    return reading == SOAK_PARTIAL || reading == SOAK_ABSENT;
}

/* ---- beginning and going on ---- */

/* True when another soak has done a run, as far as its journal can be read. */
static bool has_done_any(int directory) {
    struct soak_plan plan;
    struct soak_journal book;
    int64_t length;
    if (!soak_journal_read_plan(&plan, directory, journal_name))
        return true;
    soak_journal_init(&book, &plan);
    enum soak_reading reading =
        soak_journal_read(&book, SOAK_NO_SHARD, directory, journal_name, &length);
    bool any = reading != SOAK_PARTIAL || soak_journal_done(&book) > 0;
    soak_journal_free(&book);
    soak_plan_free(&plan);
    return any;
}

/* What to do about an unfinished soak that is in the way: how it is finished, or given up. */
static void tell_ways_on(const struct work *work, bool is_ours) {
    const struct directory *directory = work->directory;
    fputs("    finish it with ", stderr);
    if (is_ours)
        work->order->tell_resume(work->order->self);
    else
        fputs("the command line that it was begun with, and --resume\n", stderr);
    fprintf(stderr, "    or remove it, with all that it has done: rm -r %s/%s\n", directory->within,
            directory->unfinished);
}

static bool refuse_foreign(const struct work *work) {
    fprintf(stderr,
            "loopwright soak: %s: an unfinished soak is there, begun with another command "
            "line (",
            work->order->path);
    tell_plan(work->directory->work, journal_name);
    fputs(")\n", stderr);
    tell_ways_on(work, false);
    return false;
}

static bool refuse_damaged(const struct work *work) {
    fprintf(stderr, "loopwright soak: %s/%s/%s: is damaged, so nothing of it is used\n",
            work->directory->within, work->directory->unfinished, journal_name);
    fprintf(stderr, "    to begin anew, remove it: rm -r %s/%s\n", work->directory->within,
            work->directory->unfinished);
    return false;
}

/* An unfinished soak of the same command line is there, but it is not asked for. */
static bool refuse_unfinished(const struct work *work, uint64_t done) {
    uint64_t units = soak_plan_units(work->book->plan);
    fprintf(stderr,
            "loopwright soak: %s: an unfinished soak is there, with %" PRIu64 " of %" PRIu64
            " runs done\n",
            work->order->path, done, units);
    tell_ways_on(work, true);
    return false;
}

/* Reads what an unfinished soak left, and makes its journal the one to go on with. */
static bool take_up(struct work *work) {
    int64_t length;
    int directory = work->directory->work;
    enum soak_reading reading =
        soak_journal_read(work->book, work->order->shard, directory, journal_name, &length);
    if (reading == SOAK_FOREIGN && has_done_any(directory))
        return refuse_foreign(work);
    if (reading == SOAK_FOREIGN || reading == SOAK_ABSENT)
        length = 0; /* nothing was finished yet */
    if (length == 0 && work->order->resume && !accept_finished(work))
        return false;
    if (reading == SOAK_DAMAGED || reading == SOAK_WHOLE) /* a journal has no last mark */
        return refuse_damaged(work);
    uint64_t done = soak_journal_done(work->book);
    if (done > 0 && !work->order->resume)
        return refuse_unfinished(work, done);
    int error = reading == SOAK_UNREADABLE
                    ? errno
                    : soak_journal_keep(work->book, directory, journal_name, length);
    if (error != 0)
        directory_tell(work->directory, journal_name, error);
    return error == 0;
}

/* Leaves unfinished work as it was found, or nothing. */
static void leave_as_found(struct directory *directory) {
    if (faccessat(directory->work, journal_name, F_OK, AT_SYMLINK_NOFOLLOW) == 0)
        directory_leave(directory);
    else
        directory_abandon(directory);
}

static bool open_directory(struct work *work, struct directory *directory) {
    if (!directory_resume(directory, work->order->path))
        return false;
    work->directory = directory;
    if (take_up(work))
        return true;
    leave_as_found(directory);
    work->directory = NULL;
    return false;
}

/* ---- the end ---- */

static void tell_kept(const struct work *work, const char *why) {
    fprintf(stderr, "loopwright soak: %s; ", why);
    if (work->directory == NULL) {
        fputs("nothing is kept of a soak without --out\n", stderr);
        return;
    }
    fprintf(stderr, "%" PRIu64 " of %" PRIu64 " runs are done and kept\n    continue with: ",
            work->state.done, work->progress.run_count);
    work->order->tell_resume(work->order->self);
}

/* The work was stopped, or its files could not be written. */
static int give_up(struct work *work) {
    int status = STATUS_FILE;
    if (interrupt_signal() != 0 && work->error == 0) {
        status = STATUS_SIGNAL + interrupt_signal();
        tell_kept(work, "stopped by a signal");
    } else {
        if (work->error != 0)
            directory_tell(work->directory, journal_name, work->error);
        tell_kept(work, "a file could not be written");
    }
    return status;
}

static int finish(struct work *work) {
    if (work->directory == NULL)
        return STATUS_HOLDS;
    if (!write_files(work))
        return give_up(work);
    if (directory_commit(work->directory))
        return STATUS_HOLDS;
    tell_kept(work, "the finished files could not be put in their place");
    return STATUS_FILE;
}

static int work_in(struct work *work) {
    struct directory directory;
    if (work->order->path != NULL && !open_directory(work, &directory))
        return STATUS_FILE;
    list_units(work);
    if (work->directory != NULL && work->todo_count > 0)
        space_check(work->directory, bytes_of(work->book->plan));
    int status = do_units(work) ? finish(work) : give_up(work);
    if (work->directory != NULL)
        directory_leave(work->directory);
    free(work->todo);
    return status;
}

int soak_work(struct soak_journal *book, const struct soak_order *order) {
    _Atomic int64_t simulated[SOAK_VARIANTS_MAX] = {0};
    struct work work = {.book = book, .order = order, .simulated = simulated};
    if (order->path != NULL && order->resume && is_finished(&work)) {
        directory_tidy(order->path, is_needless, &work);
        return STATUS_HOLDS;
    }
    pthread_mutex_init(&work.lock, NULL);
    int status = work_in(&work);
    pthread_mutex_destroy(&work.lock);
    return status;
}
