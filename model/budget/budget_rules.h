/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_rules.h - the eight rules of the trade. Private to this room. */
#pragma once

#include "model/budget/budget_figures.h"

/* Fills in ->rule, rules_hold, and of ->item whether exits stay open. What budget_stretches fills
 * in must be there. */
void budget_rules(struct budget *budget);
