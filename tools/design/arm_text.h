/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/arm_text.h - an arm of a plan as a scenario writes it. */
#pragma once

#include "model/design/plan.h"

/* As in "{name: feeder, from: bin, to: ring@3, items: [comb], swing: 0.8 s}", the keys in the
 * order of docs/scenario.md; freed by the caller. */
char *arm_text(const struct plan *plan, const struct plan_arm *arm);
