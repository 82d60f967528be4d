/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_fill.c - what a budget says of hands of several items that fill from a loop,
 * against runs of the engine. */
#include <check.h>
#include <stdio.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/engine/world.h"
#include "model/reader/read.h"
#include "tests/common/suite.h"

/* One kind of item goes round from one feeder to one taker; there is always more of it, and always
 * room. Hours enough that what lies on the loop at the end is less than 1 % of what was taken. */
static const char workshop[] =
    "run: {for: %d h}\n"
    "items: [pin]\n"
    "loops: [{name: ring, cells: %d, rate: 6}]\n"
    "chests: [{name: bin, start: {pin: 1}}, {name: shelf}]\n"
    "supplies: [{name: pins, chest: bin, item: pin, every: 0.25 s, when_full: lose}]\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: ring@0, items: [pin], swing: %.3f s}\n"
    "  - {name: taker, from: ring@%d, to: shelf, items: [pin], hand: %d, swing: %.2f s%s}\n";
enum { FEEDER, TAKER };
enum { HOURS = 8, TEXT_BYTES = 1024 };

static const struct hand {
    int hand;
    double swing;
    const char *linger;
} hand[] = {{2, 3, ""}, {3, 4, ""},   {4, 7.2, ""},
            {6, 5, ""}, {8, 9.1, ""}, {4, 2, ", linger: 0.3 s"}};
static const int cells[] = {60, 97, 240, 997};
enum { HANDS = sizeof hand / sizeof *hand, RINGS = sizeof cells / sizeof *cells };

/* Items a minute that the taker took, of what the feeder could bring, and what was said of it. */
struct outcome {
    double taken, fed, sure, steady;
};

static struct outcome outcome_of(const struct hand *given, int ring, double feeder_swing) {
    char text[TEXT_BYTES];
    snprintf(text, sizeof text, workshop, HOURS, ring, feeder_swing, ring / 2, given->hand,
             given->swing, given->linger);
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "workshop", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    faults_free(&faults);
    struct budget *budget = budget_new(scenario);
    struct world *world = world_new(scenario);
    world_advance(world, scenario->run_ticks);
    struct outcome outcome = {(double)world_arm_totals(world, TAKER).moved / HOURS / 60,
                              60 * budget->arm[FEEDER].greatest, 60 * budget->arm[TAKER].sure,
                              60 * budget->arm[TAKER].steady};
    world_free(world);
    budget_free(budget);
    scenario_free(scenario);
    return outcome;
}

/* The steady rate is a bound: a hand that fills from items close together. 1 % for the first items,
 * which come to an arm that waits. */
START_TEST(no_hand_takes_more_than_steadily) {
    static const double feeders[] = {0.3, 0.5, 1};
    for (int ring = 0; ring < RINGS; ring++)
        for (size_t i = 0; i < sizeof feeders / sizeof *feeders; i++) {
            struct outcome outcome = outcome_of(&hand[_i], cells[ring], feeders[i]);
            ck_assert_msg(outcome.taken <= outcome.steady * 1.01, "%d cells: %f of %f", cells[ring],
                          outcome.taken, outcome.steady);
        }
}
END_TEST

/* What is sure comes, whatever rows form, at any load of the taker. 5 % for what the mean field of
 * rows and gaps leaves out: a taker that comes back in the middle of a row, and the rest of its
 * hand that comes with the next one. */
START_TEST(what_is_sure_is_taken) {
    static const double loads[] = {0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1, 1.5};
    for (int ring = 0; ring < RINGS; ring++)
        for (size_t i = 0; i < sizeof loads / sizeof *loads; i++) {
            double steady = outcome_of(&hand[_i], cells[ring], 60).steady;
            struct outcome outcome = outcome_of(&hand[_i], cells[ring], 60 / (loads[i] * steady));
            ck_assert_msg(outcome.taken >= outcome.sure * 0.95, "%d cells, load %.1f: %f of %f",
                          cells[ring], loads[i], outcome.taken, outcome.sure);
        }
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("fill");
    TCase *tests = tcase_create("fill");
    tcase_add_loop_test(tests, no_hand_takes_more_than_steadily, 0, HANDS);
    tcase_add_loop_test(tests, what_is_sure_is_taken, 0, HANDS);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
