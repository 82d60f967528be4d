/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_run.h - one run of a soak, from its first tick to its last, and what came of it.
 * What it gives hangs on the plan and the number of the run alone. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/soak/soak_measures.h"
#include "tools/soak/soak_plan.h"

/* The scenario of a run: the plan's with the run's seed, and its disturbances when the plan wants
 * them. Freed with soak_run_scenario_free. */
struct scenario *soak_run_scenario(const struct soak_plan *plan, uint32_t variant, uint64_t run);
void soak_run_scenario_free(const struct soak_plan *plan, struct scenario *scenario);

/* Runs it. `simulated` is kept up to date with the ticks that were simulated, for progress. False:
 * a signal was noted meanwhile, and there is no result. */
bool soak_run(const struct soak_plan *plan, const struct soak_measures *measures, uint32_t variant,
              uint64_t run, _Atomic int64_t *simulated, struct soak_result *result);
