/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_bulk.h - lanes and lines of their own for what is needed in bulk. Private to
 * this room. */
#pragma once

#include "model/design/spread.h"

/* Gives an item a line of its own, or of at most `lanes_left` lanes as few as carry it; `*used` are
 * these. False: they are too few, and spread.why says so. */
bool spread_bulk(struct spread *spread, uint32_t item, uint32_t lanes_left, uint32_t *used);
/* Lines that are there take what is needed most, one kind each, as far as they can carry it; these
 * are marked in `bulk` ([item]). */
void spread_given_lines(struct spread *spread, bool *bulk);
