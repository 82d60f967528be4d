/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_trade.c - what people who run such loops know to be true.
 *
 * The facts are common practice, no source. Where a figure is more exact than the fact, it is
 * arithmetic on the scenario, and the reason stands beside it. */
#include <check.h>
#include <stdio.h>

#include "tests/common/suite.h"
#include "tests/story/story.h"

enum { RUN_S = 300 }; /* seven-feeders.yaml runs for five minutes */

static const char seven_feeders[] = "tests/story/seven-feeders.yaml";

static double moved(const struct story *story, const char *arm) {
    return story_number(story, "arms", arm, "moved", NULL);
}

static double placing(const struct story *story, const char *arm) {
    return story_number(story, "arms", arm, "placing", NULL);
}

/* Parts a second that the feeders of seven-feeders.yaml put on together. */
static double fed_per_second(const struct story *story, const char *const *feeder, size_t count) {
    double all = 0;
    for (size_t i = 0; i < count; i++)
        all += moved(story, feeder[i]);
    return all / RUN_S;
}

/* Common practice, no source: arms that swing once a second feed seven kinds of parts onto one lane
 * of 7.5 a second, continuously, with a little space left. */
START_TEST(seven_feeders_run_without_waiting) {
    static const char *const feeder[] = {"dial-feeder", "hand-feeder",   "gear-feeder",
                                         "pin-feeder",  "spring-feeder", "key-feeder",
                                         "plate-feeder"};
    struct story story = story_run(seven_feeders, NULL);
    for (size_t i = 0; i < 7; i++) {
        ck_assert_msg(moved(&story, feeder[i]) >= RUN_S - 2, "%s waited", feeder[i]);
        ck_assert(placing(&story, feeder[i]) < 0.01);
    }
    ck_assert(fed_per_second(&story, feeder, 7) < 7.5);
    ck_assert_uint_eq(story_count(&story, "blocked", NULL), 0);
    story_free(&story);
}
END_TEST

/* The little space that is left: half a place a second, which an eighth feeder gets and no more. */
START_TEST(an_eighth_feeder_gets_what_is_left) {
    static const char *const eighth[] = {
        "arms.screw-feeder={from: screw-bin, to: ring@32, items: [screw], swing: 1 s}",
        "arms.screw-taker={from: ring@115, to: screw-tray, items: [screw], hand: 2, swing: 0.4 s}",
        NULL};
    struct story story = story_run(seven_feeders, eighth);
    double rate = moved(&story, "screw-feeder") / RUN_S;
    ck_assert(rate > 0.4 && rate < 0.6);
    ck_assert(placing(&story, "screw-feeder") > 0.4);
    ck_assert(moved(&story, "plate-feeder") >= RUN_S - 2); /* those before it do not notice */
    story_free(&story);
}
END_TEST

/* Common practice, no source: two items a swing counts double; two feeders of two items use four of
 * the seven places, so that three plain ones fit beside them, and not five. */
START_TEST(two_items_a_swing_use_two_places) {
    static const char *const three_beside[] = {"arms.dial-feeder.hand=2", "arms.hand-feeder.hand=2",
                                               "arms.key-feeder=null", "arms.plate-feeder=null",
                                               NULL};
    static const char *const five_beside[] = {"arms.dial-feeder.hand=2", "arms.hand-feeder.hand=2",
                                              NULL};
    struct story three = story_run(seven_feeders, three_beside);
    /* The second item of a hand goes on a step later, 0.13 s, so a cycle is 1.13 s at best, and the
     * others fall in with it when they must wait for its pairs to pass. */
    ck_assert(moved(&three, "dial-feeder") > 2 * RUN_S / 1.2);
    ck_assert(moved(&three, "hand-feeder") > 2 * RUN_S / 1.2);
    ck_assert(moved(&three, "gear-feeder") > RUN_S / 1.2);
    ck_assert(moved(&three, "spring-feeder") > RUN_S / 1.2);
    ck_assert_uint_eq(story_count(&three, "blocked", NULL), 0);
    story_free(&three);
    struct story five = story_run(seven_feeders, five_beside);
    ck_assert(moved(&five, "plate-feeder") < 0.2 * RUN_S);
    ck_assert(placing(&five, "plate-feeder") > 0.8);
    story_free(&five);
}
END_TEST

/* ---- takers against feeders ---- */

enum { CHANGE_BYTES = 64, KINDS = 4 };

/* heap-thins.yaml with other swings of all its arms. */
static struct story heap_with(const char *taker, const char *feeder, const char *hand) {
    static const char *const kind[KINDS] = {"key", "dial", "hand", "pin"};
    char change[3 * KINDS][CHANGE_BYTES];
    const char *set[3 * KINDS + 1] = {NULL};
    for (size_t i = 0; i < KINDS; i++) {
        snprintf(change[3 * i], CHANGE_BYTES, "arms.%s-taker.swing=%s", kind[i], taker);
        snprintf(change[3 * i + 1], CHANGE_BYTES, "arms.%s-feeder.swing=%s", kind[i], feeder);
        snprintf(change[3 * i + 2], CHANGE_BYTES, "arms.%s-feeder.hand=%s", kind[i], hand);
    }
    for (size_t i = 0; i < 3 * KINDS; i++)
        set[i] = change[i];
    return story_run("scenarios/heap-thins.yaml", set);
}

