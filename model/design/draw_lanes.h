/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_lanes.h - the feeders and takers along a lane. Private to this room. */
#pragma once

#include "model/design/drawing.h"

/* Draws the arms of a lane, an index in drawing.lanes, in their order along it. */
void draw_lane(struct drawing *drawing, uint32_t lane);
