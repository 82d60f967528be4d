/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_read.c - what is read from a scenario, field by field, its defaults, overrides,
 * its text that reads back, and files that are large, deep or junk. For words see test_messages. */
#include "model/reader/read.h"

#include <check.h>
#include <glob.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include "model/scenario/limits.h"
#include "tests/common/processor.h"
#include "tests/common/sanitized.h"
#include "tests/common/suite.h"
#include "tests/unit/same_scenario.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

/* Reads what must be without errors. */
static struct scenario *read_with(const char *text, const char *const *override, size_t count) {
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario(text, strlen(text), "test.yaml", override, count, &faults);
    ck_assert_msg(scenario != NULL, "line %u: %s", faults.count > 0 ? faults.fault[0].line : 0,
                  faults.count > 0 ? faults.fault[0].what : "");
    faults_free(&faults);
    return scenario;
}

static struct scenario *read_good(const char *text) { return read_with(text, NULL, 0); }

/* The first error of what must have one; the caller frees the faults. */
static const struct fault *first_error(const char *text, size_t length, struct faults *faults) {
    ck_assert_ptr_null(read_scenario(text, length, "test.yaml", NULL, 0, faults));
    for (uint32_t i = 0; i < faults->count; i++)
        if (faults->fault[i].grade == FAULT_ERROR)
            return &faults->fault[i];
    ck_abort_msg("no error");
    return NULL;
}

/* ---- every section ---- */
static const char workshop[] =
    "title: Music-box movements, one loop\n"
    "clock: {ticks_per_second: 10}\n"
    "run: {for: 30 min, seed: 9007199254740991, warm_up: 0:02:00}\n"
    "watch: {every: 2 s, starved_after: 11 s, blocked_after: 12, congested_at: 0.9,\n"
    "  jam_after: 1 h}\n"
    "items: {comb: {}, cylinder: {length: 2}, spring: {}, movement: {}, case: {length: 9}}\n"
    "loops:\n"
    "  - {name: ring, cells: 120, rate: 8.5, lanes: [outer, inner],\n"
    "     breaks: {after: {exponential: 2 h}, repair: 5 min}}\n"
    "  - {name: side, cells: 8, rate: 10}\n"
    "lines:\n"
    "  - {name: case-line, cells: 40, rate: 0.25}\n"
    "chests:\n"
    "  - {name: comb-bin, capacity: 200, start: {comb: 120, spring: 0}, limits: {comb: 150}}\n"
    "  - name: shelf\n"
    "stations:\n"
    "  - {name: bench, takes: {spring: 2, comb: 1, cylinder: 1}, makes: {movement: 3,\n"
    "     comb: {count: 1, chance: 0.25}}, time: {lognormal: [4 s, 0.5]}, ahead: 3,\n"
    "     room: {movement: 4}, gate: {station: press, output: case, below: 5}}\n"
    "  - {name: press, makes: {case: 2}, time: 250 ms, room: 4}\n"
    "arms:\n"
    "  - {name: comb-feeder, from: comb-bin, to: ring/outer@4, items: [comb], hand: 2,\n"
    "     swing: 1.5 s, choose: random, linger: 3,\n"
    "     gate: {all: [{chest: shelf, item: movement, below: 20, reopen_below: 8},\n"
    "     {any: [{lane: ring/inner, at_least: 1}, {loop: ring, item: comb, below: 9},\n"
    "     {line: case-line, below: 4}]},\n"
    "     {station: bench, input: spring, at_least: 2}]}}\n"
    "  - {name: bench-taker, from: ring/outer@40, to: bench, swing: {uniform: [0.25, 0.5]}}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 0}\n"
    "  - {name: sider, from: shelf, to: side@7, swing: 1}\n"
    "  - {name: liner, from: side/lane@0, to: case-line@0, swing: 1}\n"
    "  - {name: caser, from: press, to: case-line@8, swing: 1, gate: {chest: shelf, below: 7,\n"
    "     reopen_below: 3}}\n"
    "  - {name: end, from: case-line@39, to: shelf, swing: 0}\n"
    "  - {name: inner, from: shelf, to: ring/inner@0, items: [movement], swing: 1}\n"
    "  - {name: out, from: ring/inner@1, to: shelf, swing: 1}\n"
    "supplies:\n"
    "  - {name: deliveries, chest: comb-bin, item: comb, every: 2 s, batch: 3, first: 0, from: 1,\n"
    "     until: 9, when_full: lose, gate: {chest: comb-bin, at_least: 7},\n"
    "     breaks: {after: 1 d, repair: 1 h}}\n"
    "  - {name: springs, chest: comb-bin, item: spring, every: 1 s}\n"
    "demands:\n"
    "  - {name: orders, chest: shelf, item: movement, every: {geometric: 0.02}, when_short: lose}\n"
    "incidents:\n"
    "  - {at: 10 min, drop: {item: spring, count: 30, lane: ring/outer}}\n"
    "  - {at: 11 min, clear: {lane: side}}\n"
    "  - {name: flood, every: {exponential: 2 h}, first: 5, clear: {item: case, line: case-line}}\n"
    "  - {at: 15 min, stop: deliveries}\n"
    "  - {at: 18 min, start: ring}\n"
    "  - {at: 20 min, set: {chest: shelf, capacity: 30}}\n"
    "  - {at: 20 min, set: {chest: shelf, capacity: null}}\n"
    "  - {at: 21 min, set: {gate: caser, below: 12}}\n"
    "  - {at: 21 min, set: {gate: caser, reopen_below: 7}}\n"
    "  - {at: 21 min, set: {gate: deliveries, at_least: 12}}\n"
    "  - {at: 15 min, stop: deliveries}\n"
    "expect: {deadlock: true, rest: false, starved: [press, bench],\n"
    "  made: {movement: {at_least: 150}}, demand_met: {movement: {at_least: 0.98, at_most: 1}},\n"
    "  on_lane: {side: {at_most: 8}}}\n";

START_TEST(head_and_watch_are_read) {
    struct scenario *scenario = read_good(workshop);
    ck_assert_str_eq(scenario->title, "Music-box movements, one loop");
    ck_assert_int_eq(scenario->ticks_per_second, 10);
    ck_assert_int_eq(scenario->run_ticks, 18000);
    ck_assert_int_eq(scenario->warm_up_ticks, 1200);
    ck_assert_uint_eq(scenario->seed, (UINT64_C(1) << 53) - 1);
    ck_assert_int_eq(scenario->watch.every_ticks, 20);
    ck_assert_int_eq(scenario->watch.starved_after_ticks, 110);
    ck_assert_int_eq(scenario->watch.blocked_after_ticks, 120);
    ck_assert_int_eq(scenario->watch.blocked_default_ticks, 100);
    ck_assert_int_eq(scenario->watch.congested_at.numerator, 9);
    ck_assert_int_eq(scenario->watch.congested_at.denominator, 10);
    ck_assert_int_eq(scenario->watch.jam_after_ticks, 36000);
    scenario_free(scenario);
}
END_TEST

