/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_soak.c - `loopwright soak` and `merge` as their user meets them. The promises:
 * what comes out is the same to the byte whatever --jobs is, however often it was killed and taken
 * up again, and in however many shards it was run; and every row is what `run` gives for that
 * seed. */
#include <check.h>
#include <jansson.h>
#include <math.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "tests/common/dice.h"
#include "tests/common/sanitized.h"
#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"

/* A tray that is a little small: a heap of springs fills it now and then, no comb gets in any more,
 * and the lane jams. */
static const char clocks[] =
    "title: Clocks, with a heap now and then\n"
    "run: {for: 2 h, seed: 5, warm_up: 5 min}\n"
    "items: [spring, comb, clock]\n"
    "loops: [{name: ring, cells: 30, rate: 6}]\n"
    "chests:\n"
    "  - {name: bin, start: {spring: 100, comb: 100}, limits: {spring: 200, comb: 200}}\n"
    "  - {name: tray, capacity: 16}\n"
    "  - {name: shelf, capacity: 10}\n"
    "stations: [{name: bench, takes: {spring: 1, comb: 1}, makes: {clock: 1},\n"
    "            time: {uniform: [3, 5]}}]\n"
    "arms:\n"
    "  - {name: spring-feeder, from: bin, to: ring@2, items: [spring], swing: 1.3 s,\n"
    "     gate: {chest: tray, item: spring, below: 8}}\n"
    "  - {name: comb-feeder, from: bin, to: ring@5, items: [comb], swing: 1.3 s,\n"
    "     gate: {chest: tray, item: comb, below: 8}}\n"
    "  - {name: taker, from: ring@15, to: tray, items: [spring, comb], swing: 0.5 s}\n"
    "  - {name: mover, from: tray, to: bench, swing: 0.6 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 0.8 s}\n"
    "supplies:\n"
    "  - {name: springs, chest: bin, item: spring, every: 4 s}\n"
    "  - {name: combs, chest: bin, item: comb, every: 4 s}\n"
    "demands: [{name: orders, chest: shelf, item: clock, every: {exponential: 5 s}}]\n"
    "incidents: [{name: heap, every: {exponential: 1 h},\n"
    "             drop: {item: spring, count: 20, lane: ring}}]\n";

static void begin(void) {
    errand_begin();
    errand_write("clocks.yaml", clocks);
}

/* ---- the same bytes ---- */

START_TEST(jobs_do_not_matter) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 60 --jobs 1 --out one"), 1);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 60 --jobs 2 --out two"), 1);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 60 --jobs 4 --out four"), 1);
    ck_assert(errand_same_directory("one", "two"));
    ck_assert(errand_same_directory("one", "four"));
    ck_assert(errand_exists("one/runs.csv") && errand_exists("one/soak.json"));
}
END_TEST

/* Kills it once its journal has grown by some random number of bytes, at most by some dozen runs,
 * and some moments later: at once, while it writes, or between two runs. Returns its status. */
static int kill_on_its_way(pid_t child, const char *journal, uint64_t *dice) {
    enum { GROWTH_MAX = 4000, MOMENT_NS = 3000000 };
    errand_await_bytes(child, journal, errand_bytes(journal) + (long)dice_below(dice, GROWTH_MAX));
    nanosleep(&(struct timespec){.tv_nsec = (long)dice_below(dice, MOMENT_NS)}, NULL);
    kill(child, SIGKILL);
    return errand_wait(child);
}

/* Kills a soak again and again and takes it up again till it is done; returns how often it was
 * killed. */
static int kill_and_resume(const char *words, const char *out, uint64_t *dice) {
    char journal[64];
    snprintf(journal, sizeof journal, ".%s.unfinished/soak.journal", out);
    for (int kills = 0;; kills++) {
        int status =
            kill_on_its_way(errand_start("%s --out %s --resume", words, out), journal, dice);
        if (status != 128 + SIGKILL) {
            ck_assert_int_eq(status, 1);
            return kills;
        }
    }
}

START_TEST(kill_at_any_moment_loses_nothing) {
    static const char words[] = "soak clocks.yaml --runs 150 --for 4h --jobs 2";
    uint64_t dice = 20;
    ck_assert_int_eq(errand_run("%s --out whole", words), 1);
    for (int kills = 0, soak = 0; kills < 50; soak++) {
        char out[32];
        snprintf(out, sizeof out, "killed-%d", soak);
        kills += kill_and_resume(words, out, &dice);
        ck_assert_msg(errand_same_directory("whole", out), "%s differs", out);
    }
}
END_TEST

START_TEST(signal_ends_it_and_says_how_to_go_on) {
    static const char words[] = "soak clocks.yaml --runs 3000 --for 4h --out stopped";
    pid_t child = errand_start("%s", words);
    errand_await_bytes(child, ".stopped.unfinished/soak.journal", 4000);
    kill(child, SIGTERM);
    ck_assert_int_eq(errand_wait(child), 128 + SIGTERM);
    ck_assert(errand_says("err", " of 3000 runs are done and kept"));
    ck_assert(errand_says("err", "continue with: loopwright soak clocks.yaml --runs 3000 --for 4h "
                                 "--out stopped --resume\n"));
    ck_assert(!errand_exists("stopped"));
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 20 --for 4h --out stopped --resume"), 4);
    ck_assert(errand_says("err", "begun with another command line"));
}
END_TEST

/* In blocks of 512 bytes, as a shell counts. */
START_TEST(full_disk_ends_it_and_it_goes_on_when_there_is_room) {
    static const char words[] = "soak clocks.yaml --runs 40";
    ck_assert_int_eq(errand_run("%s --out whole", words), 1);
    for (int blocks = 1; blocks < 400; blocks = 2 * blocks + 1) { /* 15: the plan itself fits */
        char before[64];
        snprintf(before, sizeof before, "ulimit -f %d;", blocks);
        int status = errand_run_after(before, "%s --out full", words);
        if (status != 1) {
            ck_assert_int_eq(status, 4);
            ck_assert(!errand_exists("full"));
            ck_assert(errand_says("err", "File too large"));
            ck_assert(blocks < 15 || errand_says("err", "continue with: loopwright soak"));
        }
        ck_assert_int_eq(errand_run("%s --out full --resume", words), 1);
        ck_assert(errand_same_directory("whole", "full"));
        ck_assert_int_eq(system("rm -rf full"), 0);
    }
}
END_TEST

