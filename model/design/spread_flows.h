/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_flows.h - what rides on a lane, and its feeders. Private to this room. */
#pragma once

#include "model/design/spread.h"

/* Works out the flows of a lane and their feeders. False: the feeders of some cannot put on what is
 * needed. */
bool spread_flows(struct spread *spread, uint32_t lane);