START_TEST(the_floor_is_read) {
    struct scenario *scenario = read_good(workshop);
    ck_assert_uint_eq(scenario->item_count, 5);
    ck_assert_str_eq(scenario->item[1].name, "cylinder");
    ck_assert_uint_eq(scenario->item[1].length, 2);
    ck_assert_uint_eq(scenario->item[2].length, 1);
    ck_assert_uint_eq(scenario->loop_count, 2);
    ck_assert_uint_eq(scenario->loop[0].cell_count, 120);
    ck_assert_int_eq(scenario->loop[0].rate.numerator, 17);
    ck_assert_int_eq(scenario->loop[0].rate.denominator, 2);
    ck_assert(scenario->loop[0].breaks->present);
    ck_assert_int_eq(scenario->loop[0].breaks->after.kind, SPAN_EXPONENTIAL);
    ck_assert(scenario->loop[0].breaks->after.a == 7200.0);
    ck_assert_int_eq(scenario->loop[0].breaks->after.least_ticks, 1);
    ck_assert_int_eq(scenario->loop[0].breaks->repair.ticks, 3000);
    ck_assert(!scenario->loop[1].breaks->present);
    ck_assert_uint_eq(scenario->lane_count, 3);
    ck_assert_str_eq(scenario->lane[1].full_name, "ring/inner");
    ck_assert_str_eq(scenario->lane[2].full_name, "side/lane");
    ck_assert_uint_eq(scenario->lane[2].loop, 1);
    ck_assert_uint_eq(scenario->loop[1].first_lane, 2);
    ck_assert_int_eq(scenario->line[0].rate.denominator, 4);
    ck_assert_int_eq(scenario->chest[0].capacity, 200);
    ck_assert_int_eq(scenario->chest[1].capacity, NO_LIMIT);
    ck_assert_uint_eq(scenario->chest[0].start.count, 2);
    ck_assert_uint_eq(scenario->chest[0].start.entry[1].item, 2);
    ck_assert_int_eq(scenario->chest[0].limits.entry[0].count, 150);
    scenario_free(scenario);
}
END_TEST

START_TEST(stations_are_read_and_their_room_is_resolved) {
    struct scenario *scenario = read_good(workshop);
    const struct scenario_station *bench = &scenario->station[0], *press = &scenario->station[1];
    ck_assert_uint_eq(bench->takes.count, 3);
    ck_assert_uint_eq(bench->takes.entry[0].item, 2);
    ck_assert_int_eq(bench->takes.entry[0].count, 2);
    ck_assert_int_eq(bench->makes[0].room, 4);
    ck_assert_int_eq(bench->makes[1].room, 2); /* not named: two batches */
    ck_assert(!bench->makes[0].has_chance);
    ck_assert(bench->makes[1].has_chance && bench->makes[1].chance == 0.25);
    ck_assert_int_eq(bench->time.kind, SPAN_LOGNORMAL);
    ck_assert(bench->time.a == 4.0 && bench->time.b == 0.5);
    ck_assert_int_eq(bench->time.mean_ticks, 40);
    ck_assert_int_eq(bench->ahead, 3);
    ck_assert_int_eq(press->ahead, 2);
    ck_assert_int_eq(press->makes[0].room, 8);
    ck_assert_int_eq(press->time.ticks, 3); /* 2.5, up */
    ck_assert_uint_eq(press->gate, NO_INDEX);
    const struct scenario_gate *gate = &scenario->gate[bench->gate];
    ck_assert_int_eq(gate->reads, READS_STATION_OUTPUT);
    ck_assert_uint_eq(gate->subject, 1);
    ck_assert_uint_eq(gate->item, 4);
    scenario_free(scenario);
}
END_TEST

static void check_items(const struct scenario_arm *arm, const char *wanted) {
    char found[64] = "";
    for (uint32_t i = 0; i < arm->item_count; i++)
        snprintf(found + strlen(found), sizeof found - strlen(found), "%u ", arm->item[i]);
    ck_assert_str_eq(found, wanted);
}

START_TEST(arms_are_read_and_their_items_are_resolved) {
    struct scenario *scenario = read_good(workshop);
    const struct scenario_arm *arm = scenario->arm;
    ck_assert_int_eq(arm[0].from.kind, PLACE_CHEST);
    ck_assert_int_eq(arm[0].to.kind, PLACE_LANE);
    ck_assert_uint_eq(arm[0].to.index, 0);
    ck_assert_uint_eq(arm[0].to.cell, 4);
    ck_assert_uint_eq(arm[0].hand, 2);
    ck_assert_int_eq(arm[0].swing.ticks, 15);
    ck_assert_int_eq(arm[0].linger_ticks, 30);
    ck_assert_int_eq(arm[0].choose, CHOOSE_RANDOM);
    ck_assert_uint_eq(arm[1].hand, 1);
    ck_assert_int_eq(arm[1].choose, CHOOSE_IN_TURN);
    ck_assert_int_eq(arm[1].linger_ticks, 4); /* the mean, 0.375 s, in ticks: 3.75 */
    ck_assert_int_eq(arm[2].swing.least_ticks, 0);
    check_items(&arm[0], "0 ");
    check_items(&arm[1], "2 0 1 ");     /* as the bench takes them */
    check_items(&arm[2], "0 1 2 3 4 "); /* all, in the scenario's order */
    check_items(&arm[3], "0 1 2 3 ");   /* a case is longer than the loop */
    check_items(&arm[4], "0 2 3 ");     /* at cell 0 of a line nothing of 2 cells fits */
    check_items(&arm[5], "0 1 2 3 4 "); /* at cell 8 a case of 9 does */
    ck_assert(!arm[0].takes_what_fits && !arm[1].takes_what_fits);
    ck_assert(arm[2].takes_what_fits && arm[5].takes_what_fits);
    ck_assert(!arm[2].borrows_items && arm[5].borrows_items);
    ck_assert_ptr_eq(arm[2].item, arm[5].item);
    scenario_free(scenario);
}
END_TEST

