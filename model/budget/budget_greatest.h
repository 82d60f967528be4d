/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_greatest.h - the most that can be had of each product. Private to this room.
 */
#pragma once

#include "model/budget/budget_figures.h"
#include "model/budget/budget_watcher.h"

/* Fills in ->product; adds to ->notes and clears demand_met where more is needed. What
 * budget_stretches fills in must be there. `watcher` may be NULL. */
void budget_greatest(struct budget *budget, const struct budget_watcher *watcher);
