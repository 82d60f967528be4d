/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_lane_profile.c - shares of stretches against the arithmetic of flows, on the real
 * engine. */
#include <check.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "tests/common/suite.h"
#include "tools/record/lane_profile.h"
#include "tools/record/record.h"

/* Combs come from cell 0 on, springs from cell 20 on, springs go at cell 40 and combs at cell 45 of
 * a belt of 6 cells a second. Twelve lids go on at cell 50 in the warm-up, and nobody takes them
 * off. */
static const char workshop[] =
    "run: {for: 1 h, warm_up: 5 min}\n"
    "items: {comb: {}, spring: {}, lid: {}, plank: {length: 3}}\n"
    "loops: [{name: ring, cells: 60, rate: 6}]\n"
    "chests: [{name: combs, start: {comb: 9000}}, {name: springs, start: {spring: 9000}},\n"
    "  {name: lids, start: {lid: 12}}, {name: tray}]\n"
    "arms:\n"
    "  - {name: spring-feeder, from: springs, to: ring@20, items: [spring], swing: 0.7 s}\n"
    "  - {name: spring-taker, from: ring@40, to: tray, items: [spring], swing: 0}\n"
    "  - {name: comb-taker, from: ring@45, to: tray, items: [comb], swing: 0}\n"
    "  - {name: lid-feeder, from: lids, to: ring@50, items: [lid], swing: 3 s}\n"
    "  - {name: comb-feeder, from: combs, to: ring@0, items: [comb], swing: 1 s}\n";
enum { SPRING_FEEDER, SPRING_TAKER, COMB_TAKER, LID_FEEDER, COMB_FEEDER };
enum { CELLS = 60, RATE = 6 };

/* A run with its warm-up noted, and what came of it. */
struct trial {
    struct scenario *scenario;
    struct world *world;
    struct record record;
    struct lane_profile stretches;
    double seen[CELLS]; /* share of the time that each cell was seen held */
};

static struct trial trial_of(const char *change) {
    struct trial trial = {0};
    struct faults faults = {0};
    trial.scenario =
        read_scenario(workshop, strlen(workshop), "workshop", &change, change != NULL, &faults);
    ck_assert_ptr_nonnull(trial.scenario);
    faults_free(&faults);
    trial.world = world_new(trial.scenario);
    return trial;
}

/* Looks at each cell; an item of two cells holds the one behind its head too. */
static void look(struct trial *trial) {
    const struct place lane = {PLACE_LANE, 0, 0};
    for (uint32_t cell = 0; cell < CELLS; cell++) {
        uint32_t item = world_track_item(trial->world, lane, cell);
        if (item == NO_INDEX)
            continue;
        trial->seen[cell] += 1;
        if (trial->scenario->item[item].length == 2)
            trial->seen[(cell + CELLS - 1) % CELLS] += 1;
    }
}

static void run_trial(struct trial *trial) {
    const struct scenario *scenario = trial->scenario;
    int64_t looks = 0;
    ck_assert(record_open(&trial->record, scenario, trial->world, NULL, false));
    world_advance(trial->world, scenario->warm_up_ticks);
    record_warm(&trial->record);
    int64_t step = scenario->warm_up_ticks * RATE / 100;
    for (; world_tick(trial->world) < scenario->run_ticks; looks++) {
        look(trial);
        world_advance(trial->world, (++step * 100 + RATE - 1) / RATE); /* once in each step */
    }
    for (uint32_t cell = 0; cell < CELLS; cell++)
        trial->seen[cell] /= (double)looks;
    record_end(&trial->record);
    lane_profile_init(&trial->stretches, &trial->record.window);
}

static void free_trial(struct trial *trial) {
    lane_profile_free(&trial->stretches);
    record_free(&trial->record);
    world_free(trial->world);
    scenario_free(trial->scenario);
}

static const struct lane_profile_end *end_of(const struct trial *trial, uint32_t arm) {
    for (uint32_t i = 0; i < trial->stretches.end_count; i++)
        if (trial->stretches.end[i].arm == arm)
            return &trial->stretches.end[i];
    ck_abort_msg("arm %u has no end", arm);
}