START_TEST(gates_are_flattened) {
    struct scenario *scenario = read_good(workshop);
    const struct scenario_gate *gate = scenario->gate, *root = &gate[scenario->arm[0].gate];
    ck_assert_int_eq(root->kind, GATE_ALL);
    const struct scenario_gate *latch = &gate[root->first_child];
    ck_assert_int_eq(latch->kind, GATE_BELOW);
    ck_assert_int_eq(latch->reads, READS_CHEST);
    ck_assert_int_eq(latch->threshold, 20);
    ck_assert_int_eq(latch->reopen_below, 8);
    const struct scenario_gate *any = &gate[latch->next_sibling];
    ck_assert_int_eq(any->kind, GATE_ANY);
    const struct scenario_gate *lane = &gate[any->first_child];
    ck_assert_int_eq(lane->kind, GATE_AT_LEAST);
    ck_assert_int_eq(lane->reads, READS_LANE);
    ck_assert_uint_eq(lane->subject, 1);
    ck_assert_uint_eq(lane->item, NO_INDEX);
    ck_assert_int_eq(lane->reopen_below, NOT_GIVEN);
    const struct scenario_gate *loop = &gate[lane->next_sibling];
    ck_assert_int_eq(loop->reads, READS_LOOP);
    const struct scenario_gate *line = &gate[loop->next_sibling];
    ck_assert_int_eq(line->reads, READS_LINE);
    ck_assert_uint_eq(line->next_sibling, NO_INDEX);
    const struct scenario_gate *input = &gate[any->next_sibling];
    ck_assert_int_eq(input->reads, READS_STATION_INPUT);
    ck_assert_uint_eq(input->next_sibling, NO_INDEX);
    ck_assert_uint_eq(root->next_sibling, NO_INDEX);
    scenario_free(scenario);
}
END_TEST

START_TEST(supplies_and_demands_are_read) {
    struct scenario *scenario = read_good(workshop);
    const struct scenario_stream *first = &scenario->supply[0], *second = &scenario->supply[1];
    ck_assert_int_eq(first->batch, 3);
    ck_assert_int_eq(first->first_tick, 0);
    ck_assert_int_eq(first->from_tick, 10);
    ck_assert_int_eq(first->until_tick, 90);
    ck_assert_int_eq(first->when, WHEN_LOSE);
    ck_assert_uint_ne(first->gate, NO_INDEX);
    ck_assert(first->breaks->present);
    ck_assert_int_eq(second->batch, 1);
    ck_assert_int_eq(second->first_tick, NOT_GIVEN);
    ck_assert_int_eq(second->from_tick, 0);
    ck_assert_int_eq(second->until_tick, NO_LIMIT);
    ck_assert_int_eq(second->when, WHEN_WAIT);
    ck_assert_uint_eq(second->gate, NO_INDEX);
    const struct scenario_stream *orders = &scenario->demand[0];
    ck_assert_int_eq(orders->every.kind, SPAN_GEOMETRIC);
    ck_assert(orders->every.a == 0.02);
    ck_assert_int_eq(orders->every.mean_ticks, 50);
    ck_assert_int_eq(orders->when, WHEN_LOSE);
    scenario_free(scenario);
}
END_TEST

START_TEST(incidents_are_read) {
    struct scenario *scenario = read_good(workshop);
    const struct scenario_incident *incident = scenario->incident;
    ck_assert_int_eq(incident[0].kind, INCIDENT_DROP);
    ck_assert_int_eq(incident[0].at_tick, 6000);
    ck_assert_int_eq(incident[0].count, 30);
    ck_assert_uint_eq(incident[0].track.index, 0);
    ck_assert_int_eq(incident[1].kind, INCIDENT_CLEAR);
    ck_assert_uint_eq(incident[1].track.index, 2);
    ck_assert_uint_eq(incident[1].item, NO_INDEX);
    ck_assert(incident[2].repeats);
    ck_assert_int_eq(incident[2].first_tick, 50);
    ck_assert_int_eq(incident[2].track.kind, PLACE_LINE);
    ck_assert_uint_eq(incident[2].item, 4);
    ck_assert_int_eq(incident[3].kind, INCIDENT_STOP);
    ck_assert_int_eq(incident[3].actor.kind, PART_SUPPLY);
    ck_assert_str_eq(scenario_part_name(scenario, incident[3].actor), "deliveries");
    ck_assert(scenario_part_breaks(scenario, incident[3].actor)->present);
    ck_assert_int_eq(incident[4].kind, INCIDENT_START);
    ck_assert_int_eq(incident[4].actor.kind, PART_LOOP);
    ck_assert_int_eq(incident[5].kind, INCIDENT_SET_CAPACITY);
    ck_assert_uint_eq(incident[5].chest, 1);
    ck_assert_int_eq(incident[5].value, 30);
    ck_assert_int_eq(incident[6].value, NO_LIMIT);
    ck_assert_int_eq(incident[7].kind, INCIDENT_SET_BELOW);
    ck_assert_int_eq(incident[7].value, 12);
    ck_assert_uint_eq(incident[7].gate, scenario->arm[5].gate);
    ck_assert_int_eq(incident[8].kind, INCIDENT_SET_REOPEN);
    ck_assert_int_eq(incident[9].kind, INCIDENT_SET_AT_LEAST);
    ck_assert_int_eq(incident[9].actor.kind, PART_SUPPLY);
    scenario_free(scenario);
}
END_TEST

/* An incident's stream of chance has its name, else its text and a number among equal texts, so
 * that another incident in between changes neither. */
START_TEST(incidents_are_labelled) {
    struct scenario *scenario = read_good(workshop);
    const struct scenario_incident *incident = scenario->incident;
    ck_assert_str_eq(incident[2].label, "flood");
    ck_assert_str_eq(incident[3].label, "{at: 15 min, stop: deliveries}#1");
    ck_assert_str_eq(incident[10].label, "{at: 15 min, stop: deliveries}#2");
    ck_assert_str_eq(incident[1].label, "{at: 11 min, clear: {lane: side}}#1");
    scenario_free(scenario);
}
END_TEST

START_TEST(expectations_are_read) {
    struct scenario *scenario = read_good(workshop);
    const struct scenario_expect *expect = &scenario->expect;
    ck_assert(expect->present);
    ck_assert_int_eq(expect->deadlock, EXPECT_YES);
    ck_assert_int_eq(expect->jam, EXPECT_YES); /* beside deadlock: true */
    ck_assert_int_eq(expect->rest, EXPECT_NO);
    ck_assert_int_eq(expect->clogged, EXPECT_OPEN);
    ck_assert(expect->has_starved);
    ck_assert_uint_eq(expect->starved_count, 2);
    ck_assert_uint_eq(expect->starved[0], 1);
    ck_assert_uint_eq(expect->made[0].item, 3);
    ck_assert(expect->made[0].bound.has_least && !expect->made[0].bound.has_most);
    ck_assert_int_eq(expect->demand_met[0].bound.least.numerator, 49);
    ck_assert_int_eq(expect->demand_met[0].bound.least.denominator, 50);
    ck_assert_uint_eq(expect->on_lane[0].lane, 2);
    scenario_free(scenario);
}
END_TEST