START_TEST(what_is_done_is_only_told_again) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 20 --out done --json"), 1);
    ck_assert_int_eq(rename("out", "first"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 20 --out done --json --resume"), 1);
    ck_assert(errand_same("first", "out"));
    ck_assert(errand_same("first", "done/soak.json"));
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 10 --out fresh --resume"), 0);
}
END_TEST

/* ---- what is there already ---- */

/* Changes a byte in the middle of a file. */
static void damage(const char *path) {
    FILE *file = fopen(path, "r+b");
    ck_assert_ptr_nonnull(file);
    long middle = errand_bytes(path) / 2;
    ck_assert_int_eq(fseek(file, middle, SEEK_SET), 0);
    int byte = fgetc(file);
    ck_assert_int_eq(fseek(file, middle, SEEK_SET), 0);
    ck_assert_int_eq(fputc(byte ^ 1, file), byte ^ 1);
    ck_assert_int_eq(fclose(file), 0);
}

static const char night[] = "soak clocks.yaml --runs 300 --for 4h --jobs 2 --out night";

/* A soak that was stopped on its way. */
static void stop_on_its_way(void) {
    pid_t child = errand_start("%s", night);
    errand_await_bytes(child, ".night.unfinished/soak.journal", 185000);
    kill(child, SIGKILL);
    ck_assert_int_eq(errand_wait(child), 128 + SIGKILL);
}

START_TEST(unfinished_soak_is_not_begun_anew) {
    stop_on_its_way();
    ck_assert_int_eq(system("cp -r .night.unfinished before"), 0);
    ck_assert_int_eq(errand_run("%s", night), 4);
    ck_assert(errand_says("err", "night: an unfinished soak is there, with "));
    ck_assert(errand_says("err",
                          " of 300 runs done\n    finish it with loopwright soak clocks.yaml "
                          "--runs 300 --for 4h --jobs 2 --out night --resume\n"
                          "    or remove it, with all that it has done: rm -r "
                          "./.night.unfinished\n"));
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 7 --out night"), 4);
    ck_assert(errand_says("err", "begun with another command line (300 runs of clocks.yaml)"));
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 7 --out night --resume"), 4);
    ck_assert(errand_says("err", "begun with another command line (300 runs of clocks.yaml)"));
    ck_assert_int_eq(errand_run("run clocks.yaml --out night"), 4);
    ck_assert(errand_says("err", "an unfinished soak or sweep to this place is there"));
    ck_assert(errand_same_directory("before", ".night.unfinished"));
    ck_assert(!errand_exists("night"));
    ck_assert_int_eq(system("rm -r .night.unfinished"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 7 --for 10min --out night"), 0);
}
END_TEST

START_TEST(damaged_journal_is_refused) {
    stop_on_its_way();
    damage(".night.unfinished/soak.journal");
    ck_assert_int_eq(system("cp -r .night.unfinished before"), 0);
    ck_assert_int_eq(errand_run("%s --resume", night), 4);
    ck_assert(errand_says("err", "./.night.unfinished/soak.journal: is damaged"));
    ck_assert(errand_same_directory("before", ".night.unfinished"));
}
END_TEST

/* Before the first run is over there is nothing to be lost, and to go on is to begin. */
START_TEST(soak_of_which_nothing_was_done_is_begun) {
    static const char words[] = "soak clocks.yaml --runs 5 --for 10min --out night";
    ck_assert_int_eq(system("mkdir .night.unfinished && touch .night.unfinished/soak.journal"), 0);
    ck_assert_int_eq(errand_run("%s", words), 0);
    ck_assert_int_eq(system("mv night first; mkdir .night.unfinished && touch "
                            ".night.unfinished/soak.journal"),
                     0);
    ck_assert_int_eq(errand_run("%s --resume", words), 0);
    ck_assert(errand_same_directory("first", "night"));
}
END_TEST

START_TEST(finished_soak_of_another_command_line_is_kept) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 5 --for 10min --out night"), 0);
    ck_assert_int_eq(system("cp -r night before"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 6 --for 10min --out night --resume"), 4);
    ck_assert(errand_says("err", "night: a finished soak of another command line is there (5 runs "
                                 "of clocks.yaml)\n"));
    ck_assert(errand_says("err", "leave out --resume\n") &&
              errand_says("err", "another directory"));
    ck_assert(errand_same_directory("before", "night"));
    ck_assert(!errand_exists(".night.unfinished") && !errand_exists(".night.lock"));
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 6 --for 10min --out night"), 0);
}
END_TEST

START_TEST(damaged_results_are_refused) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 5 --for 10min --out night"), 0);
    damage("night/soak.results");
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 5 --for 10min --out night --resume"), 4);
    ck_assert(errand_says("err", "night/soak.results: is damaged, so nothing of it is used\n"));
}
END_TEST

/* Changes a table of a finished soak or run as sed says; a report of it refuses it then. */
static void refuse_table(const char *directory, const char *table, const char *change) {
    char command[300], word[100];
    snprintf(command, sizeof command, "cp %s/%s kept && LC_ALL=C sed -i '%s' %s/%s", directory,
             table, change, directory, table);
    ck_assert_int_eq(system(command), 0);
    ck_assert_msg(errand_run("report %s --prove 0 --out page.html", directory) == 4, "%s", change);
    snprintf(word, sizeof word, "%s/%s: is ", directory, table);
    ck_assert_msg(errand_says("err", word), "%s", change);
    snprintf(command, sizeof command, "cmp -s kept %s/%s", directory, table);
    ck_assert_msg(system(command) != 0, "%s changes nothing", change);
    snprintf(command, sizeof command, "mv kept %s/%s", directory, table);
    ck_assert_int_eq(system(command), 0);
}

/* A table of which a heading, a number or a character is damaged is refused, not half used. */
START_TEST(damaged_tables_are_refused_by_a_report) {
    static const char *const runs[] = {"1s/,jams,/,jamz,/",
                                       "1s/first_jam_s/first_jam/",
                                       "2s/^0,/x,/",
                                       "2s/^\\(0,[0-9]*\\),/\\1,\xff/",
                                       "1s/,verdict,/,ver,/",
                                       "2s/,[0-9.]*,/,\xc3,/",
                                       "2s/,[0-9.]*\\.[0-9]*,/,1e308,/"};
    static const char *const events[] = {"1s/start_s/start/",    "1s/,detail/,note/",
                                         "2s/^[^,]*,/nan,/",     "2s/^[^,]*,/1e99,/",
                                         "1s/,event,/,events,/", "2s/,/\xed\xa0\x80,/"};
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 3 --for 1h --out night"), 0);
    ck_assert_int_eq(errand_run("report night --prove 0 --out page.html"), 0);
    for (size_t i = 0; i < sizeof runs / sizeof *runs; i++)
        refuse_table("night", "runs.csv", runs[i]);
    ck_assert_int_eq(errand_run("run clocks.yaml --for 10min --quiet --out run"), 0);
    ck_assert_int_eq(errand_run("report run --prove 0 --out page.html"), 0);
    for (size_t i = 0; i < sizeof events / sizeof *events; i++)
        refuse_table("run", "events.csv", events[i]);
}
END_TEST

START_TEST(what_was_kept_of_jams_is_made_anew) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 60 --out night"), 1);
    ck_assert_int_eq(system("cp -r night before; rm night/jam-*-events.csv night/runs.csv"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 60 --out night --resume"), 1);
    ck_assert(errand_same_directory("before", "night"));
    ck_assert_int_eq(system("rm -r night before"), 0);
    ck_assert_int_eq(errand_run("%s", night), 1);
    ck_assert_int_eq(system("mv night before"), 0);
    stop_on_its_way();
    ck_assert_int_eq(system("rm .night.unfinished/jam-*.capsule"), 0);
    ck_assert_int_eq(errand_run("%s --resume", night), 1);
    ck_assert(errand_same_directory("before", "night"));
}
END_TEST

/* A kill after the last step, but before all is cleared: the lock, the journal, the soak that was
 * replaced. */
START_TEST(leftovers_of_a_finished_soak_are_cleared) {
    static const char words[] = "soak clocks.yaml --runs 5 --for 10min --out night --resume";
    ck_assert_int_eq(errand_run("%s", words), 0);
    ck_assert_int_eq(system("cp -r night before; cp -r night .night.unfinished; "
                            "cp night/soak.results night/soak.journal; touch .night.lock; "
                            "mkdir .night.replaced; touch .night.replaced/runs.csv"),
                     0);
    ck_assert_int_eq(errand_run("%s", words), 0);
    ck_assert(errand_same_directory("before", "night"));
    ck_assert(!errand_exists(".night.unfinished") && !errand_exists(".night.lock") &&
              !errand_exists(".night.replaced"));
}
END_TEST

/* ---- against `run` ---- */

static void check_row(size_t row) {
    const char *seed = errand_field("soaked/runs.csv", row, "seed");
    char length[32];
    snprintf(length, sizeof length, "%s", errand_field("soaked/runs.csv", row, "simulated_s"));
    int status = errand_run("run clocks.yaml --seed %s --for %s --out run --json", seed, length);
    json_t *run = errand_json("out");
    double jams = errand_number(run, "verdict", "jams", NULL);
    ck_assert_int_eq(status, jams > 0);
    ck_assert_double_eq(jams, atof(errand_field("soaked/runs.csv", row, "jams")));
    ck_assert_double_eq(errand_number(run, "items", "clock", "made_per_min", NULL),
                        atof(errand_field("soaked/runs.csv", row, "clock_per_min")));
    double starved = errand_number(run, "stations", "bench", "starved", NULL);
    ck_assert_double_eq_tol(starved * (atof(length) - 300),
                            atof(errand_field("soaked/runs.csv", row, "starved_s")), 0.001);
    ck_assert_str_eq(errand_field("soaked/runs.csv", row, "verdict"),
                     errand_number(run, "verdict", "holds", NULL) != 0 ? "holds" : "fails");
    json_decref(run);
}

/* The first row of events.csv that is a jam. */
static const char *first_jam(const char *file) {
    for (size_t row = 0;; row++) {
        const char *event = errand_field(file, row, "event");
        if (event[0] == '\0' || strcmp(event, "jam") == 0)
            return errand_field(file, row, "start_s");
    }
}

START_TEST(each_row_is_what_run_gives) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 24 --out soaked"), 1);
    int jammed = 0;
    for (size_t row = 0; row < 24; row++) {
        check_row(row);
        char started[32];
        snprintf(started, sizeof started, "%s",
                 errand_field("soaked/runs.csv", row, "first_jam_s"));
        jammed += started[0] != '\0';
        ck_assert_str_eq(first_jam("run/events.csv"), started);
    }
    ck_assert_int_gt(jammed, 0);
}
END_TEST

START_TEST(until_jam_ends_a_run_with_its_first_jam) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 24 --until-jam --out soaked"), 1);
    for (size_t row = 0; row < 24; row++) {
        check_row(row);
        double jam = atof(errand_field("soaked/runs.csv", row, "first_jam_s"));
        double end = atof(errand_field("soaked/runs.csv", row, "simulated_s"));
        ck_assert(jam == 0 ? end == 7200 : end >= jam && end < jam + 1.001);
    }
}
END_TEST

/* ---- statistics ---- */

static double column_sum(const char *column, size_t rows) {
    double sum = 0;
    for (size_t row = 0; row < rows; row++)
        sum += atof(errand_field("soaked/runs.csv", row, column));
    return sum;
}

/* k of n, time at risk over jams, and the mean of a column: arithmetic on runs.csv. The interval
 * for 12 of 100 (Clopper-Pearson, 95 %: 0.0636 to 0.2002) is that of R's binom.test(12, 100). */
START_TEST(statistics_are_those_of_the_rows) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 100 --out soaked"), 1);
    json_t *soak = errand_json("soaked/soak.json");
    double jammed = 0, at_risk = 0;
    for (size_t row = 0; row < 100; row++) {
        const char *jam = errand_field("soaked/runs.csv", row, "first_jam_s");
        jammed += jam[0] != '\0';
        at_risk += jam[0] != '\0' ? atof(jam) : 7200;
    }
    ck_assert_double_eq(jammed, 12);
    ck_assert_double_eq(errand_number(soak, "runs", NULL), 100);
    ck_assert_double_eq(errand_number(soak, "jam_probability", "estimate", NULL), 0.12);
    ck_assert_double_eq_tol(errand_number(soak, "jam_probability", "low", NULL), 0.0636, 5e-5);
    ck_assert_double_eq_tol(errand_number(soak, "jam_probability", "high", NULL), 0.2002, 5e-5);
    ck_assert_double_eq_tol(errand_number(soak, "first_jam", "mean_s", NULL), at_risk / jammed,
                            1e-4);
    ck_assert_double_eq(errand_number(soak, "first_jam", "censored", NULL), 88);
    ck_assert_double_eq_tol(errand_number(soak, "throughput", "clock", "mean", NULL),
                            column_sum("clock_per_min", 100) / 100, 1e-8);
    json_decref(soak);
}
END_TEST

/* Little's law on a loop that somebody walks round: one spring that is taken by nobody, one second
 * after another; so one item is at work all the time, on a thirtieth of the cells. */
START_TEST(item_that_comes_round_for_ever_is_one_at_work) {
    errand_write("one.yaml",
                 "run: {for: 20 min, warm_up: 1 min}\nitems: [spring]\n"
                 "loops: [{name: ring, cells: 30, rate: 6}]\n"
                 "incidents: [{at: 10 s, drop: {item: spring, count: 1, lane: ring}}]\n");
    ck_assert_int_eq(errand_run("soak one.yaml --runs 3 --json"), 0);
    json_t *soak = errand_json("out");
    ck_assert_double_eq(errand_number(soak, "wip", "mean", NULL), 1);
    ck_assert(isnan(errand_number(soak, "wip", "low", NULL))); /* nothing is left to chance */
    ck_assert_double_eq_tol(errand_number(soak, "occupied_share", "ring/lane", "mean", NULL),
                            1.0 / 30, 1e-9);
    ck_assert(isnan(errand_number(soak, "first_jam", "mean_s", NULL)));
    json_decref(soak);
}
END_TEST

/* Two springs go from a bin to a bench, one clock from there to a shelf, by arms that swing for two
 * seconds. In hands: 0 to 1 s, 2 to 3 s, and 7 to 8 s; in the bench's stock: the first spring, from
 * 1 s until the batch begins with the second, at 3 s. The batch takes 4 s, in which nothing counts,
 * and the clock is picked in the tick in which it is made. That is 5 item seconds in 10 s. */
START_TEST(items_at_work_are_those_worked_out_by_hand) {
    errand_write("two.yaml",
                 "run: {for: 10 s}\nitems: [spring, clock]\n"
                 "chests: [{name: bin, start: {spring: 2}}, {name: shelf}]\n"
                 "stations: [{name: bench, takes: {spring: 2}, makes: {clock: 1}, time: 4 s}]\n"
                 "arms:\n  - {name: mover, from: bin, to: bench, swing: 2 s}\n"
                 "  - {name: shelver, from: bench, to: shelf, swing: 2 s}\n");
    ck_assert_int_eq(errand_run("soak two.yaml --runs 2 --json"), 0);
    json_t *soak = errand_json("out");
    ck_assert_double_eq(errand_number(soak, "wip", "mean", NULL), 0.5);
    ck_assert_double_eq(errand_number(soak, "throughput", "clock", "mean", NULL), 6);
    json_decref(soak);
}
END_TEST

/* Batches of one long run give an interval about its mean, too. */
START_TEST(one_long_run_has_intervals) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 1 --for 20h --until-jam "
                                "--set chests.tray.capacity=60 --out soaked --json"),
                     0);
    json_t *soak = errand_json("out");
    double mean = errand_number(soak, "throughput", "clock", "mean", NULL);
    ck_assert_double_eq_tol(mean, atof(errand_field("soaked/runs.csv", 0, "clock_per_min")), 1e-8);
    ck_assert(errand_number(soak, "throughput", "clock", "low", NULL) < mean);
    ck_assert(errand_number(soak, "throughput", "clock", "high", NULL) > mean);
    ck_assert(errand_number(soak, "warm_up_s", NULL) < 36000);
    json_decref(soak);
}
END_TEST

