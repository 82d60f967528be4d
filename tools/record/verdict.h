/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/verdict.h - whether what a run should have shown came true, point by point. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "tools/record/events.h"
#include "tools/record/starvation.h"

enum verdict_found { FOUND_WORDS, FOUND_COUNT, FOUND_SHARE };

/* One point of `expect`. */
struct verdict_point {
    char *what;     /* "jam", "made.movement" */
    char *expected; /* "no", "at least 150" */
    enum verdict_found kind;
    char *words;   /* FOUND_WORDS, else NULL */
    int64_t count; /* FOUND_COUNT */
    double share;  /* FOUND_SHARE */
    bool holds;
};

struct verdict {
    bool holds;
    uint64_t jams, deadlocks;    /* as they are counted: not those over before the warm-up was */
    struct verdict_point *point; /* in the order of the keys of `expect`; none without `expect` */
    uint32_t point_count;
};

/* What a verdict is reached on: a finished run. Nothing of it is owned. */
struct evidence {
    const struct scenario *scenario;
    const struct world *world;
    const struct events *events;
    const struct starvation *starvation;
};

/* The verdict on a finished run, after its open events were reported. Freed with verdict_free. */
void verdict_reach(struct verdict *verdict, const struct evidence *evidence);
void verdict_free(struct verdict *verdict);

/* True when no lane of any loop holds anything. */
bool verdict_is_drained(const struct scenario *scenario, const struct world *world);
