/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_belt_clock.c - steps of a belt against a count made tick by tick, and, where no
 * count ends, against products worked out by hand in digits of 2^32 (the schoolbook's way: D.
 * Knuth, The Art of Computer Programming 2, section 4.3.1, algorithm M). All comparisons exact. */
#include "model/engine/belt_clock.h"

#include <check.h>
#include <inttypes.h>

#include "model/scenario/limits.h"
#include "tests/common/dice.h"
#include "tests/common/suite.h"

/* Rates in cells a second, with the ticks of a second. */
static const struct {
    struct ratio rate;
    int64_t ticks_per_second;
} pace_table[] = {
    {{15, 2}, 100}, /* 7.5, usual in the trade */
    {{1, 1}, 1},    /* a step in each tick */
    {{100, 1}, 100},
    {{1, 3}, 7},          /* coprime */
    {{99, 1}, 100},       /* skips one tick in a hundred */
    {{1, 1000000000}, 1}, /* slow */
    {{1, 1000000000}, 1000000},
    {{7499999999, 1000000000}, 100}, /* 7.499999999 */
    {{7499999999, 1000000000}, 1000000},
    {{7499999999, 1000000000}, 999983},       /* a prime number of ticks */
    {{999999999999999, 1000000000}, 1000000}, /* 999999.999999999 */
    {{1000000, 1}, 1000000},
    {{123456789, 1000000000}, 97},
    {{7499999999999999, 1000000000000000}, 1000}, /* as many places as this clock can count */
    {{1, 10000000000000000}, 100}};               /* as slow as it can be: no step in any run */
enum { PACES = sizeof pace_table / sizeof *pace_table };

static struct belt_clock pace_of(int row) {
    struct belt_clock pace;
    belt_clock_init(&pace, pace_table[row].rate, pace_table[row].ticks_per_second);
    return pace;
}

/* ---- tick by tick: a tick carries the belt rate / ticks_per_second of a cell on ---- */

struct counted {
    int64_t travelled, cell; /* since the last whole step, and of one, in the same unit */
    int64_t rate, steps;
    bool runs;
};

static struct counted counted_of(int row) {
    return (struct counted){.cell =
                                pace_table[row].ticks_per_second * pace_table[row].rate.denominator,
                            .rate = pace_table[row].rate.numerator,
                            .runs = true};
}

static void count_tick(struct counted *counted) {
    if (!counted->runs)
        return;
    counted->travelled += counted->rate;
    if (counted->travelled < counted->cell)
        return;
    counted->travelled -= counted->cell;
    counted->steps++;
}

static void compare_counted(const struct belt_clock *pace, const struct counted *counted,
                            int64_t tick, int64_t steps_before, int row) {
    if (belt_clock_step_at(pace, tick) != counted->steps)
        ck_abort_msg("row %d, tick %" PRId64 ": step %" PRId64 ", counted %" PRId64, row, tick,
                     belt_clock_step_at(pace, tick), counted->steps);
    if (counted->steps > steps_before && belt_clock_tick_of(pace, counted->steps) != tick)
        ck_abort_msg("row %d: step %" PRId64 " at tick %" PRId64 ", counted at %" PRId64, row,
                     counted->steps, belt_clock_tick_of(pace, counted->steps), tick);
}

START_TEST(steps_are_those_counted_tick_by_tick) {
    struct belt_clock pace = pace_of(_i);
    struct counted counted = counted_of(_i);
    ck_assert_int_eq(belt_clock_step_at(&pace, 0), 0);
    for (int64_t tick = 1; tick <= 200000; tick++) {
        int64_t before = counted.steps;
        count_tick(&counted);
        compare_counted(&pace, &counted, tick, before, _i);
    }
}
END_TEST

/* Stopped after the step of its tick; started again, its steps count anew from that tick. */
START_TEST(a_stop_takes_no_step_back_and_a_start_counts_anew) {
    struct belt_clock pace = pace_of(_i);
    struct counted counted = counted_of(_i);
    uint64_t seed = (uint64_t)_i;
    for (int64_t tick = 1; tick <= 200000; tick++) {
        int64_t before = counted.steps;
        count_tick(&counted);
        compare_counted(&pace, &counted, tick, before, _i);
        if (dice_below(&seed, 40) != 0)
            continue;
        counted.travelled = 0;
        counted.runs = !counted.runs;
        if (counted.runs)
            belt_clock_start(&pace, tick);
        else
            belt_clock_stop(&pace, tick);
        ck_assert_int_eq(belt_clock_step_at(&pace, tick), counted.steps);
        ck_assert(counted.runs || belt_clock_tick_of(&pace, counted.steps + 1) == BELT_CLOCK_NEVER);
    }
}
END_TEST

/* ---- by large numbers ---- */

enum { DIGITS = 6 }; /* of 32 bits, the lowest first; 2^53 * 10^9 * 10^6 takes 103 bits */

struct large {
    uint64_t digit[DIGITS];
};

