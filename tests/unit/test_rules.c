/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_rules.c - the rules of the trade, each on the smallest workshop that breaks it,
 * and on the one beside it that keeps it; on the first lane of a scenario and on its last, since
 * each lane is judged. */
#include <check.h>
#include <stdio.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/reader/read.h"
#include "tests/common/suite.h"

/* A feeder, a lane of 50 cells with 5 cells a second, a taker, and the chest at the end: rates are
 * one over the swing, 1 s. What is not named is as in `sound`. */
struct shop {
    const char *feeder, *taker, *box, *gate; /* seconds; more of the box and of the feeder */
    enum budget_verdict verdict[RULE_GATE_WATCHES_END_CHEST + 1];
};

#define YES BUDGET_HOLDS
#define NO BUDGET_BROKEN
#define UNSURE BUDGET_CANNOT_SAY

static const struct shop shop[] = {
    {"2", "1", "", "", {YES, YES, YES, YES}},
    /* a single feeder puts on no more than passes by, but outpaces the taker */
    {"0.1", "1", "", "", {YES, NO, YES, YES}},
    {"0.25", "0.2", "", "", {YES, YES, YES, YES}},
    {"1", "2", "", "", {YES, NO, YES, YES}},
    /* a box that gets full: without a gate it shuts the exit; with one that watches it, springs on
     * the lane (at most 50) still have room */
    {"2", "1", ", capacity: 60", "", {YES, YES, NO, NO}},
    {"2", "1", ", capacity: 90", ", gate: {chest: box, below: 20}", {YES, YES, YES, YES}},
    /* it watches the chest from which it takes: the box gets full all the same */
    {"2", "1", ", capacity: 90", ", gate: {chest: bin, at_least: 1}", {YES, YES, NO, NO}},
    /* room to the item: 19 at which the gate is open still, both hands, and half an item a second
     * for the 7 s from the feeder's bin over 20 cells into the box: 24.5 */
    {"2", "1", ", capacity: 25", ", gate: {chest: box, below: 20}", {YES, YES, YES, YES}},
    {"2", "1", ", capacity: 24", ", gate: {chest: box, below: 20}", {YES, YES, UNSURE, YES}},
};
enum { SHOPS = sizeof shop / sizeof *shop };

static void judge(const struct shop *given, const char *loop) {
    char text[1000];
    struct faults faults = {0};
    snprintf(text, sizeof text,
             "items: [spring]\n"
             "loops: [{name: east, cells: 50, rate: 5}, {name: west, cells: 50, rate: 5}]\n"
             "chests: [{name: bin, start: {spring: 4000}}, {name: box%s}]\n"
             "arms:\n"
             "  - {name: feeder, from: bin, to: %s@0, swing: %s%s}\n"
             "  - {name: taker, from: %s@20, to: box, swing: %s}\n",
             given->box, loop, given->feeder, given->gate, loop, given->taker);
    struct scenario *scenario = read_scenario(text, strlen(text), "shop", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    struct budget *budget = budget_judge(scenario);
    for (int rule = 0; rule <= RULE_GATE_WATCHES_END_CHEST; rule++)
        ck_assert_msg(budget->rule[rule].verdict == given->verdict[rule], "%s is `%s` in\n%s",
                      budget_rule_name((enum budget_rule_kind)rule),
                      budget_verdict_name(budget->rule[rule].verdict), text);
    budget_free(budget);
    scenario_free(scenario);
    faults_free(&faults);
}

START_TEST(lanes_are_judged) {
    judge(&shop[_i], "east");
    judge(&shop[_i], "west");
}
END_TEST

/* The verdict of a rule on a scenario; `why`, when it is not NULL, gets its first reason. */
static enum budget_verdict verdict_of(const char *text, enum budget_rule_kind rule, char why[200]) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "shop", NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "");
    struct budget *budget = budget_judge(scenario);
    enum budget_verdict verdict = budget->rule[rule].verdict;
    if (why != NULL)
        snprintf(why, 200, "%s", budget->rule[rule].whys.text[0]);
    budget_free(budget);
    scenario_free(scenario);
    faults_free(&faults);
    return verdict;
}

/* Two feeders of three a second each on five cells a second: they fit as long as the one item has
 * left the lane before the other comes onto it. */
static enum budget_verdict stretch_verdict(int first_taker) {
    char text[1000];
    snprintf(text, sizeof text,
             "items: [spring, comb]\n"
             "loops: [{name: ring, cells: 50, rate: 5}]\n"
             "chests: [{name: bin, start: {spring: 4000, comb: 4000}}, {name: box}]\n"
             "arms:\n"
             "  - {name: a, from: bin, to: ring@0, items: [spring], swing: 0.33}\n"
             "  - {name: b, from: bin, to: ring@20, items: [comb], swing: 0.33}\n"
             "  - {name: c, from: ring@%d, to: box, items: [spring], swing: 0.2}\n"
             "  - {name: d, from: ring@40, to: box, items: [comb], swing: 0.2}\n",
             first_taker);
    return verdict_of(text, RULE_FEEDERS_WITHIN_LANE, NULL);
}

START_TEST(an_item_counts_up_to_its_last_taker) {
    ck_assert_int_eq(stretch_verdict(10), BUDGET_HOLDS);
    ck_assert_int_eq(stretch_verdict(30), BUDGET_BROKEN);
}
END_TEST

