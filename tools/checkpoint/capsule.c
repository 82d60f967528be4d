/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/capsule.c - blocks one after the other in a sealed file. */
#include "tools/checkpoint/capsule.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "model/reader/read.h"
#include "model/scenario/limits.h"
#include "model/state/state.h"
#include "sim/require.h"
#include "sim/sealed_file.h"
#include "tools/base/version.h"

static const char kind[] = "capsule";
/* The order of the blocks below, and what record_save adds. */
enum { CAPSULE_FORMAT = 2 };
static const uint64_t version = CAPSULE_FORMAT * UINT64_C(1000) + STATE_FORMAT;

/* ---- moments ---- */

struct moment moment_take(const struct world *world) {
    struct moment moment = {.tick = world_tick(world) + 1};
    state_save(world, &moment.state);
    return moment;
}

void moment_free(struct moment *moment) {
    bytes_free(&moment->state);
    bytes_free(&moment->record);
    *moment = (struct moment){0};
}

/* ---- writing ---- */

static struct bytes content_of(const struct scenario *scenario, const struct moment *moment) {
    struct bytes bytes = {0};
    bytes_add_block(&bytes, LOOPWRIGHT_VERSION, strlen(LOOPWRIGHT_VERSION));
    bytes_add_block(&bytes, scenario->text, strlen(scenario->text));
    bytes_add(&bytes, scenario->seed, 8);
    bytes_add(&bytes, (uint64_t)moment->tick, 8);
    bytes_add_block(&bytes, moment->state.data, moment->state.length);
    bytes_add_block(&bytes, moment->record.data, moment->record.length);
    return bytes;
}

bool capsule_write(const char *path, const struct scenario *scenario, const struct moment *moment,
                   struct faults *faults) {
    struct bytes bytes = content_of(scenario, moment);
    bool written = sealed_write(path, kind, version, bytes.data, bytes.length, faults);
    bytes_free(&bytes);
    return written;
}

size_t capsule_bytes(const struct scenario *scenario, const struct moment *moment, void **sealed) {
    struct bytes bytes = content_of(scenario, moment);
    size_t length = sealed_bytes(kind, version, bytes.data, bytes.length, sealed);
    bytes_free(&bytes);
    return length;
}

/* ---- reading ---- */

static bool refuse(struct faults *faults, const char *path, const char *what) {
    struct fault *fault = faults_add(faults, FAULT_ERROR, "%s", what);
    free(fault->source);
    fault->source = require_text(path);
    return false;
}

/* A block as a text of its own. */
static char *take_text(struct bytes_reader *reader) {
    size_t length;
    const void *block = bytes_take_block(reader, &length);
    char *text = require_memory(length + 1, 1);
    if (block != NULL)
        memcpy(text, block, length);
    reader->failed = reader->failed || strlen(text) != length;
    return text;
}

static struct bytes take_bytes(struct bytes_reader *reader) {
    size_t length;
    const void *block = bytes_take_block(reader, &length);
    struct bytes bytes = {.data = require_memory(length, 1), .length = length, .capacity = length};
    if (length > 0)
        memcpy(bytes.data, block, length);
    return bytes;
}

/* Fills a capsule from what follows its version. False: it is not whole, though sealed. */
static bool take_content(struct bytes_reader *reader, struct capsule *capsule) {
    capsule->text = take_text(reader);
    capsule->seed = bytes_take(reader, 8);
    capsule->moment.tick = (int64_t)bytes_take(reader, 8);
    capsule->moment.state = take_bytes(reader);
    capsule->moment.record = take_bytes(reader);
    return bytes_at_end(reader) && capsule->moment.tick >= 0;
}

static bool refuse_version(struct faults *faults, const char *path, const char *found) {
    struct fault *fault = faults_add(faults, FAULT_ERROR, "of another version of this program");
    fault_note(fault, "it is of version %s, and this is %s", found, LOOPWRIGHT_VERSION);
    free(fault->source);
    fault->source = require_text(path);
    return false;
}

static bool take_capsule(struct bytes_reader *reader, const char *path, struct capsule *capsule,
                         struct faults *faults) {
    char *found = take_text(reader);
    bool same = !reader->failed && strcmp(found, LOOPWRIGHT_VERSION) == 0;
    if (!reader->failed && !same)
        refuse_version(faults, path, found);
    free(found);
    if (reader->failed)
        return refuse(faults, path, "damaged: its parts do not fit together");
    if (!same)
        return false;
    struct capsule taken = {0};
    if (take_content(reader, &taken)) {
        *capsule = taken;
        return true;
    }
    capsule_free(&taken);
    return refuse(faults, path, "damaged: its parts do not fit together");
}

