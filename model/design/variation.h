/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/variation.h - how much a length of time varies. */
#pragma once

#include "sim/random.h"

/* The squared coefficient of variation of a span as written, its variance over the square of its
 * mean: 0 for one that is always the same, 1 for an exponential one, by the textbook moments of the
 * distributions. That of a normal one is of the whole normal distribution, though it is cut at 0.
 */
double variation_squared(const struct span *span);
