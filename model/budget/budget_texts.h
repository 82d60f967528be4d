/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_texts.h - sentences gathered in order, each kept once. */
#pragma once

#include <stdint.h>

#include "model/scenario/names.h"

/* Starts as {0}. */
struct budget_texts {
    char **text;
    uint32_t count, capacity;
    struct names seen; /* of the texts, to find those that are there already */
};

/* Adds a text by format; nothing is added when it is there already. */
void budget_texts_add(struct budget_texts *texts, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Empty again; to be called before the struct goes. */
void budget_texts_free(struct budget_texts *texts);
