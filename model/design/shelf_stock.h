/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/shelf_stock.h - how much of what is made is to lie on a shelf.
 * Private to this room. */
#pragma once

#include "model/design/drawing.h"

/* At how many of a product its stations stop: for orders or times by chance the base stock, else an
 * order and what is used while the next is made. `why` says so. */
int64_t shelf_stock_stop(const struct drawing *drawing, uint32_t recipe, uint32_t item, char *why);
/* How much of a by-product that stations use stays for them before the rest is taken away: so many
 * batches that nearly all find one, by the rule of a base stock in which what is made serves what
 * is used. Those who order it as well have their own. `why` says so. */
int64_t shelf_stock_kept(const struct drawing *drawing, uint32_t item, char *why);
/* What is ordered of an item while a drain watches how often it is made, ten minutes from the
 * warm-up on: the mean of a Poisson count and three deviations. */
int64_t shelf_stock_ordered_at_first(const struct drawing *drawing, uint32_t item);
/* A product that is ordered less often than once in five minutes cannot be made nine times, as
 * often as in ten minutes, within the hour that a restart has. So much more of it lies on the
 * shelf at first that it is not made in the ten minutes, and not waited for. */
bool shelf_stock_is_seldom(const struct drawing *drawing, uint32_t item);
/* What may still come to the shelf when the gate shuts: each station has a batch at work, and
 * outputs in its stock and in hands. */
int64_t shelf_stock_under_way(const struct drawing *drawing, uint32_t recipe, uint32_t item);
