/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_scenarios.c - each scenario that we hand out does what its head promises.
 *
 * What is asked here goes beyond the `expect:` of the scenario. Bounds come from arithmetic on the
 * scenario's own figures (rates, distances, thresholds), with the reason beside them. */
#include <check.h>
#include <glob.h>
#include <stdlib.h>

#include "tests/common/suite.h"
#include "tests/story/story.h"

static struct happening last_event(const struct story *story, const char *event,
                                   const char *subject) {
    return story_event(story, event, subject, story_count(story, event, subject) - 1);
}

START_TEST(every_scenario_holds_and_says_what_it_expects) {
    glob_t found;
    ck_assert_int_eq(glob("scenarios/*.yaml", 0, NULL, &found), 0);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        struct story story = story_run(found.gl_pathv[i], NULL);
        ck_assert_msg(story.status == 0, "%s does not hold", found.gl_pathv[i]);
        ck_assert(story_number(&story, "verdict", "holds", NULL) == 1);
        ck_assert(story_number(&story, "ticks", NULL) > 0);
        story_free(&story);
    }
    globfree(&found);
}
END_TEST

/* ---- demo ---- */

START_TEST(demo_rushes_at_first_and_never_congests) {
    struct story story = story_run("scenarios/demo.yaml", NULL);
    /* From each feeder to the taker of its kind it is 63, 58, 51, 68, 60, 82, 75 places at 6 a
     * second; at a part in 1.7, 1.7, 1.2, 1.4, 1.4, 1.6, 1.2 s, 53 ride at once when all feed. */
    ck_assert(story_share_most(&story, "ring", "lane", 0, 60) >= 53.0 / 132);
    ck_assert_uint_eq(story_count(&story, "congested", NULL), 0);
    ck_assert_uint_eq(story_count(&story, "jam", NULL), 0);
    ck_assert(story_number(&story, "lanes", "ring/lane", "max_share", NULL) < 0.95);
    story_free(&story);
}
END_TEST

START_TEST(demo_gets_rid_of_the_heap) {
    struct story story = story_run("scenarios/demo.yaml", NULL);
    ck_assert(story_event(&story, "drop", "ring/lane", 0).start_s == 720);
    ck_assert(story_on_lane(&story, "ring", "lane", "spring", 720) >= 40);
    /* Four springs in a swing of 0.9 s and 0.7 s to collect them: a revolution of 22 s carries the
     * heap past the taker once, a minute nearly three times. */
    ck_assert(story_on_lane(&story, "ring", "lane", "spring", 780) <= 12);
    story_free(&story);
}
END_TEST

START_TEST(demo_halts_empty_after_the_last_orders) {
    struct story story = story_run("scenarios/demo.yaml", NULL);
    struct happening rest = last_event(&story, "rest", NULL); /* after the last delivery */
    ck_assert(rest.open && rest.start_s > 1500 && rest.start_s < 1620);
    ck_assert(last_event(&story, "emptied", "ring").open);
    ck_assert(story_number(&story, "lanes", "ring/lane", "mean_share", NULL) < 0.5);
    static const char *const product[] = {"movement", "winder", "mount"};
    static const char *const shelf[] = {"movement-shelf", "winder-shelf", "mount-shelf"};
    static const int capacity[] = {14, 12, 10};
    /* 1500 s of orders, one in 6.5, 5.5, 7 s: a Poisson count less than 3.3 of its deviations. */
    static const int ordered[] = {180, 218, 166};
    for (int i = 0; i < 3; i++) {
        ck_assert(story_level(&story, shelf[i], product[i], 1800) == capacity[i]);
        ck_assert(story_number(&story, "items", product[i], "owed", NULL) == 0);
        ck_assert(story_number(&story, "items", product[i], "met", NULL) > ordered[i]);
    }
    story_free(&story);
}
END_TEST

/* ---- a shelf that fills ---- */

