/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/short_candidates.h - what people change where something is too slow, too small or too
 * seldom: by the kinds of root that a shortage alone has. */
#pragma once

#include "model/cause/roots.h"
#include "model/scenario/scenario.h"

/* A change: what would be given to --set, one a line; in words ("bench 20 % faster"); how large it
 * is, as other changes are compared; and how large a step for those who make it: 0.2 for a fifth
 * faster, 1 for twice as fast, more for what has to be bought and placed. */
struct short_candidate {
    const char *text, *words;
    uint32_t size;
    double effort;
};
typedef void short_sink(void *self, const struct short_candidate *candidate);

/* Thinks of changes against a root of a kind from ROOT_SLOW_ARM on (nothing for others), the
 * smaller first, and gives each to `take`. `factor`: how much more is wanted than comes, above 1;
 * INFINITY where nothing comes. */
void short_candidates_find(const struct scenario *scenario, const struct root *root, double factor,
                           short_sink *take, void *taker);