/* ---- what is kept of jams ---- */

START_TEST(capsule_of_a_jam_leads_to_that_jam) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 60 --out soaked --keep 3"), 1);
    int kept = 0;
    for (size_t row = 0; row < 60; row++) {
        char capsule[64], events[96], started[32];
        snprintf(capsule, sizeof capsule, "%s", errand_field("soaked/runs.csv", row, "capsule"));
        snprintf(started, sizeof started, "%s",
                 errand_field("soaked/runs.csv", row, "first_jam_s"));
        if (started[0] != '\0' && kept < 3)
            ck_assert_str_ne(capsule, "");
        if (capsule[0] == '\0')
            continue;
        kept++;
        ck_assert_int_eq(errand_run("replay soaked/%s --out replayed --quiet", capsule), 1);
        ck_assert_str_eq(first_jam("replayed/events.csv"), started);
        snprintf(events, sizeof events, "soaked/jam-%zu-events.csv", row);
        ck_assert_str_eq(first_jam(events), started);
        ck_assert_int_eq(errand_run("run clocks.yaml --seed %zu --out run --quiet", row + 5), 1);
        ck_assert(errand_same("replayed/summary.json", "run/summary.json"));
    }
    ck_assert_int_eq(kept, 3);
}
END_TEST

/* ---- disturbances ---- */

