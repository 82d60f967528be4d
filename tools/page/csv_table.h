/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/csv_table.h - a table that a command has written, read again: CSV by RFC 4180 with a
 * header row. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "sim/fault.h"

/* Rows of fields; row 0 is the header, and all have as many fields. Owns its text. */
struct csv_table {
    char *text;
    char **field; /* [rows * columns] */
    size_t rows, columns;
};

/* Reads a file. False: a fault was added, because it cannot be read, is cut short or is no such
 * table; there is nothing to free then. */
bool csv_table_read(struct csv_table *table, const char *path, struct faults *faults);
void csv_table_free(struct csv_table *table);

/* Whether the fields of a column, from row 1 on, are empty or numbers of at most 15 digits before
 * the point. */
bool csv_table_has_numbers(const struct csv_table *table, size_t column);

/* The column under a heading; `columns`: there is none. */
size_t csv_table_column(const struct csv_table *table, const char *heading);

/* The field of a row under a heading; NULL: there is no such column. */
const char *csv_table_field(const struct csv_table *table, size_t row, const char *heading);
