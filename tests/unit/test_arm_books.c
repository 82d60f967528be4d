/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_arm_books.c - the totals of arms, which mostly follow from their swings, against
 * a count of what is seen tick by tick: a tick counts for the state in which an arm is after the
 * tick before. All comparisons exact. */
#include <check.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "model/state/state.h"
#include "sim/random.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"

enum { SCENARIOS = 60, TICKS = 600 };

/* NULL: the change does not fit. */
static struct scenario *read_text(const char *text, const char *override) {
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario(text, strlen(text), "test", &override, override != NULL, &faults);
    faults_free(&faults);
    return scenario;
}

/* What all arms have put down. */
static int64_t put_down(struct world *world, uint32_t arm_count) {
    int64_t moved = 0;
    for (uint32_t i = 0; i < arm_count; i++)
        moved += world_arm_totals(world, i).moved;
    return moved;
}

static void count_move(void *self, const struct move *move) {
    int64_t *placed = self;
    if (move->act == MOVE_PLACE)
        *placed += move->count;
}

/* Runs on for some ticks, and counts. */
static void count_on(struct world *world, uint32_t arm_count, int64_t ticks) {
    struct arm_totals *counted = require_memory(arm_count, sizeof *counted);
    int64_t placed = put_down(world, arm_count);
    world_listen(world, &(struct listener){.self = &placed, .moved = count_move});
    for (uint32_t i = 0; i < arm_count; i++)
        counted[i] = world_arm_totals(world, i);
    for (int64_t end = world_tick(world) + ticks; world_tick(world) < end;) {
        for (uint32_t i = 0; i < arm_count; i++)
            counted[i].ticks[world_arm_state(world, i)]++;
        world_advance(world, world_tick(world) + 1);
        for (uint32_t i = 0; i < arm_count; i++) {
            struct arm_totals totals = world_arm_totals(world, i);
            ck_assert_mem_eq(totals.ticks, counted[i].ticks, sizeof totals.ticks);
            if (world_arms_are_plain(world)) {
                struct arm_totals plain = world_plain_arm_totals(world, i);
                ck_assert_mem_eq(&plain, &totals, sizeof totals);
            }
        }
        ck_assert_int_eq(put_down(world, arm_count), placed);
    }
    free(counted);
}

START_TEST(each_tick_counts_for_the_state_that_is_seen) {
    char *text = scatter_scenario((uint64_t)_i, _i % 2 == 0);
    struct scenario *scenario = read_text(text, NULL);
    struct world *world = world_new(scenario);
    world_advance(world, 0);
    count_on(world, scenario->arm_count, TICKS);
    world_free(world);
    scenario_free(scenario);
    free(text);
}
END_TEST

/* From chests and lanes to chests and lanes, with waits for items, for room and for cells. */
static const char plain_text[] =
    "clock: {ticks_per_second: 10}\nwatch: {blocked_after: 1 s}\nitems: [comb]\n"
    "loops: [{name: ring, cells: 12, rate: 1}]\n"
    "chests: [{name: bin, start: {comb: 300}}, {name: tray, capacity: 6}, {name: end}]\n"
    "demands: [{name: buyer, chest: end, item: comb, every: 9 s}]\n"
    "arms:\n  - {name: feeder, from: bin, to: ring@5, swing: 1}\n"
    "  - {name: second, from: bin, to: ring@7, swing: 0.8}\n"
    "  - {name: taker, from: ring@4, to: tray, swing: 1.7}\n"
    "  - {name: shifter, from: tray, to: end, swing: 5}\n";

START_TEST(plain_arms_have_the_same_totals_the_short_way) {
    struct scenario *scenario = read_text(plain_text, NULL);
    struct world *world = world_new(scenario);
    world_advance(world, 0);
    ck_assert(world_arms_are_plain(world));
    count_on(world, scenario->arm_count, 10 * TICKS);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        ck_assert_int_gt(world_arm_totals(world, i).moved, 1);
    ck_assert_int_gt(world_arm_totals(world, 0).ticks[ARM_PLACING], 100);
    world_free(world);
    scenario_free(scenario);
}
END_TEST

/* What an arm has done it has done, whatever it is from then on. */
START_TEST(a_change_of_an_arm_leaves_its_totals) {
    static const char *const override[] = {
        "arms.arm-0.swing=0",  "arms.arm-0.swing=2", "arms.arm-0.swing={exponential: 4}",
        "arms.arm-0.hand=1",   "arms.arm-0.hand=3",  "watch.blocked_after=0",
        "arms.arm-0.linger=0", "incidents=null"};
    struct random_stream chance;
    random_start(&chance, (uint64_t)_i, "changed", "tick");
    char *text = scatter_scenario((uint64_t)_i, _i % 2 == 0);
    struct scenario *scenario = read_text(text, NULL);
    struct world *world = world_new(scenario);
    world_advance(world, random_below(&chance, TICKS));
    for (size_t i = 0; i < sizeof override / sizeof *override; i++) {
        struct scenario *other = read_text(text, override[i]);
        struct world *copy = other == NULL ? NULL : state_copy(world, other);
        for (uint32_t arm = 0; copy != NULL && arm < scenario->arm_count; arm++) {
            struct arm_totals before = world_arm_totals(world, arm);
            struct arm_totals after = world_arm_totals(copy, arm);
            ck_assert_mem_eq(&before, &after, sizeof before);
        }
        if (copy != NULL)
            count_on(copy, other->arm_count, TICKS / 2);
        world_free(copy);
        scenario_free(other);
    }
    world_free(world);
    scenario_free(scenario);
    free(text);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("arm_books");
    TCase *tests = tcase_create("arm_books");
    tcase_add_loop_test(tests, each_tick_counts_for_the_state_that_is_seen, 0, SCENARIOS);
    tcase_add_test(tests, plain_arms_have_the_same_totals_the_short_way);
    tcase_add_loop_test(tests, a_change_of_an_arm_leaves_its_totals, 0, SCENARIOS);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