/* The greatest time at which a line with these words says something happens, in seconds. */
static double last_time(const char *file, const char *words) {
    double last = 0;
    char *text = story_text(file);
    for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        const char *at = strstr(line, " at: ");
        if (at != NULL && strstr(line, words) != NULL)
            last = fmax(last, atof(at + strlen(" at: ")));
    }
    free(text);
    return last;
}

START_TEST(disturbances_depend_on_the_seed_alone) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 6 --disturb --set incidents=[] "
                                "--out soaked"),
                     0);
    char row[512], capsule[64];
    char *whole = story_text("soaked/runs.csv");
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 1 --seed 8 --disturb --set incidents=[] "
                                "--out alone"),
                     0);
    char *alone = story_text("alone/runs.csv");
    snprintf(row, sizeof row, "%s", strchr(strchr(strchr(alone, '\n'), ',') + 1, ','));
    row[strcspn(row, "j")] = '\0'; /* up to the name of the capsule */
    ck_assert_ptr_nonnull(strstr(whole, row));
    free(whole);
    free(alone);
    snprintf(capsule, sizeof capsule, "%s", errand_field("alone/runs.csv", 0, "capsule"));
    ck_assert_int_eq(errand_run("replay alone/%s --out replayed --quiet", capsule), 1);
    ck_assert(errand_says("replayed/scenario.yaml", "disturbance-1"));
    ck_assert_str_eq(first_jam("replayed/events.csv"),
                     errand_field("alone/runs.csv", 0, "first_jam_s"));
    ck_assert_int_eq(errand_run("run replayed/scenario.yaml --out again --quiet"), 1);
    ck_assert(errand_same("again/summary.json", "replayed/summary.json"));
}
END_TEST

/* An hour is more than 30 revolutions of 5 s and 20 clocks, one in 5 s; of a belt that comes round
 * in 10 min, 30 revolutions are 5 h. */
START_TEST(disturbances_are_over_long_before_the_end) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 1 --disturb --set incidents=[] --out run"),
                     0);
    ck_assert_int_eq(errand_run("replay run/jam-0.capsule --out replayed --quiet"), 1);
    double last = last_time("replayed/scenario.yaml", "disturbance-");
    ck_assert(last > 1800 && last <= 3600);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 1 --disturb --for 74min"), 2);
    ck_assert(errand_says("err", "a run of 1:14:00 is too short for `--disturb`"));
    ck_assert(errand_says("err", "give --for 1:15:00 at least"));
    ck_assert_int_le(errand_run("soak clocks.yaml --runs 1 --disturb --for 75min"), 1);
    ck_assert_int_eq(
        errand_run("soak clocks.yaml --runs 1 --disturb --for 5h --set loops.ring.rate=0.05"), 2);
    ck_assert(errand_says("err", "give --for 5:15:00 at least"));
}
END_TEST

/* With disturbances a jam that ends by itself is none that counts, and `expect` is not asked. */
START_TEST(disturbed_runs_hold_that_are_not_stuck) {
    static const char words[] = "soak clocks.yaml --runs 20 --disturb --set incidents=[] "
                                "--set 'expect={rest: true}'";
    ck_assert_int_eq(errand_run("%s --out soaked", words), 1);
    json_t *soak = errand_json("soaked/soak.json");
    int stuck = 0, jams = 0;
    for (size_t row = 0; row < 20; row++) {
        bool is_stuck = atof(errand_field("soaked/runs.csv", row, "stuck")) > 0;
        ck_assert_str_eq(errand_field("soaked/runs.csv", row, "verdict"),
                         is_stuck ? "fails" : "holds");
        stuck += is_stuck;
        jams += atoi(errand_field("soaked/runs.csv", row, "jams"));
    }
    ck_assert(stuck > 0 && stuck < 20);
    ck_assert_double_eq(errand_number(soak, "stuck", "estimate", NULL), stuck / 20.0);
    ck_assert_double_eq(errand_number(soak, "jams_ended", "of", NULL), jams);
    ck_assert(errand_number(soak, "jams_ended", "ended", NULL) >= jams - stuck);
    double mean = errand_number(soak, "recovery", "mean_s", NULL);
    ck_assert(mean > 9 * 5 * 0.5 && mean < errand_number(soak, "recovery", "greatest_s", NULL));
    json_decref(soak);
    ck_assert(errand_says("out", "It does not hold: 1 of 20 runs is stuck at its end, 5 %"));
    ck_assert(errand_says("out", "Why it jams: loopwright cause soaked/jam-12.capsule\n"));
    ck_assert(!errand_says("out", "jam-11.capsule") && !errand_says("out", "rest"));
    ck_assert_int_eq(errand_run("%s", words), 1);
    ck_assert(errand_says("out", "loopwright soak clocks.yaml --set 'incidents=[]' --set "
                                 "'expect={rest: true}' --disturb --seed 17 --runs 1 --out "
                                 "run-17\n"));
}
END_TEST

