/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_groups.h - in which order the arms of a lane stand. Private to this room. */
#pragma once

#include "model/design/spread.h"

/* Works out the groups of a lane whose flows are known: as many kinds as fit at once, then their
 * takers, then others. False: some flow has no room. */
bool spread_groups(const struct spread *spread, uint32_t lane);
