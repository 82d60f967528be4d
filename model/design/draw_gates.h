/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_gates.h - at which counts a feeder stops, and the trays that hold what comes
 * then. Private to this room. */
#pragma once

#include "model/design/drawing.h"

/* The gate of a feeder of a flow on a lane: open while any station of the lane that takes it has
 * too few. Makes the trays of these stations large enough, and says why in arm->why. */
void draw_gates(struct drawing *drawing, uint32_t lane, const struct lane_flow *flow,
                struct plan_arm *arm);
