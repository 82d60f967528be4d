/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/chance.h - whether anything in a scenario is drawn by chance: if not, all its runs
 * are the same, whatever their seed. */
#pragma once

#include "model/scenario/scenario.h"

bool chance_is_drawn(const struct scenario *scenario);
