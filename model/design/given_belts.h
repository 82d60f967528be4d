/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/given_belts.h - a design whose scenario has belts of its own uses no others. */
#pragma once

#include "model/scenario/may.h"
#include "model/scenario/scenario.h"

/* What a design can use where the scenario has loops (if `loops`: as they are), or lines, of its
 * own: no others. */
void given_belts_use(struct may *may, const struct scenario *scenario, bool loops);
