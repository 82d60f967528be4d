/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_mends.h - changes of a scenario that may make a rule hold. */
#pragma once

#include "model/budget/budget_figures.h"

/* Adds to `changes` what may mend a finding of a rule, the best first: "PATH=VALUE" as --set takes
 * it, or several of them on lines of their own that belong together. That they do mend it must be
 * tried. The budget is of budget_new or budget_judge. */
void budget_mends(const struct budget *budget, enum budget_rule_kind rule,
                  const struct budget_finding *finding, struct budget_texts *changes);
