/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/csv_table.c - fields are cut out of the text in place, since none is longer than it
 * was written. */
#include "tools/page/csv_table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "tools/page/file_text.h"

/* One that is being cut: `in` is read, `out` written, never beyond `in`. */
struct cutting {
    char *in, *out;
    bool wrong;
};

/* Takes the field at `in`, without its quotes, and goes on after it. */
static char *cut_field(struct cutting *cutting) {
    char *field = cutting->out;
    bool quoted = *cutting->in == '"';
    cutting->in += quoted;
    for (;; cutting->in++) {
        char c = *cutting->in;
        if (c == '\0') {
            cutting->wrong = true; /* every row ends with a line feed */
            return field;
        }
        if (quoted && c == '"' && cutting->in[1] == '"')
            cutting->in++;
        else if (quoted ? c == '"' : c == ',' || c == '\n')
            break;
        *cutting->out++ = c;
    }
    cutting->in += quoted;
    return field;
}

/* Ends the field that was cut; true where the row ends with it. */
static bool end_field(struct cutting *cutting) {
    char end = *cutting->in;
    cutting->wrong = cutting->wrong || (end != ',' && end != '\n');
    cutting->in += end != '\0';
    *cutting->out++ = '\0';
    return end != ',';
}

/* Cuts all rows into `field`, which has room for as many as there are commas and line feeds. */
static bool cut_rows(struct csv_table *table) {
    struct cutting cutting = {.in = table->text, .out = table->text};
    size_t fields = 0;
    while (*cutting.in != '\0' && !cutting.wrong) {
        size_t first = fields;
        bool ended = false;
        while (!ended && !cutting.wrong) {
            table->field[fields++] = cut_field(&cutting);
            ended = end_field(&cutting);
        }
        if (table->rows == 0)
            table->columns = fields;
        cutting.wrong = cutting.wrong || fields - first != table->columns;
        table->rows++;
    }
    return !cutting.wrong && table->rows > 0;
}

static size_t most_fields(const char *text) {
    size_t count = 1;
    for (; *text != '\0'; text++)
        count += *text == ',' || *text == '\n';
    return count;
}

bool csv_table_read(struct csv_table *table, const char *path, struct faults *faults) {
    *table = (struct csv_table){0};
    table->text = file_text(path, faults);
    if (table->text == NULL)
        return false;
    table->field = require_memory(most_fields(table->text), sizeof *table->field);
    if (cut_rows(table))
        return true;
    faults_add(faults, FAULT_ERROR, "%s: is cut short, or no table of this program", path);
    csv_table_free(table);
    return false;
}

void csv_table_free(struct csv_table *table) {
    free(table->text);
    free(table->field);
    *table = (struct csv_table){0};
}

static bool is_number(const char *field) {
    char *end;
    double number = strtod(field, &end);
    return *end == '\0' && fabs(number) < 1e15; /* no NaN either */
}

bool csv_table_has_numbers(const struct csv_table *table, size_t column) {
    for (size_t row = 1; row < table->rows; row++)
        if (!is_number(table->field[row * table->columns + column]))
            return false;
    return true;
}

size_t csv_table_column(const struct csv_table *table, const char *heading) {
    size_t column = 0;
    while (column < table->columns && strcmp(table->field[column], heading) != 0)
        column++;
    return column;
}

const char *csv_table_field(const struct csv_table *table, size_t row, const char *heading) {
    size_t column = csv_table_column(table, heading);
    return column < table->columns ? table->field[row * table->columns + column] : NULL;
}
