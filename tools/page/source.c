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
#include "tools/base/file.h"
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

/* Tables: columns that a page reads, those with numbers first. */
struct table {
    const char *file;
    size_t rows_least; /* with the header */
    size_t numbers, columns;
    const char *column[8];
};
static const struct table sweep_table = {
    "sweep.csv", 2, 7, 7, {"runs", "jam_probability", "low", "high", "stuck", "met", "best"}};
static const struct table runs_table = {
    "runs.csv",
    1,
    6,
    8,
    {"run", "simulated_s", "first_jam_s", "jams", "jammed_s", "starved_s", "seed", "verdict"}};
static const struct table events_table = {
    "events.csv", 1, 3, 6, {"start_s", "end_s", "count", "event", "subject", "detail"}};

static bool is_table(const struct csv_table *read, const struct table *table) {
    bool whole = read->rows >= table->rows_least;
    for (size_t i = 0; i < table->columns && whole; i++) {
        size_t column = csv_table_column(read, table->column[i]);
        whole =
            column < read->columns && (i >= table->numbers || csv_table_has_numbers(read, column));
    }
    /* what is made of each product, and how full each lane is */
    for (size_t i = 0; i < read->columns && whole; i++)
        whole = strstr(read->field[i], "_per_min") == NULL || csv_table_has_numbers(read, i);
    return whole;
}

static bool read_table(struct csv_table *read, const char *directory, const struct table *table,
                       struct faults *faults) {
    char *path = capsule_path_in(directory, table->file);
    bool whole = csv_table_read(read, path, faults);
    if (whole && !is_table(read, table)) {
        faults_add(faults, FAULT_ERROR, "%s: is damaged, or no table of this version", path);
        whole = false;
    }
    free(path);
    return whole;
}

/* A file, and no fifo to which perhaps nobody ever writes. */
static bool is_regular(const char *path, struct faults *faults) {
    FILE *file = file_open_regular(path);
    if (file == NULL)
        faults_add(faults, FAULT_ERROR, "%s: %s", path, strerror(errno));
    else
        fclose(file);
    return file != NULL;
}

static struct scenario *read_plain_scenario(const char *directory, struct faults *faults) {
    char *path = capsule_path_in(directory, "scenario.yaml");
    bool unreadable = false;
    struct scenario *scenario =
        is_regular(path, faults) ? read_scenario_file(path, NULL, 0, faults, &unreadable) : NULL;
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
    return read_table(&source->runs, source->path, &runs_table, faults) && source->soak != NULL &&
           source->scenario != NULL;
}

static bool read_sweep(struct source *source, struct faults *faults) {
    source->kind = SOURCE_SWEEP;
    source->scenario = read_plain_scenario(source->path, faults);
    return read_table(&source->sweep, source->path, &sweep_table, faults) &&
           source->scenario != NULL;
}

static bool read_run(struct source *source, struct faults *faults) {
    source->summary = read_json(source->path, "summary.json", faults);
    if (has_file(source->path, "drain.json")) {
        source->kind = SOURCE_DRAIN;
        source->drain = read_json(source->path, "drain.json", faults);
    }
    bool whole = read_table(&source->events, source->path, &events_table, faults);
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
