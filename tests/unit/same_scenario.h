/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/same_scenario.h - whether two scenarios are equal, field by field. */
#pragma once

#include "model/scenario/scenario.h"

/* NULL when all fields are equal, else the name of one that differs. */
const char *same_scenario_difference(const struct scenario *a, const struct scenario *b);
