/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget.h - what can be said of a scenario without running it.
 *
 * How much each item is needed, what every arm, station and stretch of lane must carry against what
 * it can, the greatest rate of each product and what limits it, which rules of the trade are
 * broken, and whether a lane can be proven never to fill. Incidents that stop things or change
 * thresholds count in the proofs only, gates in rules and proofs only.
 *
 * In comes a scenario; out come the figures of budget_figures.h. The other headers are private to
 * this room. From below to above: texts; net (what can be where); rates; explode, route, missed,
 * stretches, kwo; lp, greatest; gates, rules, certificate, mends; budget. */
#pragma once

#include "model/budget/budget_figures.h"
#include "model/budget/budget_mends.h"
#include "model/budget/budget_watcher.h"

/* Works it all out. Never NULL; freed with budget_free. The scenario is borrowed. */
struct budget *budget_new(const struct scenario *scenario);
/* The same, with somebody who waits for the greatest rates; NULL: nobody. */
struct budget *budget_new_watched(const struct scenario *scenario,
                                  const struct budget_watcher *watcher);
/* The same without the greatest rates and without proofs: enough for the rules, and faster. */
struct budget *budget_judge(const struct scenario *scenario);
/* The same, but what arms would fetch and nothing brings never comes; else it is taken to be there
 * without an end, as in a scenario in which nothing begins at all. */
struct budget *budget_judge_as_written(const struct scenario *scenario);
/* Whether the item of a finding (of any budget of the scenario) can come, in this budget, to the
 * lane or out of the station that it is about; true where it is about none. */
bool budget_ever_comes(const struct budget *budget, const struct budget_finding *finding);
void budget_free(struct budget *budget);

/* "exit-stays-open"; "holds", "broken", "cannot say". */
const char *budget_rule_name(enum budget_rule_kind rule);
const char *budget_verdict_name(enum budget_verdict verdict);
