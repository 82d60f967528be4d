/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_drain.c - `loopwright drain` as its user meets it. */
#include <check.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/common/sanitized.h"
#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"

/* Worked out by hand, from the rules. The feeder picks every two seconds, puts down half a swing
 * later, and half a second later the taker lifts it off; another half second later it lies on the
 * shelf. Orders come every two seconds and are met at once, until they stop at 10 s. From then on
 * the shelf fills: the feeder still picks at 10, 12, 14, 16 and 18 s, when it sees 0 to 4 there.
 * The last one is put down at 19 s and lifted off at 19.5 s: the loop is empty. It is on the shelf
 * at 20 s, and the taker is back at 20.5 s: since then nothing moves. */
static const char by_hand[] =
    "run: {for: 1 min}\nitems: [spring]\nloops: [{name: ring, cells: 10, rate: 10}]\n"
    "chests: [{name: bin, start: {spring: 100}}, {name: shelf}]\narms:\n"
    "  - {name: feeder, from: bin, to: ring@0, swing: 2 s, gate: {chest: shelf, below: 5}}\n"
    "  - {name: taker, from: ring@5, to: shelf, swing: 1 s}\n"
    "demands: [{name: orders, chest: shelf, item: spring, every: 2 s}]\n";

/* Springs go round, since nobody takes them; combs go to a tray for two. */
static const char stuck[] =
    "run: {for: 1 min}\nitems: [spring, comb, plate]\n"
    "loops: [{name: ring, cells: 10, rate: 10, lanes: [outer, inner]}]\n"
    "chests: [{name: bin, start: {comb: 9}}, {name: tray, capacity: 2}]\narms:\n"
    "  - {name: comb-feeder, from: bin, to: ring/outer@0, items: [comb], swing: 1 s}\n"
    "  - {name: comb-taker, from: ring/outer@5, to: tray, items: [comb], swing: 1 s}\n"
    "  - {name: plate-taker, from: ring/inner@5, to: tray, items: [plate], swing: 1 s,\n"
    "     gate: {chest: tray, item: comb, below: 1}}\n"
    "incidents:\n"
    "  - {at: 1 s, drop: {item: spring, count: 3, lane: ring/outer}}\n"
    "  - {at: 40 s, drop: {item: plate, count: 1, lane: ring/inner}}\n"
    "demands: [{name: orders, chest: tray, item: plate, every: 2 s}]\n";

/* A bench makes a clock in four seconds, as long as fewer than eight are on the shelf; one is
 * ordered every five. */
static const char bench[] =
    "run: {for: 10 min, warm_up: 1 min}\nitems: [spring, clock]\n"
    "loops: [{name: ring, cells: 30, rate: 6}]\n"
    "chests: [{name: bin, start: {spring: 900}}, {name: tray, capacity: 80},\n"
    "  {name: shelf, capacity: 9}]\n"
    "stations: [{name: bench, takes: {spring: 1}, makes: {clock: 1}, time: 4 s}]\narms:\n"
    "  - {name: feeder, from: bin, to: ring@2, items: [spring], swing: 1 s,\n"
    "     gate: {chest: tray, below: 6}}\n"
    "  - {name: taker, from: ring@15, to: tray, items: [spring], swing: 0.4 s}\n"
    "  - {name: mover, from: tray, to: bench, swing: 0.6 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 0.8 s}\n"
    "demands: [{name: orders, chest: shelf, item: clock, every: 5 s}]\n";

/* Nothing holds the screws back: when the orders end they fill the ring. A gate for them leaves the
 * arm-rods that were on their way to two benches that want no more. */
static const char orreries[] =
    "run: {for: 30 min, warm_up: 5 min}\nitems: [arm-rod, screw, orrery, motor]\n"
    "loops: [{name: ring, cells: 60, rate: 2}]\nchests:\n"
    "  - {name: store, limits: {arm-rod: 100, screw: 300}, start: {arm-rod: 60, screw: 200}}\n"
    "  - {name: shelf, capacity: 8}\n  - {name: motor-shelf, capacity: 10}\nstations:\n"
    "  - {name: orrery-bench, takes: {arm-rod: 1, screw: 4}, makes: {orrery: 1}, time: 6 s,\n"
    "     ahead: 4}\n"
    "  - {name: motor-bench, takes: {screw: 2, arm-rod: 1}, makes: {motor: 1}, time: 5 s,\n"
    "     ahead: 4}\n"
    "arms:\n"
    "  - {name: rod-feeder, from: store, to: ring@1, items: [arm-rod], swing: 3 s,\n"
    "     gate: {any: [{station: orrery-bench, input: arm-rod, below: 2},\n"
    "       {station: motor-bench, input: arm-rod, below: 2}]}}\n"
    "  - {name: screw-feeder, from: store, to: ring@7, items: [screw], hand: 2, swing: 1.8 s}\n"
    "  - {name: orrery-taker, from: ring@30, to: orrery-bench, swing: 0.7 s}\n"
    "  - {name: motor-taker, from: ring@35, to: motor-bench, swing: 0.7 s}\n"
    "  - {name: orrery-shelver, from: orrery-bench, to: shelf, swing: 1 s}\n"
    "  - {name: motor-shelver, from: motor-bench, to: motor-shelf, swing: 1 s}\n"
    "supplies:\n"
    "  - {name: rods, chest: store, item: arm-rod, every: 1 min, batch: 14}\n"
    "  - {name: screws, chest: store, item: screw, every: 1 min, batch: 60}\n"
    "demands:\n"
    "  - {name: orreries, chest: shelf, item: orrery, every: 12 s}\n"
    "  - {name: motors, chest: motor-shelf, item: motor, every: 15 s}\n";

