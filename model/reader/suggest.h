/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/suggest.h - finds the known word that is nearest to an unknown one, for "did you
 * mean". */
#pragma once

#include <stdbool.h>
#include <stdint.h>

/* A search for the known word nearest to `wanted`: words are shown to it one by one. */
struct suggestion {
    const char *wanted; /* borrowed */
    const char *word;   /* the best so far, borrowed; NULL: none */
    uint32_t distance;  /* of `word`; before there is one, one more than the greatest allowed */
    bool tied;          /* another word is as near */
};

/* Starts a search. A word counts as near within max(1, length of `wanted` / 3) edits. */
struct suggestion suggest_start(const char *wanted);

/* Shows one known word. */
void suggest_look(struct suggestion *nearest, const char *word);

/* The nearest word when it is near and alone in being so near, else NULL. */
const char *suggest_word(const struct suggestion *nearest);