/* ---- jams that end, and those that do not ---- */

/* The feeder picks at 0 and puts down at 1 s. From then on it would put down every two seconds; but
 * the belt comes round in one, so that what lies there stands before it again, and it waits a step
 * of 0.1 s for the free cell that follows. So the tenth and last is put down at 1 + 9 * 2.1 = 19.9
 * s, and the next one waits from 21.9 s on. A jam is told 30 s later, at 51.9 s. At 100 s the lane
 * is cleared, and the same begins with what is in the hand: the tenth at 118.9 s, waiting from
 * 120.9 s on, a jam at 150.9 s. It lasts when the run ends, at 200 s. */
static const char filling[] =
    "run: {for: 200 s}\nitems: [spring]\nloops: [{name: ring, cells: 10, rate: 10}]\n"
    "chests: [{name: bin, start: {spring: 900}}]\n"
    "arms: [{name: feeder, from: bin, to: ring@0, swing: 2 s}]\n"
    "incidents: [{at: 100 s, clear: {lane: ring}}]\n";

START_TEST(jams_that_end_are_those_worked_out_by_hand) {
    errand_write("filling.yaml", filling);
    ck_assert_int_eq(errand_run("soak filling.yaml --out soaked --json"), 1);
    json_t *soak = errand_json("out");
    ck_assert_double_eq(errand_number(soak, "jams_ended", "ended", NULL), 1);
    ck_assert_double_eq(errand_number(soak, "jams_ended", "of", NULL), 2);
    ck_assert_double_eq_tol(errand_number(soak, "jammed_share", NULL), (48.1 + 49.1) / 200, 1e-9);
    ck_assert_double_eq(errand_number(soak, "longest_jam_s", NULL), 49.1);
    ck_assert_double_eq(errand_number(soak, "stuck", "estimate", NULL), 1);
    ck_assert_double_eq(errand_number(soak, "first_jam", "mean_s", NULL), 51.9);
    json_decref(soak);
    ck_assert_double_eq(atof(errand_field("soaked/runs.csv", 0, "longest_jam_s")), 49.1);
    ck_assert_double_eq(atof(errand_field("soaked/runs.csv", 0, "stuck")), 1);
    ck_assert_int_eq(errand_run("soak filling.yaml --for 140s --json"), 1);
    soak = errand_json("out");
    ck_assert_double_eq(errand_number(soak, "jams_ended", "of", NULL), 1);
    ck_assert_double_eq(errand_number(soak, "longest_jam_s", NULL), 48.1);
    ck_assert_double_eq(errand_number(soak, "stuck", "estimate", NULL), 0);
    json_decref(soak);
}
END_TEST

/* A clock every four seconds, as long as the fifty springs last: after 200 s no more. Ten intervals
 * of four seconds later that is noticed, if somebody still asks for clocks. */
static const char few[] =
    "run: {for: 10 min}\nitems: [spring, clock]\n"
    "chests: [{name: bin, start: {spring: 50}}, {name: shelf}]\n"
    "stations: [{name: bench, takes: {spring: 1}, makes: {clock: 1}, time: 4 s}]\n"
    "arms: [{name: mover, from: bin, to: bench, swing: 1 s},\n"
    "       {name: shelver, from: bench, to: shelf, swing: 1 s}]\n"
    "demands: [{name: orders, chest: shelf, item: clock, every: 4 s}]\n";

static double stuck_with(const char *words) {
    ck_assert_int_le(errand_run("soak few.yaml --json %s", words), 1);
    json_t *soak = errand_json("out");
    double stuck = errand_number(soak, "stuck", "estimate", NULL);
    json_decref(soak);
    return stuck;
}

START_TEST(runs_without_a_product_for_long_are_stuck) {
    errand_write("few.yaml", few);
    ck_assert_double_eq(stuck_with(""), 1);
    ck_assert_double_eq(stuck_with("--for 235s"), 0);
    ck_assert_double_eq(stuck_with("--for 245s"), 1);
    ck_assert_double_eq(stuck_with("--set chests.bin.start.spring=900"), 0);
    ck_assert_double_eq(stuck_with("--set demands.orders.until=5min"), 0);
    ck_assert_double_eq(stuck_with("--set 'incidents=[{at: 5 min, stop: orders}]'"), 0);
    ck_assert_double_eq(stuck_with("--set 'incidents=[{at: 5 min, stop: orders}, "
                                   "{at: 595 s, start: orders}]'"),
                        0);
    ck_assert_double_eq(stuck_with("--set arms.mover=null"), 1); /* never made, and asked for */
    ck_assert_double_eq(stuck_with("--set arms.mover=null --set demands=null"), 0);
    ck_assert_double_eq(stuck_with("--set demands.orders.outlet=true"), 0);
    /* made in the warm-up alone: the interval is that from the start to the last clock */
    ck_assert_double_eq(stuck_with("--set run.warm_up=300s"), 1);
    ck_assert_double_eq(stuck_with("--set run.warm_up=300s --for 235s"), 0);
    ck_assert_double_eq(stuck_with("--set run.warm_up=300s --for 250s"), 1);
    ck_assert_int_eq(errand_run("soak few.yaml"), 0); /* without --disturb it is only told */
    ck_assert(errand_says("out", "1 of 1 run is stuck at its end.\n"));
}
END_TEST

/* With swings that hardly differ the lane is full after about the same time in each run: least and
 * greatest are those of the rows. Five runs are needed to say so. Heaps that fall at random times
 * jam at random times. */
START_TEST(times_that_hardly_scatter_are_no_matter_of_chance) {
    errand_write("filling.yaml", filling);
    static const char words[] = "soak filling.yaml --json --out soaked "
                                "--set 'arms.feeder.swing={uniform: [1, 3]}'";
    ck_assert_int_eq(errand_run("%s --runs 6", words), 1);
    json_t *soak = errand_json("out");
    double least = INFINITY, greatest = 0;
    for (size_t row = 0; row < 6; row++) {
        double jam = atof(errand_field("soaked/runs.csv", row, "first_jam_s"));
        least = fmin(least, jam);
        greatest = fmax(greatest, jam);
    }
    ck_assert(json_is_null(json_object_get(soak, "first_jam")) && least < greatest);
    ck_assert_double_eq(errand_number(soak, "accumulates", "least_s", NULL), least);
    ck_assert_double_eq(errand_number(soak, "accumulates", "greatest_s", NULL), greatest);
    json_decref(soak);
    ck_assert_int_eq(errand_run("%s --runs 4", words), 1);
    soak = errand_json("out");
    ck_assert_ptr_null(json_object_get(soak, "accumulates"));
    ck_assert(errand_number(soak, "first_jam", "mean_s", NULL) > 0);
    json_decref(soak);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 10 --for 200h --until-jam --json"), 1);
    soak = errand_json("out");
    ck_assert_double_eq(errand_number(soak, "jam_probability", "estimate", NULL), 1);
    ck_assert_ptr_null(json_object_get(soak, "accumulates"));
    json_decref(soak);
}
END_TEST

