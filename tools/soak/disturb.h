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

/* The scenario with `seed` as its seed and with the disturbances of this seed, which hang on
 * nothing else. Freed with scenario_free. */
struct scenario *disturb_scenario(const struct scenario *scenario, uint64_t seed);
