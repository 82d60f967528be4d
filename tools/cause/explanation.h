/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/explanation.h - all that is found out about a run: its cases, what is short, and what
 * would have prevented them; for whoever reports it, `cause` and the page of a run. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/cause/case_remedies.h"
#include "tools/cause/cause_case.h"
#include "tools/cause/cause_trial.h"
#include "tools/cause/short_case.h"
#include "tools/cause/short_remedies.h"

struct explanation {
    struct cause_cases cases;
    struct trial_book book;
    struct short_cases shorts;
    struct case_remedies remedies;
    struct short_remedies short_remedies;
    uint64_t spent; /* picks and places of all runs that it took, without proofs */
};

/* Finds the cases of a run of a scenario, from its start or from where the world `begin` is (NULL:
 * before tick 0); both must outlive it. `prove_ticks`: as of trial_book_init. Freed with
 * explanation_free in any case. False: a signal stopped it. */
bool explanation_begin(struct explanation *explanation, const struct scenario *scenario,
                       const struct world *begin, int64_t prove_ticks, bool show_progress);
/* Works out why the cases came about that were kept (cause_cases_keep_...), and what would have
 * prevented them. False: a signal stopped it. */
bool explanation_work_out(struct explanation *explanation);
void explanation_free(struct explanation *explanation);
