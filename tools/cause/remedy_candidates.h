/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_candidates.h - changes that may help against a root of a jam or starvation. */
#pragma once

#include "model/cause/roots.h"
#include "tools/cause/cause_case.h"

/* A change: what would be given to --set, one a line, and how large it is, for comparing. */
struct remedy_candidate {
    const char *text;
    uint32_t size;
    bool proves; /* if it cures, the root is shown to be one; else it may as well cure another */
};
typedef void candidate_sink(void *self, const struct remedy_candidate *guess);

/* Thinks of changes against one root of a case, the likely ones first, and gives each to `take`. */
void remedy_candidates_find(const struct cause_case *self, const struct root *root,
                            candidate_sink *take, void *taker);