START_TEST(what_is_left_out_has_its_default) {
    struct scenario *scenario = read_good("expect: {}\n");
    ck_assert_str_eq(scenario->title, "");
    ck_assert_int_eq(scenario->ticks_per_second, 100);
    ck_assert_int_eq(scenario->run_ticks, 360000);
    ck_assert_int_eq(scenario->warm_up_ticks, 0);
    ck_assert_uint_eq(scenario->seed, 1);
    ck_assert_int_eq(scenario->watch.every_ticks, 100);
    ck_assert_int_eq(scenario->watch.starved_after_ticks, 1000);
    ck_assert_int_eq(scenario->watch.blocked_after_ticks, NOT_GIVEN);
    ck_assert_int_eq(scenario->watch.congested_at.numerator, 19);
    ck_assert_int_eq(scenario->watch.jam_after_ticks, 3000);
    ck_assert_int_eq(scenario->expect.jam, EXPECT_NO);
    ck_assert_int_eq(scenario->expect.deadlock, EXPECT_OPEN);
    ck_assert(!scenario->expect.has_starved);
    scenario_free(scenario);
    scenario = read_good("{}\n");
    ck_assert(!scenario->expect.present);
    scenario_free(scenario);
}
END_TEST

/* The mean of a Weibull distribution, scale * gamma(1 + 1 / shape), against GSL's gamma function:
 * half a tick for the rounding, and 1e-12 for the two series (GSL's own error is below 1e-13). */
START_TEST(weibull_means_are_those_of_gsl) {
    static const double shapes[] = {0.05, 0.1, 0.3, 0.5, 0.7, 0.99, 1, 1.01, 1.5, 2, 3.7, 10, 1000};
    for (size_t i = 0; i < LENGTH(shapes); i++) {
        char text[400];
        snprintf(text, sizeof text,
                 "clock: {ticks_per_second: 1000000}\nitems: [tray]\nchests: [{name: shelf}]\n"
                 "stations: [{name: bench, makes: {tray: 1}, time: {weibull: [2 ms, %g]}}]\n"
                 "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n",
                 shapes[i]);
        double wanted = 2000 * gsl_sf_gamma(1 + 1 / shapes[i]);
        if (wanted > (double)LIMIT_TICKS)
            continue;
        struct scenario *scenario = read_good(text);
        double found = (double)scenario->station[0].time.mean_ticks;
        ck_assert_msg(fabs(found - wanted) <= 0.5 + 1e-12 * wanted, "shape %g: %.17g, not %.17g",
                      shapes[i], found, wanted);
        scenario_free(scenario);
    }
}
END_TEST

/* ---- what is left open ---- */

/* A value of a map is as open as that of a key. */
START_TEST(numbers_of_maps_may_be_left_open) {
    static const char text[] =
        "items: [comb]\nloops: [{name: ring, cells: 9, rate: 6}]\n"
        "chests: [{name: bin, limits: {comb: find}, start: {comb: find}}, {name: tray}]\n"
        "arms:\n  - {name: feeder, from: bin, to: ring@find, swing: 1 s}\n"
        "  - {name: taker, from: ring@4, to: tray, swing: 1 s}\nmay: {met: 0.9}\n";
    static const char *const path[] = {"chests.bin.limits.comb", "chests.bin.start.comb",
                                       "arms.feeder.to"};
    struct faults faults = {0};
    struct draft *draft = read_draft(text, strlen(text), "draft", NULL, 0, &faults);
    ck_assert_ptr_nonnull(draft);
    ck_assert_uint_eq(draft->open_count, LENGTH(path));
    for (size_t i = 0; i < LENGTH(path); i++)
        ck_assert_str_eq(draft->open[i].path, path[i]);
    ck_assert_int_eq(draft->open[0].kind, DRAFT_COUNT);
    ck_assert_int_eq(draft->open[2].kind, DRAFT_PLACE);
    ck_assert(draft->has_may && draft->may_in_file);
    ck_assert_uint_eq(draft->may_line, 7);
    draft_free(draft);
    faults_free(&faults);
}
END_TEST

/* Sizes of chests come in any order, and the chest of streams that name none has a name that
 * nothing else has. */
START_TEST(what_a_brief_says_of_chests_is_read) {
    static const char text[] = "items: [comb]\nchests: [{name: unplaced}]\n"
                               "supplies: [{name: post, item: comb, every: 5}]\n"
                               "demands: [{name: orders, item: comb, every: 5}]\n"
                               "may: {chests: {capacities: [40, 10]}}\n";
    struct faults faults = {0};
    struct draft *draft = read_draft(text, strlen(text), "brief", NULL, 0, &faults);
    ck_assert_ptr_nonnull(draft);
    ck_assert_str_eq(draft->stand_in, "unplaced-2");
    ck_assert_uint_eq(draft->may.capacity_count, 2);
    ck_assert_int_eq(draft->may.capacity[0], 10);
    ck_assert_int_eq(draft->may.capacity_most, 40);
    draft_free(draft);
    faults_free(&faults);
}
END_TEST

/* ---- the text reads back ----
 * With a change of the command line it is not the text as it was, but is written anew. */
static const char *const one_change[] = {"run.seed=2"};

static void check_reads_back(struct scenario *scenario) {
    struct scenario *again = read_good(scenario->text);
    const char *difference = same_scenario_difference(scenario, again);
    ck_assert_msg(difference == NULL, "%s differs:\n%s", difference, scenario->text);
    scenario_free(again);
    scenario_free(scenario);
}

static const char *const hard_titles[] = {"plain",
                                          "a, b",
                                          "'a: b'",
                                          "\"a # b\"",
                                          "'[a]'",
                                          "'{a}'",
                                          "'5'",
                                          "'true'",
                                          "'null'",
                                          "'~'",
                                          "'- a'",
                                          "'a \"quoted\" word'",
                                          "'back\\slash'",
                                          "Gr\303\266\303\237e",
                                          "'@x'",
                                          "'%x'",
                                          "'?'",
                                          "'...'",
                                          "'---'",
                                          "'it''s'",
                                          "'  blanks  '",
                                          "\"\"",
                                          "'1:02:03'",
                                          "a:b",
                                          "'a:'",
                                          "x - y",
                                          "-5x",
                                          "'&a'",
                                          "'*a'",
                                          "'!a'",
                                          "'|'",
                                          "'>'",
                                          "\"\\u00e9\"",
                                          "5 min",
                                          "1.5.2",
                                          "<<",
                                          "=",
                                          "a?b",
                                          "1,2",
                                          "0:30",
                                          "\"a\\u2028b\"",
                                          "\"a\\uFEFFb\"",
                                          "\"a\\uFFFEb\"",
                                          "-x",
                                          "two\n  lines",
                                          "\"folded\n  line\"",
                                          "'\360\237\216\265'"};

