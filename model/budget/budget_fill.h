/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_fill.h - what it takes to fill a hand of several items from a loop. Private
 * to this room. */
#pragma once

#include "model/budget/budget_figures.h"

/* Fills in of ->arm what is sure. Net and rates must be there. */
void budget_fill(struct budget *budget);

/* Adds to ->notes what must come by where a hand has to be filled faster than is sure, and clears
 * demand_sure. What budget_route fills in must be there. */
void budget_fill_report(struct budget *budget);