/* A scenario in place of a capsule: it has to be run first. */
static void help_with_scenario(const char *path, struct faults *faults) {
    const char *end = strrchr(path, '.');
    bool is_scenario = end != NULL && (strcmp(end, ".yaml") == 0 || strcmp(end, ".yml") == 0);
    if (is_scenario && faults->count > 0)
        fault_help(&faults->fault[faults->count - 1],
                   "run the scenario first, and give that run: loopwright run %s --out DIR", path);
}

bool capsule_read(const char *path, struct capsule *capsule, struct faults *faults) {
    void *data;
    size_t length;
    if (!sealed_read(path, kind, version, &data, &length, faults)) {
        help_with_scenario(path, faults);
        return false;
    }
    struct bytes_reader reader = bytes_reader_of(data, length);
    bool read = take_capsule(&reader, path, capsule, faults);
    free(data);
    return read;
}

void capsule_free(struct capsule *capsule) {
    free(capsule->text);
    moment_free(&capsule->moment);
    *capsule = (struct capsule){0};
}

/* ---- at work again ---- */

/* What an unchanged scenario says must be what the capsule says beside it. */
static struct scenario *check_seed(const struct capsule *capsule, const char *path,
                                   struct scenario *scenario, struct faults *faults) {
    if (scenario == NULL || scenario->seed == capsule->seed)
        return scenario;
    refuse(faults, path, "damaged: its parts do not fit together");
    scenario_free(scenario);
    return NULL;
}

struct scenario *capsule_scenario(const struct capsule *capsule, const char *path,
                                  const char *const *override, size_t override_count,
                                  struct faults *faults) {
    struct scenario *scenario =
        read_scenario(capsule->text, strlen(capsule->text), path, override, override_count, faults);
    return override_count > 0 ? scenario : check_seed(capsule, path, scenario, faults);
}

struct world *capsule_world(const struct capsule *capsule, const struct scenario *scenario) {
    struct world *world = world_new(scenario);
    const struct bytes *state = &capsule->moment.state;
    if (state_restore(world, state->data, state->length) &&
        world_tick(world) + 1 == capsule->moment.tick)
        return world;
    world_free(world);
    return NULL;
}

/* ---- in a directory ---- */

/* The time in a name such as at-600.capsule, 0 of start.capsule; NOT_GIVEN: another name. */
static int64_t time_of_name(const char *file) {
    static const char before[] = "at-", ending[] = ".capsule";
    size_t length = strlen(file), ends = strlen(ending);
    if (strcmp(file, "start.capsule") == 0)
        return 0;
    if (strncmp(file, before, strlen(before)) != 0 || length <= ends + strlen(before) ||
        strcmp(file + length - ends, ending) != 0)
        return NOT_GIVEN;
    char *text = require_text(file + strlen(before));
    text[length - ends - strlen(before)] = '\0';
    struct faults faults = {0};
    int64_t time = read_duration(text, LIMIT_TICKS_PER_SECOND, &faults);
    faults_free(&faults);
    free(text);
    return time;
}

/* The name of the last capsule in a directory that is not after `time`; of all, the first one,
 * where all are after it. NULL: there is none. */
static char *name_before(DIR *names, int64_t time) {
    char *best = NULL;
    int64_t best_time = NOT_GIVEN;
    for (const struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names)) {
        int64_t found = time_of_name(entry->d_name);
        if (found == NOT_GIVEN)
            continue;
        bool nearer = best == NULL ||
                      (best_time > time ? found < best_time : found > best_time && found <= time);
        if (!nearer)
            continue;
        free(best);
        best = require_text(entry->d_name);
        best_time = found;
    }
    return best;
}

const char *capsule_path(const char *operand) {
    return strcmp(operand, "-") == 0 ? "/dev/stdin" : operand;
}

char *capsule_path_in(const char *directory, const char *file) {
    size_t length = strlen(directory), room = length + strlen(file) + 2;
    char *path = require_memory(room, 1);
    bool closed = length > 0 && directory[length - 1] == '/';
    snprintf(path, room, "%s%s%s", directory, closed ? "" : "/", file);
    return path;
}

bool capsule_directory_is_a_run(const char *directory) {
    struct stat status;
    char *results = capsule_path_in(directory, "soak.results");
    bool is_soak = stat(results, &status) == 0;
    free(results);
    if (is_soak)
        fprintf(stderr,
                "loopwright: %s: is the directory of a soak, not of a run\n"
                "    help: name one of the capsules in it; runs.csv says of which run each is\n",
                directory);
    return !is_soak;
}

char *capsule_find_before(const char *directory, int64_t microseconds) {
    DIR *names = opendir(directory);
    if (names == NULL)
        return NULL;
    char *file = name_before(names, microseconds);
    closedir(names);
    char *path = file != NULL ? capsule_path_in(directory, file) : NULL;
    free(file);
    errno = 0;
    return path;
}