/* The first and the last character of each row of the table of RFC 3629, section 4, but those that
 * are refused for what they are; and what lies just outside of the rows. */
START_TEST(all_of_utf8_is_read) {
    static const char *const good[] = {
        "\302\240",         "\337\277",         "\340\240\200",     "\340\277\277",
        "\341\200\200",     "\354\277\277",     "\355\200\200",     "\355\237\277",
        "\356\200\200",     "\357\277\275",     "\360\220\200\200", "\360\277\277\277",
        "\361\200\200\200", "\363\277\277\277", "\364\200\200\200", "\364\217\277\277"};
    static const char *const bad[] = {
        "\301\277",         "\340\237\277", "\355\240\200",     "\302\177",         "\302\300",
        "\360\217\277\277", "\341\200\300", "\364\220\200\200", "\365\200\200\200", "\200"};
    char text[64];
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        snprintf(text, sizeof text, "title: a%sb\nitems: [comb]\n", good[i]);
        struct scenario *scenario = read_good(text);
        ck_assert_int_eq(strncmp(scenario->title + 1, good[i], strlen(good[i])), 0);
        scenario_free(scenario);
    }
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct faults faults = {0};
        snprintf(text, sizeof text, "title: a%sb\nitems: [comb]\n", bad[i]);
        first_error(text, strlen(text), &faults);
        faults_free(&faults);
    }
}
END_TEST

/* Both have 0x08f45ee6 as their FNV-1a, folded to 32 bits (model/scenario/names.c): found by
 * trying. */
START_TEST(names_of_the_same_hash_are_two) {
    struct scenario *scenario = read_good("items: [part-4764, part-37594]\n"
                                          "chests: [{name: bin, start: {part-37594: 3}}]\n");
    ck_assert_uint_eq(scenario->item_count, 2);
    ck_assert_uint_eq(scenario->chest[0].start.count, 1);
    ck_assert_str_eq(scenario->item[scenario->chest[0].start.entry[0].item].name, "part-37594");
    scenario_free(scenario);
}
END_TEST

START_TEST(titles_read_back) {
    char text[200];
    snprintf(text, sizeof text, "title: %s\nitems: [comb]\n", hard_titles[_i]);
    struct scenario *scenario = read_with(text, one_change, LENGTH(one_change));
    ck_assert_str_ne(scenario->text, text);
    check_reads_back(scenario);
}
END_TEST

START_TEST(a_whole_workshop_reads_back) {
    check_reads_back(read_good(workshop));
    check_reads_back(read_with(workshop, one_change, LENGTH(one_change)));
}
END_TEST

START_TEST(all_scenarios_of_ours_read_back) {
    glob_t found;
    ck_assert_int_eq(glob("scenarios/*.yaml", 0, NULL, &found), 0);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        struct faults faults = {0};
        bool unreadable;
        struct scenario *scenario = read_scenario_file(found.gl_pathv[i], one_change,
                                                       LENGTH(one_change), &faults, &unreadable);
        ck_assert_msg(scenario != NULL, "%s", found.gl_pathv[i]);
        ck_assert_msg(faults.warning_count == 0, "%s: %s", found.gl_pathv[i],
                      faults.count > 0 ? faults.fault[0].what : "");
        check_reads_back(scenario);
        faults_free(&faults);
    }
    globfree(&found);
}
END_TEST

/* As it was written; with an override it is written anew. */
START_TEST(the_text_is_for_people) {
    static const char text[] =
        "# a comment\ntitle: 'Clocks, and more'\nwatch: {every: 0:00:30, jam_after: "
        "1:02:03}\nitems: [gear]\nchests:\n  - name: bin\n"
        "    capacity: 4\n    start:\n      gear: 2\n"
        "  - {name: a-chest-with-a-name-that-is-rather-long-for-one-of-gears, "
        "capacity: 1000, start: {gear: 33}}\n"
        "supplies:\n"
        "  - name: post\n    chest: bin\n    item: gear\n    every: 5\n    gate:\n      any:\n"
        "        - {chest: bin, item: gear, below: 2, reopen_below: 1}\n"
        "        - {chest: bin, item: gear, below: 3, reopen_below: 2}\n"
        "        - {chest: bin, item: gear, below: 4, reopen_below: 3}\n    batch: 2\n"
        "  - gate:\n      any:\n"
        "        - {chest: bin, item: gear, below: 2, reopen_below: 1}\n"
        "        - {chest: bin, item: gear, below: 3, reopen_below: 2}\n"
        "        - {chest: bin, item: gear, below: 4, reopen_below: 3}\n    name: cart\n"
        "    chest: bin\n    item: gear\n    every: 5\n";
    static const char *const override[] = {"chests.bin.capacity=5"};
    struct scenario *scenario = read_good(text);
    ck_assert_str_eq(scenario->text, text);
    scenario_free(scenario);
    scenario = read_with(text, override, 1);
    ck_assert_str_eq(scenario->text,
                     "title: \"Clocks, and more\"\n"
                     "watch: {every: 0:00:30, jam_after: 1:02:03}\n"
                     "items: [gear]\n"
                     "chests:\n"
                     "  - {name: bin, capacity: 5, start: {gear: 2}}\n"
                     "  - {name: a-chest-with-a-name-that-is-rather-long-for-one-of-gears, "
                     "capacity: 1000,\n"
                     "     start: {gear: 33}}\n"
                     "supplies:\n"
                     "  - {name: post, chest: bin, item: gear, every: 5,\n"
                     "     gate: {any: [{chest: bin, item: gear, below: 2, reopen_below: 1}, "
                     "{chest: bin, item: gear, below: 3, reopen_below: 2}, "
                     "{chest: bin, item: gear, below: 4, reopen_below: 3}]},\n"
                     "     batch: 2}\n"
                     "  - {gate: {any: [{chest: bin, item: gear, below: 2, reopen_below: 1}, "
                     "{chest: bin, item: gear, below: 3, reopen_below: 2}, "
                     "{chest: bin, item: gear, below: 4, reopen_below: 3}]},\n"
                     "     name: cart, chest: bin, item: gear, every: 5}\n");
    scenario_free(scenario);
}
END_TEST

/* ---- overrides ---- */
static struct scenario *workshop_with(const char *const *override, size_t count) {
    return read_with(workshop, override, count);
}

