/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/html.h - pieces of HTML: texts in which nothing is taken for markup. */
#pragma once

#include <stdio.h>

#include <jansson.h>

#include "tools/page/csv_table.h"

/* Writes a text as text. */
void html_text(FILE *out, const char *text);
/* printf of which the result is text. */
void html_print(FILE *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Writes <tag>text</tag>; `tag` may carry attributes. */
void html_element(FILE *out, const char *tag, const char *text);
/* Writes a number as people read it: whole ones as they are, others with two decimals. */
void html_number(FILE *out, const json_t *number);
/* Writes a table under a heading that opens and shuts it. */
void html_table(FILE *out, const char *heading, const struct csv_table *table);
/* Writes data for scripts: <script type="application/json" id=...>, in which nothing ends the
 * element. The object is given up. */
void html_data(FILE *out, const char *id, json_t *data);
