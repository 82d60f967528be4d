/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_literal.c - the literal engine against small histories worked out by hand from
 * docs/rules.md; the working stands beside each. Clock: ten ticks a second, belts one cell a second
 * (a step every ten ticks), unless a test says otherwise. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tests/exact/literal.h"

enum { MOVES_MAX = 64, EVENTS_MAX = 64 };

struct run {
    struct scenario *scenario;
    struct literal *literal;
    struct move move[MOVES_MAX];
    int moves;
    struct event began[EVENTS_MAX], ended[EVENTS_MAX];
    int begun, over;
};

static void moved(void *self, const struct move *move) {
    struct run *run = self;
    require(run->moves < MOVES_MAX);
    run->move[run->moves++] = *move;
}

static void began(void *self, const struct event *event) {
    struct run *run = self;
    require(run->begun < EVENTS_MAX);
    run->began[run->begun++] = *event;
}

static void ended(void *self, const struct event *event) {
    struct run *run = self;
    require(run->over < EVENTS_MAX);
    run->ended[run->over++] = *event;
}

/* Runs a scenario to its end. */
static struct run *run_text(const char *text) {
    struct run *run = require_memory(1, sizeof *run);
    struct faults faults = {0};
    run->scenario = read_scenario(text, strlen(text), "test", NULL, 0, &faults);
    ck_assert_msg(run->scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "?");
    faults_free(&faults);
    run->literal = literal_new(run->scenario);
    literal_listen(run->literal, &(struct listener){run, moved, NULL, began, ended, NULL});
    literal_advance(run->literal, run->scenario->run_ticks);
    return run;
}

static void run_free(struct run *run) {
    literal_free(run->literal);
    scenario_free(run->scenario);
    free(run);
}

/* Ticks of the moves of one arm and act, as text: "0 5 30 ". */
static const char *ticks_of(const struct run *run, uint32_t arm, enum move_act act) {
    static char text[MOVES_MAX * 8];
    char *end = text;
    *end = '\0';
    for (int i = 0; i < run->moves; i++)
        if (run->move[i].arm == arm && run->move[i].act == act)
            end += snprintf(end, (size_t)(text + sizeof text - end), "%d ", (int)run->move[i].tick);
    return text;
}

static const struct event *event_of(const struct event *event, int count, enum event_kind kind) {
    for (int i = 0; i < count; i++)
        if (event[i].kind == kind)
            return &event[i];
    return NULL;
}

static void assert_event(const struct run *run, enum event_kind kind, int64_t start,
                         int64_t since) {
    const struct event *event = event_of(run->began, run->begun, kind);
    ck_assert_ptr_nonnull(event);
    ck_assert_int_eq(event->start_tick, start);
    ck_assert_int_eq(event->since_tick, since);
}

static void assert_ended(const struct run *run, enum event_kind kind, int64_t end) {
    const struct event *event = event_of(run->ended, run->over, kind);
    ck_assert_ptr_nonnull(event);
    ck_assert_int_eq(event->end_tick, end);
}

#define TEN "clock: {ticks_per_second: 10}\n"
#define COMB "items: [comb]\n"

/* Eleven ticks a swing: six out, five back. The feeder picks at 0 and places at 6 on cell 2; steps
 * at 10, 20, 30 carry the comb to cell 5, where the taker picks it; it places at 36. The loop is
 * first seen empty at 30 and has made ten steps since at 130. The taker is back at 41; ten steps
 * since then: 140. */
START_TEST(feeder_and_taker_act_at_the_ticks_worked_out) {
    struct run *run =
        run_text(TEN COMB "run: {for: 20 s}\n"
                          "loops: [{name: ring, cells: 10, rate: 1}]\n"
                          "chests: [{name: bin, start: {comb: 1}}, {name: shelf}]\n"
                          "arms:\n"
                          "  - {name: feeder, from: bin, to: ring@2, swing: 1.1 s}\n"
                          "  - {name: taker, from: ring@5, to: shelf, swing: 1.1 s}\n");
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PICK), "0 ");
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PLACE), "6 ");
    ck_assert_str_eq(ticks_of(run, 1, MOVE_PICK), "30 ");
    ck_assert_str_eq(ticks_of(run, 1, MOVE_PLACE), "36 ");
    assert_event(run, EVENT_EMPTIED, 130, 30);
    assert_event(run, EVENT_REST, 140, 41);
    ck_assert_ptr_null(event_of(run->began, run->begun, EVENT_CLOGGED));
    struct arm_totals taker = literal_arm_totals(run->literal, 1);
    ck_assert_int_eq(taker.ticks[ARM_CARRYING], 6);  /* phases 6 of 30 .. 35 */
    ck_assert_int_eq(taker.ticks[ARM_RETURNING], 5); /* 36 .. 40 */
    ck_assert_int_eq(taker.ticks[ARM_REACHING], 189);
    run_free(run);
}
END_TEST