START_TEST(overrides_set_values) {
    static const char *const override[] = {"title='Lanterns: two of them'",
                                           "run.seed=5",
                                           "run.for=12h",
                                           "clock.ticks_per_second=100",
                                           "watch.every=5 s",
                                           "chests.shelf.capacity=30",
                                           "arms.caser.gate.below=12",
                                           "loops.ring.rate=9.25",
                                           "items.comb.length=2",
                                           "stations.bench.makes.comb.chance=0.5",
                                           "arms.comb-feeder.gate.all.1.any.2.below=6",
                                           "incidents.flood.every.exponential=3 h",
                                           "incidents.0.drop.count=7",
                                           "arms.comb-feeder.items=[spring, comb]",
                                           "arms.comb-feeder.items.1=case",
                                           "demands.orders.until=25 min",
                                           "expect.made.movement.at_most=200",
                                           "stations.bench.breaks={after: 1 h, repair: 1 min}",
                                           "arms.shelver.breaks.after=2 h",
                                           "arms.shelver.breaks.repair=2 min"};
    struct scenario *scenario = workshop_with(override, LENGTH(override));
    ck_assert_str_eq(scenario->title, "Lanterns: two of them");
    ck_assert_uint_eq(scenario->seed, 5);
    ck_assert_int_eq(scenario->run_ticks, 4320000);
    ck_assert_int_eq(scenario->ticks_per_second, 100);
    ck_assert_int_eq(scenario->watch.every_ticks, 500);
    ck_assert_int_eq(scenario->chest[1].capacity, 30);
    ck_assert_int_eq(scenario->gate[scenario->arm[5].gate].threshold, 12);
    ck_assert_int_eq(scenario->loop[0].rate.numerator, 37);
    ck_assert_uint_eq(scenario->item[0].length, 2);
    ck_assert(scenario->station[0].makes[1].chance == 0.5);
    ck_assert(scenario->incident[2].every.a == 10800.0);
    ck_assert_int_eq(scenario->incident[0].count, 7);
    check_items(&scenario->arm[0], "2 4 ");
    ck_assert_int_eq(scenario->demand[0].until_tick, 150000);
    ck_assert(scenario->expect.made[0].bound.has_most);
    ck_assert(scenario->station[0].breaks->present);
    ck_assert_int_eq(scenario->arm[2].breaks->repair.ticks, 12000);
    check_reads_back(scenario);
}
END_TEST

START_TEST(overrides_add_and_take_away_parts) {
    static const char *const override[] = {
        "arms.clearer={from: ring/outer@90, to: comb-bin, swing: 1 s}",
        "arms.caser={from: press, to: shelf, swing: 2 s}",
        "incidents.7=null", /* the sets of caser's gate */
        "incidents.7=null",
        "lines=null",
        "arms.liner=null",
        "arms.end=null",
        "incidents.flood=null",
        "arms.comb-feeder.gate=null",
        "supplies.springs=null",
        "items.glue={}",
        "incidents.spill={at: 5, drop: {item: glue, count: 2, lane: ring/inner}}",
        "chests.spare={}",
        "expect=null",
        "watch.jam_after=null",
    };
    struct scenario *scenario = workshop_with(override, LENGTH(override));
    ck_assert_uint_eq(scenario->arm_count, 8);
    ck_assert_str_eq(scenario->arm[7].name, "clearer");
    ck_assert_uint_eq(scenario->arm[7].from.cell, 90);
    ck_assert_str_eq(scenario->arm[4].name, "caser"); /* replaced where it stood */
    ck_assert_int_eq(scenario->arm[4].to.kind, PLACE_CHEST);
    ck_assert_uint_eq(scenario->arm[0].gate, NO_INDEX);
    ck_assert_uint_eq(scenario->line_count, 0);
    ck_assert_uint_eq(scenario->supply_count, 1);
    ck_assert_str_eq(scenario->item[5].name, "glue");
    ck_assert_uint_eq(scenario->incident_count, 9);
    ck_assert_str_eq(scenario->incident[8].name, "spill");
    ck_assert_str_eq(scenario->chest[2].name, "spare");
    ck_assert(!scenario->expect.present);
    ck_assert_int_eq(scenario->watch.jam_after_ticks, 300);
    check_reads_back(scenario);
}
END_TEST

START_TEST(overrides_work_on_a_list_of_items) {
    static const char *const override[] = {"items.spring.length=3", "items.glue={length: 2}",
                                           "items.comb=null"};
    struct scenario *scenario = read_with("items: [comb, spring]\n", override, LENGTH(override));
    ck_assert_uint_eq(scenario->item_count, 2);
    ck_assert_str_eq(scenario->item[0].name, "spring");
    ck_assert_uint_eq(scenario->item[0].length, 3);
    ck_assert_uint_eq(scenario->item[1].length, 2);
    check_reads_back(scenario);
}
END_TEST

START_TEST(overrides_make_missing_sections) {
    static const char *const override[] = {"chests.bin={capacity: 3}", "items.comb={}", "run.for=5",
                                           "chests.bin.start.comb=2"};
    struct scenario *scenario = read_with("title: empty\n", override, LENGTH(override));
    ck_assert_int_eq(scenario->run_ticks, 500);
    ck_assert_int_eq(scenario->chest[0].start.entry[0].count, 2);
    check_reads_back(scenario);
}
END_TEST

/* The same changes by overrides and by hand make the same scenario. */
START_TEST(overrides_equal_edits) {
    static const char *const override[] = {"chests.bin.capacity=7", "items.spring={}"};
    struct scenario *by_override =
        read_with("items: {comb: {}}\nchests:\n  - {name: bin, capacity: 5}\n", override, 2);
    static const char *const nothing_new[] = {"chests.bin.capacity=7"}; /* written anew as well */
    struct scenario *by_hand = read_with(
        "items: {comb: {}, spring: {}}\nchests:\n  - {name: bin, capacity: 7}\n", nothing_new, 1);
    ck_assert_ptr_null(same_scenario_difference(by_override, by_hand));
    scenario_free(by_override);
    scenario_free(by_hand);
}
END_TEST

/* ---- files and durations ---- */
START_TEST(files_are_read_and_missing_ones_told) {
    char path[] = "/tmp/test_read.XXXXXX";
    int file = mkstemp(path);
    ck_assert_int_ge(file, 0);
    ck_assert_int_eq(write(file, workshop, sizeof workshop - 1), sizeof workshop - 1);
    close(file);
    struct faults faults = {0};
    bool unreadable = true;
    struct scenario *scenario = read_scenario_file(path, NULL, 0, &faults, &unreadable);
    ck_assert(!unreadable && scenario != NULL);
    scenario_free(scenario);
    unlink(path);
    ck_assert_ptr_null(read_scenario_file(path, NULL, 0, &faults, &unreadable));
    ck_assert(unreadable);
    const struct fault *fault = &faults.fault[faults.count - 1];
    ck_assert_str_eq(fault->source, path);
    ck_assert_str_eq(fault->what, "No such file or directory");
    ck_assert_ptr_null(read_scenario_file("/", NULL, 0, &faults, &unreadable));
    ck_assert(unreadable);
    faults_free(&faults);
}
END_TEST

