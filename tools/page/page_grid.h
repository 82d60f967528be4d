/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_grid.h - the table of a sweep as a grid: an axis for each path that was swept,
 * its values as they were given, and what was measured at each point. */
#pragma once

#include <stdbool.h>
#include <stddef.h>

#include "tools/page/csv_table.h"

struct page_grid_axis {
    const char *path;
    const char **value; /* [count], in the order in which they were given */
    size_t count;
};

/* A number of each combination: a column of the table. */
struct page_grid_measure {
    char *title;      /* "ring/lane: cells held, %" */
    size_t column;    /* where it is */
    size_t low, high; /* columns of its interval; 0: it has none */
    size_t most;      /* the column of the most at any time; 0: none */
    double factor;    /* what is shown is the number of the table times this */
    double top;       /* the most that can be, or that there is, of what is shown */
    bool bad;         /* more of it is worse: a share of runs that jam */
};

struct page_grid {
    const struct csv_table *table; /* borrowed, as all texts */
    struct page_grid_axis *axis;
    size_t axis_count;
    struct page_grid_measure *measure;
    size_t measure_count;
    bool is_whole; /* each combination of values has just one row */
};

/* Of a table with the columns of a sweep and a row at least. Freed with page_grid_free. */
void page_grid_init(struct page_grid *grid, const struct csv_table *table);
void page_grid_free(struct page_grid *grid);

/* The row with these values, one of each axis; for grids that are whole. */
size_t page_grid_row(const struct page_grid *grid, const size_t *at);
/* What is shown of a column of a measure there. */
double page_grid_number(const struct page_grid *grid, const struct page_grid_measure *measure,
                        size_t column, size_t row);
bool page_grid_is_best(const struct page_grid *grid, size_t row);
