/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/disturb.h - disturbances by chance for a loop that has none of its own, and harder
 * than chance would be: they come in episodes, one after another, each of which strains the loop in
 * one way. A random few takers stop one after another and start again in another order; a supply
 * fails and comes back with all that it owes at once; a heap of one item falls on a lane; all
 * demands stop together and start together.
 *
 * They are written into the scenario, as incidents and supplies named "disturbance-...", so that a
 * run with them is a run like any other. */
#pragma once

#include <stdint.h>

#include "model/scenario/scenario.h"

/* From its first act to its last; a heap has only one. */
struct disturbance {
    int64_t begin_tick, end_tick;
};

/* One after another; each begins when the one before it is over, or later. */
struct disturbances {
    struct disturbance *entry;
    uint32_t count, capacity;
};

/* The scenario with `seed` as its seed and with disturbances after its warm-up, all over by
 * `last_tick`; they depend on these two and on the scenario alone. Freed with scenario_free; *list,
 * which is set, with disturbances_free. */
struct scenario *disturb_scenario(const struct scenario *scenario, uint64_t seed, int64_t last_tick,
                                  struct disturbances *list);
void disturbances_free(struct disturbances *list);
