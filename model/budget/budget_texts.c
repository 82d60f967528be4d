/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_texts.c - a list beside a hash table of its texts. */
#include "model/budget/budget_texts.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/scenario/scenario.h"
#include "sim/array.h"
#include "sim/require.h"

static char *text_of(const char *format, va_list arguments) {
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    require(out != NULL);
    vfprintf(out, format, arguments);
    require(fclose(out) == 0);
    return text;
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