/* Common practice, no source: the arms that take off must be faster than those that put on; then a
 * congested loop thins out again by itself. */
START_TEST(faster_takers_clear_a_congested_loop) {
    static const char *const taker[] = {"0.9 s", "1.2 s", "1.5 s"};
    struct story story = heap_with(taker[_i], "1.8 s", "1");
    ck_assert(!story_event(&story, "congested", "ring/lane", 0).open);
    ck_assert(story_share_most(&story, "ring", "lane", 540, 600) < 0.8);
    story_free(&story);
}
END_TEST

/* Common practice, no source: if they are slower, it stays congested. */
START_TEST(slower_takers_leave_it_congested) {
    static const char *const taker[] = {"2 s", "2.1 s", "3 s"};
    struct story story = heap_with(taker[_i], "1.8 s", "1");
    ck_assert(story_event(&story, "congested", "ring/lane", 0).open);
    ck_assert(story_share_least(&story, "ring", "lane", 540, 600) >= 0.9);
    story_free(&story);
}
END_TEST

/* Common practice, no source: a slow arm with a hand of two is fine as a feeder while the takers
 * are still faster. */
START_TEST(slow_feeders_with_a_hand_of_two_are_fine) {
    struct story story = heap_with("1.2 s", "3.6 s", "2");
    ck_assert(!story_event(&story, "congested", "ring/lane", 0).open);
    ck_assert(story_share_most(&story, "ring", "lane", 540, 600) < 0.8);
    story_free(&story);
}
END_TEST

/* ---- gates ---- */

/* Common practice, no source: inputs gated on the stock bound it at the threshold plus what was
 * under way. Here a part is picked each second and lies on the shelf 4.75 s and a step later: four
 * more are picked before the gate sees it. */
START_TEST(gated_input_bounds_the_stock) {
    static const int threshold[] = {1, 5, 20, 100};
    char below[CHANGE_BYTES];
    snprintf(below, sizeof below, "arms.feeder.gate.below=%d", threshold[_i]);
    const char *const set[] = {below, NULL};
    struct story story = story_run("tests/story/gated-stock.yaml", set);
    ck_assert_int_eq(story.status, 0); /* it expects to come to rest, the loop empty */
    ck_assert(story_level(&story, "shelf", "lantern", RUN_S) == threshold[_i] + 4);
    story_free(&story);
}
END_TEST

START_TEST(without_a_gate_the_stock_grows_on) {
    static const char *const set[] = {"arms.feeder.gate=null", NULL};
    struct story story = story_run("tests/story/gated-stock.yaml", set);
    ck_assert_int_eq(story.status, 1);
    ck_assert(story_level(&story, "shelf", "lantern", RUN_S) > RUN_S - 10);
    story_free(&story);
}
END_TEST

/* ---- a surplus ---- */

/* Common practice, no source: a surplus output whose chest is full jams the loop for everyone.
 * Taking the surplus off with a faster arm frees it within moments. */
START_TEST(a_fast_arm_frees_a_jammed_loop_within_moments) {
    static const char *const set[] = {
        "chests.yard={}", "arms.clearer={from: ring@50, to: yard, items: [offcut], swing: 0.5 s}",
        "incidents.not-yet={at: 0, stop: clearer}", "incidents.now={at: 15 min, start: clearer}",
        NULL};
    struct story story = story_run("scenarios/surplus-jam.yaml", set);
    struct happening jam = story_event(&story, "jam", "ring/lane", 0);
    ck_assert(jam.start_s < 900 && jam.end_s == 900);
    ck_assert_uint_eq(story_count(&story, "jam", "ring/lane"), 1);
    struct happening starved =
        story_event(&story, "starved", "bench", story_count(&story, "starved", "bench") - 1);
    ck_assert(starved.start_s < 900 && starved.end_s < 930);
    /* Two offcuts a second go: the heap of 68 is gone in 34 s. */
    ck_assert(story_share_most(&story, "ring", "lane", 960, 1200) < 0.5);
    story_free(&story);
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_test(tests, seven_feeders_run_without_waiting);
    tcase_add_test(tests, an_eighth_feeder_gets_what_is_left);
    tcase_add_test(tests, two_items_a_swing_use_two_places);
    tcase_add_loop_test(tests, faster_takers_clear_a_congested_loop, 0, 3);
    tcase_add_loop_test(tests, slower_takers_leave_it_congested, 0, 3);
    tcase_add_test(tests, slow_feeders_with_a_hand_of_two_are_fine);
    tcase_add_loop_test(tests, gated_input_bounds_the_stock, 0, 4);
    tcase_add_test(tests, without_a_gate_the_stock_grows_on);
    tcase_add_test(tests, a_fast_arm_frees_a_jammed_loop_within_moments);
}

int main(void) { return suite_main("trade", add_tests); }