static void begin(void) {
    errand_begin();
    errand_write("hand.yaml", by_hand);
    errand_write("stuck.yaml", stuck);
    errand_write("bench.yaml", bench);
}

/* ---- the end of a drain ---- */

START_TEST(drain_is_the_one_worked_out_by_hand) {
    ck_assert_int_eq(errand_run("drain hand.yaml --after 10s --json"), 0);
    json_t *drain = errand_json("out");
    json_t *wanted = json_loads("{\"drained\": true, \"stopped_s\": 10, \"emptied_s\": 19.5, "
                                "\"rest_s\": 20.5, \"left\": [], \"restarted\": null, "
                                "\"restart_s\": null}",
                                0, NULL);
    ck_assert_ptr_nonnull(wanted);
    ck_assert(json_equal(drain, wanted));
    json_decref(drain);
    json_decref(wanted);
}
END_TEST

START_TEST(verdict_is_told_in_words) {
    ck_assert_int_eq(errand_run("drain hand.yaml --after 10s"), 0);
    ck_assert(errand_says("out",
                          "Drained: the demands stop at 0:00:10, and every loop is empty from "
                          "0:00:19.5 on, 0:00:09.5 later."));
    ck_assert_int_eq(errand_run("drain hand.yaml --after 10s --quiet"), 0);
    ck_assert(errand_same("out", "/dev/null"));
}
END_TEST

/* Ten minutes after the warm-up, if nothing is said. */
START_TEST(stop_comes_ten_minutes_after_the_warm_up) {
    ck_assert_int_eq(errand_run("drain hand.yaml --set run.warm_up=30s --json"), 0);
    json_t *drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "stopped_s", NULL), 630);
    json_decref(drain);
}
END_TEST

#define SUPPLY "--set 'supplies.springs={chest: bin, item: spring, every: 5 s}'"

/* A supply that is still to come means that this is not the end; then a loop counts as drained that
 * has been empty since half of the time that it had. */
START_TEST(supply_to_come_is_waited_for) {
    ck_assert_int_eq(errand_run("drain hand.yaml --after 10s --within 60s --json " SUPPLY), 0);
    json_t *drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "emptied_s", NULL), 19.5);
    json_decref(drain);
    ck_assert_int_eq(errand_run("drain hand.yaml --after 10s --within 15s --json " SUPPLY), 1);
    drain = errand_json("out");
    ck_assert(errand_number(drain, "drained", NULL) == 0);
    ck_assert(isnan(errand_number(drain, "emptied_s", NULL)));
    json_decref(drain);
    ck_assert_int_eq(
        errand_run("drain hand.yaml --after 10s --within 15s --supplies-too --json " SUPPLY), 0);
    drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "rest_s", NULL), 20.5);
    json_decref(drain);
}
END_TEST

/* The taker breaks at 19 s, when the last spring is under way, and is repaired a minute later. The
 * spring goes round till then: at 79 s it has been on the loop for 60 s, that is, 60 revolutions,
 * so that it stands where it stood at 19 s, at cell 0, and reaches cell 5 half a second later. */
START_TEST(repair_to_come_is_waited_for) {
    ck_assert_int_eq(errand_run("drain hand.yaml --after 10s --json --set "
                                "'arms.taker.breaks={after: 19 s, repair: 60 s}'"),
                     0);
    json_t *drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "emptied_s", NULL), 79.5);
    json_decref(drain);
}
END_TEST

/* ---- what is left ---- */

