/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/text_span.c - braces, quotes and comments. */
#include "tools/cause/text_span.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

size_t text_span_next_line(const char *text, size_t at) {
    at += strcspn(text + at, "\n");
    return at + (text[at] == '\n');
}

size_t text_span_step_over(const char *text, size_t at) {
    if (text[at] == '#' && (at == 0 || strchr(" \t\n", text[at - 1]) != NULL))
        return at + strcspn(text + at, "\n");
    if (text[at] != '\'' && text[at] != '"')
        return at + 1;
    const char *end = strchr(text + at + 1, text[at]);
    return end != NULL ? (size_t)(end - text) + 1 : strlen(text);
}

size_t text_span_end_of_flow(const char *text, size_t at) {
    int depth = 0;
    while (text[at] != '\0') {
        depth += text[at] == '{' || text[at] == '[';
        depth -= text[at] == '}' || text[at] == ']';
        at = text_span_step_over(text, at);
        if (depth == 0)
            return at;
    }
    return at;
}

size_t text_span_skip_blanks(const char *text, size_t at, size_t end) {
    while (at < end && (strchr(" \t\n\r", text[at]) != NULL || text[at] == '#'))
        at = text[at] == '#' ? text_span_step_over(text, at) : at + 1;
    return at;
}

size_t text_span_end_of_value(const char *text, size_t at, size_t end) {
    while (at < end && text[at] != ',')
        at = text[at] == '{' || text[at] == '[' ? text_span_end_of_flow(text, at)
                                                : text_span_step_over(text, at);
    while (at > 0 && strchr(" \t\n\r", text[at - 1]) != NULL)
        at--;
    return at;
}

char *text_span_replace(char *text, struct text_span span, const char *with) {
    size_t length = strlen(text), added = strlen(with);
    char *changed = require_memory(length - (span.end - span.start) + added + 1, 1);
    memcpy(changed, text, span.start);
    memcpy(changed + span.start, with, added);
    strcpy(changed + span.start + added, text + span.end);
    free(text);
    return changed;
}

char *text_span_insert(char *text, size_t at, const char *first, const char *second,
                       const char *third) {
    size_t bytes = strlen(first) + strlen(second) + strlen(third) + 1;
    char *with = require_memory(bytes, 1);
    snprintf(with, bytes, "%s%s%s", first, second, third);
    text = text_span_replace(text, (struct text_span){at, at}, with);
    free(with);
    return text;
}
