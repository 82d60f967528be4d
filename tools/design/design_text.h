/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/design_text.h - a plan as a scenario that a person would have written: sections in
 * order, and comments that say why a number is what it is and how far it may vary. */
#pragma once

#include "model/budget/budget.h"
#include "model/design/plan.h"
#include "model/reader/draft.h"
#include "tools/design/tolerance.h"

/* What is said at the head of the scenario, a line each; and about numbers. */
struct design_notes {
    const char *head;                   /* lines without #; NULL: none */
    const struct tolerances *tolerance; /* NULL: none */
    const char *met; /* share of each demand that `expect` asks for; NULL: that of `may` */
    const struct budget *budget; /* of this very scenario, for the figures; NULL: there are none */
};

/* The scenario as YAML; freed by the caller. What the brief says of items, recipes, supplies and
 * demands stays as it is written there. */
char *design_text_of(const struct plan *plan, struct draft *draft,
                     const struct design_notes *notes);
