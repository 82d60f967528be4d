/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_outlets.c - demands that say `outlet: true`: they carry away what is there, and
 * ask for nothing. */
#include <check.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"

/* Ten springs. The outlet takes three at 2 s and at 4 s, and the orders two at 3 s; at 6 s the
 * outlet takes the last two, and what is ordered then and at 9 s is owed. */
static const char ten[] =
    "run: {for: 10 s}\nitems: [spring]\n"
    "chests: [{name: box, start: {spring: 10}}]\ndemands:\n"
    "  - {name: carter, chest: box, item: spring, every: 2 s, batch: 3, outlet: true}\n"
    "  - {name: orders, chest: box, item: spring, every: 3 s, batch: 2}\n"
    "expect: {demand_met: {spring: {at_least: 0.33, at_most: 0.34}}}\n";

/* The drain that is worked out by hand in test_drain.c, with twelve springs in the bin and an
 * outlet every minute. Six springs lie on the shelf when all is quiet, and two in the bin. At 60 s
 * four go; the feeder sees two and picks at 60 s and 62 s; the second one is put down at 63 s and
 * lifted off at 63.5 s, and the loop is empty. At 120 s the last four go, and nothing moves
 * again. */
static const char by_hand[] =
    "run: {for: 1 min}\nitems: [spring]\nloops: [{name: ring, cells: 10, rate: 10}]\n"
    "chests: [{name: bin, start: {spring: 12}}, {name: shelf}]\narms:\n"
    "  - {name: feeder, from: bin, to: ring@0, swing: 2 s, gate: {chest: shelf, below: 5}}\n"
    "  - {name: taker, from: ring@5, to: shelf, swing: 1 s}\n"
    "demands:\n  - {name: orders, chest: shelf, item: spring, every: 2 s}\n"
    "  - {name: carter, chest: shelf, item: spring, every: 1 min, batch: 4, outlet: true}\n";

/* A bench leaves shavings beside each clock, six a minute, which go over the loop into a box for
 * twenty. */
static const char shavings[] =
    "run: {for: 4 h}\nitems: [spring, clock, shaving]\n"
    "loops: [{name: ring, cells: 60, rate: 6}]\n"
    "chests: [{name: bin, start: {spring: 9000}}, {name: shelf, capacity: 20},\n"
    "         {name: box, capacity: 20}]\n"
    "stations: [{name: bench, takes: {spring: 1}, makes: {clock: 1, shaving: 1}, time: 10 s}]\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: bench, swing: 2 s}\n"
    "  - {name: shelver, from: bench, to: shelf, items: [clock], swing: 1 s}\n"
    "  - {name: sweeper, from: bench, to: ring@5, items: [shaving], swing: 1 s}\n"
    "  - {name: taker, from: ring@40, to: box, items: [shaving], swing: 1 s}\n"
    "demands: [{name: orders, chest: shelf, item: clock, every: 10 s}]\n";

#define CARTER(EVERY)                                                                              \
    " --set 'demands.carter={chest: box, item: shaving, every: " EVERY ", batch: 10, outlet: "     \
    "true}'"

static void begin(void) {
    errand_begin();
    errand_write("ten.yaml", ten);
    errand_write("hand.yaml", by_hand);
    errand_write("shavings.yaml", shavings);
}

START_TEST(what_outlets_take_was_not_asked_for) {
    ck_assert_int_eq(errand_run("run ten.yaml --json"), 0);
    json_t *run = errand_json("out");
    ck_assert_double_eq(errand_number(run, "items", "spring", "demanded", NULL), 6);
    ck_assert_double_eq(errand_number(run, "items", "spring", "met", NULL), 10);
    ck_assert_double_eq(errand_number(run, "items", "spring", "owed", NULL), 4);
    ck_assert_double_eq(errand_number(run, "items", "spring", "lost", NULL), 0);
    json_decref(run);
}
END_TEST