/* ---- without chance ---- */

START_TEST(runs_without_chance_are_one) {
    errand_write("few.yaml", few);
    ck_assert_int_eq(errand_run("soak few.yaml --json"), 0);
    json_t *soak = errand_json("out");
    ck_assert_double_eq(errand_number(soak, "runs", NULL), 1);
    ck_assert_double_eq(errand_number(soak, "throughput", "clock", "mean", NULL), 5);
    ck_assert(isnan(errand_number(soak, "throughput", "clock", "low", NULL)));
    ck_assert(isnan(errand_number(soak, "jam_probability", "high", NULL)));
    ck_assert(isnan(errand_number(soak, "stuck", "high", NULL)));
    json_decref(soak);
    ck_assert_int_eq(errand_run("soak few.yaml --runs 7"), 0);
    ck_assert(errand_says("out", "Nothing in it is left to chance: all its runs are the same.\n"));
    ck_assert(errand_says("out", "It holds: no jam in 7 runs.\n"));
    ck_assert_int_eq(
        errand_run("soak few.yaml --json --set 'demands.orders.every={exponential: 4 s}'"), 0);
    soak = errand_json("out");
    ck_assert_double_eq(errand_number(soak, "runs", NULL), 100);
    ck_assert_double_eq_tol(errand_number(soak, "jam_probability", "high", NULL), 0.0362, 5e-5);
    json_decref(soak);
}
END_TEST

/* ---- two variants ---- */

START_TEST(scenario_against_itself_makes_no_difference) {
    ck_assert_int_eq(
        errand_run("soak clocks.yaml --against clocks.yaml --runs 12 --json --out both"), 0);
    json_t *soak = errand_json("out");
    ck_assert_double_eq(errand_number(soak, "against", "difference", "jams", "mean", NULL), 0);
    ck_assert_double_eq(errand_number(soak, "against", "difference", "wip", "low", NULL), 0);
    ck_assert_double_eq(
        errand_number(soak, "against", "difference", "throughput", "clock", "high", NULL), 0);
    json_decref(soak);
}
END_TEST

/* A bench that takes ten seconds makes six clocks a minute and no more, while one of four seconds
 * on average makes as many as are ordered, twelve. */
START_TEST(slow_bench_makes_fewer_by_the_same_draws) {
    char *text = story_text("clocks.yaml");
    char *time = strstr(text, "{uniform: [3, 5]}");
    ck_assert_ptr_nonnull(time);
    memcpy(time, "10               ", strlen("{uniform: [3, 5]}"));
    errand_write("slow.yaml", text);
    free(text);
    ck_assert_int_eq(errand_run("soak clocks.yaml --against slow.yaml --runs 10 --json"), 0);
    ck_assert_int_eq(rename("out", "first"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --against-set stations.bench.time=10 "
                                "--runs 10 --json"),
                     0);
    ck_assert(errand_same("first", "out"));
    json_t *soak = errand_json("out");
    ck_assert_double_eq_tol(errand_number(soak, "against", "throughput", "clock", "mean", NULL), 6,
                            0.05);
    double low = errand_number(soak, "against", "difference", "throughput", "clock", "low", NULL);
    double high = errand_number(soak, "against", "difference", "throughput", "clock", "high", NULL);
    ck_assert(low > -6.8 && high < -5.2 && low < high);
    json_decref(soak);
    ck_assert_int_eq(errand_run("soak clocks.yaml --against slow.yaml --runs 2 "
                                "--set run.for=1h --for 1h"),
                     0);
}
END_TEST

START_TEST(comparison_names_the_files_and_ends_with_a_verdict) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 10 --set incidents=[] "
                                "--against-set stations.bench.time=10 "
                                "--against-set chests.tray.capacity=18"),
                     0);
    ck_assert(errand_says("out", "clocks.yaml\n10 runs with seeds from 5 on"));
    ck_assert(errand_says("out", "\nclocks.yaml with stations.bench.time=10, "
                                 "chests.tray.capacity=18\n10 runs"));
    ck_assert(errand_says("out", "clocks.yaml with stations.bench.time=10, chests.tray.capacity=18 "
                                 "makes 6.05 clock a minute less (sure to 95 %: 5.88 to 6.22); "
                                 "neither jams.\n"));
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 10 --against clocks.yaml"), 0);
    ck_assert(errand_says("out", "clocks.yaml makes no more and no less, as far as these runs can "
                                 "tell"));
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 40 --against-set chests.tray.capacity=9"),
                     0);
    ck_assert(errand_says("out", "; it jams more often.\n"));
}
END_TEST

/* ---- shards ---- */

START_TEST(shards_together_are_the_soak) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 40 --out whole"), 1);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 40 --plan night --shards 3"), 0);
    ck_assert_int_eq(errand_run("soak --from night --shard 0"), 0);
    ck_assert_int_eq(errand_run("merge night"), 4);
    ck_assert(errand_says("err", "shard 1 (night/shard-1) is not done yet\n"
                                 "    run: loopwright soak --from night --shard 1\n"));
    ck_assert(errand_says("err", "loopwright soak --from night --shard 2\n"));
    ck_assert(errand_says("err", "sbatch --array=1,2 "));
    ck_assert(!errand_exists("night/runs.csv") && !errand_exists("night/soak.json"));
    ck_assert_int_eq(errand_run_after("export SLURM_ARRAY_TASK_COUNT=2 SLURM_ARRAY_TASK_ID=1;",
                                      "soak --from night --jobs 1"),
                     0);
    ck_assert_int_eq(errand_run("soak --from night --shard 2"), 0);
    ck_assert_int_eq(errand_run("merge night --out merged"), 1);
    ck_assert(errand_same("whole/runs.csv", "merged/runs.csv"));
    ck_assert(errand_same("whole/soak.json", "merged/soak.json"));
    ck_assert_int_eq(errand_run("merge night --json"), 1);
    ck_assert(errand_same("night/runs.csv", "whole/runs.csv"));
    ck_assert(errand_same("night/soak.json", "whole/soak.json") &&
              errand_same("out", "whole/soak.json"));
}
END_TEST

START_TEST(shard_that_is_killed_goes_on_by_itself) {
    uint64_t dice = 3;
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 60 --for 4h --out whole"), 1);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 60 --for 4h --plan night --shards 2"), 0);
    int kills = 0;
    for (int shard = 0; shard < 2; shard++) {
        char journal[64];
        snprintf(journal, sizeof journal, "night/.shard-%d.unfinished/soak.journal", shard);
        for (int status = 1; status != 0; kills += status != 0)
            status = kill_on_its_way(errand_start("soak --from night --shard %d --jobs 1", shard),
                                     journal, &dice);
    }
    ck_assert_int_gt(kills, 0);
    ck_assert_int_eq(errand_run("merge night"), 1);
    ck_assert(errand_same("night/runs.csv", "whole/runs.csv"));
    ck_assert(errand_same("night/soak.json", "whole/soak.json"));
}
END_TEST

