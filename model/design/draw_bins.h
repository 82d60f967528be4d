/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_bins.h - where supplies put what they bring. Private to this room. */
#pragma once

#include "model/design/drawing.h"

/* Draws the bins of all that supplies bring. Returns the last one; NO_INDEX: there is none. */
uint32_t draw_bins(struct drawing *drawing);
/* Bins begin with what the trays take as well, as far as it fits, where plan_choice.full_trays asks
 * for it: supplies alone would be long about it. */
void draw_bins_fill_trays(struct drawing *drawing);