START_TEST(full_shelf_halts_an_empty_loop_until_the_next_order) {
    struct story story = story_run("scenarios/shelf-full.yaml", NULL);
    ck_assert_uint_eq(story_count(&story, "rest", NULL), 1);
    struct happening rest = story_event(&story, "rest", NULL, 0);
    ck_assert(rest.start_s > 600 && rest.start_s < 660);
    ck_assert(rest.end_s == 1200); /* the first order again */
    ck_assert(story_share_most(&story, "ring", "lane", rest.start_s, 1200) == 0);
    ck_assert(story_share_most(&story, "ring", "lane", 1200, 1260) > 0);
    story_free(&story);
}
END_TEST

START_TEST(full_shelf_holds_the_threshold_and_what_was_under_way) {
    struct story story = story_run("scenarios/shelf-full.yaml", NULL);
    double stock = story_level(&story, "shelf", "lantern", 1100);
    ck_assert(stock >= 10 && stock <= 24);
    ck_assert(story_level_most(&story, "shelf", "lantern") <= 24);
    ck_assert(story_number(&story, "items", "lantern", "owed", NULL) == 0);
    /* 100 intervals of 6 s in the morning, and the later ones from 20 min to 30 min, both ends. */
    ck_assert(story_number(&story, "items", "lantern", "demanded", NULL) == 100 + 101);
    story_free(&story);
}
END_TEST

/* ---- a heap ---- */

START_TEST(heap_thins_out) {
    struct story story = story_run("scenarios/heap-thins.yaml", NULL);
    ck_assert_uint_eq(story_count(&story, "congested", "ring/lane"), 1);
    struct happening congested = story_event(&story, "congested", "ring/lane", 0);
    ck_assert(congested.start_s == 20); /* one revolution, 100 places at 5 a second */
    /* A taker moves at best 0.833 parts a second, a feeder 0.556; four pairs shed at best 1.11 a
     * second, and 11 must go before the lane is below its 90. It waits for parts as well. */
    ck_assert(!congested.open && congested.end_s > 11 / 1.112 && congested.end_s < 180);
    ck_assert(story_share_most(&story, "ring", "lane", 480, 600) <= 0.6);
    story_free(&story);
}
END_TEST

START_TEST(heap_stays) {
    struct story story = story_run("scenarios/heap-stays.yaml", NULL);
    struct happening congested = story_event(&story, "congested", "ring/lane", 0);
    ck_assert(congested.start_s == 20 && congested.open);
    ck_assert(story_share_least(&story, "ring", "lane", 0, 600) >= 0.9);
    ck_assert_uint_eq(story_count(&story, "jam", NULL), 0);
    /* It moves as fast as the takers allow. A quarter of the heap passes in 5 s, in which a taker
     * that needs 2.1 s lifts off two parts, or three; 30 times in the run. */
    double off = story_number(&story, "arms", "key-taker", "moved", NULL);
    double on = story_number(&story, "arms", "key-feeder", "moved", NULL);
    ck_assert(off >= 29 * 2 && off <= 31 * 3);
    ck_assert(on >= off - 2 && on <= off + 2);
    story_free(&story);
}
END_TEST

/* ---- a surplus ---- */

START_TEST(surplus_fills_the_lane_until_nothing_moves) {
    struct story story = story_run("scenarios/surplus-jam.yaml", NULL);
    ck_assert_uint_eq(story_count(&story, "jam", "ring/lane"), 1);
    struct happening jam = story_event(&story, "jam", "ring/lane", 0);
    /* At most one offcut in 3.5 s: 40 fill the chest and 68 the lane, so not before 378 s; and the
     * orders of one in 6 s call for them by 648 s, the jam being seen half a minute later. */
    ck_assert(jam.open && jam.start_s > 378 && jam.start_s < 708);
    ck_assert(story_event(&story, "deadlock", "ring/lane", 0).open);
    ck_assert(last_event(&story, "starved", "bench").open);
    ck_assert(story_on_lane(&story, "ring", "lane", "offcut", 1200) == 68);
    ck_assert(story_level(&story, "scrap", "offcut", 1200) == 40);
    ck_assert(story_number(&story, "items", "lantern", "owed", NULL) > 0);
    story_free(&story);
}
END_TEST