static void check_left(const json_t *left, size_t number, const char *place, const char *item,
                       int count, const char *why) {
    const json_t *entry = json_array_get(left, number);
    ck_assert_str_eq(json_string_value(json_object_get(entry, "place")), place);
    ck_assert_str_eq(json_string_value(json_object_get(entry, "item")), item);
    ck_assert_int_eq(json_integer_value(json_object_get(entry, "count")), count);
    ck_assert_str_eq(json_string_value(json_object_get(entry, "why")), why);
}

/* Of nine combs two are in the tray; the other seven and the three springs fill the lane. */
START_TEST(what_is_left_is_told_with_the_reason) {
    ck_assert_int_eq(errand_run("drain stuck.yaml --after 50s --json"), 1);
    json_t *drain = errand_json("out");
    const json_t *left = json_object_get(drain, "left");
    ck_assert(errand_number(drain, "drained", NULL) == 0);
    ck_assert(isnan(errand_number(drain, "emptied_s", NULL)));
    ck_assert_uint_eq(json_array_size(left), 3);
    check_left(left, 0, "ring/outer", "spring", 3, "nothing takes it off ring/outer");
    check_left(left, 1, "ring/outer", "comb", 7, "comb-taker: tray is full (2 of 2)");
    check_left(left, 2, "ring/inner", "plate", 1,
               "plate-taker: its gate is shut until tray holds fewer than 1 comb");
    json_decref(drain);
}
END_TEST

/* Three combs more: one is in the hand, two stay in the bin. */
START_TEST(full_hand_is_left_too) {
    ck_assert_int_eq(errand_run("drain stuck.yaml --after 50s --json --set "
                                "'chests.bin.start={comb: 12}'"),
                     1);
    json_t *drain = errand_json("out");
    const json_t *left = json_object_get(drain, "left");
    check_left(left, 3, "comb-feeder", "comb", 1,
               "comb-feeder: it holds something and finds no free cell on ring/outer");
    json_decref(drain);
    ck_assert_int_eq(errand_run("drain stuck.yaml --after 50s"), 1);
    ck_assert(
        errand_says("out", "3 spring on ring/outer\n      nothing takes it off ring/outer\n"));
}
END_TEST

/* ---- neither rest nor deadlock ---- */

/* The shelf is full, then the line before it, and the mover waits with a plate: no rest, because of
 * that hand, and no deadlock, because no lane is jammed. A gate lets no more than six plates onto
 * the line and the ring, and one is in the hand. */
static const char waiting_hand[] =
    "run: {for: 30 min}\nitems: [plate]\nloops: [{name: ring, cells: 20, rate: 4}]\n"
    "lines: [{name: track, cells: 6, rate: 4}]\n"
    "chests: [{name: bin, start: {plate: 2000}}, {name: shelf, capacity: 4}]\narms:\n"
    "  - {name: feeder, from: bin, to: ring@0, swing: 2 s, gate: {line: track, below: 6}}\n"
    "  - {name: mover, from: ring@8, to: track@0, swing: 1 s}\n"
    "  - {name: shelver, from: track@5, to: shelf, swing: 1 s}\n"
    "demands: [{name: orders, chest: shelf, item: plate, every: 3 s}]\n";

/* It ends as soon as nothing can move any more, and the rest of the hour would change nothing. */
START_TEST(waiting_hand_ends_the_drain) {
    errand_write("waiting.yaml", waiting_hand);
    ck_assert_int_eq(errand_run("drain waiting.yaml --out drained"), 0);
    ck_assert(errand_says("out", "mover: it holds something and finds no free cell on track\n"
                                 "Nothing has moved since 0:10:0"));
    ck_assert(errand_says("out", ", and without help from outside nothing moves again.\n"));
    json_t *drain = errand_json("drained/drain.json");
    ck_assert(isnan(errand_number(drain, "rest_s", NULL)));
    json_t *summary = errand_json("drained/summary.json");
    ck_assert(errand_number(summary, "ticks", NULL) < 100 * 620);
    ck_assert_int_eq(errand_run("run drained/scenario.yaml --for 70min --out hour --quiet"), 0);
    json_t *hour = errand_json("hour/summary.json");
    ck_assert(json_equal(json_object_get(hour, "moves"), json_object_get(summary, "moves")));
    json_decref(drain);
    json_decref(summary);
    json_decref(hour);
}
END_TEST

/* What is still to come is waited for: an incident that may set something in motion, and a lane on
 * which a hand waits, until its jam is a deadlock, half a minute and more after the last move. */
