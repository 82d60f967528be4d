/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause_guess.h - changes that may help against a root of a jam or starvation. */
#pragma once

#include "model/cause_roots.h"
#include "tools/cause_case.h"

/* A change: what would be given to --set, one a line, and how large it is, for comparing. */
struct guess {
    const char *text;
    uint32_t size;
    bool proves; /* if it cures, the root is shown to be one; else it may as well cure another */
};
typedef void guess_taker(void *self, const struct guess *guess);

/* Thinks of changes against one root of a case, the likely ones first, and gives each to `take`. */
void cause_guess_remedies(const struct cause_case *self, const struct root *root, guess_taker *take,
                          void *taker);
