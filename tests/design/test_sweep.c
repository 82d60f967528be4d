/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/design/test_sweep.c - `loopwright sweep`, `new` and `check` as their user meets them. */
#include <check.h>
#include <jansson.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "tests/common/suite.h"
#include "tests/story/errand.h"

static void begin(void) {
    errand_begin();
    ck_assert_int_eq(errand_run("new ring.yaml --quiet"), 0);
}

/* ---- sweep ---- */

static const char sweep[] = "sweep ring.yaml --over arms.taker.swing=1s,5s --over "
                            "'stations.bench.time=4 s,{uniform: [4 s, 5 s]}' --runs 3 --for 30min";

/* Two times two, the last one first. A taker of 5 s takes 12 parts a minute, which is 6 clocks, and
 * 8.57 are wanted. */
START_TEST(all_combinations_are_run) {
    begin();
    ck_assert_int_eq(errand_run("%s --out rows", sweep), 0);
    ck_assert_str_eq(errand_field("rows/sweep.csv", 0, "arms.taker.swing"), "1s");
    ck_assert_str_eq(errand_field("rows/sweep.csv", 0, "stations.bench.time"), "4 s");
    ck_assert_str_eq(errand_field("rows/sweep.csv", 0, "runs"), "3");
    ck_assert_double_gt(atof(errand_field("rows/sweep.csv", 0, "met")), 0.98);
    ck_assert_str_eq(errand_field("rows/sweep.csv", 2, "arms.taker.swing"), "5s");
    ck_assert_double_le(atof(errand_field("rows/sweep.csv", 2, "clock_per_min")), 6.1);
    ck_assert_str_eq(errand_field("rows/sweep.csv", 0, "jam_probability"), "0.0");
    ck_assert(errand_exists("rows/scenario.yaml"));
    ck_assert(!errand_exists("rows/soak.journal"));
    errand_end();
}
END_TEST

/* A row is what soak says of the same scenario and seeds. */
START_TEST(a_row_is_that_of_a_soak) {
    begin();
    ck_assert_int_eq(errand_run("%s --out rows", sweep), 0);
    ck_assert_int_eq(errand_run("soak ring.yaml --runs 3 --for 30min --json "
                                "--set arms.taker.swing=1s --set stations.bench.time=4s"),
                     0);
    json_t *soak = errand_json("out");
    double made = errand_number(soak, "throughput", "clock", "mean", NULL);
    double share = errand_number(soak, "occupied_share", "ring/lane", "mean", NULL);
    ck_assert_double_eq_tol(atof(errand_field("rows/sweep.csv", 0, "clock_per_min")), made, 1e-4);
    ck_assert_double_eq_tol(atof(errand_field("rows/sweep.csv", 0, "ring/lane_share_mean")), share,
                            1e-6);
    json_decref(soak);
    errand_end();
}
END_TEST

/* What is useless is said once, at its place in the file; what goes wrong with some values names
 * these. */
START_TEST(messages_are_of_the_file_or_of_a_combination) {
    begin();
    ck_assert_int_eq(system("sed -i 's/ring@12/ring@5/' ring.yaml"), 0);
    ck_assert_int_eq(errand_run("%s", sweep), 0);
    ck_assert_int_eq(system("test $(grep -c 'work at the same cell' err) = 1 && "
                            "line=$(grep -n 'name: face-feeder' ring.yaml | cut -d: -f1) && "
                            "grep -q \"^ring.yaml:$line:.*warning\" err"),
                     0);
    ck_assert_int_eq(errand_run("sweep ring.yaml --for 1h --over stations.bench.time=4s,5s "
                                "--over chests.bin.limits.gear=80,30"),
                     3); /* 40 gears lie there at the start */
    ck_assert(
        errand_says("err", "ring.yaml with stations.bench.time=4s and chests.bin.limits.gear=30:"));
    errand_end();
}
END_TEST

START_TEST(jobs_and_stops_change_no_byte) {
    begin();
    ck_assert_int_eq(errand_run("%s --out one --jobs 1", sweep), 0);
    pid_t child = errand_start("%s --out two --jobs 2", sweep);
    errand_await_bytes(child, ".two.unfinished/soak.journal", 100);
    kill(child, SIGKILL);
    errand_wait(child);
    ck_assert_int_eq(errand_run("%s --out two --resume", sweep), 0);
    ck_assert(errand_same_directory("one", "two"));
    errand_end();
}
END_TEST

/* What another command line began or finished is neither gone on with nor dropped. */
START_TEST(another_sweep_is_refused_with_both_ways_on) {
    begin();
    pid_t child = errand_start("%s --out two --jobs 1", sweep);
    errand_await_bytes(child, ".two.unfinished/soak.journal", 100);
    kill(child, SIGKILL);
    errand_wait(child);
    ck_assert_int_eq(errand_run("%s --out two --seed 9 --resume", sweep), 4);
    ck_assert(errand_says("err", "an unfinished sweep is there, begun with another command line"));
    ck_assert(errand_says("err", "rm -r ./.two.unfinished"));
    ck_assert_int_eq(errand_run("%s --out two --seed 9", sweep), 4);
    ck_assert_int_eq(errand_run("%s --out two", sweep), 4);
    ck_assert(errand_says("err", "runs done\n    finish it with loopwright sweep ring.yaml"));
    ck_assert_int_eq(errand_run("%s --out two --resume", sweep), 0);
    ck_assert_int_eq(errand_run("%s --out two --seed 9 --resume", sweep), 4);
    ck_assert(errand_says("err", "a finished sweep of another command line is there"));
    ck_assert_int_eq(errand_run("%s --out one", sweep), 0);
    ck_assert(errand_same_directory("one", "two"));
    errand_end();
}
END_TEST

