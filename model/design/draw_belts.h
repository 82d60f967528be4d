/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_belts.h - loops and lines, and where on them an arm works. Private to this
 * room. */
#pragma once

#include "model/design/drawing.h"

/* Draws a belt for each lane, or for as many lanes as a loop may have, and sets drawing.belt and
 * drawing.lane. */
void draw_belts(struct drawing *drawing);

/* The place of the next arm along a lane; `*cell` counts cells from its begin on. */
struct plan_end draw_belts_end(const struct drawing *drawing, uint32_t lane, uint32_t *cell);

/* Seconds in which a part of a flow goes from its feeder's pick into the stock of a station with
 * takers of a kind: a revolution and two swings. */
double draw_belts_lead_s(const struct drawing *drawing, uint32_t lane, const struct lane_flow *flow,
                         uint32_t taker);
