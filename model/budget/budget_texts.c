/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_texts.c - a list beside a hash table of its texts. */
#include "model/budget/budget_texts.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/scenario/scenario.h"
#include "sim/array.h"
#include "sim/text_stream.h"

static char *text_of(const char *format, va_list arguments) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    vfprintf(out, format, arguments);
    return text_stream_end(&stream);
}

void budget_texts_add(struct budget_texts *texts, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    char *text = text_of(format, arguments);
    va_end(arguments);
    if (names_find(&texts->seen, text) != NO_INDEX) {
        free(text);
        return;
    }
    texts->text = array_with_room(texts->text, texts->count, &texts->capacity, sizeof *texts->text);
    texts->text[texts->count] = text;
    names_add(&texts->seen, texts->text[texts->count], texts->count);
    texts->count++;
}

void budget_texts_free(struct budget_texts *texts) {
    names_free(&texts->seen);
    for (uint32_t i = 0; i < texts->count; i++)
        free(texts->text[i]);
    free(texts->text);
    *texts = (struct budget_texts){0};
}
