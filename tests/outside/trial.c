/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/outside/trial.h"

#include "sim/require.h"

static uint64_t last_seed; /* no two runs of a program draw the same numbers */

void trial_repeat(struct scenario *scenario, trial_run *run, const void *of, uint32_t found_count,
                  uint32_t runs, double *value) {
    require(found_count <= TRIAL_FOUND_MAX);
    for (uint32_t r = 0; r < runs; r++) {
        scenario->seed = ++last_seed;
        struct world *world = world_new(scenario);
        double found[TRIAL_FOUND_MAX] = {0};
        run(world, scenario, of, found);
        for (uint32_t k = 0; k < found_count; k++)
            value[k * runs + r] = found[k];
        world_free(world);
    }
}

void trial_average(struct world *world, struct trial_window window, trial_look *look,
                   const void *of, uint32_t count, double *seen) {
    world_advance(world, window.from);
    int64_t looks = 0;
    for (int64_t tick = window.from + window.every; tick <= window.to; tick += window.every) {
        world_advance(world, tick);
        look(world, of, seen);
        looks++;
    }
    for (uint32_t k = 0; k < count; k++)
        seen[k] /= (double)looks;
}