START_TEST(drain_leaves_outlets_going_and_waits_for_them) {
    ck_assert_int_eq(errand_run("drain hand.yaml --after 10s --json --out drained"), 0);
    json_t *drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "emptied_s", NULL), 63.5);
    ck_assert_double_eq(errand_number(drain, "rest_s", NULL), 120);
    json_decref(drain);
    ck_assert(errand_says("drained/scenario.yaml", "stop: orders"));
    ck_assert(!errand_says("drained/scenario.yaml", "stop: carter"));
}
END_TEST

/* The verdict of a rule of `budget`, "" where it is not among them. */
static const char *rule_verdict(const json_t *budget, const char *name) {
    size_t i;
    json_t *rule;
    json_array_foreach(json_object_get(budget, "rules"), i, rule) {
        if (strcmp(json_string_value(json_object_get(rule, "rule")), name) == 0)
            return json_string_value(json_object_get(rule, "verdict"));
    }
    return "";
}

static void check_exits(const char *change, const char *exit, const char *gates,
                        const char *outputs) {
    ck_assert_int_le(errand_run("budget shavings.yaml --json%s", change), 1);
    json_t *budget = errand_json("out");
    ck_assert_str_eq(rule_verdict(budget, "exit-stays-open"), exit);
    ck_assert_str_eq(rule_verdict(budget, "gate-watches-end-chest"), gates);
    ck_assert_str_eq(rule_verdict(budget, "outputs-have-exit"), outputs);
    json_t *products = json_object_get(budget, "products");
    ck_assert_uint_eq(json_object_size(products), 1);
    ck_assert_ptr_nonnull(json_object_get(products, "clock"));
    json_decref(budget);
}

/* Six shavings a minute come; ten a minute may go, or five. An outlet that ends does not stay
 * open. */
START_TEST(outlet_that_keeps_up_is_an_exit_that_stays_open) {
    check_exits("", "broken", "broken", "broken");
    check_exits(CARTER("1 min"), "holds", "holds", "holds");
    check_exits(CARTER("2 min"), "broken", "broken", "broken");
    check_exits(CARTER("1 min, until: 3 h"), "broken", "broken", "broken");
}
END_TEST

/* The same workshop run: it jams where the rules are broken, and where they hold it does not. */
START_TEST(runs_come_out_as_the_rules_say) {
    ck_assert_int_eq(errand_run("run shavings.yaml --quiet"), 1);
    ck_assert_int_eq(errand_run("run shavings.yaml --quiet" CARTER("2 min")), 1);
    ck_assert_int_eq(errand_run("run shavings.yaml --out run --json" CARTER("1 min")), 0);
    json_t *run = errand_json("out");
    ck_assert_double_eq(errand_number(run, "items", "shaving", "demanded", NULL), 0);
    ck_assert(errand_number(run, "items", "shaving", "met", NULL) > 1400);
    json_decref(run);
}
END_TEST

START_TEST(soak_measures_no_outlet_as_a_product) {
    ck_assert_int_eq(errand_run("soak shavings.yaml --runs 2 --for 1h --json" CARTER("1 min")), 0);
    json_t *soak = errand_json("out");
    ck_assert_uint_eq(json_object_size(json_object_get(soak, "throughput")), 1);
    json_decref(soak);
}
END_TEST

/* A demand that has owed is no outlet: its state does not fit one. */
START_TEST(capsule_fits_no_outlet_in_place_of_a_demand) {
    ck_assert_int_eq(errand_run("run ten.yaml --out run --quiet"), 0);
    ck_assert_int_eq(errand_run("replay run --from 0 --quiet --set demands.orders.outlet=true"), 2);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_checked_fixture(tests, begin, errand_end);
    tcase_add_test(tests, what_outlets_take_was_not_asked_for);
    tcase_add_test(tests, drain_leaves_outlets_going_and_waits_for_them);
    tcase_add_test(tests, outlet_that_keeps_up_is_an_exit_that_stays_open);
    tcase_add_test(tests, runs_come_out_as_the_rules_say);
    tcase_add_test(tests, soak_measures_no_outlet_as_a_product);
    tcase_add_test(tests, capsule_fits_no_outlet_in_place_of_a_demand);
}

int main(void) { return suite_main("outlets", add_tests); }