/* A box, which an outlet empties by ten at a time; a feeder brings one in 2 s: ten in 20 s.
 * The outlet keeps up when it comes at least that often. */
static enum budget_verdict outlet_verdict(int every, int capacity) {
    char text[1000];
    snprintf(text, sizeof text,
             "items: [spring]\n"
             "loops: [{name: ring, cells: 50, rate: 5}]\n"
             "chests: [{name: bin, start: {spring: 4000}}, {name: box, capacity: %d}]\n"
             "arms:\n"
             "  - {name: feeder, from: bin, to: ring@0, swing: 2}\n"
             "  - {name: taker, from: ring@20, to: box, swing: 1}\n"
             "demands: [{name: van, chest: box, item: spring, every: %d s, batch: 10,\n"
             "           outlet: true}]\n",
             capacity, every);
    return verdict_of(text, RULE_EXIT_STAYS_OPEN, NULL);
}

START_TEST(an_outlet_keeps_the_exit_open_that_takes_what_comes) {
    ck_assert_int_eq(outlet_verdict(20, 60), BUDGET_HOLDS);
    ck_assert_int_eq(outlet_verdict(21, 60), BUDGET_BROKEN);
    ck_assert_int_eq(outlet_verdict(20, 11), BUDGET_HOLDS); /* ten, and the taker's hand */
    ck_assert_int_eq(outlet_verdict(20, 10), BUDGET_CANNOT_SAY);
}
END_TEST

/* Springs ride to one of two benches; the feeder goes on whatever they have, unless its gate reads
 * what waits there, what they have made, or the shelf. */
static const struct {
    const char *bench, *gate;
    enum budget_verdict verdict;
} inputs[] = {
    {"first", "", NO},
    {"second", "", NO},
    {"first", ", gate: {station: first, input: spring, below: 2}", YES},
    {"second", ", gate: {station: second, input: spring, below: 2}", YES},
    {"second", ", gate: {station: first, input: spring, below: 2}", NO},
    {"second", ", gate: {station: second, output: movement, below: 1}", YES},
    {"first", ", gate: {chest: shelf, below: 9}", YES},
    {"first", ", gate: {chest: bin, at_least: 1}", NO},
};

START_TEST(what_feeds_a_station_watches_it) {
    char text[1000], why[200];
    snprintf(text, sizeof text,
             "items: [spring, movement]\n"
             "loops: [{name: ring, cells: 50, rate: 5}]\n"
             "chests: [{name: bin, start: {spring: 4000}}, {name: shelf}]\n"
             "stations:\n"
             "  - {name: first, takes: {spring: 1}, makes: {movement: 1}, time: 1 s}\n"
             "  - {name: second, takes: {spring: 1}, makes: {movement: 1}, time: 1 s}\n"
             "arms:\n"
             "  - {name: feeder, from: bin, to: ring@0, items: [spring], swing: 2%s}\n"
             "  - {name: taker, from: ring@20, to: %s, swing: 1}\n"
             "  - {name: shelver, from: %s, to: shelf, swing: 1}\n",
             inputs[_i].gate, inputs[_i].bench, inputs[_i].bench);
    ck_assert_int_eq(verdict_of(text, RULE_INPUTS_GATED_ON_OUTPUTS, why), inputs[_i].verdict);
    if (inputs[_i].verdict == NO) {
        ck_assert_msg(strstr(why, "feeder") != NULL, "%s", why);
        ck_assert_msg(strstr(why, inputs[_i].bench) != NULL, "%s", why);
    }
}
END_TEST

/* What a press makes goes into a box that gets full. By a line it queues until the press halts, and
 * there is nothing else on it; on a loop it fills what others use. */
static enum budget_verdict output_verdict(const char *belt) {
    char text[1000];
    snprintf(text, sizeof text,
             "items: [spring, movement]\n"
             "loops: [{name: ring, cells: 50, rate: 5}]\n"
             "lines: [{name: slide, cells: 20, rate: 5}, {name: chute, cells: 20, rate: 5}]\n"
             "chests: [{name: bin, start: {spring: 4000}}, {name: box, capacity: 10}]\n"
             "stations:\n"
             "  - {name: press, takes: {spring: 1}, makes: {movement: 1}, time: 1 s}\n"
             "arms:\n"
             "  - {name: loader, from: bin, to: press, swing: 1}\n"
             "  - {name: unloader, from: press, to: %s@0, swing: 1}\n"
             "  - {name: taker, from: %s@10, to: box, swing: 1}\n",
             belt, belt);
    return verdict_of(text, RULE_OUTPUTS_HAVE_EXIT, NULL);
}

START_TEST(an_output_may_queue_on_a_line) {
    ck_assert_int_eq(output_verdict("slide"), BUDGET_HOLDS);
    ck_assert_int_eq(output_verdict("chute"), BUDGET_HOLDS);
    ck_assert_int_eq(output_verdict("ring"), BUDGET_BROKEN);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, an_outlet_keeps_the_exit_open_that_takes_what_comes);
    tcase_add_test(tests, an_item_counts_up_to_its_last_taker);
    tcase_add_loop_test(tests, lanes_are_judged, 0, SHOPS);
    tcase_add_loop_test(tests, what_feeds_a_station_watches_it, 0, sizeof inputs / sizeof *inputs);
    tcase_add_test(tests, an_output_may_queue_on_a_line);
}

int main(void) { return suite_main("rules", add_tests); }
