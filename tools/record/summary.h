/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/summary.h - the numbers of a finished run, as data: summary.json and `run --json`.
 */
#pragma once

#include "tools/record/chest_levels.h"
#include "tools/record/events.h"
#include "tools/record/totals.h"
#include "tools/record/verdict.h"

/* A finished run, or as far as it was followed. Nothing of it is owned. */
struct outcome {
    const struct scenario *scenario;
    const struct world *world;
    const struct events *events;
    const struct starvation *starvation;
    const struct measured_totals *window;
    const struct chest_levels *levels;
    const struct verdict *verdict;
    bool is_part; /* the run goes on after what was followed: nothing is said of what the whole of
                     it should show */
};

/* The text of summary.json, LF at its end; freed with free(). */
char *summary_as_json(const struct outcome *outcome);

/* All of an item that is anywhere: in chests, stocks and hands, on loops and lines. `left` has room
 * for each item of the scenario. */
void summary_left(const struct outcome *outcome, int64_t *left);