START_TEST(standstill_with_more_to_come_is_no_end) {
    errand_write("waiting.yaml", waiting_hand);
    ck_assert_int_eq(
        errand_run("drain waiting.yaml --set 'incidents=[{at: 40 min, clear: {lane: track}}]'"), 1);
    ck_assert(errand_says("out", "every loop is empty from 0:40:"));
    ck_assert_int_eq(errand_run("drain waiting.yaml --set 'arms.feeder.gate.below=7'"), 1);
    ck_assert(errand_says("out", "It is a deadlock: without help from outside nothing moves"));
    ck_assert_int_ge(errand_run("drain waiting.yaml --set 'incidents=[{every: 25 min, clear: "
                                "{lane: ring}}]'"),
                     0);
    ck_assert(errand_says("out", "It has not come to rest by 1:10:00.\n"));
}
END_TEST

/* Emptied, but not by half of the time: the plate that is cleared at 40 min leaves the line before
 * the taker free, and the hand still waits. */
START_TEST(loop_that_is_empty_too_late_is_not_drained) {
    errand_write("waiting.yaml", waiting_hand);
    ck_assert_int_eq(
        errand_run("drain waiting.yaml --set 'incidents=[{at: 10 min, drop: {item: "
                   "plate, count: 3, lane: ring}}, {at: 50 min, clear: {lane: ring}}]'"),
        1);
    ck_assert(errand_says("out",
                          "Not drained: the demands stop at 0:10:00, and every loop is empty "
                          "from 0:50:00 on only"));
}
END_TEST

/* Two plates lie on the shelf and the others stand from cell 5 of the line down, so that a tag that
 * falls on it after them does not come to cell 4; and it has passed cell 0, at which nobody took it
 * off while the sweeper was stopped. */
START_TEST(row_that_stands_is_told) {
    errand_write("row.yaml",
                 "run: {for: 1 min}\nitems: [plate, tag]\n"
                 "loops: [{name: ring, cells: 20, rate: 4}]\n"
                 "lines: [{name: track, cells: 6, rate: 4}]\n"
                 "chests: [{name: bin, start: {plate: 9}}, {name: shelf, capacity: 2},\n"
                 "  {name: tray}]\narms:\n"
                 "  - {name: feeder, from: bin, to: track@0, items: [plate], swing: 1 s}\n"
                 "  - {name: shelver, from: track@5, to: shelf, swing: 1 s}\n"
                 "  - {name: sweeper, from: track@4, to: tray, items: [tag], swing: 1 s}\n"
                 "incidents: [{at: 1 s, stop: sweeper}, {at: 6 s, drop: {item: tag, count: 1, "
                 "lane: track}},\n  {at: 20 s, start: sweeper}]\n");
    errand_run("drain row.yaml");
    ck_assert(errand_says("out", "sweeper: the row does not move on to its cell, 4\n"));
    errand_run("drain row.yaml --set arms.sweeper.from=track@0");
    ck_assert(errand_says("out", "sweeper: what there is has passed its cell, 0\n"));
}
END_TEST

/* Without a product there is nothing by which to see a new start. */
START_TEST(restart_without_a_product_is_told) {
    errand_write("waiting.yaml", waiting_hand);
    ck_assert_int_eq(errand_run("drain waiting.yaml --restart"), 1);
    ck_assert(errand_says("out", "Whether it starts again cannot be seen: no product was made "));
}
END_TEST

/* ---- files ---- */

START_TEST(directory_holds_a_run_that_can_be_run_again) {
    ck_assert_int_eq(errand_run("drain stuck.yaml --after 50s --out drained --json"), 1);
    ck_assert(errand_same("out", "drained/drain.json"));
    ck_assert_int_ge(errand_run("run drained/scenario.yaml --out again --quiet"), 0);
    ck_assert_int_eq(remove("drained/drain.json"), 0);
    ck_assert(errand_same_directory("drained", "again"));
    ck_assert(errand_says("again/events.csv", "50.0,50.0,stop,orders,"));
}
END_TEST

START_TEST(directory_that_holds_something_else_is_refused) {
    ck_assert_int_eq(system("mkdir other && touch other/thing"), 0);
    ck_assert_int_eq(errand_run("drain hand.yaml --out other"), 4);
    ck_assert_int_eq(errand_run("drain hand.yaml --out fine --quiet"), 0);
    ck_assert_int_eq(errand_run("drain hand.yaml --out fine --after 20s --quiet"), 0);
    ck_assert(errand_says("fine/drain.json", "\"stopped_s\": 20"));
}
END_TEST

/* ---- many ---- */

