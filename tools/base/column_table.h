/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/column_table.h - the columns of all CSV tables, the one source from which header rows
 * are written and `loopwright columns` prints what they mean. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

enum column_type { COLUMN_TEXT, COLUMN_WHOLE, COLUMN_NUMBER };

struct column {
    const char *name;
    enum column_type type;
    const char *unit; /* NULL: none */
    bool may_be_empty;
    bool of_product; /* there is one for each product, whose name stands in place of PRODUCT */
    const char *says;
};

struct column_table {
    const char *file; /* "events.csv" */
    const char *also; /* other files with the same columns; NULL: none */
    const char *says;
    const struct column *column;
    uint32_t column_count;
};

int column_table_count(void);
const struct column_table *column_table_row(int index);
/* The table of a file; it must be there. */
const struct column_table *column_table_of(const char *file);

/* The header row of a file, without an end of line, of columns that are the same in each run. */
enum { COLUMN_TABLE_HEADER_SIZE = 300 };
const char *column_table_header(const char *file, char header[COLUMN_TABLE_HEADER_SIZE]);
