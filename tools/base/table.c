/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/table.c - two blanks between columns, none at the end of a line. */
#include "tools/base/table.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "sim/array.h"
#include "sim/require.h"

enum { CELL_BYTES = 512 };

void table_init(struct table *table, const struct table_column *column, size_t column_count) {
    *table = (struct table){.column = column, .column_count = column_count};
}

void table_free(struct table *table) {
    for (size_t i = 0; i < table->cell_count; i++)
        free(table->cell[i]);
    free(table->cell);
    *table = (struct table){0};
}

void table_add(struct table *table, const char *format, ...) {
    char text[CELL_BYTES];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    table->cell =
        array_with_room(table->cell, table->cell_count, &table->capacity, sizeof *table->cell);
    table->cell[table->cell_count++] = require_text(text);
}

static int column_width(const struct table *table, size_t column) {
    size_t width = strlen(table->column[column].heading);
    for (size_t i = column; i < table->cell_count; i += table->column_count)
        width = strlen(table->cell[i]) > width ? strlen(table->cell[i]) : width;
    return (int)width;
}

/* Prints a row; *blanks are owed before the next text, so that none ends a line. */
static void print_cell(const struct table *table, size_t column, const char *text, int width,
                       int *blanks, FILE *out) {
    int length = (int)strlen(text);
    int before = table->column[column].is_number ? width - length : 0;
    if (length > 0)
        fprintf(out, "%*s%s", *blanks + before, "", text);
    *blanks = length > 0 ? width - length - before + 2 : *blanks + width + 2;
    if (column + 1 == table->column_count) {
        fputc('\n', out);
        *blanks = 0;
    }
}

void table_print(const struct table *table, FILE *out) {
    require(table->cell_count % table->column_count == 0);
    if (table->cell_count == 0)
        return;
    int *width = require_memory(table->column_count, sizeof *width), blanks = 0;
    for (size_t i = 0; i < table->column_count; i++)
        width[i] = column_width(table, i);
    for (size_t i = 0; i < table->column_count; i++)
        print_cell(table, i, table->column[i].heading, width[i], &blanks, out);
    for (size_t i = 0; i < table->cell_count; i++) {
        size_t column = i % table->column_count;
        print_cell(table, column, table->cell[i], width[column], &blanks, out);
    }
    free(width);
}
