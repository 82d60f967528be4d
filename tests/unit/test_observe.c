/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_observe.c - whoever observes an arm is told each change of it, as often as it is
 * observed, and nothing of other arms; and whoever wants to look after a tick can pause the world
 * there. */
#include <check.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "tests/common/suite.h"

/* Ticks at which arms changed. */
struct seen {
    struct world *world;
    int64_t tick[64];
    uint32_t count;
};

static void note(void *self, uint32_t arm) {
    struct seen *seen = self;
    ck_assert_uint_eq(arm, 0);
    ck_assert_uint_lt(seen->count, 64);
    seen->tick[seen->count++] = world_tick(seen->world) + 1; /* the tick at work */
}

/* The source is empty until tick 900: till then the arm only stops and starts. */
static const char text[] =
    "clock: {ticks_per_second: 100}\nrun: {for: 20}\nitems: [spring]\n"
    "chests: [{name: bin}, {name: tray, start: {spring: 9}}, {name: shelf}]\n"
    "arms: [{name: mover, from: bin, to: shelf, swing: 2},\n"
    "       {name: other, from: tray, to: shelf, swing: 1}]\n"
    "supplies: [{name: post, chest: bin, item: spring, every: 100, first: 9}]\n"
    "incidents: [{at: 5, stop: mover}, {at: 6, stop: other}, {at: 7, start: mover}]\n";

static struct scenario *read_text(void) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "test", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    faults_free(&faults);
    return scenario;
}

static void see_until(struct seen *seen, int64_t last) {
    while (world_tick(seen->world) < last)
        world_advance(seen->world, world_tick(seen->world) + 1);
}

/* A swing of 2 s from tick 900: it has picked, then puts down after half of it and goes back. */
START_TEST(all_changes_of_one_arm_are_told) {
    struct scenario *scenario = read_text();
    struct seen seen = {.world = world_new(scenario)};
    struct listener listener = {.self = &seen, .arm_changed = note};
    world_listen(seen.world, &listener);
    see_until(&seen, 100);
    seen.count = 0;
    world_observe_arm(seen.world, 0);
    see_until(&seen, 899);
    ck_assert_uint_eq(seen.count, 2);
    ck_assert_int_eq(seen.tick[0], 500);
    ck_assert_int_eq(seen.tick[1], 700);
    see_until(&seen, 1500);
    ck_assert_uint_gt(seen.count, 2);
    ck_assert_int_eq(seen.tick[2], 900);
    world_free(seen.world);
    scenario_free(scenario);
}
END_TEST

START_TEST(nothing_is_told_when_nobody_observes_any_more) {
    struct scenario *scenario = read_text();
    struct seen seen = {.world = world_new(scenario)};
    struct listener listener = {.self = &seen, .arm_changed = note};
    world_listen(seen.world, &listener);
    world_observe_arm(seen.world, 0);
    world_observe_arm(seen.world, 0);
    see_until(&seen, 100);
    world_ignore_arm(seen.world, 0);
    seen.count = 0;
    see_until(&seen, 600);
    ck_assert_uint_eq(seen.count, 1); /* it is observed once still */
    world_ignore_arm(seen.world, 0);
    see_until(&seen, 2000);
    ck_assert_uint_eq(seen.count, 1);
    world_free(seen.world);
    scenario_free(scenario);
}
END_TEST

/* ---- looking after a tick ---- */

static void note_and_pause(void *self, uint32_t arm) {
    struct seen *seen = self;
    note(self, arm);
    world_pause(seen->world);
}

/* The arm stops and starts in ticks 500 and 700; in the one after 700 nothing happens to it. */
START_TEST(a_pause_ends_with_the_tick_in_which_it_is_asked_for) {
    struct scenario *scenario = read_text();
    struct seen seen = {.world = world_new(scenario)};
    struct listener listener = {.self = &seen, .arm_changed = note_and_pause};
    world_listen(seen.world, &listener);
    world_advance(seen.world, 100); /* pauses make no difference to it */
    world_observe_arm(seen.world, 0);
    ck_assert(world_run(seen.world, 899));
    ck_assert_int_eq(world_tick(seen.world), 500);
    ck_assert(world_run(seen.world, 899));
    ck_assert_int_eq(world_tick(seen.world), 700);
    ck_assert(!world_run(seen.world, 899));
    ck_assert_int_eq(world_tick(seen.world), 899);
    world_free(seen.world);
    scenario_free(scenario);
}
END_TEST

START_TEST(a_pause_between_ticks_ends_with_the_next_one) {
    struct scenario *scenario = read_text();
    struct world *world = world_new(scenario), *plain = world_new(scenario);
    world_advance(world, 600);
    world_advance(plain, 600);
    world_pause(world);
    ck_assert(!world_run(world, 600)); /* it is still wanted */
    ck_assert(world_run(world, 2000));
    ck_assert(world_step(plain, 2000));
    ck_assert_int_eq(world_tick(world), world_tick(plain));
    ck_assert_int_lt(world_tick(world), 2000);
    ck_assert(!world_run(world, 2000));
    ck_assert_int_eq(world_tick(world), 2000);
    world_free(world);
    world_free(plain);
    scenario_free(scenario);
}
END_TEST

/* ---- two reasons at once ---- */

/* A batch of 20 s has worked for 12 when the station breaks down, for 20 s. That it is stopped as
 * well meanwhile takes nothing of the 8 s that are left: it is made at 40 s. */
START_TEST(two_reasons_to_stop_are_one_stop) {
    static const char press[] =
        "clock: {ticks_per_second: 10}\nrun: {for: 60}\nitems: [dial]\n"
        "stations: [{name: press, takes: {}, makes: {dial: 1}, time: 20, room: 1,\n"
        "  breaks: {after: 12, repair: 20}}]\n"
        "incidents: [{at: 14, stop: press}, {at: 16, start: press}]\n";
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(press, strlen(press), "test", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    struct world *world = world_new(scenario);
    int64_t made = 0;
    while (world_output_count(world, 0, 0) == 0 && made < 600)
        world_advance(world, ++made);
    ck_assert_int_eq(made, 400);
    world_free(world);
    scenario_free(scenario);
    faults_free(&faults);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, all_changes_of_one_arm_are_told);
    tcase_add_test(tests, nothing_is_told_when_nobody_observes_any_more);
    tcase_add_test(tests, a_pause_ends_with_the_tick_in_which_it_is_asked_for);
    tcase_add_test(tests, a_pause_between_ticks_ends_with_the_next_one);
    tcase_add_test(tests, two_reasons_to_stop_are_one_stop);
}

int main(void) { return suite_main("observe", add_tests); }
