/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_plan.h - makes a plan. */
#pragma once

#include "model/design/plan.h"
#include "model/design/plan_choice.h"

/* Makes a plan. Loops that the scenario has are used as they are. False: it cannot be done, and
 * `why` says why, with numbers. Freed with plan_free either way. */
bool draw_plan(struct plan *plan, const struct scenario *scenario, const struct may *may,
               const struct plan_choice *choice, char why[DESIGN_WHY_BYTES]);