START_TEST(durations_of_the_command_line_are_read) {
    struct faults faults = {0};
    ck_assert_int_eq(read_duration("12h", 100, &faults), 4320000);
    ck_assert_int_eq(read_duration("1:02:03.5", 10, &faults), 37235);
    ck_assert_int_eq(read_duration("90", 1, &faults), 90);
    ck_assert_uint_eq(faults.count, 0);
    ck_assert_int_eq(read_duration("12 hours", 100, &faults), NOT_GIVEN);
    ck_assert_str_eq(faults.fault[0].what, "`12 hours` is not a duration");
    ck_assert_int_eq(read_duration("-1", 100, &faults), NOT_GIVEN);
    ck_assert_int_eq(read_duration("9007199254740993", 1, &faults), NOT_GIVEN);
    ck_assert_str_eq(faults.fault[2].what, "`9007199254740993` is too long a time");
    faults_free(&faults);
}
END_TEST

/* ---- limits ---- */

/* `count` copies of `part`, each # in it the number of the copy, between head and tail. */
static char *repeated(const char *head, const char *part, size_t count, const char *tail) {
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    fputs(head, out);
    for (size_t i = 0; i < count; i++)
        for (const char *at = part; *at != '\0'; at++)
            if (*at == '#')
                fprintf(out, "%zu", i);
            else
                fputc(*at, out);
    fputs(tail, out);
    fclose(out);
    return text;
}

static void check_limit(char *text, const char *what, const char *note) {
    struct faults faults = {0};
    const struct fault *fault = first_error(text, strlen(text), &faults);
    ck_assert_str_eq(fault->what, what);
    ck_assert_str_eq(fault->note, note);
    ck_assert_uint_eq(faults.error_count, 1);
    faults_free(&faults);
    free(text);
}

START_TEST(limits_are_told_with_their_number) {
    check_limit(repeated("items: {a: ", "[", 33, ""), "lists and maps are nested too deeply",
                "at most 32 levels");
    check_limit(repeated("title: ", "aaaaaaaaaaaaaaaa", 4097, "\n"), "a text is too long",
                "at most 65,536 bytes");
    check_limit(repeated("run: {", "a", 257, ": 1}\n"), "a key is too long", "at most 256 bytes");
    check_limit(repeated("# ", "0123456789abcdef", 4194304, ""), "the file is too large",
                "at most 67,108,864 bytes");
    check_limit(repeated("items: [", "i#,", 1000001, "]\n"), "too many `items`",
                "at most 1,000,000");
    check_limit(repeated("chests: [", "{},", 1000001, "]\n"), "too many `chests`",
                "at most 1,000,000");
    check_limit(repeated("a: [", "0,", 16000000, "]\n"), "the text has too many parts",
                "at most 16,000,000 names and values");
}
END_TEST

/* Lengths and cells are all different, so that no two arms have the same default. */
START_TEST(lists_of_what_arms_may_carry_are_limited) {
    char *items = repeated("items:\n", "  i#: {length: 1#}\n", 10000,
                           "lines: [{name: queue, cells: 1000000, rate: 1}]\n"
                           "chests: [{name: bin, start: {i1: 1}}]\narms:\n");
    char *text = repeated(items, "- {name: a#, from: bin, to: queue@1#, swing: 1}\n", 10000, "");
    free(items);
    check_limit(text, "the lists of what arms may carry are too long",
                "at most 20,000,000 entries in all");
}
END_TEST

