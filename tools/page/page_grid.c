/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_grid.c - the columns before `runs` are paths; the last of them changes first. */
#include "tools/page/page_grid.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sim/array.h"
#include "sim/require.h"
#include "sim/text_stream.h"

/* Products, and lanes, that are drawn. */
enum { DRAWN_MOST = 6 };

static size_t column_of(const struct csv_table *table, const char *heading) {
    size_t column = 0;
    while (strcmp(table->field[column], heading) != 0) {
        column++;
        require(column < table->columns);
    }
    return column;
}

static const char *field(const struct page_grid *grid, size_t row, size_t column) {
    return grid->table->field[row * grid->table->columns + column];
}

/* ---- axes ---- */

static void add_value(struct page_grid_axis *axis, const char *value) {
    for (size_t i = 0; i < axis->count; i++)
        if (strcmp(axis->value[i], value) == 0)
            return;
    axis->value = require_more_memory(axis->value, axis->count + 1, sizeof *axis->value);
    axis->value[axis->count++] = value;
}

static void find_axes(struct page_grid *grid) {
    size_t points = 1;
    grid->axis_count = column_of(grid->table, "runs");
    grid->axis = require_memory(grid->axis_count, sizeof *grid->axis);
    for (size_t i = 0; i < grid->axis_count; i++) {
        grid->axis[i].path = grid->table->field[i];
        for (size_t row = 1; row < grid->table->rows; row++)
            add_value(&grid->axis[i], field(grid, row, i));
        points *= grid->axis[i].count;
    }
    grid->is_whole = grid->axis_count > 0 && points == grid->table->rows - 1;
}

size_t page_grid_row(const struct page_grid *grid, const size_t *at) {
    size_t row = 0;
    for (size_t i = 0; i < grid->axis_count; i++)
        row = row * grid->axis[i].count + at[i];
    return row + 1;
}

/* ---- measures ---- */

static struct page_grid_measure *add_measure(struct page_grid *grid, size_t column, double factor,
                                             const char *format, const char *name) {
    struct text_stream stream;
    fprintf(text_stream_begin(&stream), format, name);
    grid->measure =
        require_more_memory(grid->measure, grid->measure_count + 1, sizeof *grid->measure);
    struct page_grid_measure *measure = &grid->measure[grid->measure_count++];
    *measure = (struct page_grid_measure){
        .title = text_stream_end(&stream), .column = column, .factor = factor, .top = factor};
    return measure;
}

double page_grid_number(const struct page_grid *grid, const struct page_grid_measure *measure,
                        size_t column, size_t row) {
    double number = strtod(field(grid, row, column), NULL);
    return isfinite(number) ? number * measure->factor : 0;
}

static double greatest(const struct page_grid *grid, const struct page_grid_measure *measure) {
    double most = 0;
    for (size_t row = 1; row < grid->table->rows; row++)
        most = fmax(most, page_grid_number(grid, measure, measure->column, row));
    return most;
}

/* The name before an ending of a heading, to be freed; NULL: it ends otherwise. */
static char *name_before(const char *heading, const char *ending) {
    size_t length = strlen(heading), end = strlen(ending);
    if (length <= end || strcmp(heading + length - end, ending) != 0)
        return NULL;
    char *name = require_text(heading);
    name[length - end] = '\0';
    return name;
}

static void add_products(struct page_grid *grid) {
    for (size_t i = column_of(grid->table, "met") + 1, found = 0;
         i < grid->table->columns && found < DRAWN_MOST; i++) {
        char *name = name_before(grid->table->field[i], "_per_min");
        if (name == NULL)
            continue;
        struct page_grid_measure *measure = add_measure(grid, i, 1, "%s made in a minute", name);
        measure->top = greatest(grid, measure);
        found++;
        free(name);
    }
}

static void add_lanes(struct page_grid *grid) {
    for (size_t i = column_of(grid->table, "met") + 1, found = 0;
         i + 1 < grid->table->columns && found < DRAWN_MOST; i++) {
        char *name = name_before(grid->table->field[i], "_share_mean");
        if (name == NULL)
            continue;
        add_measure(grid, i, 100, "%s: cells held, %%", name)->most = i + 1;
        found++;
        free(name);
    }
}

static void find_measures(struct page_grid *grid) {
    const struct csv_table *table = grid->table;
    struct page_grid_measure *jam =
        add_measure(grid, column_of(table, "jam_probability"), 100, "%s", "runs with a jam, %");
    jam->bad = true;
    jam->low = column_of(table, "low");
    jam->high = column_of(table, "high");
    struct page_grid_measure *stuck =
        add_measure(grid, column_of(table, "stuck"), 100, "%s", "runs stuck at their end, %");
    stuck->bad = true;
    if (greatest(grid, stuck) <= 0)
        free(grid->measure[--grid->measure_count].title);
    add_measure(grid, column_of(table, "met"), 100, "%s", "demand met, %, the least of any item");
    add_products(grid);
    add_lanes(grid);
}

/* ---- all of it ---- */

void page_grid_init(struct page_grid *grid, const struct csv_table *table) {
    *grid = (struct page_grid){.table = table};
    find_axes(grid);
    find_measures(grid);
}

void page_grid_free(struct page_grid *grid) {
    for (size_t i = 0; i < grid->axis_count; i++)
        free(grid->axis[i].value);
    free(grid->axis);
    for (size_t i = 0; i < grid->measure_count; i++)
        free(grid->measure[i].title);
    free(grid->measure);
    *grid = (struct page_grid){0};
}

bool page_grid_is_best(const struct page_grid *grid, size_t row) {
    return strcmp(csv_table_field(grid->table, row, "best"), "1") == 0;
}
