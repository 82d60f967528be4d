/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/plan.h - the parts of a scenario as data for the page: names, places, sizes, recipes,
 * times in ticks. Parts refer to each other by index. */
#pragma once

#include <jansson.h>

#include "model/scenario/scenario.h"

/* With what incidents have set before `first_tick`, where the page begins. Given up to the caller.
 */
json_t *plan_json(const struct scenario *scenario, int64_t first_tick);
