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
    "  - {name: taker, from: ring@%d, to: shelf, items: [pin], hand: %d, swing: %.2f s%s}\n"
    "incidents: [{at: 0 s, drop: {lane: ring, item: pin, count: %d}}]\n";
enum { FEEDER, TAKER };
enum { HOURS = 8, TEXT_BYTES = 1024 };

static const struct hand {
    int hand;
    double swing;
    const char *linger;
} hand[] = {{2, 3, ""},
            {3, 4, ""},
            {4, 7.2, ""},
            {5, 6.1, ""},
            {6, 5, ""},
            {8, 9.1, ""},
            {4, 2, ", linger: 0.3 s"},
            {4, 2, ", linger: 20 s"}};
static const int cells[] = {60, 97, 240, 997};
enum { HANDS = sizeof hand / sizeof *hand, RINGS = sizeof cells / sizeof *cells };

/* Items a minute that the feeder put on the loop and that the taker took, which are the same in the
 * long run; what the feeder could bring, and what was said of the taker. */
struct outcome {
    double put, taken, fed, sure, steady;
};

/* `dropped`: so many lie on the loop at the start, in a row; at least 1. */
static struct outcome outcome_of(const struct hand *given, int ring, double feeder_swing,
                                 int dropped) {
    char text[TEXT_BYTES];
    snprintf(text, sizeof text, workshop, HOURS, ring, feeder_swing, ring / 2, given->hand,
             given->swing, given->linger, dropped);
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "workshop", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    faults_free(&faults);
    struct budget *budget = budget_new(scenario);
    struct world *world = world_new(scenario);
    world_advance(world, scenario->run_ticks);
    struct outcome outcome = {(double)world_arm_totals(world, FEEDER).moved / HOURS / 60,
                              (double)world_arm_totals(world, TAKER).moved / HOURS / 60,
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
            struct outcome outcome = outcome_of(&hand[_i], cells[ring], feeders[i], 1);
            ck_assert_msg(outcome.taken <= outcome.steady * 1.01, "%d cells: %f of %f", cells[ring],
                          outcome.taken, outcome.steady);
        }
}
END_TEST

/* What is sure comes at any load of the taker, 0.05 to 1.5 of its steady rate. 5 % for what the
 * mean field of rows and gaps leaves out: a taker that comes back in the middle of a row, the rest
 * of its hand that comes with the next one, and places that a feeder waits for. */
static void check_sure(const struct hand *given, int ring, int dropped) {
    static const double loads[] = {0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4,
                                   0.5,  0.6, 0.7,  0.8, 0.9,  1,   1.5};
    double steady = outcome_of(given, ring, 60, 1).steady;
    for (size_t i = 0; i < sizeof loads / sizeof *loads; i++) {
        struct outcome outcome = outcome_of(given, ring, 60 / (loads[i] * steady), dropped);
        double moved = outcome.put < outcome.taken ? outcome.put : outcome.taken;
        ck_assert_msg(moved >= outcome.sure * 0.95, "%d cells, load %.2f: %f of %f", ring, loads[i],
                      moved, outcome.sure);
    }
}

START_TEST(what_is_sure_is_taken) {
    for (int ring = 0; ring < RINGS; ring++)
        check_sure(&hand[_i], cells[ring], 1);
}
END_TEST

/* Also where rows need not form first, since half of the lane begins as one. */
START_TEST(what_is_sure_is_taken_beside_a_row) {
    for (int ring = 0; ring < RINGS; ring++)
        check_sure(&hand[_i], cells[ring], cells[ring] / 2);
}
END_TEST

/* All that comes by where a swing and its lingering take no longer than the feeder: at 1 / (swing +
 * linger) a second, less 2 % for steps of the belt. */
START_TEST(rare_items_are_all_taken) {
    static const double lingers[HANDS] = {3, 4, 7.2, 6.1, 5, 9.1, 0.3, 20};
    double cycle = hand[_i].swing + lingers[_i];
    for (int ring = 0; ring < RINGS; ring++) {
        struct outcome outcome = outcome_of(&hand[_i], cells[ring], cycle, 1);
        ck_assert_double_eq_tol(outcome.sure, 60 / cycle, 1e-9);
        ck_assert_msg(outcome.taken >= outcome.fed * 0.98, "%d cells: %f of %f", cells[ring],
                      outcome.taken, outcome.fed);
    }
}
END_TEST

/* ---- what must come by ---- */

/* Of a hand of four that lingers up to 20 s and swings for 2 s, eighty a minute are 4 in 3 s: one
 * second is left for three more to come by, three a second; half of the six places. Of one that
 * lingers for 0.3 s, 1 + 0.3 f come into the hand, f a second being what comes by: at f = 5 that is
 * 2.5 in 2.3 s, one in 0.92 s. */
START_TEST(so_many_must_come_by_to_fill_a_hand) {
    static const struct {
        const char *every, *linger, *says;
    } row[] = {{"0.75 s", "20 s",
                "for 80 a minute 3 of its items a second must come by while it picks, "
                "50 % of the places of ring/lane, so that a hand of 4 gets 4;"},
               {"0.92 s", "0.3 s",
                "for 65.22 a minute 5 of its items a second must come by while it "
                "picks, 83 % of the places of ring/lane, so that a hand of 4 gets 2.5;"}};
    char text[TEXT_BYTES];
    snprintf(text, sizeof text,
             "items: [pin]\n"
             "loops: [{name: ring, cells: 60, rate: 6}]\n"
             "chests: [{name: bin, start: {pin: 1}}, {name: shelf}]\n"
             "arms:\n"
             "  - {name: feeder, from: bin, to: ring@0, items: [pin], swing: 0.2 s}\n"
             "  - {name: taker, from: ring@30, to: shelf, hand: 4, swing: 2 s, linger: %s}\n"
             "demands: [{name: orders, chest: shelf, item: pin, every: %s}]\n",
             row[_i].linger, row[_i].every);
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "workshop", NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "");
    faults_free(&faults);
    struct budget *budget = budget_new(scenario);
    bool found = false;
    for (uint32_t i = 0; i < budget->notes.count; i++)
        found |= strstr(budget->notes.text[i], row[_i].says) != NULL;
    ck_assert_msg(found, "%s", budget->notes.count > 0 ? budget->notes.text[0] : "no note");
    budget_free(budget);
    scenario_free(scenario);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("fill");
    TCase *tests = tcase_create("fill");
    tcase_add_loop_test(tests, no_hand_takes_more_than_steadily, 0, HANDS);
    tcase_add_loop_test(tests, what_is_sure_is_taken, 0, HANDS);
    tcase_add_loop_test(tests, what_is_sure_is_taken_beside_a_row, 0, HANDS);
    tcase_add_loop_test(tests, rare_items_are_all_taken, 0, HANDS);
    tcase_add_loop_test(tests, so_many_must_come_by_to_fill_a_hand, 0, 2);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
