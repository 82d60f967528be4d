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
#include "tools/base/status.h"
#include "tools/soak/soak_evidence.h"
#include "tools/soak/soak_files.h"
#include "tools/soak/soak_progress.h"
#include "tools/soak/soak_run.h"

static const char journal_name[] = "soak.journal", results_name[] = "soak.results";

struct work {
    struct soak_journal *book;
    const struct soak_order *order;
    struct directory *directory; /* NULL: no files */
    uint64_t *todo;              /* units that are not done */
    uint64_t todo_count;
    pthread_mutex_t lock; /* of the book, the journal and what follows */
    struct soak_state state;
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

/* Takes away all but what is kept of jams: what an earlier program was writing when it was
 * stopped. */
static void sweep(const struct work *work) {
    int file = openat(work->directory->work, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    DIR *names = file >= 0 ? fdopendir(file) : NULL;
    if (names == NULL)
        return;
    for (struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names))
        if (entry->d_name[0] != '.' && strcmp(entry->d_name, journal_name) != 0 &&
            !soak_keep_is_of(work->book, entry->d_name))
            unlinkat(work->directory->work, entry->d_name, 0);
    closedir(names);
}

static bool write_files(struct work *work) {
    sweep(work);
    struct soak_files files = {add_file, work->directory};
    if (!soak_files_add_results(&files, work->book, work->order->shard))
        return false;
    if (work->order->shard == SOAK_NO_SHARD && !soak_files_add_tables(&files, work->book))
        return false;
    unlinkat(work->directory->work, journal_name, 0);
    return true;
}

/* ---- beginning and going on ---- */

/* What the directory of an earlier soak holds. */
static enum soak_reading read_place(struct soak_journal *book, const char *path) {
    int64_t length;
    int directory = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (directory < 0)
        return SOAK_ABSENT;
    enum soak_reading reading = soak_journal_read(book, directory, results_name, &length);
    close(directory);
    return reading;
}

static bool refuse(const char *path, const char *what) {
    fprintf(stderr, "loopwright soak: %s: %s\n", path, what);
    return false;
}

/* Reads what an unfinished soak left, and makes its journal the one to go on with. */
static bool take_up(struct work *work) {
    int64_t length;
    int directory = work->directory->work;
    enum soak_reading reading = soak_journal_read(work->book, directory, results_name, &length);
    if (reading == SOAK_WHOLE)
        return true; /* only the last steps are missing */
    reading = soak_journal_read(work->book, directory, journal_name, &length);
    if (reading == SOAK_FOREIGN)
        return refuse(work->order->path, "was begun with another command line or version, so there "
                                         "is nothing to continue");
    int error = reading == SOAK_UNREADABLE
                    ? errno
                    : soak_journal_keep(work->book, directory, journal_name, length);
    if (error != 0)
        directory_tell(work->directory, journal_name, error);
    return error == 0;
}

static bool open_directory(struct work *work, struct directory *directory) {
    const struct soak_order *order = work->order;
    bool begun = order->resume ? directory_resume(directory, order->path)
                               : directory_begin(directory, order->path);
    if (!begun)
        return false;
    work->directory = directory;
    if (take_up(work))
        return true;
    directory_leave(directory);
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
    int status = do_units(work) ? finish(work) : give_up(work);
    if (work->directory != NULL)
        directory_leave(work->directory);
    free(work->todo);
    return status;
}

int soak_work(struct soak_journal *book, const struct soak_order *order) {
    if (order->path != NULL && order->resume) {
        enum soak_reading reading = read_place(book, order->path);
        if (reading == SOAK_WHOLE)
            return STATUS_HOLDS;
    }
    _Atomic int64_t simulated[SOAK_VARIANTS_MAX] = {0};
    struct work work = {.book = book, .order = order, .simulated = simulated};
    pthread_mutex_init(&work.lock, NULL);
    int status = work_in(&work);
    pthread_mutex_destroy(&work.lock);
    return status;
}
