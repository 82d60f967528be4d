/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/short_remedies.h - what would have met the demand for products that are short:
 * changes are thought of for each root, tried and proved as those against jams are. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/cause/case_remedies.h"
#include "tools/cause/cause_trial.h"
#include "tools/cause/remedy_search.h"
#include "tools/cause/short_case.h"

/* Changes are tried for so many products, the first ones; for others those are judged again. */
enum { SHORT_REMEDIES_SEARCHED = 3 };

struct short_remedies {
    struct trial_book *book;  /* borrowed */
    struct remedy_list *list; /* of each product, best first */
    uint32_t count;
    uint32_t left_out;         /* changes that were thought of and not tried, or not proved */
    struct short_words *words; /* of each change that was thought of here */
    uint32_t word_count, word_capacity;
    uint32_t unchanged; /* trial of the scenario as it is: proved, too; NO_INDEX: none */
};

/* Thinks, tries and proves, and puts the roots that a change alone has cured first. What cures
 * cases of the run that last to its end is judged first, and nothing else is tried where that meets
 * the demand. Freed with short_remedies_free. False: a signal stopped it. */
bool short_remedies_find(struct short_remedies *remedies, struct trial_book *book,
                         struct short_cases *cases, const struct cause_cases *others,
                         const struct case_remedies *cures);
/* Looks for what meets the demands for which nothing was found that does among what cures
 * starvations of the run, once that has been found. */
void short_remedies_learn(struct short_remedies *remedies, struct short_cases *cases,
                          const struct cause_cases *others, const struct case_remedies *cures);
void short_remedies_free(struct short_remedies *remedies);

/* The changes of a trial in words, "bench 20 % faster and a hand of 2 for taker", freed with
 * free(); NULL: there are none. */
char *short_remedies_words(const struct short_remedies *remedies, const struct trial *trial);
