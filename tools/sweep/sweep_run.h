/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/sweep/sweep_run.h - one run of a sweep, and what its row adds up.
 *
 * The room tools/sweep is the command `sweep`. What comes in: a scenario and values for some of its
 * numbers (sweep_axes.h). What goes out: each combination run with the same seeds, a row for each,
 * as a table and as sweep.csv (sweep_rows.h); results are kept in a journal as they come
 * (sweep_journal.h), so that a sweep that was stopped goes on where it was. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

/* A run: numbers in the order of sweep_measures. */
struct sweep_result {
    bool done, jammed, stuck;
    double *value; /* [measure] */
};

/* What is measured beside jams: the least share met of any demand (measure 0), then what is made of
 * each product in a minute, then the mean and the greatest occupied share of each lane and line. */
struct sweep_measures {
    uint32_t *product;
    uint32_t product_count, track_count, count;
};

void sweep_measures_init(struct sweep_measures *measures, const struct scenario *scenario);
void sweep_measures_free(struct sweep_measures *measures);

/* Runs a scenario with a seed. A run is stuck as a soak counts it (docs/soak.md). `value` has room
 * for all measures. False: a signal was noted. */
bool sweep_run(const struct scenario *scenario, uint64_t seed,
               const struct sweep_measures *measures, struct sweep_result *result);
