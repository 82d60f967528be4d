/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/base_stock.h - how much has to lie on a shelf so that few orders find none. */
#pragma once

#include <stdint.h>

/* The least base stock of a product, in orders, with which a share `met` of the orders finds one
 * on the shelf, where orders and batches come at random and the stations are busy for a share
 * `utilisation` of the time: 1 - utilisation^S >= met (M/M/1 make to stock; Buzacott and
 * Shanthikumar, "Stochastic Models of Manufacturing Systems", 1993, chapter 4). At most 60. */
int64_t base_stock_least(double utilisation, double met);

/* The same where orders and batches vary otherwise: so many times as much, as a queue decays so
 * many times as slowly. `variation` is half the sum of their squared coefficients of variation; 1:
 * both come at random (J. F. C. Kingman, "On queues in heavy traffic", Journal of the Royal
 * Statistical Society B 24 (1962) 383-392). */
int64_t base_stock_varied(double utilisation, double met, double variation);
