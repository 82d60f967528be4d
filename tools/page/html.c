/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/html.c - escapes what HTML gives a meaning. */
#include "tools/page/html.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "sim/text_stream.h"

void html_text(FILE *out, const char *text) {
    for (; *text != '\0'; text++)
        switch (*text) {
        case '&': fputs("&amp;", out); break;
        case '<': fputs("&lt;", out); break;
        case '>': fputs("&gt;", out); break;
        case '"': fputs("&quot;", out); break;
        default: fputc(*text, out);
        }
}

void html_print(FILE *out, const char *format, ...) {
    struct text_stream stream;
    FILE *plain = text_stream_begin(&stream);
    va_list values;
    va_start(values, format);
    vfprintf(plain, format, values);
    va_end(values);
    char *text = text_stream_end(&stream);
    html_text(out, text);
    free(text);
}

void html_element(FILE *out, const char *tag, const char *text) {
    fprintf(out, "<%s>", tag);
    html_text(out, text);
    fprintf(out, "</%.*s>", (int)strcspn(tag, " "), tag);
}

void html_number(FILE *out, const json_t *number) {
    if (json_is_integer(number))
        fprintf(out, "%lld", (long long)json_integer_value(number));
    else if (json_is_real(number))
        fprintf(out, "%.2f", json_real_value(number));
    else
        fputs("–", out);
}

void html_table(FILE *out, const char *heading, const struct csv_table *table) {
    fputs("<details>", out);
    html_element(out, "summary", heading);
    fputs("<table><thead><tr>", out);
    for (size_t i = 0; i < table->columns; i++)
        html_element(out, "th", table->field[i]);
    fputs("</tr></thead><tbody>\n", out);
    for (size_t row = 1; row < table->rows; row++) {
        fputs("<tr>", out);
        for (size_t i = 0; i < table->columns; i++)
            html_element(out, "td", table->field[row * table->columns + i]);
        fputs("</tr>\n", out);
    }
    fputs("</tbody></table></details>\n", out);
}

void html_data(FILE *out, const char *id, json_t *data) {
    char *text = json_dumps(data, JSON_COMPACT);
    require(text != NULL);
    fprintf(out, "<script type=\"application/json\" id=\"%s\">", id);
    for (const char *at = text; *at != '\0'; at++)
        if (*at == '<')
            fputs("\\u003c", out);
        else
            fputc(*at, out);
    fputs("</script>\n", out);
    free(text);
    json_decref(data);
}
