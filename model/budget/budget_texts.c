/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_texts.c - a list beside a hash table of its texts. */
#include "model/budget/budget_texts.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/scenario/scenario.h"
#include "sim/array.h"
#include "sim/require.h"

enum { TEXT_BYTES = 512 };

void budget_texts_add(struct budget_texts *texts, const char *format, ...) {
    char text[TEXT_BYTES];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    if (names_find(&texts->seen, text) != NO_INDEX)
        return;
    texts->text = array_with_room(texts->text, texts->count, &texts->capacity, sizeof *texts->text);
    texts->text[texts->count] = require_text(text);
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