START_TEST(cured_surplus_halts_empty_and_starts_again) {
    struct story story = story_run("scenarios/surplus-cured.yaml", NULL);
    ck_assert_uint_eq(story_count(&story, "jam", NULL), 0);
    /* 60 at the gate, and what can be under way then: the batch at work, two in the cutter's room,
     * and 54 places of the loop, 11.3 s, which at one offcut in 3.5 s hold four. */
    double cart = story_level_most(&story, "cart", "offcut");
    ck_assert(cart >= 60 && cart <= 60 + 1 + 2 + 4);
    ck_assert_uint_eq(story_count(&story, "rest", NULL), 1);
    struct happening rest = story_event(&story, "rest", NULL, 0);
    ck_assert(rest.start_s > 1200 && rest.end_s == 2400);
    ck_assert(story_share_most(&story, "ring", "lane", rest.start_s, 2400) == 0);
    ck_assert(story_share_most(&story, "ring", "lane", 2400, 2460) > 0);
    story_free(&story);
}
END_TEST

START_TEST(surplus_needs_both_the_arm_and_the_gate) {
    static const char *const without_arm[] = {"arms.offcut-clearer=null", NULL};
    static const char *const without_gate[] = {
        "stations.cutter.gate={chest: tray, item: pane, below: 8}", NULL};
    struct story no_arm = story_run("scenarios/surplus-cured.yaml", without_arm);
    ck_assert(no_arm.status == 1 && story_count(&no_arm, "jam", "ring/lane") > 0);
    story_free(&no_arm);
    struct story no_gate = story_run("scenarios/surplus-cured.yaml", without_gate);
    ck_assert(no_gate.status == 1 && story_count(&no_gate, "jam", "ring/lane") > 0);
    struct happening jam = story_event(&no_gate, "jam", "ring/lane", 0);
    ck_assert(jam.start_s > 1200 && jam.start_s < 2460); /* while the carter stays away */
    story_free(&no_gate);
}
END_TEST

/* ---- bulk and mix, a buffer, two loops, a line ---- */

START_TEST(bulk_keeps_to_its_lane_and_would_starve_the_bench_on_the_other) {
    struct story story = story_run("scenarios/bulk-and-mix.yaml", NULL);
    ck_assert(story_on_lane(&story, "ring", "bulk", "link", 600) > 0);
    ck_assert(story_on_lane(&story, "ring", "bulk", "link", 600) ==
              story_on_lane(&story, "ring", "bulk", "", 600));
    ck_assert(story_on_lane(&story, "ring", "mix", "link", 600) == 0);
    ck_assert(story_number(&story, "stations", "bench", "working", NULL) > 0.95);
    static const char *const one_lane[] = {"arms.link-feeder.to=ring/mix@20",
                                           "arms.link-taker.from=ring/mix@50", NULL};
    struct story shared = story_run("scenarios/bulk-and-mix.yaml", one_lane);
    double apart = story_number(&story, "items", "clock", "made", NULL);
    /* 18 parts a clock on 7 places a second: at most one in 2.6 s if nothing were ever lost; the
     * orders want one in 3.1 s, and even that is not reached. */
    ck_assert(story_number(&shared, "items", "clock", "made", NULL) < 0.9 * apart);
    ck_assert(story_number(&shared, "items", "clock", "owed", NULL) > 0);
    story_free(&shared);
    story_free(&story);
}
END_TEST

