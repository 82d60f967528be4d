/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/source.h - what a page is made from: the directory of a run, a replay, a drain, a soak
 * or a sweep, read and checked for being whole. */
#pragma once

#include <stdbool.h>

#include <jansson.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "tools/checkpoint/capsule.h"
#include "tools/page/csv_table.h"

enum source_kind { SOURCE_RUN, SOURCE_REPLAY, SOURCE_DRAIN, SOURCE_SOAK, SOURCE_SWEEP };

struct source {
    const char *path;
    enum source_kind kind;
    struct scenario *scenario; /* of what was run; of a soak or a sweep that of its runs */
    struct capsule capsule;    /* of a replay: where it begins */
    json_t *summary;           /* summary.json; of a soak or a sweep NULL */
    json_t *drain;             /* drain.json; NULL: none */
    json_t *soak;              /* soak.json; NULL: none */
    struct csv_table events;   /* events.csv; of a soak or a sweep empty */
    struct csv_table runs;     /* runs.csv; of anything but a soak empty */
    struct csv_table sweep;    /* sweep.csv; of anything but a sweep empty */
};

/* Reads it. False: reported, with nothing to free. */
bool source_read(struct source *source, const char *path);
void source_free(struct source *source);

/* A new world where the run begins, freed with world_free. */
struct world *source_world(const struct source *source);