/* A shard that was done and has lost a file makes that again when it is run again. */
START_TEST(shard_that_lost_a_file_is_mended_as_told) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 40 --plan night --shards 2"), 0);
    ck_assert_int_eq(errand_run("soak --from night --shard 0"), 0);
    ck_assert_int_eq(errand_run("soak --from night --shard 1"), 0);
    ck_assert_int_eq(system("cp -r night/shard-1 first; rm night/shard-1/jam-*.capsule"), 0);
    ck_assert_int_eq(errand_run("merge night"), 4);
    ck_assert(errand_says("err", "to make it again: loopwright soak --from night --shard 1\n"));
    ck_assert_int_eq(errand_run("soak --from night --shard 1"), 0);
    ck_assert(errand_same_directory("first", "night/shard-1"));
    ck_assert_int_eq(errand_run("merge night"), 1);
}
END_TEST

/* Puts a fifo, to which nobody writes, in the place of a file; the command refuses it, and does not
 * wait. */
static void refuse_fifo(const char *file, const char *command) {
    char shell[200];
    snprintf(shell, sizeof shell, "mv %s kept && mkfifo %s", file, file);
    ck_assert_int_eq(system(shell), 0);
    /* what follows is "exec" and the program, of which the shell of timeout takes the latter */
    int status = errand_run_after("timeout 20 sh -c '\"$@\"'", "%s", command);
    ck_assert_msg(status == 4, "%s: %d", command, status);
    snprintf(shell, sizeof shell, "mv kept %s", file);
    ck_assert_int_eq(system(shell), 0);
}

START_TEST(fifo_in_the_place_of_a_file_is_not_waited_for) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 4 --for 10min --plan night --shards 2"),
                     0);
    refuse_fifo("night/plan.json", "soak --from night --shard 0");
    ck_assert_int_eq(errand_run("soak --from night --shard 0"), 0);
    ck_assert_int_eq(errand_run("soak --from night --shard 1"), 0);
    refuse_fifo("night/plan.json", "merge night");
    refuse_fifo("night/shard-0/soak.results", "merge night");
    ck_assert_int_eq(errand_run("merge night"), 0);
    refuse_fifo("night/runs.csv", "report night --out page.html");
    refuse_fifo("night/soak.json", "report night --out page.html");
    refuse_fifo("night/scenario.yaml", "report night --out page.html");
}
END_TEST

START_TEST(damaged_shard_or_plan_is_refused) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 10 --plan night --shards 1"), 0);
    ck_assert_int_eq(errand_run("soak --from night --shard 0"), 0);
    damage("night/shard-0/soak.results");
    ck_assert_int_eq(errand_run("merge night"), 4);
    ck_assert(errand_says("err", "is damaged\n    move night/shard-0 away, then run: "));
    ck_assert(!errand_exists("night/runs.csv"));
    ck_assert_int_eq(errand_run("soak --from night --shard 0"), 4);
    ck_assert(errand_says("err", "night/shard-0/soak.results: is damaged"));
    damage("night/plan.json");
    ck_assert_int_eq(errand_run("soak --from night --shard 0"), 4);
    ck_assert(errand_says("err", "night/plan.json: error: is damaged"));
}
END_TEST

/* What a kill leaves of a plan is hidden, and in nobody's way. */
START_TEST(plan_can_be_repeated_after_a_kill) {
    ck_assert_int_eq(system("mkdir .night.unfinished && touch .night.unfinished/scenario.yaml "
                            ".night.lock"),
                     0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --plan night --shards 2"), 0);
    ck_assert(errand_exists("night/plan.json") && errand_exists("night/scenario.yaml"));
    ck_assert(!errand_exists(".night.unfinished") && !errand_exists(".night.lock"));
    ck_assert_int_eq(system("touch .night.lock"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --plan night --shards 2"), 0);
    ck_assert(!errand_exists(".night.lock"));
}
END_TEST

START_TEST(plan_is_not_written_over_something_else) {
    ck_assert_int_eq(system("mkdir other && touch other/thing"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --plan other --shards 2"), 4);
    ck_assert_int_eq(errand_run("soak clocks.yaml --plan night --shards 2"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --plan night --shards 2"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --plan night --shards 4"), 4);
    ck_assert_int_eq(errand_run("soak --from nowhere --shard 0"), 4);
    ck_assert_int_eq(errand_run("merge nowhere"), 4);
    ck_assert(errand_says("err", "nowhere/plan.json") && !errand_says("err", "loopwright soak:"));
    ck_assert_int_eq(errand_run("soak --from night --shard 2"), 2);
    ck_assert_int_eq(errand_run("soak --from night"), 2);
}
END_TEST

/* A soak is many runs: its scenario alone, with one seed, would tell nothing of what it found. */
START_TEST(directory_of_a_soak_is_no_run) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 2 --for 10min --out night --quiet"), 0);
    ck_assert_int_eq(errand_run("cause night"), 4);
    ck_assert(errand_says("err", "is the directory of a soak, not of a run"));
    ck_assert_int_eq(errand_run("replay night"), 4);
    ck_assert(errand_says("err", "is the directory of a soak, not of a run"));
}
END_TEST

/* Whether with files or without: what failed is named, and how to see why. */
START_TEST(failed_expectation_is_told_with_a_way_to_it) {
    static const char words[] = "soak clocks.yaml --runs 2 --for 10min --set incidents=[] --set "
                                "'expect={rest: true, made: {clock: {at_least: 150}}}'";
    ck_assert_int_eq(errand_run("%s", words), 1);
    ck_assert(errand_says("out", "It does not come out as expected. There is no jam in 2 runs"));
    ck_assert(errand_says("out", "    rest: not in 2 of 2 runs\n"
                                 "    made.clock at least 150: not in 2 of 2 runs\n"));
    ck_assert(errand_says("out",
                          "To see why: loopwright run clocks.yaml --set 'incidents=[]' --set "
                          "'expect={rest: true, made: {clock: {at_least: 150}}}' --for "
                          "10min --seed 5 --out run-5; loopwright cause run-5\n"));
    ck_assert_int_eq(errand_run("%s --out soaked", words), 1);
    ck_assert(errand_says("out", "    rest: not in 2 of 2 runs\n"));
    ck_assert(errand_says("out", "To see why: loopwright run soaked/scenario.yaml --seed 5 --out "
                                 "run-5; loopwright cause run-5\n"));
    ck_assert_int_eq(errand_run("run soaked/scenario.yaml --seed 5 --out run-5 --quiet"), 1);
    ck_assert_int_eq(errand_run("cause run-5"), 0);
}
END_TEST

/* A jam counts for the status whatever was expected; the words say that it was. */
START_TEST(expected_jam_is_told_as_expected) {
    errand_write("filling.yaml", filling);
    ck_assert_int_eq(errand_run("soak filling.yaml --set 'expect={jam: true}'"), 1);
    ck_assert(errand_says("out", "As expected: a jam in 1 of 1 run.\n"));
}
END_TEST

/* ---- room ---- */

/* What a run needs does not grow with its length. */
START_TEST(memory_does_not_hang_on_simulated_time) {
    if (SANITIZED)
        return; /* sanitizers keep what was freed */
    ck_assert_int_ge(errand_run("soak clocks.yaml --runs 1 --for 10h --set incidents=[]"), 0);
    long before = errand_memory_kib();
    ck_assert_int_ge(errand_run("soak clocks.yaml --runs 1 --for 1000h --set incidents=[]"), 0);
    ck_assert_int_lt(errand_memory_kib() - before, 1024);
}
END_TEST

/* ---- the command line ---- */

/* Of 100 000 days the tables take more than any disk has at hand; of an hour they do not. */
START_TEST(lack_of_space_is_warned_of_before) {
    /* no file may grow long, so that it ends soon in any case */
    ck_assert_int_eq(errand_run_after("ulimit -f 256;", "run clocks.yaml --for 100000d --out big"),
                     4);
    ck_assert(errand_says("err", "loopwright: warning: big: the files will take about "));
    ck_assert_int_ge(errand_run("run clocks.yaml --for 1h --out small"), 0);
    ck_assert(!errand_says("err", "small"));
}
END_TEST

START_TEST(idle_hours_are_warned_of) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 2 --set chests.tray.capacity=60 "
                                "--set demands.orders.until=30min"),
                     0);
    ck_assert(errand_says("err", "all demands end by 0:30:00, but a run goes on to 2:00:00"));
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 2 --set chests.tray.capacity=60 "
                                "--set demands.orders.until=2h"),
                     0);
    ck_assert(!errand_says("err", "all demands end"));
}
END_TEST

