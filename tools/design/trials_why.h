/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/trials_why.h - which of its trials the nearest design does not come through. */
#pragma once

#include "model/design/design_need.h"
#include "tools/design/trials.h"

/* Writes a sentence with numbers about the first trial that fails, of the nearest of so many tries
 * of a scenario. Leaves `why` as it is where none fails. */
void trials_why(const struct trials *trials, const struct scenario *scenario, uint32_t tries,
                char why[DESIGN_WHY_BYTES]);
