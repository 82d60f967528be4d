/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/belt_clock.h - when a loop or line steps. Step k since the last start at tick s
 * happens at tick s + ceil(k * ticks_per_second / rate), in exact integers. Steps are counted over
 * the whole run, so that a stop takes none back. Plain data. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

/* The tick of a step that does not come. */
#define BELT_CLOCK_NEVER INT64_MAX

struct belt_clock {
    int64_t ticks, steps; /* so many steps take so many ticks, in lowest terms */
    int64_t start_tick;   /* the grid counts from here */
    int64_t start_step;   /* steps made before */
    bool running;
};

/* A clock that runs from tick 0. rate > 0 and not above ticks_per_second; its denominator times
 * ticks_per_second fits into 63 bits. */
void belt_clock_init(struct belt_clock *clock, struct ratio rate, int64_t ticks_per_second);

/* Steps made up to and including phase 1 of `tick`, which is not before the last stop or start. */
int64_t belt_clock_step_at(const struct belt_clock *clock, int64_t tick);

/* The tick of the run's step number `step` (from 1): BELT_CLOCK_NEVER while stopped unless it is
 * made. For a step made before the last start the result is the tick of that start. */
static inline int64_t belt_clock_tick_of(const struct belt_clock *clock, int64_t step);

/* By how much the tick of a step, which is not made before the last start, is later than the step
 * would be if time were not whole ticks: in parts of a tick, of which there are `steps`. */
int64_t belt_clock_late(const struct belt_clock *clock, int64_t step);

/* Stops after phase 1 of `tick`; starts a new grid at `tick`. */
void belt_clock_stop(struct belt_clock *clock, int64_t tick);
void belt_clock_start(struct belt_clock *clock, int64_t tick);

/* ---- what each move asks ---- */

/* Of a step after the last start, where the product of its number and the ticks of a step may be
 * too long for 64 bits; apart, so that callers save no registers for it. */
int64_t belt_clock_wide_tick_of(const struct belt_clock *clock, int64_t step);

/* Below this both factors' product stays within 63 bits. */
enum { BELT_CLOCK_NARROW = INT32_MAX };

static inline int64_t belt_clock_tick_of(const struct belt_clock *clock, int64_t step) {
    if (step <= clock->start_step)
        return clock->start_tick;
    if (!clock->running)
        return BELT_CLOCK_NEVER;
    int64_t steps = step - clock->start_step;
    if (steps >= BELT_CLOCK_NARROW || clock->ticks >= BELT_CLOCK_NARROW)
        return belt_clock_wide_tick_of(clock, step);
    return clock->start_tick + (steps * clock->ticks + clock->steps - 1) / clock->steps;
}