/* A merge onto a loop of four cells: it places at 0, then after each step, at 10, 20 and 30, and
 * waits with the next comb from then on. Four steps since 30: at 70. jam_after 5 s: 80. The clear
 * at 100 ends it all. */
#define MERGE(JAM_AFTER)                                                                           \
    TEN COMB "run: {for: 10 s}\n"                                                                  \
             "watch: {jam_after: " JAM_AFTER "}\n"                                                 \
             "loops: [{name: ring, cells: 4, rate: 1}]\n"                                          \
             "chests: [{name: bin, start: {comb: 10}}]\n"                                          \
             "arms: [{name: merge, from: bin, to: ring@0, swing: 0 s}]\n"                          \
             "incidents: [{at: 10 s, clear: {lane: ring}}]\n"

START_TEST(jam_is_since_the_last_move_and_starts_after_a_revolution) {
    struct run *run = run_text(MERGE("3 s"));
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PLACE), "0 10 20 30 100 ");
    assert_event(run, EVENT_BLOCKED, 70, 30);
    assert_event(run, EVENT_CONGESTED, 70, 30);
    assert_event(run, EVENT_JAM, 70, 30);
    assert_event(run, EVENT_DEADLOCK, 70, 30);
    assert_ended(run, EVENT_JAM, 100);
    assert_ended(run, EVENT_DEADLOCK, 100);
    run_free(run);
}
END_TEST

START_TEST(jam_waits_for_jam_after_and_deadlock_for_the_jam) {
    struct run *run = run_text(MERGE("5 s"));
    assert_event(run, EVENT_JAM, 80, 30);
    assert_event(run, EVENT_DEADLOCK, 80, 30);
    run_free(run);
}
END_TEST

/* As MERGE, and the arm is stopped and started again in one tick: in every phase 6 it was placing,
 * so nothing ends and nothing begins anew. */
START_TEST(stop_and_start_in_one_tick_break_no_stretch) {
    struct run *run =
        run_text(TEN COMB "run: {for: 10 s}\n"
                          "loops: [{name: ring, cells: 4, rate: 1}]\n"
                          "chests: [{name: bin, start: {comb: 10}}]\n"
                          "arms: [{name: merge, from: bin, to: ring@0, swing: 0 s}]\n"
                          "incidents: [{at: 8 s, stop: merge}, {at: 8 s, start: merge}]\n");
    assert_event(run, EVENT_BLOCKED, 70, 30);
    ck_assert_int_eq(run->over, 0);
    run_free(run);
}
END_TEST

/* The shelf fills at 0, 1, 2 and shuts the gate (3 not below 3). The orders take one at 20 (2 left:
 * still shut), at 30 (1 left: below 2, open: two more at 30 and 31), at 40 (2), at 50 (1: two
 * more). */
START_TEST(latch_opens_only_below_its_lower_threshold) {
    struct run *run = run_text(
        TEN COMB "run: {for: 5.5 s}\n"
                 "chests: [{name: bin, start: {comb: 50}}, {name: shelf}]\n"
                 "arms:\n"
                 "  - {name: hand-over, from: bin, to: shelf, swing: 0 s,\n"
                 "     gate: {chest: shelf, item: comb, below: 3, reopen_below: 2}}\n"
                 "demands: [{name: orders, chest: shelf, item: comb, every: 1 s, first: 2 s}]\n");
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PICK), "0 1 2 30 31 50 51 ");
    run_free(run);
}
END_TEST

/* Rate 8 at 100 ticks a second: steps at ceil(12.5 k) = 13, 25, 38, 50. A comb dropped at cell 0 at
 * tick 0 stands at cell 4 from tick 50 on; a diverter takes it there and hands it over at once. */