/* One part in the number of revolutions, 330 in 55 minutes, is what the start and end may
 * change. */
static const double tolerance = 1.0 / 330;

/* The stretches from arm to arm are as full as a cell in their midst was seen. */
static void check_stretches(const struct trial *trial) {
    static const struct {
        uint32_t from, to, cell;
    } stretch[] = {{COMB_FEEDER, SPRING_FEEDER, 10},
                   {SPRING_FEEDER, SPRING_TAKER, 30},
                   {SPRING_TAKER, COMB_TAKER, 42},
                   {COMB_TAKER, LID_FEEDER, 47},
                   {LID_FEEDER, COMB_FEEDER, 55}};
    ck_assert(trial->stretches.known[0]);
    for (size_t i = 0; i < sizeof stretch / sizeof *stretch; i++) {
        double seen = trial->seen[stretch[i].cell];
        ck_assert_double_eq_tol(end_of(trial, stretch[i].from)->after, seen, tolerance);
        ck_assert_double_eq_tol(end_of(trial, stretch[i].to)->before, seen, tolerance);
    }
    uint32_t fullest = lane_profile_fullest(&trial->stretches, 0);
    ck_assert_uint_eq(trial->stretches.end[fullest].arm, SPRING_FEEDER);
    ck_assert_uint_eq(trial->stretches.end[lane_profile_next(&trial->stretches, fullest)].arm,
                      SPRING_TAKER);
}

/* Without the lids nobody waits, and a flow of f items a second of one cell, on a belt of r cells a
 * second, holds a share f / r: a comb a second holds a sixth. */
START_TEST(shares_are_flows_over_the_rate) {
    struct trial trial = trial_of("arms.lid-feeder=null");
    run_trial(&trial);
    ck_assert_double_eq_tol(trial.stretches.end[0].before, 0, tolerance);
    ck_assert_double_eq_tol(trial.stretches.end[0].after, 1 / 6.0, tolerance);
    free_trial(&trial);
}
END_TEST

START_TEST(shares_are_those_that_are_seen) {
    struct trial trial = trial_of(NULL);
    run_trial(&trial);
    check_stretches(&trial);
    ck_assert_double_eq_tol(end_of(&trial, LID_FEEDER)->after, 12.0 / CELLS, tolerance);
    free_trial(&trial);
}
END_TEST

START_TEST(long_items_hold_more) {
    struct trial trial = trial_of("items.spring={length: 2}");
    run_trial(&trial);
    check_stretches(&trial);
    free_trial(&trial);
}
END_TEST

static const char *const unknown[] = {
    "incidents.heap={at: 10 min, drop: {item: lid, count: 3, lane: ring}}",
    "incidents.broom={at: 10 min, clear: {lane: ring, item: lid}}",
    "incidents.pause={at: 10 min, stop: ring}",
    "loops.ring.breaks={after: 10 min, repair: 1 min}",
    "run.for=8 min", /* 18 revolutions in 3 minutes */
    "arms.mixer={from: combs, to: ring@3, items: [comb, plank], swing: 9 s}", /* two lengths */
};

START_TEST(lane_that_can_not_be_told_is_not_told) {
    struct trial trial = trial_of(unknown[_i]);
    run_trial(&trial);
    ck_assert(!trial.stretches.known[0]);
    ck_assert_uint_eq(lane_profile_fullest(&trial.stretches, 0), NO_INDEX);
    free_trial(&trial);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("stretch");
    TCase *tests = tcase_create("stretch");
    tcase_add_test(tests, shares_are_flows_over_the_rate);
    tcase_add_test(tests, shares_are_those_that_are_seen);
    tcase_add_test(tests, long_items_hold_more);
    tcase_add_loop_test(tests, lane_that_can_not_be_told_is_not_told, 0,
                        sizeof unknown / sizeof *unknown);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
