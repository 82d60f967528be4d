/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/sweep/sweep_rows.h - results of a sweep added up, a row for each combination. */
#pragma once

#include <stdint.h>
#include <stdio.h>

#include "tools/sweep/sweep_axes.h"
#include "tools/sweep/sweep_run.h"

struct sweep_rows {
    const struct scenario *scenario; /* for names */
    const struct sweep_axes *axes;
    const struct sweep_measures *measures;
    const struct sweep_result *result; /* [combination * runs + run], all done */
    uint32_t runs;
};

/* The combination with the fewest runs that end stuck; of those with equally many the one with the
 * fewest jams, then the one that meets most of its demand, then the one that makes most, then the
 * one with the emptiest lanes, then the first. */
uint32_t sweep_rows_best(const struct sweep_rows *rows);
/* sweep.csv; freed by the caller. */
char *sweep_rows_csv(const struct sweep_rows *rows);
void sweep_rows_print(const struct sweep_rows *rows, FILE *out);
/* The same as JSON, with `best`; freed by the caller. */
char *sweep_rows_json(const struct sweep_rows *rows);
