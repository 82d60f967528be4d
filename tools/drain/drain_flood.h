/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/drain/drain_flood.h - a heap on every lane at the first tick, in random order and with
 * random gaps.
 *
 * A drop fills the first free cells. So cells that are to stay free are filled too, with an item of
 * their own that the scenario gets for that, and this item is cleared in the same tick: nobody ever
 * meets it. */
#pragma once

#include <stdint.h>

#include "tools/base/scenario_edit.h"
#include "tools/drain/drain_case.h"

/* Adds the flood for a run with this seed. Returns how many items it is, on all lanes together. */
int64_t drain_flood_add(const struct drain_flood *flood, uint64_t seed,
                        struct scenario_edit *additions);

/* The most of an item that fits on the longest lane of the scenario. */
int64_t drain_flood_most(const struct scenario *scenario, uint32_t item);