static const char *const wrong_line[] = {
    "soak",
    "soak clocks.yaml --runs 0",
    "soak clocks.yaml --runs 500001",
    "soak clocks.yaml --runs 2 --resume",
    "soak clocks.yaml --plan p",
    "soak clocks.yaml --shards 2",
    "soak clocks.yaml --shard 1",
    "soak clocks.yaml --from night --shard 1",
    "soak --from night --runs 3",
    "soak clocks.yaml --plan p --shards 2 --out o",
    "soak clocks.yaml --runs 4 --plan p --shards 5",
    "soak clocks.yaml --against a.yaml --against-set chests.tray.capacity=9",
    "soak --from night --against-set chests.tray.capacity=9",
    "soak clocks.yaml --jobs 0",
    "soak clocks.yaml --for never",
    "merge",
    "merge a b"};

START_TEST(wrong_command_line_is_told) {
    ck_assert_int_eq(errand_run("%s", wrong_line[_i]), 2);
    ck_assert(!errand_says("err", "bug"));
    ck_assert(errand_says("err", "loopwright "));
}
END_TEST

START_TEST(cap_on_runs_is_told) {
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 1000000"), 2);
    ck_assert(errand_says("err", "500000"));
}
END_TEST

START_TEST(wrong_scenario_ends_it) {
    ck_assert_int_eq(errand_run("soak nowhere.yaml"), 4);
    ck_assert_int_eq(errand_run("soak clocks.yaml --set chests.tray.capacity=-1"), 3);
    ck_assert_int_eq(errand_run("soak clocks.yaml --against nowhere.yaml"), 4);
    ck_assert_int_eq(system("mkdir other && touch other/thing"), 0);
    ck_assert_int_eq(errand_run("soak clocks.yaml --runs 2 --out other"), 4);
}
END_TEST

static void add_tests(TCase *tests) {
    enum { WRONG_LINES = sizeof wrong_line / sizeof *wrong_line };
    tcase_add_checked_fixture(tests, begin, errand_end);
    tcase_add_test(tests, jobs_do_not_matter);
    tcase_add_test(tests, kill_at_any_moment_loses_nothing);
    tcase_add_test(tests, signal_ends_it_and_says_how_to_go_on);
    tcase_add_test(tests, full_disk_ends_it_and_it_goes_on_when_there_is_room);
    tcase_add_test(tests, what_is_done_is_only_told_again);
    tcase_add_test(tests, unfinished_soak_is_not_begun_anew);
    tcase_add_test(tests, damaged_journal_is_refused);
    tcase_add_test(tests, soak_of_which_nothing_was_done_is_begun);
    tcase_add_test(tests, finished_soak_of_another_command_line_is_kept);
    tcase_add_test(tests, damaged_results_are_refused);
    tcase_add_test(tests, damaged_tables_are_refused_by_a_report);
    tcase_add_test(tests, what_was_kept_of_jams_is_made_anew);
    tcase_add_test(tests, leftovers_of_a_finished_soak_are_cleared);
    tcase_add_test(tests, each_row_is_what_run_gives);
    tcase_add_test(tests, until_jam_ends_a_run_with_its_first_jam);
    tcase_add_test(tests, statistics_are_those_of_the_rows);
    tcase_add_test(tests, item_that_comes_round_for_ever_is_one_at_work);
    tcase_add_test(tests, items_at_work_are_those_worked_out_by_hand);
    tcase_add_test(tests, one_long_run_has_intervals);
    tcase_add_test(tests, capsule_of_a_jam_leads_to_that_jam);
    tcase_add_test(tests, disturbances_depend_on_the_seed_alone);
    tcase_add_test(tests, disturbances_are_over_long_before_the_end);
    tcase_add_test(tests, disturbed_runs_hold_that_are_not_stuck);
    tcase_add_test(tests, jams_that_end_are_those_worked_out_by_hand);
    tcase_add_test(tests, runs_without_a_product_for_long_are_stuck);
    tcase_add_test(tests, times_that_hardly_scatter_are_no_matter_of_chance);
    tcase_add_test(tests, runs_without_chance_are_one);
    tcase_add_test(tests, scenario_against_itself_makes_no_difference);
    tcase_add_test(tests, slow_bench_makes_fewer_by_the_same_draws);
    tcase_add_test(tests, comparison_names_the_files_and_ends_with_a_verdict);
    tcase_add_test(tests, shards_together_are_the_soak);
    tcase_add_test(tests, shard_that_is_killed_goes_on_by_itself);
    tcase_add_test(tests, shard_that_lost_a_file_is_mended_as_told);
    tcase_add_test(tests, fifo_in_the_place_of_a_file_is_not_waited_for);
    tcase_add_test(tests, damaged_shard_or_plan_is_refused);
    tcase_add_test(tests, plan_can_be_repeated_after_a_kill);
    tcase_add_test(tests, plan_is_not_written_over_something_else);
    tcase_add_test(tests, directory_of_a_soak_is_no_run);
    tcase_add_test(tests, failed_expectation_is_told_with_a_way_to_it);
    tcase_add_test(tests, expected_jam_is_told_as_expected);
    tcase_add_test(tests, memory_does_not_hang_on_simulated_time);
    tcase_add_test(tests, lack_of_space_is_warned_of_before);
    tcase_add_test(tests, idle_hours_are_warned_of);
    tcase_add_loop_test(tests, wrong_command_line_is_told, 0, WRONG_LINES);
    tcase_add_test(tests, cap_on_runs_is_told);
    tcase_add_test(tests, wrong_scenario_ends_it);
}

int main(void) { return suite_main("soak", add_tests); }
