/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_corners.c - whatever numbers a scenario has, if it is accepted nothing overflows,
 * runs stay sound, and the budget is worked out without an end in one of the libraries. Built with
 * sanitizers (MODE=debug) it also sees an overflow that by chance does no harm. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "tests/common/dice.h"
#include "tests/common/sanitized.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"
#include "tests/unit/corners.h"

/* Each key that has a number, each distribution, incidents of every kind. */
static const char base[] =
    "clock: {ticks_per_second: 100}\n"
    "run: {for: 30, seed: 7, warm_up: 2}\n"
    "watch: {every: 1, starved_after: 9, blocked_after: 8, congested_at: 0.9, jam_after: 30}\n"
    "items: {frame: {length: 2}, pane: {length: 1}, lantern: {length: 1}}\n"
    "loops: [{name: ring, cells: 90, rate: 5, lanes: [outer, inner]}]\n"
    "lines: [{name: slide, cells: 20, rate: 4, breaks: {after: {gamma: [10, 0.5]}, repair: 9}}]\n"
    "chests:\n"
    "  - {name: bin, capacity: 60, start: {frame: 40, pane: 9}}\n"
    "  - {name: tray, limits: {frame: 45, pane: 100}}\n"
    "stations:\n"
    "  - {name: bench, takes: {frame: 1, pane: 2}, makes: {lantern: {count: 2, chance: 0.5}},\n"
    "     time: 2, ahead: 2, room: {lantern: 4}, gate: {chest: tray, item: lantern, below: 12}}\n"
    "  - {name: press, makes: {pane: 3}, time: {uniform: [1, 2]}, room: 1}\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: ring/outer@4, swing: {normal: [4.5, 1]}, items: [frame],\n"
    "     gate: {all: [{lane: ring/outer, below: 30, reopen_below: 20}, {line: slide, below: "
    "9}]}}\n"
    "  - {name: pane-feeder, from: press, to: ring/inner@7, swing: {lognormal: [0.5, 0.5]}}\n"
    "  - {name: taker, from: ring/outer@50, to: tray, hand: 3, linger: 1, swing: 0.5}\n"
    "  - {name: pane-taker, from: ring/inner@50, to: tray, swing: {triangular: [0, 0.2, 0.6]}}\n"
    "  - {name: loader, from: tray, to: bench, swing: {geometric: 0.25}}\n"
    "  - {name: slider, from: bench, to: slide@3, swing: {weibull: [1, 2]}}\n"
    "  - {name: shelver, from: slide@19, to: bin, swing: 0.3}\n"
    "supplies:\n"
    "  - {name: frames, chest: bin, item: frame, every: {exponential: 2}, batch: 12, first: 1,\n"
    "     from: 1, until: 20, when_full: hold}\n"
    "demands:\n"
    "  - {name: orders, chest: bin, item: lantern, every: 3, batch: 2, first: 1, from: 1,\n"
    "     until: 25, when_short: backlog}\n"
    "incidents:\n"
    "  - {at: 5, drop: {item: pane, count: 3, lane: ring/inner}}\n"
    "  - {every: 9, first: 2, clear: {lane: ring/outer}}\n"
    "  - {at: 7, set: {chest: bin, capacity: 70}}\n"
    "  - {at: 9, set: {gate: bench, below: 4}}\n"
    "  - {at: 11, stop: taker}\n"
    "expect: {jam: false, made: {lantern: {at_least: 3}}, demand_met: {lantern: {at_least: "
    "0.5}}}\n";

static struct scenario *read_text(const char *text) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "corner", NULL, 0, &faults);
    faults_free(&faults);
    return scenario;
}

/* Tries a text; false: it is refused. */
static bool is_tried(const char *text) {
    struct scenario *scenario = read_text(text);
    if (scenario == NULL)
        return false;
    corners_run(scenario);
    corners_budget(scenario);
    scenario_free(scenario);
    return true;
}

/* The first value of the table that a number may have, from its beginning (`step` 1) or its end
 * (-1). */
static const char *end_of(uint32_t number, int step) {
    for (int i = step > 0 ? 0 : CORNERS_VALUES - 1; i >= 0 && i < CORNERS_VALUES; i += step) {
        char *text = corners_with(base, number, corners_value[i]);
        struct scenario *scenario = read_text(text);
        bool allowed = scenario != NULL;
        scenario_free(scenario);
        free(text);
        if (allowed)
            return corners_value[i];
    }
    ck_abort_msg("number %u may not be changed at all", number);
    return NULL;
}

START_TEST(each_number_at_its_ends) {
    ck_assert(is_tried(base));
    for (uint32_t i = 0; i < corners_count(base); i++)
        for (int step = -1; step <= 1; step += 2) {
            char *text = corners_with(base, i, end_of(i, step));
            ck_assert(is_tried(text));
            free(text);
        }
}
END_TEST

/* Some pairs are refused, because one number bounds another. All with the first number, the ticks
 * of a second, by which totals are multiplied; a part of the others. */
START_TEST(pairs_of_numbers_at_their_ends) {
    uint32_t count = corners_count(base), tried = 0, pairs = 0;
    uint32_t every = SANITIZED ? 9 : 3;
    const char **end = calloc(2 * count, sizeof *end);
    for (uint32_t i = 0; i < 2 * count; i++)
        end[i] = end_of(i / 2, i % 2 == 0 ? -1 : 1);
    for (uint32_t i = 0; i < 2 * count; i++)
        for (uint32_t j = (i | 1) + 1; j < 2 * count; j++) {
            if (i > 1 && ++pairs % every != 0)
                continue;
            char *one = corners_with(base, j / 2, end[j]);
            char *two = corners_with(one, i / 2, end[i]);
            tried += is_tried(two);
            free(two);
            free(one);
        }
    ck_assert_uint_gt(tried, pairs / every / 2);
    free(end);
}
END_TEST

/* Random scenarios with one to six numbers put to any corner: of most that are left valid. */
START_TEST(random_scenarios_at_corners) {
    enum { SCENARIOS = 3000, SCENARIOS_SANITIZED = 600 };
    uint32_t tried = 0, count = SANITIZED ? SCENARIOS_SANITIZED : SCENARIOS;
    uint64_t dice = 1;
    for (uint32_t i = 1; i <= count; i++) {
        char *text = scatter_scenario(i, i % 2 == 0);
        for (uint64_t changes = 1 + dice_below(&dice, 6); changes > 0; changes--) {
            uint32_t number = (uint32_t)dice_below(&dice, corners_count(text));
            char *with =
                corners_with(text, number, corners_value[dice_below(&dice, CORNERS_VALUES)]);
            struct scenario *scenario = read_text(with);
            free(scenario != NULL ? text : with);
            text = scenario != NULL ? with : text;
            scenario_free(scenario);
        }
        tried += is_tried(text);
        free(text);
    }
    ck_assert_uint_eq(tried, count);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, each_number_at_its_ends);
    tcase_add_test(tests, pairs_of_numbers_at_their_ends);
    tcase_add_test(tests, random_scenarios_at_corners);
}

int main(void) { return suite_main("corners", add_tests); }
