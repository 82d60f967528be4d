/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/night.h - one long run of a scenario, as `run --for` makes it. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

struct night_result {
    bool holds;     /* no jam or deadlock that counts, no clog that lasts at the end */
    uint64_t jams;  /* jams and deadlocks, as the verdict counts them */
    double met;     /* the least share met of any demand that asks; 1: nothing was asked */
    double *met_of; /* [item] share met of its orders; 1: none. Freed with night_free */
};

/* Runs it for so many ticks with a seed. False: a signal was noted, and there is nothing to
 * free. */
bool night_run(const struct scenario *scenario, uint64_t seed, int64_t ticks,
               struct night_result *result);
void night_free(struct night_result *result);
