/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/column_table.h - the columns of all CSV tables, the one source from which header rows
 * are written and `loopwright columns` prints what they mean. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

enum column_type { COLUMN_TEXT, COLUMN_WHOLE, COLUMN_NUMBER };

/* Of what there is a column each; its name stands in place of the first word in capitals. */
enum column_each {
    COLUMN_ONCE,
    COLUMN_EACH_PRODUCT, /* PRODUCT */
    COLUMN_EACH_LANE,    /* LANE: a lane, LOOP/LANE, or a line */
    COLUMN_EACH_PATH     /* PATH: of --over */
};

struct column {
    const char *name;
    enum column_type type;
    const char *unit; /* NULL: none */
    bool may_be_empty;
    enum column_each each;
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

/* What stands after the name in the header of a column that there is for each of several things:
 * "_per_min" of PRODUCT_per_min. */
const char *column_table_ending(const struct column *column);

/* The header row of a file, without an end of line, of columns that are the same in each run. */
enum { COLUMN_TABLE_HEADER_SIZE = 300 };
const char *column_table_header(const char *file, char header[COLUMN_TABLE_HEADER_SIZE]);