/* Five stops, two minutes one from the other. */
START_TEST(stops_are_spread_over_ten_minutes) {
    ck_assert_int_eq(errand_run("drain bench.yaml --after 5min --runs 5 --json"), 0);
    json_t *drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "runs", NULL), 5);
    ck_assert_double_eq(errand_number(drain, "drained", NULL), 5);
    double number = errand_number(drain, "worst", "seed", NULL) - 1;
    ck_assert_double_eq(errand_number(drain, "worst", "stopped_s", NULL), 300 + 120 * number);
    json_decref(drain);
    ck_assert_int_eq(errand_run("drain bench.yaml --after 5min --runs 5 --json --jobs 1"), 0);
    ck_assert_int_eq(rename("out", "one"), 0);
    ck_assert_int_eq(errand_run("drain bench.yaml --after 5min --runs 5 --json --jobs 4"), 0);
    ck_assert(errand_same("one", "out"));
    ck_assert_int_eq(errand_run("drain stuck.yaml --runs 3 --json"), 1);
    drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "drained", NULL), 0);
    json_decref(drain);
}
END_TEST

/* ---- a new start ---- */

/* Batches that stations.csv had counted at a second. */
static double batches_at(double time_s) {
    char time[32];
    snprintf(time, sizeof time, "%.1f", time_s);
    for (size_t row = 0;; row++) {
        const char *found = errand_field("again/stations.csv", row, "time_s");
        ck_assert_str_ne(found, "");
        if (strcmp(found, time) == 0)
            return atof(errand_field("again/stations.csv", row, "batches"));
    }
}

/* One clock is made in five seconds, as ordered; so nine within 50 s. stations.csv counts them, to
 * the second in which it looks. */
START_TEST(restart_is_when_products_come_as_before) {
    ck_assert_int_eq(errand_run("drain bench.yaml --after 8min --restart --json --out again"), 0);
    json_t *drain = errand_json("out");
    ck_assert(errand_number(drain, "restarted", NULL) == 1);
    double took_s = errand_number(drain, "restart_s", NULL);
    ck_assert(took_s > 8 * 4 && took_s < 50);
    double rest_s = errand_number(drain, "rest_s", NULL);
    json_decref(drain);
    /* a rest is reported one revolution after it began, 5 s; then the start */
    double before = batches_at(floor(rest_s + 5)), until = batches_at(floor(rest_s + 5 + took_s));
    ck_assert(until - before >= 8 && until - before <= 9);
    ck_assert(errand_says("again/events.csv", ",start,orders,"));
    ck_assert_int_eq(errand_run("drain stuck.yaml --restart --within 5min --json"), 1);
    drain = errand_json("out");
    ck_assert(errand_number(drain, "restarted", NULL) == 0);
    ck_assert(isnan(errand_number(drain, "restart_s", NULL)));
    json_decref(drain);
}
END_TEST

/* ---- floods ---- */

/* Items of a kind ("": all) on the first lane at 0. */
static double on_ring(const char *directory, const char *item) {
    char path[128];
    snprintf(path, sizeof path, "%s/%s", directory,
             item[0] != '\0' ? "occupancy.csv" : "lanes.csv");
    for (size_t row = 0;; row++) {
        ck_assert_str_eq(errand_field(path, row, "time_s"), "0.0");
        if (item[0] == '\0' || strcmp(errand_field(path, row, "item"), item) == 0)
            return atof(errand_field(path, row, "count"));
    }
}

START_TEST(flood_is_as_large_as_was_asked_for) {
    ck_assert_int_eq(errand_run("drain bench.yaml --flood 0.5 --json --out half"), 0);
    json_t *drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "flood", "items", NULL), 15);
    ck_assert(errand_number(drain, "flood", "recovered", NULL) == 1);
    ck_assert_double_eq(errand_number(drain, "flood", "recovered_s", NULL), 0);
    ck_assert(isnan(errand_number(drain, "flood", "greatest", NULL)));
    json_decref(drain);
    ck_assert(on_ring("half", "spring") >= 14); /* one may stand before the taker, who takes it */
    ck_assert(on_ring("half", "") <= 15);
    ck_assert_int_eq(errand_run("drain bench.yaml --flood spring=7 --out seven --quiet"), 0);
    ck_assert(on_ring("seven", "") >= 6 && on_ring("seven", "") <= 7);
    ck_assert_int_eq(errand_run("drain bench.yaml --flood spring=99 --out full --json"), 0);
    ck_assert_double_eq(on_ring("full", ""), 29);
    drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "flood", "items", NULL), 30);
    ck_assert(errand_number(drain, "flood", "recovered_s", NULL) > 0);
    json_decref(drain);
    ck_assert_int_eq(errand_run("drain bench.yaml --flood 0.5 --seed 2 --out other --quiet"), 0);
    ck_assert(!errand_same("half/scenario.yaml", "other/scenario.yaml"));
}
END_TEST

/* Long parts and two lanes: a share is of the cells of each lane. Of 30 cells, 24 are 0.8; parts of
 * two cells and of one fill them but for one at most, and one may be taken at once. */
