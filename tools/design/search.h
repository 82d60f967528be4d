/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search.h - the search for a design that comes through its trials: the best so far,
 * and attempts at a better one. From below to above: search, search_race, search_changes,
 * search_why, search_shrink, search_run. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/design/plan.h"
#include "model/design/plan_choice.h"
#include "model/reader/draft.h"
#include "tools/base/progress.h"
#include "tools/design/trials.h"

/* A choice that is tried. */
struct search_attempt {
    struct plan_choice choice;
    struct plan plan;
    bool planned;
    struct trials trials;
    bool tried;
    double score; /* trials_score of its trials */
};

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

/* Makes the plan of an attempt, whose choice is set. False: it cannot be, and `why` says why. */
bool search_plan(struct search *search, struct search_attempt *attempt, char why[DESIGN_WHY_BYTES]);
/* Tries the plan of an attempt, up to a depth. */
void search_try(struct search *search, struct search_attempt *attempt, enum trials_depth depth);
void search_attempt_free(struct search_attempt *attempt);

/* The best so far becomes that of an attempt, which is empty then. */
void search_take(struct search *search, struct search_attempt *attempt);
/* What failed in all nights is tried first from now on. */
void search_note_hard(struct search *search, const struct trials *trials);
/* Whether too few of the orders of an item were met in some night of the best so far. */
bool search_is_short(const struct search *search, uint32_t item);
void search_free(struct search *search);

/* How many parts a plan has, cells counting least: of two plans that hold the one with fewer is
 * better. */
uint64_t search_parts(const struct plan *plan);