START_TEST(hands_are_limited) {
    static const char floor[] = "items: [comb]\nlines: [{name: queue, cells: 1000000, rate: 1}]\n"
                                "chests: [{name: bin, start: {comb: 1}}]\narms:\n"
                                "- {name: in, from: bin, to: queue@0, swing: 1}\n";
    static const char arm[] = "- {name: a#, from: queue@5, to: bin, hand: 10000, swing: 1}\n";
    check_limit(repeated(floor, arm, 1001, ""),
                "the hands of arms that pick from loops and lines are too large",
                "at most 10,000,000 items in all");
    struct faults faults = {0};
    char *good = repeated(floor, arm, 1000, "");
    struct scenario *scenario = read_scenario(good, strlen(good), "", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    scenario_free(scenario);
    faults_free(&faults);
    free(good);
}
END_TEST

/* ---- size ---- */
/* What is four times as large may take no more than eight times as long: linear, with a factor of
 * two for caches. On a busy machine others use the caches, too: one of three tries must do. */
enum { TRIES = 3 };

static double seconds_to_read(size_t arms) {
    static const char head[] = "items: [comb]\nloops: [{name: ring, cells: 1000000, rate: 1}]\n"
                               "chests: [{name: bin, start: {comb: 1}}]\narms:\n";
    char *text = repeated(head,
                          "- {name: arm-#, from: bin, to: ring@5, swing: 1 s,\n"
                          "   gate: {chest: bin, item: comb, below: 20}}\n",
                          arms, "");
    struct faults faults = {0};
    double start = processor_own_s();
    struct scenario *scenario = read_scenario(text, strlen(text), "", NULL, 0, &faults);
    double took = processor_own_s() - start;
    ck_assert_ptr_nonnull(scenario);
    scenario_free(scenario);
    faults_free(&faults);
    free(text);
    return took;
}

/* The shorter is long enough (over 0.05 s) for its time to mean something. */
START_TEST(time_to_read_is_linear_in_size) {
    double few = 0, many = 0;
    for (int i = 0; i < TRIES; i++) {
        few = seconds_to_read(20000), many = seconds_to_read(80000);
        if (many < 8 * few + 0.05)
            return;
    }
    ck_abort_msg("%g s, then %g s", few, many);
}
END_TEST

/* The most memory that this process has had so far. */
static int64_t most_bytes(void) {
    struct rusage usage;
    ck_assert_int_eq(getrusage(RUSAGE_SELF, &usage), 0);
    return (int64_t)usage.ru_maxrss * 1024;
}

/* A list of many items takes at most half a kilobyte for each of them: its node and its name, three
 * tables in which it is looked up by name or number, and the scenario with its text. It was 167
 * when this was written. */
START_TEST(memory_to_read_is_small) {
    enum { ITEMS = 100000, ITEM_BYTES_MAX = 512 };
    char *text = repeated("items: [", "part-#, ", ITEMS, "]\n");
    struct faults faults = {0};
    int64_t before = most_bytes();
    struct scenario *scenario = read_scenario(text, strlen(text), "", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    int64_t each = (most_bytes() - before) / ITEMS;
    ck_assert_msg(SANITIZED || each <= ITEM_BYTES_MAX, "%d bytes an item", (int)each);
    scenario_free(scenario);
    faults_free(&faults);
    free(text);
}
END_TEST

/* Megabytes that are no scenario: four times as many are refused in at most eight times the time,
 * as above. What is quadratic takes sixteen times as long, and hours with ten megabytes. */
static const struct {
    const char *head, *part, *tail;
} junk_table[] = {
    {"", "[", ""},
    {"", "{", ""},
    {"", "- ", ""},
    {"", "? ", ""},
    {"", "a", ""},
    {"'", "x\n", ""},
    {"", "\n", ""},
    {"", "k#: 1\n", ""},
    {"a: &a 1\n", "b: *a\n", ""},
    {"", "k#: &k# 1\n", ""},
    {"", "%TAG !a! x\n", ""},
    {"", "--- a\n", ""},
    {"{items: {", "k#: {lenght: 1}, ", "}}"},
    {"{items: {", "k#: {l\303\244ngth: 1}, ", "}}"},
    {"items:\n", "  k: {}\n", ""},
    {"items: [a]\nchests:\n", "- {name: c, start: {b: 1}}\n", ""},
    {"{arms: [", "{x: y}, ", "]}"},
};

static double seconds_to_refuse(const char *head, const char *part, size_t bytes,
                                const char *tail) {
    char *text = repeated(head, part, bytes / strlen(part) / 2, tail);
    struct faults faults = {0};
    double start = processor_own_s();
    ck_assert_ptr_null(read_scenario(text, strlen(text), "junk.yaml", NULL, 0, &faults));
    double took = processor_own_s() - start;
    ck_assert_uint_gt(faults.error_count, 0);
    faults_free(&faults);
    free(text);
    return took;
}

START_TEST(junk_is_refused_fast) {
    const char *head = junk_table[_i].head, *part = junk_table[_i].part;
    size_t bytes = SANITIZED ? 5u << 14 : 5u << 18;
    double few = 0, many = 0;
    for (int i = 0; i < TRIES; i++) {
        few = seconds_to_refuse(head, part, bytes, junk_table[_i].tail);
        many = seconds_to_refuse(head, part, 4 * bytes, junk_table[_i].tail);
        if (many < 8 * few + 0.05)
            return;
    }
    ck_abort_msg("%g s, then %g s", few, many);
}
END_TEST

/* Bytes that are damaged one by one: a scenario or errors come of it, and nothing else. */
START_TEST(a_damaged_file_is_read_or_refused) {
    static const char bytes[] = "\0\n\t\"'[]{},:#&*!|>%@-?\xFF\xC3 05az";
    char *text = malloc(sizeof workshop);
    for (size_t i = 0; i < 3 * (sizeof workshop - 1); i++) {
        memcpy(text, workshop, sizeof workshop);
        text[i / 3] = bytes[i % (sizeof bytes - 1)];
        struct faults faults = {0};
        struct scenario *scenario = read_scenario(text, sizeof workshop - 1, "", NULL, 0, &faults);
        ck_assert((scenario == NULL) == faults_failed(&faults));
        scenario_free(scenario);
        faults_free(&faults);
    }
    free(text);
}
END_TEST

/* A file cut off anywhere. */
START_TEST(a_torn_file_is_read_or_refused) {
    for (size_t length = 0; length + 1 < sizeof workshop; length++) {
        char *text = malloc(length > 0 ? length : 1); /* no NUL after it for a reader to rely on */
        memcpy(text, workshop, length);
        struct faults faults = {0};
        struct scenario *scenario = read_scenario(text, length, "", NULL, 0, &faults);
        ck_assert((scenario == NULL) == faults_failed(&faults));
        scenario_free(scenario);
        faults_free(&faults);
        free(text);
    }
}
END_TEST

static TCase *contents(void) {
    TCase *tests = tcase_create("contents");
    tcase_add_test(tests, head_and_watch_are_read);
    tcase_add_test(tests, the_floor_is_read);
    tcase_add_test(tests, stations_are_read_and_their_room_is_resolved);
    tcase_add_test(tests, arms_are_read_and_their_items_are_resolved);
    tcase_add_test(tests, gates_are_flattened);
    tcase_add_test(tests, supplies_and_demands_are_read);
    tcase_add_test(tests, incidents_are_read);
    tcase_add_test(tests, incidents_are_labelled);
    tcase_add_test(tests, expectations_are_read);
    tcase_add_test(tests, what_is_left_out_has_its_default);
    tcase_add_test(tests, numbers_of_maps_may_be_left_open);
    tcase_add_test(tests, what_a_brief_says_of_chests_is_read);
    tcase_add_test(tests, weibull_means_are_those_of_gsl);
    return tests;
}

static TCase *texts_and_overrides(void) {
    TCase *tests = tcase_create("texts and overrides");
    tcase_add_test(tests, all_of_utf8_is_read);
    tcase_add_test(tests, names_of_the_same_hash_are_two);
    tcase_add_loop_test(tests, titles_read_back, 0, LENGTH(hard_titles));
    tcase_add_test(tests, a_whole_workshop_reads_back);
    tcase_add_test(tests, all_scenarios_of_ours_read_back);
    tcase_add_test(tests, the_text_is_for_people);
    tcase_add_test(tests, overrides_set_values);
    tcase_add_test(tests, overrides_add_and_take_away_parts);
    tcase_add_test(tests, overrides_work_on_a_list_of_items);
    tcase_add_test(tests, overrides_make_missing_sections);
    tcase_add_test(tests, overrides_equal_edits);
    tcase_add_test(tests, files_are_read_and_missing_ones_told);
    tcase_add_test(tests, durations_of_the_command_line_are_read);
    return tests;
}

static TCase *sizes(void) {
    TCase *tests = tcase_create("sizes");
    tcase_add_test(tests, limits_are_told_with_their_number);
    tcase_add_test(tests, lists_of_what_arms_may_carry_are_limited);
    tcase_add_test(tests, hands_are_limited);
    tcase_add_test(tests, time_to_read_is_linear_in_size);
    tcase_add_test(tests, memory_to_read_is_small);
    tcase_add_loop_test(tests, junk_is_refused_fast, 0, LENGTH(junk_table));
    tcase_add_test(tests, a_damaged_file_is_read_or_refused);
    tcase_add_test(tests, a_torn_file_is_read_or_refused);
    return tests;
}

int main(void) {
    Suite *suite = suite_begin("read");
    suite_add_tcase(suite, contents());
    suite_add_tcase(suite, texts_and_overrides());
    suite_add_tcase(suite, sizes());
    return suite_end(suite);
}
