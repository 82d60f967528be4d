/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/product.h - what a workshop is for: which of its items are products. */
#pragma once

#include <stdbool.h>

#include "model/scenario/scenario.h"

/* Marks in `product` (room for each item) what a station makes and a demand takes; in a scenario
 * without demands, what a station makes and none takes. Other marks become false. */
void product_mark(const struct scenario *scenario, bool *product);
