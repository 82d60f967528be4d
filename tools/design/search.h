/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search.h - from a brief to a design that comes through its trials: the plan by the
 * rules first; where it fails, what may mend that is raced.
 *
 * A race is successive halving (Z. Karnin, T. Koren and O. Somekh, "Almost optimal exploration in
 * multi-armed bandits", ICML 2013; K. Jamieson and A. Talwalkar, AISTATS 2016): all candidates
 * get a short trial, the better half a longer one, and so on, all with the same seeds, so that
 * they differ by what they are and not by their luck. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/design/plan.h"
#include "model/reader/draft.h"
#include "tools/base/progress.h"
#include "tools/design/trials.h"

struct search {
    struct draft *draft; /* borrowed */
    struct trials_wish wish;
    struct progress progress;
    bool *ahead_given, *gate_given;  /* [station] */
    int64_t pace_ms[TRIALS_ALL + 1]; /* what the last try took, by its depth; 0: none yet */
    uint32_t to_come;                /* tries that this stage of a race still has */
    /* what came of it: */
    bool found;
    uint32_t tries; /* scenarios that were tried */
    bool planned;   /* there is a plan: the best so far, with its trials */
    struct plan plan;
    struct plan_choice choice;
    struct trials trials;
    char why[DESIGN_WHY_BYTES]; /* what stands in the way, when nothing was found */
};

/* Looks for a design. The result depends on the draft and on wish->may alone. Freed with
 * search_free. */
void search_run(struct search *search, struct draft *draft, const struct trials_wish *wish,
                bool show_progress);
void search_free(struct search *search);
