/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_missed.h - items that go round once more. Private to this room. */
#pragma once

#include "model/budget/budget_figures.h"

/* What a lane carries once more because takers miss it, cells a second; an estimate. What
 * budget_route fills in must be there. */
double budget_missed(const struct budget *budget, uint32_t lane);
