/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/budget/budget_view.h - a budget to read on a screen, and as JSON. */
#pragma once

#include <stdio.h>

#include "model/budget/budget.h"
#include "tools/budget/mend_search.h"

/* Prints what matters most first, in 80 columns. */
void budget_view_print(const struct budget *budget, const struct mend_search *mend, FILE *out);
/* The whole as JSON, two blanks of indent, with a line end; freed with free(). */
char *budget_view_json(const struct budget *budget, const struct mend_search *mend);