START_TEST(steps_come_at_rounded_up_ticks) {
    struct run *run = run_text("clock: {ticks_per_second: 100}\n" COMB "run: {for: 1 s}\n"
                               "loops: [{name: ring, cells: 9, rate: 8}]\n"
                               "chests: [{name: shelf}]\n"
                               "arms: [{name: diverter, from: ring@4, to: shelf, swing: 0}]\n"
                               "incidents: [{at: 0, drop: {item: comb, count: 1, lane: ring}}]\n");
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PLACE), "50 ");
    run_free(run);
}
END_TEST

/* Stopped at 25 and started at 42, the loop steps at 10, 20, then 52, 62: the comb dropped at cell
 * 0 is at cell 4 at 62. */
START_TEST(steps_of_a_loop_count_anew_from_its_start) {
    struct run *run =
        run_text(TEN COMB "run: {for: 10 s}\n"
                          "loops: [{name: ring, cells: 9, rate: 1}]\n"
                          "chests: [{name: shelf}]\n"
                          "arms: [{name: diverter, from: ring@4, to: shelf, swing: 0}]\n"
                          "incidents:\n"
                          "  - {at: 0, drop: {item: comb, count: 1, lane: ring}}\n"
                          "  - {at: 2.5 s, stop: ring}\n"
                          "  - {at: 4.2 s, start: ring}\n");
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PLACE), "62 ");
    run_free(run);
}
END_TEST

/* The batch begins at 0 and would end at 20. Stopped at 5 with 15 ticks left, started at 30: it
 * ends at 45. Stopped at 20 (phase 2, before its end in phase 4), started at 30: it ends at 30. */
#define BENCH(STOP)                                                                                \
    TEN "items: [comb, movement]\n"                                                                \
        "run: {for: 10 s}\n"                                                                       \
        "chests: [{name: bin, start: {comb: 1}}, {name: shelf}]\n"                                 \
        "stations: [{name: bench, takes: {comb: 1}, makes: {movement: 1}, time: 2 s}]\n"           \
        "arms:\n"                                                                                  \
        "  - {name: feeder, from: bin, to: bench, swing: 0}\n"                                     \
        "  - {name: shelver, from: bench, to: shelf, swing: 0}\n"                                  \
        "incidents: [{at: " STOP ", stop: bench}, {at: 3 s, start: bench}]\n"

START_TEST(stopped_batch_keeps_its_remaining_time) {
    struct run *run = run_text(BENCH("0.5 s"));
    ck_assert_str_eq(ticks_of(run, 1, MOVE_PICK), "45 ");
    struct station_totals bench = literal_station_totals(run->literal, 0);
    ck_assert_int_eq(bench.ticks[STATION_WORKING], 20);
    ck_assert_int_eq(bench.ticks[STATION_STOPPED], 25);
    ck_assert_int_eq(bench.ticks[STATION_STARVED], 55);
    run_free(run);
    run = run_text(BENCH("2 s"));
    ck_assert_str_eq(ticks_of(run, 1, MOVE_PICK), "30 ");
    run_free(run);
}
END_TEST

/* Three cases of length 2 on a line of seven cells. They enter with the head at cell 1 at 0; the
 * second when cells 0 and 1 are free again, at 20; the third at 40. The first rolls to cell 6 by
 * 50, the second stands behind it at 4 by 50 as well, the third at 2 by 50. A gapless row waits. */
START_TEST(items_on_a_line_close_up_and_wait_at_its_end) {
    struct run *run = run_text(TEN "items: {case: {length: 2}}\n"
                                   "run: {for: 6 s}\n"
                                   "lines: [{name: slide, cells: 7, rate: 1}]\n"
                                   "chests: [{name: bin, start: {case: 3}}]\n"
                                   "arms: [{name: merge, from: bin, to: slide@1, swing: 0}]\n");
    struct place slide = {PLACE_LINE, 0, 0};
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PLACE), "0 20 40 ");
    ck_assert_uint_eq(literal_track_item(run->literal, slide, 6), 0);
    ck_assert_uint_eq(literal_track_item(run->literal, slide, 4), 0);
    ck_assert_uint_eq(literal_track_item(run->literal, slide, 2), 0);
    ck_assert_int_eq(literal_track_cells(run->literal, slide), 6);
    run_free(run);
}
END_TEST

