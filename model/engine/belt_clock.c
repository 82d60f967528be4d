/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/belt_clock.c - products that fit into 64 bits are taken there, because they nearly
 * always do. */
#include "model/engine/belt_clock.h"

#include "sim/require.h"

__extension__ typedef unsigned __int128 wide;

/* Below this both factors' product stays within 63 bits. */
enum { NARROW = INT32_MAX };

/* No run comes so far: LIMIT_TICKS is 1 << 53. */
#define TICKS_BEYOND_ALL ((wide)1 << 61)

/* Apart from their callers, who so save no registers for a division that calls somebody. */
static __attribute__((noinline)) int64_t scaled_down_wide(int64_t value, int64_t factor,
                                                          int64_t divisor) {
    return (int64_t)((wide)value * (wide)factor / (wide)divisor);
}

static __attribute__((noinline)) int64_t scaled_up_wide(int64_t value, int64_t factor,
                                                        int64_t divisor) {
    wide scaled = ((wide)value * (wide)factor + (wide)divisor - 1) / (wide)divisor;
    return scaled < TICKS_BEYOND_ALL ? (int64_t)scaled : BELT_CLOCK_NEVER;
}

static int64_t common_divisor(int64_t a, int64_t b) {
    while (b != 0) {
        int64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

void belt_clock_init(struct belt_clock *clock, struct ratio rate, int64_t ticks_per_second) {
    require(rate.numerator > 0);
    int64_t ticks = ticks_per_second * rate.denominator;
    require(rate.numerator <= ticks);
    int64_t common = common_divisor(ticks, rate.numerator);
    *clock = (struct belt_clock){
        .ticks = ticks / common, .steps = rate.numerator / common, .running = true};
}

int64_t belt_clock_step_at(const struct belt_clock *clock, int64_t tick) {
    if (!clock->running)
        return clock->start_step;
    int64_t ticks = tick - clock->start_tick, parts;
    if (__builtin_mul_overflow(ticks, clock->steps, &parts))
        return clock->start_step + scaled_down_wide(ticks, clock->steps, clock->ticks);
    return clock->start_step + parts / clock->ticks;
}

int64_t belt_clock_tick_of(const struct belt_clock *clock, int64_t step) {
    if (step <= clock->start_step)
        return clock->start_tick;
    if (!clock->running)
        return BELT_CLOCK_NEVER;
    int64_t steps = step - clock->start_step;
    if (steps < NARROW && clock->ticks < NARROW)
        return clock->start_tick + (steps * clock->ticks + clock->steps - 1) / clock->steps;
    int64_t ticks = scaled_up_wide(steps, clock->ticks, clock->steps);
    return ticks == BELT_CLOCK_NEVER ? ticks : clock->start_tick + ticks;
}

int64_t belt_clock_late(const struct belt_clock *clock, int64_t step) {
    wide made = (wide)(step - clock->start_step) * (wide)clock->ticks, parts = (wide)clock->steps;
    int64_t over = (int64_t)(wide)(made % parts);
    return over == 0 ? 0 : clock->steps - over;
}

void belt_clock_stop(struct belt_clock *clock, int64_t tick) {
    require(clock->running);
    clock->start_step = belt_clock_step_at(clock, tick);
    clock->start_tick = tick;
    clock->running = false;
}

void belt_clock_start(struct belt_clock *clock, int64_t tick) {
    require(!clock->running);
    clock->start_tick = tick;
    clock->running = true;
}