/* It is not run again: the same directory stands there afterwards. */
START_TEST(a_finished_sweep_is_finished) {
    begin();
    ck_assert_int_eq(errand_run("%s --out one", sweep), 0);
    ck_assert_int_eq(system("cp out first; cp -r one two; ls -ldi one >before"), 0);
    ck_assert_int_eq(errand_run("%s --out one --resume", sweep), 0);
    ck_assert_int_eq(
        system("ls -ldi one >after; cmp before after; test -z \"$(ls -d .one* 2>/dev/null)\""), 0);
    ck_assert(errand_same("out", "first"));
    ck_assert_int_eq(unlink("one/sweep.csv"), 0);
    ck_assert_int_eq(errand_run("%s --out one --resume", sweep), 0);
    ck_assert(errand_same_directory("one", "two"));
    errand_end();
}
END_TEST

START_TEST(what_is_wrong_is_refused_before_anything_runs) {
    begin();
    ck_assert_int_eq(errand_run("sweep ring.yaml"), 2);
    ck_assert_int_eq(errand_run("sweep ring.yaml --over arms.taker.swing"), 2);
    ck_assert_int_eq(errand_run("sweep ring.yaml --over arms.taker.swing=1s,,2s"), 2);
    ck_assert_int_eq(errand_run("sweep ring.yaml --over arms.taker.swing=1s,fast"), 3);
    ck_assert_int_eq(errand_run("sweep ring.yaml --over arms.taker.hand=1,2,1"), 2);
    ck_assert(errand_says("err", "a value is given twice"));
    ck_assert_int_eq(
        errand_run("sweep ring.yaml --over arms.taker.hand=1 --over arms.taker.hand=2"), 2);
    ck_assert(errand_says("err", "give all its values at once"));
    ck_assert_int_eq(errand_run("sweep ring.yaml --over arms.taker.hand=1 --resume"), 2);
    ck_assert_int_eq(errand_run("sweep ring.yaml --over arms.taker.hand=$(seq -s, 101) "
                                "--over stations.bench.gate.below=$(seq -s, 100)"),
                     2);
    ck_assert(errand_says("err", "more than 10,000 combinations"));
    errand_end();
}
END_TEST

/* ---- new and check ---- */

START_TEST(new_never_overwrites) {
    begin();
    ck_assert_int_eq(errand_run("check ring.yaml"), 0);
    ck_assert_int_eq(errand_run("soak ring.yaml --for 12h --runs 2 --quiet"), 0);
    ck_assert_int_eq(errand_run("new ring.yaml --brief"), 4);
    ck_assert(errand_says("ring.yaml", "Clocks on one loop"));
    ck_assert_int_eq(errand_run("new brief.yaml --brief"), 0);
    ck_assert_int_eq(errand_run("check brief.yaml"), 0);
    ck_assert_int_eq(errand_run("new jam.yaml --from surplus-jam"), 0);
    ck_assert_int_eq(errand_run("new - --brief"), 0);
    ck_assert(errand_same("out", "brief.yaml"));
    ck_assert(!errand_exists("-"));
    ck_assert_int_eq(errand_run("new no.yaml --from nothing"), 2);
    ck_assert(!errand_exists("no.yaml"));
    errand_end();
}
END_TEST

START_TEST(check_lists_all_that_is_wrong) {
    errand_begin();
    errand_write("wrong.yaml", "itmes: [gear]\nloops:\n  - {name: ring, cells: 0, rate: 4}\n");
    ck_assert_int_eq(errand_run("check wrong.yaml --json"), 3);
    json_t *list = errand_json("out");
    ck_assert_uint_eq(json_array_size(list), 2);
    const json_t *first = json_array_get(list, 0), *second = json_array_get(list, 1);
    ck_assert_str_eq(json_string_value(json_object_get(first, "file")), "wrong.yaml");
    ck_assert_str_eq(json_string_value(json_object_get(first, "severity")), "error");
    ck_assert_str_eq(json_string_value(json_object_get(first, "help")), "did you mean `items`?");
    ck_assert_double_eq(errand_number(second, "line", NULL), 3);
    ck_assert_double_eq(errand_number(second, "column", NULL), 25);
    json_decref(list);
    ck_assert_int_eq(errand_run("check nothing.yaml"), 4);
    errand_end();
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_test(tests, all_combinations_are_run);
    tcase_add_test(tests, a_row_is_that_of_a_soak);
    tcase_add_test(tests, messages_are_of_the_file_or_of_a_combination);
    tcase_add_test(tests, jobs_and_stops_change_no_byte);
    tcase_add_test(tests, another_sweep_is_refused_with_both_ways_on);
    tcase_add_test(tests, a_finished_sweep_is_finished);
    tcase_add_test(tests, what_is_wrong_is_refused_before_anything_runs);
    tcase_add_test(tests, new_never_overwrites);
    tcase_add_test(tests, check_lists_all_that_is_wrong);
}

int main(void) { return suite_main("sweep", add_tests); }