static struct large large_of(int64_t value) {
    return (struct large){{(uint64_t)value & UINT32_MAX, (uint64_t)value >> 32}};
}

static struct large product(struct large left, struct large right) {
    struct large result = {{0}};
    for (int i = 0; i < DIGITS; i++) {
        uint64_t carry = 0;
        for (int j = 0; i + j < DIGITS; j++) {
            uint64_t sum = result.digit[i + j] + left.digit[i] * right.digit[j] + carry;
            result.digit[i + j] = sum & UINT32_MAX;
            carry = sum >> 32;
        }
    }
    return result;
}

/* The sign of left - right. */
static int compare(struct large left, struct large right) {
    for (int i = DIGITS - 1; i >= 0; i--)
        if (left.digit[i] != right.digit[i])
            return left.digit[i] < right.digit[i] ? -1 : 1;
    return 0;
}

/* Whether the belt has gone `step` cells by `tick`: tick * rate >= step * ticks_per_second, both
 * times the denominator. */
static bool has_gone(int row, int64_t tick, int64_t step) {
    struct large gone = product(large_of(tick), large_of(pace_table[row].rate.numerator));
    struct large unit = product(large_of(pace_table[row].rate.denominator),
                                large_of(pace_table[row].ticks_per_second));
    return compare(gone, product(large_of(step), unit)) >= 0;
}

START_TEST(steps_are_exact_as_far_as_anybody_can_run) {
    struct belt_clock pace = pace_of(_i);
    uint64_t seed = (uint64_t)_i + 100;
    for (int k = 0; k < 20000; k++) {
        int64_t tick =
            (int64_t)(dice_below(&seed, (uint64_t)LIMIT_TICKS) >> dice_below(&seed, 53)) + 1;
        if (k == 0)
            tick = LIMIT_TICKS;
        int64_t step = belt_clock_step_at(&pace, tick);
        if (!has_gone(_i, tick, step) || has_gone(_i, tick, step + 1))
            ck_abort_msg("row %d, tick %" PRId64 ": step %" PRId64, _i, tick, step);
        int64_t next = belt_clock_tick_of(&pace, step + 1);
        if (!(next == BELT_CLOCK_NEVER || has_gone(_i, next, step + 1)) ||
            has_gone(_i, next == BELT_CLOCK_NEVER ? LIMIT_TICKS : next - 1, step + 1))
            ck_abort_msg("row %d, step %" PRId64 ": tick %" PRId64, _i, step + 1, next);
    }
}
END_TEST

static int64_t later(int64_t tick, int64_t by) {
    return tick == BELT_CLOCK_NEVER ? tick : tick + by;
}

/* The same grid, begun late: a belt that stood until `start`. */
START_TEST(a_late_start_shifts_the_grid) {
    struct belt_clock early = pace_of(_i), late = pace_of(_i);
    int64_t start = LIMIT_TICKS / 2 + 12345;
    belt_clock_stop(&late, 0);
    belt_clock_start(&late, start);
    uint64_t seed = (uint64_t)_i + 200;
    for (int k = 0; k < 20000; k++) {
        int64_t tick =
            (int64_t)(dice_below(&seed, (uint64_t)LIMIT_TICKS / 2) >> dice_below(&seed, 52));
        int64_t step = belt_clock_step_at(&early, tick);
        if (belt_clock_step_at(&late, start + tick) != step ||
            belt_clock_tick_of(&late, step + 1) !=
                later(belt_clock_tick_of(&early, step + 1), start))
            ck_abort_msg("row %d, tick %" PRId64, _i, tick);
    }
}
END_TEST

/* Worked out by hand: 7.5 cells a second at 100 ticks are 3 steps in 40 ticks, at 14, 27 and 40,
 * two thirds, one third and nothing of a tick late. */
START_TEST(seven_and_a_half_cells_a_second) {
    struct belt_clock pace = pace_of(0);
    static const int64_t tick[] = {14, 27, 40, 54, 67, 80};
    for (int i = 0; i < 6; i++) {
        ck_assert_int_eq(belt_clock_tick_of(&pace, i + 1), tick[i]);
        ck_assert_int_eq(belt_clock_late(&pace, i + 1), 2 - i % 3);
    }
    ck_assert_int_eq(belt_clock_step_at(&pace, 13), 0);
    ck_assert_int_eq(belt_clock_step_at(&pace, 53), 3);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("pace");
    TCase *tests = tcase_create("pace");
    tcase_add_loop_test(tests, steps_are_those_counted_tick_by_tick, 0, PACES);
    tcase_add_loop_test(tests, a_stop_takes_no_step_back_and_a_start_counts_anew, 0, PACES);
    tcase_add_loop_test(tests, steps_are_exact_as_far_as_anybody_can_run, 0, PACES);
    tcase_add_loop_test(tests, a_late_start_shifts_the_grid, 0, PACES);
    tcase_add_test(tests, seven_and_a_half_cells_a_second);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
