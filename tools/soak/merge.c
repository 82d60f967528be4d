/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/merge.c - `loopwright merge`: the shards of a plan become one soak, byte for byte the
 * one that a single program would have made. */
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sim/require.h"
#include "sim/sealed_file.h"
#include "tools/base/command.h"
#include "tools/base/diagnostics.h"
#include "tools/base/directory.h"
#include "tools/base/progress.h"
#include "tools/base/status.h"
#include "tools/soak/soak_files.h"
#include "tools/soak/soak_journal.h"
#include "tools/soak/soak_json.h"
#include "tools/soak/soak_report.h"
#include "tools/soak/soak_shards.h"
#include "tools/soak/soak_words.h"

/* ---- reading shards ---- */

static enum soak_reading read_shard(struct soak_journal *book, uint64_t shard, const char *path) {
    int64_t length;
    int directory = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (directory < 0)
        return errno == ENOENT ? SOAK_ABSENT : SOAK_UNREADABLE;
    enum soak_reading reading = soak_journal_read(book, shard, directory, "soak.results", &length);
    int error = errno;
    close(directory);
    errno = error;
    return reading;
}

static void tell_missing(const char *plan, const char *path, uint64_t shard,
                         enum soak_reading reading) {
    static const char *const what[] = {[SOAK_ABSENT] = "is not done yet",
                                       [SOAK_FOREIGN] = "is of another plan",
                                       [SOAK_DAMAGED] = "is damaged",
                                       [SOAK_PARTIAL] = "is damaged"};
    fprintf(stderr, "loopwright merge: shard %" PRIu64 " (%s) %s\n", shard, path,
            reading == SOAK_UNREADABLE ? strerror(errno) : what[reading]);
    if (reading == SOAK_ABSENT)
        fputs("    run: ", stderr);
    else
        fprintf(stderr, "    move %s away, then run: ", path);
    fprintf(stderr, "loopwright soak --from %s --shard %" PRIu64 "\n", plan, shard);
}

/* Reads all; those that are missing are reported and counted. */
static uint64_t read_shards(struct soak_journal *book, const char *plan, bool *missing,
                            bool show_progress) {
    uint64_t count = 0;
    struct progress progress;
    progress_init_count(&progress, (int64_t)book->plan->shard_count, "shards read", show_progress);
    for (uint64_t shard = 0; shard < book->plan->shard_count; shard++) {
        char *path = soak_shards_path(plan, shard);
        enum soak_reading reading = read_shard(book, shard, path);
        missing[shard] = reading != SOAK_WHOLE;
        if (missing[shard]) {
            tell_missing(plan, path, shard, reading);
            count++;
        }
        free(path);
        progress_show(&progress, (int64_t)shard + 1);
    }
    progress_end(&progress);
    return count;
}

static void tell_array(const bool *missing, uint64_t shards) {
    bool first = true;
    fputs("    or, as an array of jobs: sbatch --array=", stderr);
    for (uint64_t shard = 0; shard < shards; shard++) {
        if (!missing[shard])
            continue;
        fprintf(stderr, "%s%" PRIu64, first ? "" : ",", shard);
        first = false;
    }
    fputs(" JOB-SCRIPT\n", stderr);
}

/* ---- writing ---- */

static bool add_to_directory(void *self, const char *file_name, const void *bytes, size_t length) {
    return directory_add(self, file_name, bytes, length);
}

/* Into the directory of the plan: each file is replaced by itself. */
static bool replace_in_plan(void *self, const char *file_name, const void *bytes, size_t length) {
    const char *plan = self;
    struct faults faults = {0};
    size_t room = strlen(plan) + strlen(file_name) + 2;
    char *path = require_memory(room, 1);
    snprintf(path, room, "%s/%s", plan, file_name);
    bool written = sealed_replace_file(path, bytes, length, &faults);
    diagnostics_print(stderr, &faults);
    faults_free(&faults);
    free(path);
    return written;
}

static bool add_all(const struct soak_files *files, const struct soak_journal *book,
                    const char *plan) {
    return soak_shards_add_kept(files, book, plan) &&
           soak_files_add_results(files, book, SOAK_NO_SHARD) && soak_files_add_tables(files, book);
}

static bool write_out(const struct soak_journal *book, const char *plan, const char *out) {
    struct directory directory;
    if (!directory_begin(&directory, out))
        return false;
    struct soak_files files = {add_to_directory, &directory};
    bool written = add_all(&files, book, plan) && directory_commit(&directory);
    if (!written)
        directory_abandon(&directory);
    return written;
}

static bool write_all(const struct soak_journal *book, char *plan, const char *out) {
    struct soak_files files = {replace_in_plan, plan};
    return out != NULL ? write_out(book, plan, out) : add_all(&files, book, plan);
}

/* ---- all together ---- */

static void tell_outcome(const struct soak_journal *book, const struct options *options,
                         const char *path) {
    size_t room = strlen(path) + sizeof "/scenario.yaml";
    char *scenario = require_memory(room, 1);
    snprintf(scenario, room, "%s/scenario.yaml", path);
    struct soak_words asked = {path, scenario};
    if (options->given[OPTION_JSON])
        soak_json_print(book, stdout);
    else if (!options->given[OPTION_QUIET])
        soak_words_print(book, &asked, stdout);
    free(scenario);
}

static int merge_book(struct soak_journal *book, const struct options *options, char *plan) {
    bool *missing = require_memory(book->plan->shard_count, sizeof *missing);
    uint64_t missing_count = read_shards(book, plan, missing, !options->given[OPTION_QUIET]);
    if (missing_count > 1)
        tell_array(missing, book->plan->shard_count);
    free(missing);
    const char *out = options->value[OPTION_OUT];
    if (missing_count > 0 || !write_all(book, plan, out))
        return STATUS_FILE;
    tell_outcome(book, options, out != NULL ? out : plan);
    return book->plan->variant_count > 1 || soak_report_holds(book) ? STATUS_HOLDS : STATUS_FAILS;
}

int merge_command(const struct options *options) {
    struct soak_plan plan;
    struct soak_journal book;
    char *path = require_text(options->operand);
    int status = soak_shards_read_plan(&plan, path);
    if (status == STATUS_HOLDS) {
        soak_journal_init(&book, &plan);
        status = merge_book(&book, options, path);
        soak_journal_free(&book);
        soak_plan_free(&plan);
    }
    free(path);
    return status;
}
