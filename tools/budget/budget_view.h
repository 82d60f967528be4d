/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/budget/budget_view.h - a budget to read on a screen, and as JSON.
 *
 * The room tools/budget is the command `budget`. What comes in: a scenario. What goes out: the text
 * and the JSON of model/budget, with changes that mend a rule, each tried (mend_search.h). */
#pragma once

#include <stdio.h>

#include "model/budget/budget.h"
#include "tools/budget/mend_search.h"

/* Prints what matters most first, in 80 columns. */
void budget_view_print(const struct budget *budget, const struct mend_search *mend, FILE *out);
/* Prints the whole as JSON, two blanks of indent, with a line end. */
void budget_view_json(const struct budget *budget, const struct mend_search *mend, FILE *out);