START_TEST(flood_of_long_parts_keeps_to_its_share) {
    errand_write("long.yaml",
                 "run: {for: 1 min}\nitems: {plate: {length: 2}, spring: {}}\n"
                 "loops: [{name: ring, cells: 30, rate: 6, lanes: [outer, inner]}]\n"
                 "chests: [{name: bin, start: {plate: 9, spring: 9}}, {name: tray}]\narms:\n"
                 "  - {name: outer-feeder, from: bin, to: ring/outer@0, swing: 1 s}\n"
                 "  - {name: outer-taker, from: ring/outer@9, to: tray, swing: 0.3 s}\n"
                 "  - {name: inner-feeder, from: bin, to: ring/inner@0, swing: 1 s}\n"
                 "  - {name: inner-taker, from: ring/inner@9, to: tray, swing: 0.3 s}\n");
    ck_assert_int_eq(errand_run("drain long.yaml --flood 0.8 --out run --quiet"), 0);
    for (size_t lane = 0; lane < 2; lane++) {
        double cells = atof(errand_field("run/lanes.csv", lane, "cells"));
        ck_assert(cells >= 21 && cells <= 24);
    }
}
END_TEST

/* Combs ride on the outer lane, springs on the inner one. */
static const char lanes[] =
    "run: {for: 1 min}\nitems: [spring, comb]\n"
    "loops: [{name: ring, cells: 40, rate: 8, lanes: [outer, inner]}]\n"
    "chests: [{name: bin, start: {spring: 9, comb: 9}}, {name: tray, capacity: 60}]\narms:\n"
    "  - {name: comb-feeder, from: bin, to: ring/outer@0, items: [comb], swing: 60 s}\n"
    "  - {name: comb-taker, from: ring/outer@9, to: tray, items: [comb], swing: 0.3 s}\n"
    "  - {name: spring-feeder, from: bin, to: ring/inner@0, items: [spring], swing: 60 s}\n"
    "  - {name: spring-taker, from: ring/inner@9, to: tray, items: [spring], swing: 0.3 s}\n"
    "demands: [{name: orders, chest: tray, item: comb, every: 1 min}]\n";

/* The drop of one run of neighbours stands in the scenario that was run. */
static bool falls(const char *heap, const char *item, const char *lane) {
    char words[128];
    ck_assert_int_le(errand_run("drain lanes.yaml --flood %s --out run --quiet", heap), 1);
    char *text = story_text("run/scenario.yaml");
    snprintf(words, sizeof words, "lane: %s", lane);
    bool found = false;
    for (const char *at = text; (at = strstr(at, "drop: {item: ")) != NULL;) {
        at += strlen("drop: {item: ");
        size_t line = strcspn(at, "\n");
        const char *there = strstr(at, words);
        found =
            found || (strncmp(at, item, strlen(item)) == 0 && there != NULL && there < at + line);
    }
    free(text);
    return found;
}

START_TEST(heap_falls_only_where_it_can_lie) {
    errand_write("lanes.yaml", lanes);
    ck_assert(falls("spring=9", "spring", "ring/inner"));
    ck_assert(!falls("spring=9", "spring", "ring/outer"));
    ck_assert(falls("0.5", "comb", "ring/outer") && falls("0.5", "spring", "ring/inner"));
    ck_assert(!falls("0.5", "comb", "ring/inner") && !falls("0.5", "spring", "ring/outer"));
    ck_assert(falls("ring/outer:0.5", "comb", "ring/outer"));
    ck_assert(!falls("ring/outer:0.5", "spring", "ring/inner"));
    ck_assert(falls("ring/outer:spring=9", "spring", "ring/outer"));
    ck_assert(!falls("ring/outer:spring=9", "spring", "ring/inner"));
    ck_assert_int_eq(errand_run("drain lanes.yaml --flood ring:0.5"), 2); /* which lane? */
    ck_assert_int_eq(errand_run("drain hand.yaml --flood ring:0.5 --quiet"), 0);
    ck_assert_int_eq(errand_run("drain bench.yaml --flood clock=3"), 2);
    ck_assert(errand_says("err", "no arm brings this item onto a lane"));
}
END_TEST

/* The flooded lane alone has to recover: a full outer lane that nobody clears any more matters to a
 * heap on it, not to one on the inner lane. The tray has room for all. */
