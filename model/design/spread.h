/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread.h - what is worked out while kinds are spread over lanes. Private to this
 * room.
 *
 * Each file spread_*.c does a part of it; spread_lanes.c does all. */
#pragma once

#include "model/design/lanes.h"

struct spread_wish {
    double feeder_margin;
    uint32_t lanes_least;
    uint32_t lines_given;        /* that are to be used, and no others; 0: as may says */
    const uint32_t *extra_taker; /* [station] */
};

struct spread {
    struct lanes *lanes; /* borrowed, as the next three */
    const struct scenario *scenario;
    const struct design_need *need;
    const struct spread_wish *wish;
    uint32_t *lane_of; /* [recipe * items + item] the first lane of an input; NO_INDEX: none */
    uint32_t *ways;    /* [item] lanes over which it is split evenly */
    char *why;         /* what stands in the way, DESIGN_WHY_BYTES */
};

/* Cells of an item. */
double spread_length(const struct spread *spread, uint32_t item);
/* Whether stations of a recipe take an item that comes over belts. */
bool spread_is_input(const struct spread *spread, uint32_t recipe, uint32_t item);
/* Cells a second that are needed of an item on all belts together. */
double spread_cells(const struct spread *spread, uint32_t item);

/* The first lane of an input, to be set. */
uint32_t *spread_lane_of(struct spread *spread, uint32_t recipe, uint32_t item);
/* Whether an input rides on a lane. */
bool spread_rides(const struct spread *spread, uint32_t recipe, uint32_t item, uint32_t lane);
/* The stations of a recipe stand along a lane, too. */
void spread_put_recipe(struct spread *spread, uint32_t recipe, uint32_t lane);
