/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_explode.h - the demand taken back through the recipes. Private to this room.
 */
#pragma once

#include "model/budget/budget_figures.h"

/* Fills in ->item but for fed, taken and the exits, and what is needed of ->station; adds to
 * ->notes and clears demand_met where the demand cannot be met. Rates and net must be there. */
void budget_explode(struct budget *budget);
