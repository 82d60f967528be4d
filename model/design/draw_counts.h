/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_counts.h - how many of a kind may lie on a lane, where gates may count belts.
 * Private to this room. */
#pragma once

#include "model/design/drawing.h"

/* At how many of a kind on a lane its feeders stop: twice as many as ride at the rate that is
 * needed from the first feeder to the last taker. */
int64_t draw_counts_threshold(const struct drawing *drawing, const struct lane *lane,
                              uint32_t item);
/* The cells of a lane that is longer than what may lie on it then, or `cells`, where that is
 * enough, or where it may not be so long. */
uint32_t draw_counts_cells(const struct drawing *drawing, const struct lane *lane, uint32_t cells);
