/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_shards.c - writes and reads the directory of a plan. */
#include "tools/soak/soak_shards.h"

#include <dirent.h>
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "sim/require.h"
#include "tools/base/diagnostics.h"
#include "tools/base/directory.h"
#include "tools/base/file.h"
#include "tools/base/status.h"
#include "tools/soak/soak_report.h"

static const char plan_name[] = "plan.json";
enum { NUMBER_LENGTH = 24 };

static char *joined(const char *path, const char *name) {
    size_t room = strlen(path) + strlen(name) + 2;
    char *text = require_memory(room, 1);
    snprintf(text, room, "%s/%s", path, name);
    return text;
}

char *soak_shards_path(const char *path, uint64_t shard) {
    char shard_name[NUMBER_LENGTH + sizeof "shard-"];
    snprintf(shard_name, sizeof shard_name, "shard-%" PRIu64, shard);
    return joined(path, shard_name);
}

static int tell(const char *path, const char *what) {
    fprintf(stderr, "loopwright: %s: %s\n", path, what);
    return STATUS_FILE;
}

/* ---- reading ---- */

/* All of a file as text; NULL with errno when it can't be read. */
static char *read_text(const char *path, size_t *length) {
    FILE *file = file_open_regular(path);
    if (file == NULL)
        return NULL;
    char *text = NULL;
    size_t got = 0, capacity = 0;
    *length = 0;
    do {
        capacity = 2 * capacity + BUFSIZ;
        text = require_more_memory(text, capacity, 1);
        got = fread(text + *length, 1, capacity - *length, file);
        *length += got;
    } while (got > 0);
    int error = ferror(file) ? EIO : 0;
    fclose(file);
    if (error == 0)
        return text;
    free(text);
    errno = error;
    return NULL;
}

static int read_plan_file(struct soak_plan *plan, const char *path) {
    size_t length;
    char *text = read_text(path, &length);
    if (text == NULL) {
        tell(path, strerror(errno));
        fputs("    help: DIR is what loopwright soak SCENARIO --plan DIR --shards N wrote\n",
              stderr);
        return STATUS_FILE;
    }
    struct faults faults = {0};
    bool read = soak_plan_read(plan, text, length, path, &faults);
    diagnostics_print(stderr, &faults);
    faults_free(&faults);
    free(text);
    return read ? STATUS_HOLDS : STATUS_FILE;
}

int soak_shards_read_plan(struct soak_plan *plan, const char *path) {
    char *file = joined(path, plan_name);
    int status = read_plan_file(plan, file);
    if (status == STATUS_HOLDS && plan->shard_count == 0) {
        soak_plan_free(plan);
        status = tell(file, "is not a plan that is cut into shards");
    }
    free(file);
    return status;
}

/* ---- writing ---- */

static bool is_empty(const char *path) {
    DIR *names = opendir(path);
    bool empty = names != NULL;
    for (struct dirent *entry = names != NULL ? readdir(names) : NULL; entry != NULL;
         entry = readdir(names))
        empty = empty && (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0);
    if (names != NULL)
        closedir(names);
    return empty;
}

static bool is_same_plan(const struct soak_plan *plan, const char *file) {
    size_t length;
    char *text = read_text(file, &length);
    bool same =
        text != NULL && length == strlen(plan->text) && memcmp(text, plan->text, length) == 0;
    free(text);
    return same;
}

/* A soak that was begun to the place of a plan stays: that is not the plan's to decide. */
static bool is_needless(void *self, int work) {
    (void)self, (void)work;
    return false;
}

static void tell_how(const struct soak_plan *plan, const char *path) {
    printf("%s holds the plan of %" PRIu64 " runs in %" PRIu64 " shards. Run each of them,\n\n"
           "    loopwright soak --from %s --shard K        # K from 0 to %" PRIu64 "\n\n"
           "in any order, on any machine that sees the directory; then\n\n"
           "    loopwright merge %s\n",
           path, plan->run_count, plan->shard_count, path, plan->shard_count - 1, path);
}

static bool add_text(const struct directory *directory, const char *file_name, const char *text) {
    return directory_add(directory, file_name, text, strlen(text));
}

/* Writes the directory of the plan, which appears when it is whole. */
static int write_directory(const struct soak_plan *plan, const char *path) {
    struct directory directory;
    if (!directory_begin(&directory, path))
        return STATUS_FILE;
    bool written = add_text(&directory, "scenario.yaml", plan->scenario[0]->text) &&
                   add_text(&directory, plan_name, plan->text) && directory_commit(&directory);
    if (!written)
        directory_abandon(&directory);
    return written ? STATUS_HOLDS : STATUS_FILE;
}

int soak_shards_write_plan(const struct soak_plan *plan, const char *path, bool talks) {
    char *file = joined(path, plan_name);
    bool there = is_same_plan(plan, file);
    free(file);
    struct stat status;
    if (!there && lstat(path, &status) == 0 && !is_empty(path))
        return tell(path, "holds something else, so no plan is written");
    if (there)
        directory_tidy(path, is_needless, NULL);
    else if (write_directory(plan, path) != STATUS_HOLDS)
        return STATUS_FILE;
    if (talks)
        tell_how(plan, path);
    return STATUS_HOLDS;
}

/* ---- what was kept of jams ---- */

static void tell_way_out(const char *path, uint64_t shard) {
    fprintf(stderr, "    to make it again: loopwright soak --from %s --shard %" PRIu64 "\n", path,
            shard);
}

/* False: reported. `*lost`: because the shard lacks it. */
static bool add_kept(const struct soak_files *files, const char *shard_path, const char *name,
                     bool *lost) {
    char *file = joined(shard_path, name);
    size_t length;
    char *bytes = read_text(file, &length);
    *lost = bytes == NULL;
    bool added = bytes != NULL ? files->add(files->self, name, bytes, length)
                               : tell(file, strerror(errno)) == STATUS_HOLDS;
    free(bytes);
    free(file);
    return added;
}

bool soak_shards_add_kept(const struct soak_files *files, const struct soak_journal *book,
                          const char *path) {
    bool added = true, lost = false;
    for (uint64_t i = 0; i < book->jammed_count && added; i++) {
        char name[SOAK_NAME_BYTES];
        uint64_t run = book->jammed[i];
        char *shard_path = soak_shards_path(path, run % book->plan->shard_count);
        added = add_kept(files, shard_path, soak_capsule_name(run, name), &lost) &&
                add_kept(files, shard_path, soak_events_name(run, name), &lost);
        if (lost)
            tell_way_out(path, run % book->plan->shard_count);
        free(shard_path);
    }
    return added;
}