START_TEST(only_flooded_lanes_have_to_recover) {
    static const char full[] = "--set 'incidents=[{at: 0, drop: {item: comb, count: 40, lane: "
                               "ring/outer}}]' --set arms.comb-taker=null";
    errand_write("lanes.yaml", lanes);
    errand_run("drain lanes.yaml --flood ring/inner:0.8 --json %s", full);
    json_t *drain = errand_json("out");
    ck_assert_double_eq(errand_number(drain, "flood", "items", NULL), 32);
    ck_assert_double_eq(errand_number(drain, "flood", "recovered_s", NULL), 0);
    json_decref(drain);
    errand_run("drain lanes.yaml --flood 0.8 --json %s", full);
    drain = errand_json("out");
    ck_assert(isnan(errand_number(drain, "flood", "recovered_s", NULL)));
    json_decref(drain);
}
END_TEST

/* Springs on the outer lane go round for ever, but they do not congest it; a tray of 60 takes what
 * the lanes hold. */
START_TEST(what_a_heap_comes_to_is_told_as_it_is) {
    errand_write("lanes.yaml", lanes);
    ck_assert_int_eq(errand_run("drain lanes.yaml --flood ring/outer:spring=9"), 1);
    ck_assert(errand_says("out", "it does the one and not the other"));
    ck_assert(errand_says("out", "Why, step by step: loopwright drain lanes.yaml --flood "
                                 "ring/outer:spring=9 --out drained; loopwright cause drained\n"));
    ck_assert_int_ge(errand_run("drain lanes.yaml --flood spring=1 --flood-until-it-fails"), 0);
    ck_assert(errand_says("out", "With all 20 seeds it recovers from every heap up to the full "
                                 "lanes, 40 items."));
    ck_assert(!errand_says("out", "half of them"));
    ck_assert_int_ge(errand_run("drain lanes.yaml --flood spring=1 --flood-until-it-fails "
                                "--set arms.spring-taker=null"),
                     0);
    ck_assert(errand_says("out", "All 20 seeds recover from heaps of up to "));
    ck_assert(errand_says("out", "half of them from up to "));
}
END_TEST

/* What `cause` says that a remedy leaves is what `drain` finds with it. */
START_TEST(what_a_remedy_would_still_leave_is_told) {
    static const char gate[] =
        "'arms.screw-feeder.gate={station: motor-bench, input: screw, below: 2}'";
    errand_write("orreries.yaml", orreries);
    ck_assert_int_eq(errand_run("drain orreries.yaml --restart --out drained"), 1);
    ck_assert(errand_says("out", "It is a deadlock: without help from outside nothing moves"));
    ck_assert(errand_says("out", "Started again, which is such help, "));
    ck_assert_int_eq(errand_run("drain orreries.yaml --json --set %s", gate), 1);
    json_t *drain = errand_json("out");
    const json_t *left = json_object_get(drain, "left"), *rods = json_array_get(left, 0);
    ck_assert_uint_eq(json_array_size(left), 1);
    ck_assert_str_eq(json_string_value(json_object_get(rods, "item")), "arm-rod");
    ck_assert_double_eq(json_number_value(json_object_get(rods, "count")), 4);
    ck_assert_int_eq(errand_run("cause drained"), 0);
    ck_assert(errand_says("out", ": only help from outside can end it, and such help came at "));
    ck_assert(errand_says("out", gate));
    ck_assert(errand_says("out", "      still leaves 4 arm-rod when the demands stop\n"));
    json_decref(drain);
}
END_TEST

/* Nobody takes springs that are too many for the tray: with 12 places and 6 or 7 springs already in
 * it or on the way, a heap of some is too much, and whoever drains with one more than the greatest
 * finds the lane congested for good with one of the seeds. */
START_TEST(greatest_flood_is_found) {
    static const char words[] = "drain bench.yaml --set chests.tray.capacity=20 "
                                "--set stations.bench.time=1h --within 20min";
    ck_assert_int_ge(errand_run("%s --flood spring=1 --flood-until-it-fails --json", words), 0);
    json_t *drain = errand_json("out");
    double greatest = errand_number(drain, "flood", "greatest", NULL);
    int low = (int)errand_number(drain, "flood", "low", NULL);
    double high = errand_number(drain, "flood", "high", NULL);
    json_decref(drain);
    ck_assert(low >= 1 && low <= greatest && greatest <= high && high <= 30);
    int failed = 0;
    for (int seed = 1; seed <= 20; seed++) {
        ck_assert_int_ge(errand_run("%s --seed %d --flood spring=%d --json", words, seed, low), 0);
        drain = errand_json("out");
        ck_assert(errand_number(drain, "flood", "recovered", NULL) == 1);
        json_decref(drain);
        if (low == 30)
            continue;
        errand_run("%s --seed %d --flood spring=%d --json", words, seed, low + 1);
        drain = errand_json("out");
        failed += errand_number(drain, "flood", "recovered", NULL) == 0;
        json_decref(drain);
    }
    ck_assert(low == 30 || failed > 0);
}
END_TEST

