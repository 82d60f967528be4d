/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/source.c - a directory is told by the files in it: a soak has soak.json, a
 * sweep sweep.csv, a run summary.json, a drain also drain.json, and a replay's first capsule is of
 * no start. */
#include "tools/page/source.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "model/reader/read.h"
#include "tools/base/diagnostics.h"
#include "tools/checkpoint/capsule.h"
#include "tools/page/file_text.h"

static bool has_file(const char *directory, const char *file) {
    struct stat status;
    char *path = capsule_path_in(directory, file);
    bool there = stat(path, &status) == 0;
    free(path);
    return there;
}

/* ---- single files ---- */

static json_t *read_json(const char *directory, const char *file, struct faults *faults) {
    char *path = capsule_path_in(directory, file);
    char *text = file_text(path, faults);
    json_error_t error;
    json_t *json = text != NULL ? json_loads(text, 0, &error) : NULL;
    if (text != NULL && !json_is_object(json)) {
        faults_add(faults, FAULT_ERROR, "%s: is cut short, or no JSON of this program", path);
        json_decref(json);
        json = NULL;
    }
    free(text);
    free(path);
    return json;
}

static bool read_table(struct csv_table *table, const char *directory, const char *file,
                       struct faults *faults) {
    char *path = capsule_path_in(directory, file);
    bool read = csv_table_read(table, path, faults);
    free(path);
    return read;
}

static struct scenario *read_plain_scenario(const char *directory, struct faults *faults) {
    char *path = capsule_path_in(directory, "scenario.yaml");
    bool unreadable = false;
    struct scenario *scenario = read_scenario_file(path, NULL, 0, faults, &unreadable);
    free(path);
    return scenario;
}

/* What a replay did begins with its first capsule. */
static bool read_capsule(struct source *source, const char *path, struct faults *faults) {
    if (!capsule_read(path, &source->capsule, faults))
        return false;
    source->scenario = capsule_scenario(&source->capsule, path, NULL, 0, faults);
    struct world *world =
        source->scenario != NULL ? capsule_world(&source->capsule, source->scenario) : NULL;
    if (world == NULL && !faults_failed(faults))
        faults_add(faults, FAULT_ERROR, "%s: damaged: its state does not fit its scenario", path);
    if (world != NULL)
        world_free(world);
    return world != NULL;
}

struct world *source_world(const struct source *source) {
    return source->kind == SOURCE_REPLAY ? capsule_world(&source->capsule, source->scenario)
                                         : world_new(source->scenario);
}

/* ---- kinds of directories ---- */

static bool read_soak(struct source *source, struct faults *faults) {
    source->kind = SOURCE_SOAK;
    source->soak = read_json(source->path, "soak.json", faults);
    source->scenario = read_plain_scenario(source->path, faults);
    return read_table(&source->runs, source->path, "runs.csv", faults) && source->soak != NULL &&
           source->scenario != NULL;
}

/* The columns that are drawn, beside those of products and lanes. */
static bool is_sweep(const struct csv_table *table) {
    static const char *const heading[] = {"runs", "jam_probability", "low", "high", "stuck", "met",
                                          "best"};
    bool whole = table->rows > 1;
    for (size_t i = 0; i < sizeof heading / sizeof *heading; i++)
        whole = whole && csv_table_field(table, 0, heading[i]) != NULL;
    return whole;
}

static bool read_sweep(struct source *source, struct faults *faults) {
    source->kind = SOURCE_SWEEP;
    source->scenario = read_plain_scenario(source->path, faults);
    bool read = read_table(&source->sweep, source->path, "sweep.csv", faults);
    if (read && !is_sweep(&source->sweep)) {
        faults_add(faults, FAULT_ERROR, "%s/sweep.csv: is no table of this version", source->path);
        read = false;
    }
    return read && source->scenario != NULL;
}

static bool read_run(struct source *source, struct faults *faults) {
    source->summary = read_json(source->path, "summary.json", faults);
    if (has_file(source->path, "drain.json")) {
        source->kind = SOURCE_DRAIN;
        source->drain = read_json(source->path, "drain.json", faults);
    }
    bool whole = read_table(&source->events, source->path, "events.csv", faults);
    char *first = capsule_find_before(source->path, 0);
    if (first != NULL && strcmp(strrchr(first, '/') + 1, "start.capsule") != 0) {
        source->kind = SOURCE_REPLAY;
        whole = read_capsule(source, first, faults) && whole;
    } else {
        source->scenario = read_plain_scenario(source->path, faults);
    }
    free(first);
    return whole && source->summary != NULL && source->scenario != NULL &&
           (source->kind != SOURCE_DRAIN || source->drain != NULL);
}

/* Warnings about the scenario were given when it was run. */
static void report(const struct faults *faults, const char *path) {
    for (uint32_t i = 0; i < faults->count; i++)
        if (faults->fault[i].grade == FAULT_ERROR)
            fprintf(stderr, "loopwright report: %s%s%s\n", faults->fault[i].source,
                    faults->fault[i].source[0] != '\0' ? ": " : "", faults->fault[i].what);
    fprintf(stderr,
            "    note: %s is not the whole directory of a run, replay, drain, soak or sweep\n"
            "    help: make it again: loopwright run SCENARIO --out DIR\n",
            path);
}

bool source_read(struct source *source, const char *path) {
    struct stat status;
    *source = (struct source){.path = path};
    int error = stat(path, &status) != 0 ? errno : !S_ISDIR(status.st_mode) ? ENOTDIR : 0;
    if (error != 0) {
        fprintf(stderr,
                "loopwright report: %s: %s\n"
                "    help: give the directory of a run: loopwright run SCENARIO --out DIR\n",
                path, strerror(error));
        return false;
    }
    struct faults faults = {0};
    bool whole = has_file(path, "soak.json")   ? read_soak(source, &faults)
                 : has_file(path, "sweep.csv") ? read_sweep(source, &faults)
                                               : read_run(source, &faults);
    if (!whole) {
        report(&faults, path);
        source_free(source);
    }
    faults_free(&faults);
    return whole;
}

void source_free(struct source *source) {
    capsule_free(&source->capsule);
    scenario_free(source->scenario);
    json_decref(source->summary);
    json_decref(source->drain);
    json_decref(source->soak);
    csv_table_free(&source->events);
    csv_table_free(&source->runs);
    csv_table_free(&source->sweep);
    *source = (struct source){0};
}
