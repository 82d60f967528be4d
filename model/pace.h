/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/pace.h - when a loop or line steps. Step k since the last start at tick s happens at tick
 * s + ceil(k * ticks_per_second / rate), in exact integers. Steps are counted over the whole run,
 * so that a stop takes none back. Plain data. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario.h"

/* The tick of a step that does not come. */
#define PACE_NEVER INT64_MAX

struct pace {
    int64_t ticks, steps; /* so many steps take so many ticks, in lowest terms */
    int64_t start_tick;   /* the grid counts from here */
    int64_t start_step;   /* steps made before */
    bool running;
};

/* A pace that runs from tick 0. rate > 0 and not above ticks_per_second; its denominator times
 * ticks_per_second fits into 63 bits. */
void pace_init(struct pace *pace, struct ratio rate, int64_t ticks_per_second);

/* Steps made up to and including phase 1 of `tick`, which is not before the last stop or start. */
int64_t pace_step_at(const struct pace *pace, int64_t tick);

/* The tick of the run's step number `step` (from 1): PACE_NEVER while stopped unless it is made.
 * For a step made before the last start the tick of that start stands in. */
int64_t pace_tick_of(const struct pace *pace, int64_t step);

/* Stops after phase 1 of `tick`; starts a new grid at `tick`. */
void pace_stop(struct pace *pace, int64_t tick);
void pace_start(struct pace *pace, int64_t tick);
