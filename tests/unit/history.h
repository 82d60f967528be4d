/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/history.h - everything that an engine reports in a run, as text, so that two runs
 * can be compared that should be alike except that places are shifted or everything happens
 * later. */
#pragma once

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "model/engine/listener.h"

struct history {
    /* set before it begins: */
    const struct scenario *scenario;
    const uint32_t *turn; /* [loop] cells by which it was turned, to be turned back; NULL: none */
    int64_t late_ticks;   /* all happens so much later; written as if it did not */
    uint32_t unheard_incidents; /* the first so many incidents are not written */
    const char *unheard_arms;   /* nor moves of arms whose names begin so; NULL: all are reported */
    bool moves_only;
    /* what came of it: */
    char *text;
    size_t length;
    int64_t told, not_told; /* moves */
    FILE *out;
};

/* Begins; hands over who is to listen. `history` must stay where it is. */
struct listener history_begin(struct history *history);

/* Ends it; its text is there now. */
void history_end(struct history *history);

/* Fails the test, showing the first lines that differ, unless both are alike. Frees both. */
void history_assert_same(struct history *one, struct history *other, uint64_t scenario_number);
