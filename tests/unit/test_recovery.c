/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_recovery.c - when a product is made as usual, when it has ended, and how long it
 * takes after a disturbance. Makings are written down by hand; their usual interval is 10 ticks. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "tests/common/suite.h"
#include "tools/soak/recovery.h"

static const char text[] =
    "clock: {ticks_per_second: 1}\nrun: {for: 1 h}\nitems: [spring, clock, case]\n"
    "chests: [{name: bin, start: {spring: 9}}, {name: shelf}]\n"
    "stations:\n"
    "  - {name: bench, takes: {spring: 1}, makes: {clock: 1}, time: 4 s}\n"
    "  - {name: saw, takes: {spring: 1}, makes: {case: 1}, time: 4 s}\n"
    "arms:\n"
    "  - {name: in, from: bin, to: bench, swing: 1 s}\n"
    "  - {name: in-saw, from: bin, to: saw, swing: 1 s}\n"
    "  - {name: out, from: bench, to: shelf, swing: 1 s}\n"
    "  - {name: out-saw, from: saw, to: shelf, swing: 1 s}\n"
    "demands:\n"
    "  - {name: orders, chest: shelf, item: clock, every: 9 s, from: 20 s, until: 3000 s}\n"
    "  - {name: later, chest: shelf, item: clock, every: 9 s, from: 40 s, until: 3000 s}\n"
    "  - {name: cases, chest: shelf, item: case, every: 9 s, until: 5 s}\n"
    "  - {name: carter, chest: shelf, item: spring, every: 9 s, outlet: true}\n";
enum { SPRING, CLOCK, CASE };

static struct scenario *scenario;
static struct world *world;
static struct makings makings;
static struct asking asking;

static void begin(void) {
    struct faults faults = {0};
    scenario = read_scenario(text, strlen(text), "", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    faults_free(&faults);
    world = world_new(scenario);
    makings_init(&makings, scenario, world);
    asking_init(&asking, scenario);
    for (uint32_t i = 0; i < makings.count; i++)
        makings.making[i].usual = (struct mean_interval){100, 10};
}

static void end(void) {
    asking_free(&asking);
    makings_free(&makings);
    world_free(world);
    scenario_free(scenario);
}

static void make(struct making *making, int64_t tick) {
    making->times++;
    making->last_tick = tick;
    making->recent[making->recent_times++ % MAKINGS_TIMES] = tick;
}

/* Nine times within the last ten intervals, which are a hundred ticks: less than 100 ticks from the
 * first of nine to now. */
START_TEST(product_is_as_usual_with_nine_makings_in_ten_intervals) {
    struct making *making = &makings.making[0];
    for (int64_t k = 1; k <= 8; k++) {
        make(making, 10 * k);
        ck_assert(!makings_is_usual(making, 10 * k));
    }
    make(making, 90);
    ck_assert(makings_is_usual(making, 90));
    ck_assert(makings_is_usual(making, 109));
    ck_assert(!makings_is_usual(making, 110));
    makings_forget(&makings);
    ck_assert(!makings_is_usual(making, 90));
    making->usual.times = 0;
    ck_assert(makings_is_usual(making, 90));
}
END_TEST

START_TEST(product_has_ended_after_ten_intervals_without_a_making) {
    struct making *making = &makings.making[0];
    make(making, 50);
    ck_assert(!makings_have_ended(making, 0, 150));
    ck_assert(makings_have_ended(making, 0, 151));
    ck_assert(!makings_have_ended(making, 100, 200)); /* asked for from 100 on only */
    ck_assert(makings_have_ended(making, 100, 201));
    making->usual.times = 0;
    ck_assert(!makings_have_ended(making, 0, 1000));
}
END_TEST

START_TEST(mean_interval_counts_from_the_warm_up) {
    struct making *making = &makings.making[0];
    for (int64_t tick = 1; tick <= 4; tick++)
        make(making, tick);
    makings_warm(&makings);
    make(making, 20);
    make(making, 30);
    struct mean_interval mean = makings_mean(making, 10, 30);
    ck_assert_int_eq(mean.ticks, 20);
    ck_assert_int_eq(mean.times, 2);
}
END_TEST

static void hear(enum event_kind kind, uint32_t demand, int64_t tick) {
    asking_heard(&asking, &(struct event){.kind = kind,
                                          .start_tick = tick,
                                          .subject = SUBJECT_ACTOR,
                                          .actor = {PART_DEMAND, demand}});
}

START_TEST(items_are_asked_for_by_demands_that_run) {
    ck_assert_int_eq(asking_since(&asking, CLOCK, 10), NOT_GIVEN);
    ck_assert_int_eq(asking_since(&asking, CLOCK, 100), 20);
    ck_assert_int_eq(asking_since(&asking, CASE, 5), 0);
    ck_assert_int_eq(asking_since(&asking, CASE, 6), NOT_GIVEN);
    ck_assert_int_eq(asking_since(&asking, SPRING, 100), NOT_GIVEN); /* an outlet asks nothing */
    hear(EVENT_STOP, 0, 200);
    ck_assert_int_eq(asking_since(&asking, CLOCK, 200), 40);
    hear(EVENT_STOP, 1, 210);
    ck_assert_int_eq(asking_since(&asking, CLOCK, 210), NOT_GIVEN);
    hear(EVENT_START, 0, 300);
    hear(EVENT_START, 0, 310); /* in vain */
    ck_assert_int_eq(asking_since(&asking, CLOCK, 320), 300);
    ck_assert_int_eq(asking_since(&asking, CLOCK, 3001), NOT_GIVEN);
}
END_TEST

/* From 100 to 200 nothing goes right. From 210 on a clock is made every ten ticks: the ninth is at
 * 290, 90 ticks after the end. What is made before counts for nothing. A heap falls at 400; from
 * then on clocks come every 20 ticks, and nine take 160: that is not usual. Cases are not asked
 * for, so nobody waits for them. */
START_TEST(recovery_is_counted_from_the_end_of_each_disturbance) {
    struct disturbance entry[] = {{100, 200}, {400, 400}};
    struct disturbances list = {.entry = entry, .count = 2};
    struct recovery recovery;
    recovery_init(&recovery, &list, &makings, &asking);
    ck_assert_int_eq(recovery_next_stop(&recovery, 0, 900), 100);
    for (int64_t tick = 1; tick <= 900; tick++) {
        bool made = tick % 10 == 0 && tick > 200 && (tick <= 400 || tick % 20 == 0);
        if (made || (tick >= 91 && tick <= 99))
            make(&makings.making[0], tick);
        if (made)
            recovery_look(&recovery, tick);
        recovery_stop(&recovery, tick);
        if (tick == 100)
            ck_assert_int_eq(recovery_next_stop(&recovery, tick, 900), 200);
    }
    ck_assert_int_eq(recovery_next_stop(&recovery, 500, 900), 900);
    recovery_end(&recovery);
    ck_assert_uint_eq(recovery.count, 1);
    ck_assert_int_eq(recovery.sum_ticks, 90);
    ck_assert_int_eq(recovery.most_ticks, 90);
    ck_assert_uint_eq(recovery.never, 1);
    recovery_free(&recovery);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, product_is_as_usual_with_nine_makings_in_ten_intervals);
    tcase_add_test(tests, product_has_ended_after_ten_intervals_without_a_making);
    tcase_add_test(tests, mean_interval_counts_from_the_warm_up);
    tcase_add_test(tests, items_are_asked_for_by_demands_that_run);
    tcase_add_test(tests, recovery_is_counted_from_the_end_of_each_disturbance);
}

int main(void) { return suite_main("recovery", add_tests); }
