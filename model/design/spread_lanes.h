/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_lanes.h - spreads all inputs over lanes and lines. Private to this room. */
#pragma once

#include "model/design/spread.h"

/* Spreads all inputs over lanes and lines, as few as possible. False: they do not fit, and `why`
 * says so with numbers. Freed with lanes_free either way. */
bool spread_lanes(struct lanes *lanes, const struct design_need *need, const struct may *may,
                  const struct spread_wish *wish, char why[DESIGN_WHY_BYTES]);
