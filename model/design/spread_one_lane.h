/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_one_lane.h - one lane, with the recipes that were put there. Private to this
 * room. */
#pragma once

#include "model/design/spread.h"

/* Works out all of a lane: its recipes in order, flows, groups, takers. False: something does not
 * fit there. */
bool spread_one_lane(struct spread *spread, uint32_t lane);
