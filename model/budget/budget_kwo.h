/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_kwo.h - Kwo's rules for a lane with one feeder and one taker. */
#pragma once

#include "model/budget/budget_figures.h"

/* Judges each lane that has one feeder and one taker. What budget_stretches fills in must be
 * there. */
void budget_kwo(struct budget *budget);

/* Fills in what follows from the data. Source: T. T. Kwo, "A theory of conveyors", Management
 * Science 5 (1958) 51-71. */
void budget_kwo_judge(struct budget_kwo *kwo);
