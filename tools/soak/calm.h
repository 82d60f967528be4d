/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/calm.h - what the products of a scenario come to without disturbances, and how long
 * before the end of a run these have to be over, so that its end shows whether it has got over
 * them. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"
#include "tools/record/makings.h"

/* Runs the scenario to its end and sets usual[] of each product (in the order of struct makings) to
 * its mean interval (makings_mean_to_last); adds the ticks to *simulated. False: a
 * signal was noted. */
bool calm_run(const struct scenario *scenario, struct mean_interval *usual,
              _Atomic int64_t *simulated);

/* The longest of an hour, 30 revolutions of the slowest loop and 20 mean intervals of each
 * product, in ticks. usual[] has `count` places. */
int64_t calm_margin_ticks(const struct scenario *scenario, const struct mean_interval *usual,
                          uint32_t count);