/* Combs stand at cells 0 and 1 at 0; the taker at cell 1 picks one at 0 and, after the first step,
 * the other at 10: its hand of three would take another, but 2.5 s after its first pick, at 25, it
 * goes with two. */
START_TEST(hand_goes_when_it_has_lingered) {
    struct run *run =
        run_text(TEN COMB "run: {for: 10 s}\n"
                          "loops: [{name: ring, cells: 9, rate: 1}]\n"
                          "chests: [{name: shelf}]\n"
                          "arms:\n"
                          "  - {name: taker, from: ring@1, to: shelf, swing: 1 s, hand: 3,\n"
                          "     linger: 2.5 s}\n"
                          "incidents: [{at: 0, drop: {item: comb, count: 2, lane: ring}}]\n");
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PICK), "0 10 ");
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PLACE), "30 ");
    ck_assert_int_eq(run->move[2].count, 2);
    run_free(run);
}
END_TEST

/* Kinds are tried starting after the one taken last: comb, spring, comb; then spring, which has run
 * out, is passed over. */
START_TEST(kinds_take_turns) {
    struct run *run =
        run_text(TEN "items: [comb, spring]\n"
                     "run: {for: 1 s}\n"
                     "chests: [{name: bin, start: {comb: 3, spring: 1}}, {name: shelf}]\n"
                     "arms: [{name: hand-over, from: bin, to: shelf, swing: 0}]\n");
    ck_assert_str_eq(ticks_of(run, 0, MOVE_PLACE), "0 1 2 3 ");
    ck_assert_uint_eq(run->move[0].item, 0);
    ck_assert_uint_eq(run->move[2].item, 1);
    ck_assert_uint_eq(run->move[4].item, 0);
    ck_assert_uint_eq(run->move[6].item, 0);
    run_free(run);
}
END_TEST

/* One comb due at 10 finds the shelf full until the order of 25 takes one: in at 26, in the next
 * phase 3, since supplies come before demands. The clock of the next starts then: 36, held. */
START_TEST(held_delivery_goes_in_when_there_is_room) {
    struct run *run = run_text(
        TEN COMB "run: {for: 4 s}\n"
                 "chests: [{name: shelf, capacity: 1, start: {comb: 1}}]\n"
                 "supplies: [{name: post, chest: shelf, item: comb, every: 1 s}]\n"
                 "demands: [{name: orders, chest: shelf, item: comb, every: 9 s, first: 2.5 s}]\n");
    literal_free(run->literal);
    run->literal = literal_new(run->scenario);
    static const struct {
        int64_t tick, held, supplied;
    } expected[] = {{9, 0, 0}, {10, 1, 0}, {25, 1, 0}, {26, 0, 1}, {35, 0, 1}, {36, 1, 1}};
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++) {
        literal_advance(run->literal, expected[i].tick);
        ck_assert_int_eq(literal_supply_held(run->literal, 0), expected[i].held);
        ck_assert_int_eq(literal_item_totals(run->literal, 0).supplied, expected[i].supplied);
    }
    run_free(run);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("literal");
    TCase *tcase = tcase_create("by hand");
    tcase_add_test(tcase, feeder_and_taker_act_at_the_ticks_worked_out);
    tcase_add_test(tcase, jam_is_since_the_last_move_and_starts_after_a_revolution);
    tcase_add_test(tcase, jam_waits_for_jam_after_and_deadlock_for_the_jam);
    tcase_add_test(tcase, stop_and_start_in_one_tick_break_no_stretch);
    tcase_add_test(tcase, latch_opens_only_below_its_lower_threshold);
    tcase_add_test(tcase, steps_come_at_rounded_up_ticks);
    tcase_add_test(tcase, steps_of_a_loop_count_anew_from_its_start);
    tcase_add_test(tcase, stopped_batch_keeps_its_remaining_time);
    tcase_add_test(tcase, items_on_a_line_close_up_and_wait_at_its_end);
    tcase_add_test(tcase, hand_goes_when_it_has_lingered);
    tcase_add_test(tcase, kinds_take_turns);
    tcase_add_test(tcase, held_delivery_goes_in_when_there_is_room);
    suite_add_tcase(suite, tcase);
    return suite_end(suite);
}
