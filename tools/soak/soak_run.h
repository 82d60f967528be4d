/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_run.h - one run of a soak, from its first tick to its last, and its result,
 * which depends only on the plan and the number of the run. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/soak/soak_measures.h"
#include "tools/soak/soak_plan.h"

/* Runs it. `simulated` is kept up to date with the ticks that were simulated, for progress; with
 * disturbances a run without them comes first, and counts as well. False: a signal was noted
 * meanwhile, and there is no result. */
bool soak_run(const struct soak_plan *plan, const struct soak_measures *measures, uint32_t variant,
              uint64_t run, _Atomic int64_t *simulated, struct soak_result *result);

/* The scenario of a run of the first variant that came to `result`: the plan's with the run's seed,
 * and its disturbances when the plan wants them. Freed with soak_run_scenario_free. */
struct scenario *soak_run_scenario(const struct soak_plan *plan, uint64_t run,
                                   const struct soak_result *result);
void soak_run_scenario_free(const struct soak_plan *plan, struct scenario *scenario);

/* How long the runs of a variant have to be at least for disturbances, which are over long before
 * the end (tools/soak/calm.h), to have some time: as its first run says, which is run without them.
 * False: a signal was noted. */
bool soak_run_least_ticks(const struct soak_plan *plan, const struct soak_measures *measures,
                          uint32_t variant, int64_t *least);
