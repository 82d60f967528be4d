/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/trial.h - runs one scenario with many seeds and observes each run. */
#pragma once

#include "model/engine/world.h"

/* Runs a fresh world and leaves what it found in found[0], found[1], ... */
typedef void trial_run(struct world *world, const struct scenario *scenario, const void *of,
                       double *found);

enum { TRIAL_FOUND_MAX = 16 };

/* Does so in so many runs, each of a seed of its own: the program's first has 1, and so on, so that
 * rows do not share their random numbers. What was found k-th in run r is value[k * runs + r]. */
void trial_repeat(struct scenario *scenario, trial_run *run, const void *of, uint32_t found_count,
                  uint32_t runs, double *value);

/* Looks at a world between two ticks and adds what it sees to seen[0], seen[1], ... */
typedef void trial_look(const struct world *world, const void *of, double *seen);

/* When to look: after ticks from + every, from + 2 every, ... to. */
struct trial_window {
    int64_t from, to, every;
};

/* Advances the world through the window; the means of what was seen go to seen[0 .. count - 1]. */
void trial_average(struct world *world, struct trial_window window, trial_look *look,
                   const void *of, uint32_t count, double *seen);
