/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/spread.h - which items can come where by what the workshop does itself: what
 * chests begin with, what supplies bring, what stations make, and where arms carry it from there.
 * An arm without `items` may carry everything; this tells what it will ever find. Incidents do not
 * count. */
#pragma once

#include <stdbool.h>

#include "model/scenario/scenario.h"

struct spread {
    const struct scenario *scenario;
    uint64_t *bits; /* a row of items for each place: chests, stations' outputs, lanes, lines */
    uint32_t row_words;
};

/* Works it out. The scenario must outlive it. Freed with spread_free. */
void spread_init(struct spread *spread, const struct scenario *scenario);
void spread_free(struct spread *spread);

/* True when the item can come to lie in a chest or on a lane or line, or can be made by a station
 * (place.cell is not looked at). */
bool spread_reaches(const struct spread *spread, struct place place, uint32_t item);
