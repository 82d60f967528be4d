/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/budget/mend_search.h - changes with which rules hold, each tried. */
#pragma once

#include <stdbool.h>

#include "model/budget/budget.h"

/* Of each rule that does not hold, the changes, as --set takes them, with which it holds when they
 * are made together; none: no such changes were found. Starts as {0}. */
struct mend_search {
    struct budget_texts set[BUDGET_RULES];
    /* What some of them are for that the rule does not say: where it is broken, it does not say
     * where it is only uncertain, and a change may bring up something new. */
    struct budget_texts also[BUDGET_RULES];
    /* Items of which the rule speaks that never come to where it does, as the scenario is written:
     * nothing is proposed for them, and with the changes the rule holds for all others. */
    struct budget_texts absent[BUDGET_RULES];
    /* Whether a rule holds, without a change, for all that ever comes in. */
    bool holds_as_written[BUDGET_RULES];
    /* Changes that were proposed and cannot be read, with the reason: each is a bug. They are left
     * out. */
    struct budget_texts unread;
};

/* Works them out for a budget of budget_new. Reads the scenario of the budget anew with changes,
 * and says how far it is if `show_progress`. */
void mend_search_find(struct mend_search *mend, const struct budget *budget, bool show_progress);
void mend_search_free(struct mend_search *mend);
