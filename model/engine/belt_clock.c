/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/belt_clock.c - products that fit into 64 bits are taken there, because they nearly
 * always do. */
#include "model/engine/belt_clock.h"

#include "sim/require.h"

__extension__ typedef unsigned __int128 wide;

/* No run comes so far: LIMIT_TICKS is 1 << 53. */
#define TICKS_BEYOND_ALL ((wide)1 << 61)

/* Apart from its callers, who so save no registers for a division that calls somebody. */
static __attribute__((noinline)) int64_t scaled_down_wide(int64_t value, int64_t factor,
                                                          int64_t divisor) {
    return (int64_t)((wide)value * (wide)factor / (wide)divisor);
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

int64_t belt_clock_wide_tick_of(const struct belt_clock *clock, int64_t step) {
    wide made = (wide)(step - clock->start_step) * (wide)clock->ticks, parts = (wide)clock->steps;
    wide ticks = (made + parts - 1) / parts;
    return ticks < TICKS_BEYOND_ALL ? clock->start_tick + (int64_t)ticks : BELT_CLOCK_NEVER;
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
