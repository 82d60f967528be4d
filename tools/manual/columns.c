/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/columns.c - the command `columns`: the table of columns as JSON. */
#include <stdio.h>
#include <stdlib.h>

#include "tools/base/column_table.h"
#include "tools/base/command.h"
#include "tools/base/json_text.h"
#include "tools/base/status.h"

static const char *type_word(enum column_type type) {
    static const char *const word[] = {"string", "integer", "number"};
    return word[type];
}

static json_t *column_json(const struct column *column) {
    json_t *found = json_object();
    json_text_put(found, "name", json_string(column->name));
    json_text_put(found, "type", json_string(type_word(column->type)));
    json_text_put(found, "unit", column->unit != NULL ? json_string(column->unit) : json_null());
    json_text_put(found, "may_be_empty", json_boolean(column->may_be_empty));
    json_text_put(found, "meaning", json_string(column->says));
    return found;
}

static json_t *table_json(const struct column_table *table) {
    json_t *found = json_object(), *columns = json_array();
    for (uint32_t i = 0; i < table->column_count; i++)
        json_text_append(columns, column_json(&table->column[i]));
    json_text_put(found, "meaning", json_string(table->says));
    json_text_put(found, "also", table->also != NULL ? json_string(table->also) : json_null());
    json_text_put(found, "columns", columns);
    return found;
}

int columns_command(const struct options *options) {
    (void)options;
    json_t *found = json_object();
    for (int i = 0; i < column_table_count(); i++)
        json_text_put(found, column_table_row(i)->file, table_json(column_table_row(i)));
    char *text = json_text_of(found, JSON_TEXT_DIGITS);
    fputs(text, stdout);
    free(text);
    return STATUS_HOLDS;
}
