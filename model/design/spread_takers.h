/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_takers.h - how many arms take parts off a lane. Private to this room. */
#pragma once

#include "model/design/spread.h"

/* Works out the takers of each group of a lane: fast enough, and faster than the feeders of each
 * kind. */
void spread_takers(struct spread *spread, struct lane *lane);
