/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/item_books.h - the totals of each item, put together from where they are counted:
 * what is made, used and delivered by item; what is ordered by demand; what is dropped and cleared
 * only where an incident does so. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/parts.h"

/* Room for the totals of all items, of a world whose scenario is given; all are 0. */
void item_books_init(struct world *world);

/* All totals of an item. What its demands owe is what is open of them. */
struct item_totals item_books_totals(const struct world *world, uint32_t item);

/* Sets the totals of an item, but for `owed`. False: it has no demand that could have asked. */
bool item_books_set(struct world *world, uint32_t item, const struct item_totals *totals);