START_TEST(part_passes_through_to_a_buffer) {
    struct story story = story_run("scenarios/passing-through.yaml", NULL);
    /* The threshold, and what is under way: 73 places are 13.3 s, at a part in 1.5 s nine, with one
     * more in each of both hands. */
    double most = story_level_most(&story, "buffer", "candle");
    ck_assert(most >= 20 && most <= 20 + 9 + 2);
    ck_assert_uint_eq(story_count(&story, "starved", "packing"), 1);
    /* Until the first parts have come round. */
    ck_assert(story_event(&story, "starved", "packing", 0).end_s < 30);
    double parcels = story_number(&story, "stations", "packing", "batches", NULL);
    double candles = story_number(&story, "items", "candle", "consumed", NULL);
    ck_assert(candles >= 2 * parcels && candles <= 2 * parcels + 2);
    ck_assert(story_share_most(&story, "ring", "lane", 0, 1200) < 0.5);
    story_free(&story);
}
END_TEST

START_TEST(two_loops_halt_one_after_the_other_and_start_again) {
    struct story story = story_run("scenarios/two-loops.yaml", NULL);
    struct happening rest = story_event(&story, "rest", NULL, 0);
    ck_assert(rest.start_s > 600 && rest.start_s < 780);
    ck_assert(last_event(&story, "rest", NULL).end_s == 900); /* bins were filled in between */
    ck_assert(story_share_most(&story, "first", "lane", rest.start_s, 899) == 0);
    ck_assert(story_share_most(&story, "second", "lane", rest.start_s, 899) == 0);
    /* 15 at the gate, one at work and what waits on the bench, two. */
    double between = story_level(&story, "between", "movement", 890);
    ck_assert(between >= 15 && between <= 18);
    ck_assert(story_level(&story, "second-tray", "case", 890) >= 5);
    ck_assert(story_number(&story, "items", "music-box", "made", NULL) >= 250);
    story_free(&story);
}
END_TEST

START_TEST(line_queues_until_the_packer_is_back) {
    struct story story = story_run("scenarios/packing-line.yaml", NULL);
    /* Twelve clocks of two places; one in 6 s fills what is left of them within 72 s. */
    ck_assert(story_share_least(&story, "packing", "", 390, 600) == 1);
    ck_assert(story_on_lane(&story, "packing", "", "clock", 500) == 12);
    struct happening blocked = story_event(&story, "blocked", "clock-layer", 0);
    ck_assert(blocked.start_s > 300 && blocked.start_s < 420);
    ck_assert(blocked.end_s > 600 && blocked.end_s < 612);
    ck_assert(story_share_most(&story, "ring", "lane", 480, 600) == 0);
    /* The packer gains one clock in 18 s on the bench: twelve are gone in four minutes or so. */
    ck_assert(story_share_most(&story, "packing", "", 900, 1200) < 0.25);
    story_free(&story);
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_test(tests, every_scenario_holds_and_says_what_it_expects);
    tcase_add_test(tests, demo_rushes_at_first_and_never_congests);
    tcase_add_test(tests, demo_gets_rid_of_the_heap);
    tcase_add_test(tests, demo_halts_empty_after_the_last_orders);
    tcase_add_test(tests, full_shelf_halts_an_empty_loop_until_the_next_order);
    tcase_add_test(tests, full_shelf_holds_the_threshold_and_what_was_under_way);
    tcase_add_test(tests, heap_thins_out);
    tcase_add_test(tests, heap_stays);
    tcase_add_test(tests, surplus_fills_the_lane_until_nothing_moves);
    tcase_add_test(tests, cured_surplus_halts_empty_and_starts_again);
    tcase_add_test(tests, surplus_needs_both_the_arm_and_the_gate);
    tcase_add_test(tests, bulk_keeps_to_its_lane_and_would_starve_the_bench_on_the_other);
    tcase_add_test(tests, part_passes_through_to_a_buffer);
    tcase_add_test(tests, two_loops_halt_one_after_the_other_and_start_again);
    tcase_add_test(tests, line_queues_until_the_packer_is_back);
}

int main(void) { return suite_main("scenarios", add_tests); }
