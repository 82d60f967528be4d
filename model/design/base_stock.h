/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/base_stock.h - how much has to lie on a shelf so that few orders find none. */
#pragma once

#include <stdint.h>

/* The least base stock of a product, in orders, with which a share `met` of the orders finds one
 * on the shelf, where orders and batches come at random and the stations are busy for a share
 * `utilisation` of the time: 1 - utilisation^S >= met (M/M/1 make to stock; Buzacott and
 * Shanthikumar, "Stochastic Models of Manufacturing Systems", 1993, chapter 4). At most 60. */
int64_t base_stock_least(double utilisation, double met);
