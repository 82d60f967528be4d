/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_route.h - which arm carries how much of each item. Private to this room. */
#pragma once

#include "model/budget/budget_figures.h"

/* Fills in ->flow and what is needed of ->arm; adds to ->notes where no arms lead to a demand. What
 * budget_explode fills in must be there. */
void budget_route(struct budget *budget);
