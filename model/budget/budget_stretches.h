/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_stretches.h - lanes and lines, cut where arms stand. Private to this room. */
#pragma once

#include "model/budget/budget_figures.h"

/* Fills in ->stretch, ->track but for Kwo's rules, and of ->item what feeders and takers do. What
 * budget_route fills in must be there. */
void budget_stretches(struct budget *budget);
