/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/arm_rates.h - how much an arm of a kind carries. Private to this room. */
#pragma once

#include "model/design/lanes.h"

/* Items a second that an arm of a kind carries from or to a belt of `rate` cells a second, of an
 * item of `length` cells; and the most that it ever can. */
double arm_rates_steady(const struct lanes *lanes, uint32_t kind, double rate, double length);
double arm_rates_peak(const struct lanes *lanes, uint32_t kind);
/* What it can put onto such a belt at best, as the rule of the trade counts it. */
double arm_rates_greatest(const struct lanes *lanes, uint32_t kind, double rate, double length);

/* The kind of arm of which the fewest carry `items` a second between chests and stations, of equal
 * ones the slowest, and how many. */
uint32_t arm_rates_mover(const struct may *may, double ticks_per_second, double items,
                         uint32_t *count);
