/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/table.h - a table to be read on a screen: a row of headings, columns as wide as they
 * need. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

struct table_column {
    const char *heading;
    bool is_number; /* stands at the right edge of its column */
};

struct table {
    const struct table_column *column; /* borrowed */
    size_t column_count;
    char **cell; /* row by row */
    uint32_t cell_count, capacity;
};

/* An empty table with these columns, which must outlive it. */
void table_init(struct table *table, const struct table_column *column, size_t column_count);
void table_free(struct table *table);
/* Fills the next cell, row by row; a text has at most 500 letters. */
void table_add(struct table *table, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Prints headings and rows; all cells of the last row must be filled. Nothing without rows. */
void table_print(const struct table *table, FILE *out);

/* The ending of a noun after its number. */
static inline const char *plural(uint64_t count) { return count == 1 ? "" : "s"; }
