/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/orders.h - counts what was asked for after the warm-up of a run, and what of it was
 * met. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/world.h"

struct orders {
    const struct scenario *scenario;
    bool *product;            /* [item] made and demanded; where nothing that is demanded is made,
                                  all that is demanded */
    int64_t *demanded, *lost; /* [item] at the end of the warm-up */
};

/* Below this share of what was asked for a product is short. */
#define ORDERS_MET 0.98

/* Nothing has been counted. The scenario must outlive it. */
void orders_init(struct orders *orders, const struct scenario *scenario);
void orders_free(struct orders *orders);

/* The warm-up of a world ends now. */
void orders_begin(struct orders *orders, const struct world *world);

/* Counts up to now. Of what is owed now the orders of the warm-up are met first. */
void orders_count(const struct orders *orders, const struct world *world, uint32_t item,
                  int64_t *asked, int64_t *met);
/* True for a product of which too little came so far. */
bool orders_is_short(const struct orders *orders, const struct world *world, uint32_t item);
/* True when there is such a product. */
bool orders_some_short(const struct orders *orders, const struct world *world);
