/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/case_remedies.h - what would have prevented the cases of a run: changes are thought
 * of for each root of a case, tried and proved. Cases with the same first root share what was tried
 * for the first of them. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/cause/cause_case.h"
#include "tools/cause/cause_trial.h"
#include "tools/cause/remedy_search.h"

struct case_remedies {
    struct trial_book *book;  /* borrowed: shared with whoever else tries changes */
    struct remedy_list *list; /* of each case, best first */
    uint32_t count;
    uint32_t unchanged; /* the trial of the scenario as it is */
    uint32_t searches;  /* that were made so far */
    uint32_t left_out;  /* changes that were thought of and not tried, or not proved */
};

/* Nothing has been found yet. Freed with case_remedies_free. False: a signal stopped it. */
bool case_remedies_begin(struct case_remedies *remedies, struct trial_book *book,
                         struct cause_cases *cases);
/* Thinks, tries and proves, for the cases that are reported in a turn (cause_case_turn). False: a
 * signal stopped it. */
bool case_remedies_find(struct case_remedies *remedies, struct cause_cases *cases, int turn);
/* Looks for cures of the cases that have none, or none that keeps enough beside them, among what
 * cures `other`, a shortage of the same run; where there are some, those of the shortage's roots
 * that are proven are so for the case, too. */
void case_remedies_learn(struct case_remedies *remedies, struct cause_cases *cases,
                         const struct remedy_list *other, const struct roots *roots,
                         const bool *proven);
/* Lets cases share what was found for all, and puts the roots that a remedy has cured first. */
void case_remedies_end(struct case_remedies *remedies, struct cause_cases *cases);
void case_remedies_free(struct case_remedies *remedies);

/* When what a trial is judged by comes in it: a jam that the verdict counts, unless the case itself
 * is none of those; for a clog also of a clog; of a proof also a clog that lasts at its end.
 * NOT_GIVEN: never. */
int64_t case_remedies_failed(const struct cause_cases *cases, const struct cause_case *self,
                             const struct trial *trial);
/* Whether a trial still starves: the station of a case, or any if the case is no starvation. */
bool case_remedies_starved(const struct cause_cases *cases, const struct cause_case *self,
                           const struct trial *trial);