/* ---- the command line ---- */

static const char *const wrong_line[] = {"drain",
                                         "drain hand.yaml --after soon",
                                         "drain hand.yaml --within 0",
                                         "drain hand.yaml --runs 0",
                                         "drain hand.yaml --flood 0",
                                         "drain hand.yaml --flood 1.5",
                                         "drain hand.yaml --flood cogs=3",
                                         "drain hand.yaml --flood spring=0",
                                         "drain hand.yaml --flood spring=",
                                         "drain hand.yaml --flood rong:0.5",
                                         "drain hand.yaml --flood ring/lane:",
                                         "drain hand.yaml --flood ring/lane:cogs=3",
                                         "drain hand.yaml --for 1h",
                                         "drain hand.yaml --after 900000000000000s"};

START_TEST(wrong_command_line_is_told) {
    ck_assert_int_eq(errand_run("%s", wrong_line[_i]), 2);
    ck_assert(errand_says("err", "loopwright drain: "));
}
END_TEST

START_TEST(wrong_scenario_ends_it) {
    ck_assert_int_eq(errand_run("drain nowhere.yaml"), 4);
    ck_assert_int_eq(errand_run("drain hand.yaml --set loops.ring.cells=0"), 3);
}
END_TEST

/* A workshop without demands or without loops has nothing to stop, or nothing to empty. */
START_TEST(strange_workshops_drain_too) {
    ck_assert_int_eq(errand_run("drain hand.yaml --set demands=null"), 0);
    ck_assert(errand_says("out", "has no demands"));
    errand_write("none.yaml", "run: {for: 1 s}\nitems: [spring]\n");
    ck_assert_int_eq(errand_run("drain none.yaml --restart --flood 0.5"), 1);
    ck_assert_int_eq(errand_run("drain none.yaml"), 0);
}
END_TEST

/* Of many runs only the worst is kept: with so many more, a kilobyte of each would be 1.5 MB. */
START_TEST(memory_does_not_grow_with_runs) {
    if (SANITIZED)
        return;
    static const char words[] = "drain hand.yaml --after 1s --within 10s --jobs 1 --quiet";
    ck_assert_int_le(errand_run("%s --runs 20", words), 1);
    long before = errand_memory_kib();
    ck_assert_int_le(errand_run("%s --runs 1520", words), 1);
    ck_assert_int_lt(errand_memory_kib() - before, 1024);
}
END_TEST

static void add_tests(TCase *tests) {
    enum { WRONG_LINES = sizeof wrong_line / sizeof *wrong_line };
    tcase_add_checked_fixture(tests, begin, errand_end);
    tcase_add_test(tests, memory_does_not_grow_with_runs);
    tcase_add_test(tests, drain_is_the_one_worked_out_by_hand);
    tcase_add_test(tests, verdict_is_told_in_words);
    tcase_add_test(tests, stop_comes_ten_minutes_after_the_warm_up);
    tcase_add_test(tests, supply_to_come_is_waited_for);
    tcase_add_test(tests, repair_to_come_is_waited_for);
    tcase_add_test(tests, what_is_left_is_told_with_the_reason);
    tcase_add_test(tests, full_hand_is_left_too);
    tcase_add_test(tests, waiting_hand_ends_the_drain);
    tcase_add_test(tests, standstill_with_more_to_come_is_no_end);
    tcase_add_test(tests, loop_that_is_empty_too_late_is_not_drained);
    tcase_add_test(tests, row_that_stands_is_told);
    tcase_add_test(tests, restart_without_a_product_is_told);
    tcase_add_test(tests, directory_holds_a_run_that_can_be_run_again);
    tcase_add_test(tests, directory_that_holds_something_else_is_refused);
    tcase_add_test(tests, stops_are_spread_over_ten_minutes);
    tcase_add_test(tests, restart_is_when_products_come_as_before);
    tcase_add_test(tests, flood_is_as_large_as_was_asked_for);
    tcase_add_test(tests, flood_of_long_parts_keeps_to_its_share);
    tcase_add_test(tests, heap_falls_only_where_it_can_lie);
    tcase_add_test(tests, only_flooded_lanes_have_to_recover);
    tcase_add_test(tests, what_a_heap_comes_to_is_told_as_it_is);
    tcase_add_test(tests, greatest_flood_is_found);
    tcase_add_test(tests, what_a_remedy_would_still_leave_is_told);
    tcase_add_loop_test(tests, wrong_command_line_is_told, 0, WRONG_LINES);
    tcase_add_test(tests, wrong_scenario_ends_it);
    tcase_add_test(tests, strange_workshops_drain_too);
}

int main(void) { return suite_main("drain", add_tests); }
