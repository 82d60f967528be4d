/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_shortage.c - what stations do and what limits a line of them, against arithmetic
 * and against published values. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/cause/activity.h"
#include "model/cause/shortage.h"
#include "model/reader/read.h"
#include "tests/common/suite.h"

/* A run that has been watched from some tick on. */
struct watched {
    struct scenario *scenario;
    struct world *world;
    struct waits waits;
    struct activity activity;
    struct drops drops;
};

static void moved(void *self, const struct move *move) { activity_moved(self, move); }

/* Looks every `every` ticks on the average from `from` to the end of the run; 0: at every tick. */
static void watch(struct watched *watched, const char *text, int64_t from, int64_t every) {
    struct faults faults = {0};
    *watched = (struct watched){0};
    watched->scenario = read_scenario(text, strlen(text), "line.yaml", NULL, 0, &faults);
    ck_assert_ptr_nonnull(watched->scenario);
    faults_free(&faults);
    watched->world = world_new(watched->scenario);
    waits_init(&watched->waits, watched->scenario);
    activity_init(&watched->activity, &watched->waits);
    struct listener listener = {.self = &watched->activity, .moved = moved};
    world_listen(watched->world, &listener);
    for (int64_t tick = from; tick <= watched->scenario->run_ticks;
         tick = every > 0 ? activity_next_look(watched->activity.looks, tick, every) : tick + 1) {
        world_advance(watched->world, tick);
        waits_look(&watched->waits, watched->world);
        activity_look(&watched->activity, &watched->waits, watched->world);
    }
}

static void watched_free(struct watched *watched) {
    activity_free(&watched->activity);
    waits_free(&watched->waits);
    drops_free(&watched->drops);
    world_free(watched->world);
    scenario_free(watched->scenario);
}

static double share(const struct watched *watched, enum waits_kind kind, uint32_t index,
                    enum activity_state state) {
    return activity_shares(&watched->activity, &watched->waits,
                           waits_vertex(&watched->waits, kind, index))
        .share[state];
}

static double mean_period(const struct watched *watched, enum waits_kind kind, uint32_t index) {
    return activity_mean_period(&watched->activity, waits_vertex(&watched->waits, kind, index));
}

static struct shortage limit_of(const struct watched *watched, uint32_t chest, uint32_t item,
                                double factor) {
    struct shortage_evidence evidence = {&watched->activity, &watched->waits, watched->world,
                                         &watched->drops};
    struct shortage shortage = {0};
    shortage_find_item(&shortage, &evidence, chest, item, factor);
    ck_assert_uint_gt(shortage.roots.count, 0);
    return shortage;
}

static bool is_root(const struct root *root, enum root_kind kind, enum part_kind subject,
                    uint32_t index) {
    return root->kind == kind && root->subject.kind == subject && root->subject.index == index;
}

/* ---- a line of three stations ---- */

/* Arms hand over in no time. A part is asked for every 2 s. */
#define LINE(first, second, third)                                                                 \
    "clock: {ticks_per_second: 10}\n"                                                              \
    "run: {for: 1200 s}\n"                                                                         \
    "items: [blank, cut, bent, case]\n"                                                            \
    "chests: [{name: store, start: {blank: 2000}}, {name: shelf}]\n"                               \
    "stations:\n"                                                                                  \
    "  - {name: cutter, takes: {blank: 1}, makes: {cut: 1}, time: " first ", room: 1}\n"           \
    "  - {name: bender, takes: {cut: 1}, makes: {bent: 1}, time: " second ", room: 1, ahead: 1}\n" \
    "  - {name: closer, takes: {bent: 1}, makes: {case: 1}, time: " third ", room: 1, ahead: 1}\n" \
    "arms:\n"                                                                                      \
    "  - {name: loader, from: store, to: cutter, swing: 0 s}\n"                                    \
    "  - {name: first-mover, from: cutter, to: bender, swing: 0 s}\n"                              \
    "  - {name: second-mover, from: bender, to: closer, swing: 0 s}\n"                             \
    "  - {name: shelver, from: closer, to: shelf, swing: 0 s}\n"                                   \
    "demands: [{name: orders, chest: shelf, item: case, every: 2 s}]\n"

/* The slowest station works all the time; each other for its own time in each of its cycles, and no
 * longer at a stretch. What comes before it is blocked meanwhile, what comes after it starves. */
START_TEST(the_slowest_station_of_a_line_limits) {
    static const struct {
        const char *text;
        double seconds[3];
    } line[] = {{LINE("5 s", "2 s", "3 s"), {5, 2, 3}},
                {LINE("2 s", "5 s", "3 s"), {2, 5, 3}},
                {LINE("3 s", "2 s", "5 s"), {3, 2, 5}}};
    struct watched watched;
    watch(&watched, line[_i].text, 2000, 0); /* 1000 s: 200 cycles of 5 s */
    uint32_t slowest = (uint32_t)_i;
    for (uint32_t i = 0; i < 3; i++) {
        double busy = line[_i].seconds[i] / 5;
        ck_assert_double_eq_tol(share(&watched, WAITS_STATION, i, ACTIVITY_BUSY), busy, 1e-9);
        ck_assert_double_eq_tol(share(&watched, WAITS_STATION, i, ACTIVITY_ROOM),
                                i < slowest ? 1 - busy : 0, 1e-9);
        ck_assert_double_eq_tol(share(&watched, WAITS_STATION, i, ACTIVITY_ITEM),
                                i > slowest ? 1 - busy : 0, 1e-9);
        ck_assert_double_eq_tol(mean_period(&watched, WAITS_STATION, i),
                                i == slowest ? 1000 : line[_i].seconds[i],
                                i == slowest ? 1e-9 : 0.02); /* one may be cut by either end */
    }
    struct shortage shortage = limit_of(&watched, 1, 3, 2.5);
    ck_assert(is_root(&shortage.roots.root[0], ROOT_SLOW_STATION, PART_STATION, slowest));
    ck_assert_uint_eq(shortage.chain[0].vertex, waits_vertex(&watched.waits, WAITS_STATION, 2));
    ck_assert_uint_eq(shortage.chain[shortage.chain_count - 1].vertex,
                      waits_vertex(&watched.waits, WAITS_STATION, slowest));
    shortage_free(&shortage);
    watched_free(&watched);
}
END_TEST

/* ---- chance ---- */

/* Two stations with exponential times of mean 1 / 1.2 and 1 (here minutes of 60 s), one place
 * between them beside the one at work, the first always supplied, the last never blocked: 0.8137109
 * parts a unit of time (F. S. Hillier, R. W. Boling, "Finite queues in series with exponential or
 * Erlang service times", Operations Research 15 (1967) 286-303; recomputed as the Markov chain
 * M/M/1/3). So the second works for that share and starves else, the first works 1 / 1.2 of it.
 * Published times of a run of 20 000 parts scatter by less than 1 %. */
START_TEST(two_random_stations_work_as_published) {
    static const char text[] = "clock: {ticks_per_second: 1}\n"
                               "run: {for: 1200000 s, seed: 5}\n"
                               "items: [blank, cut, case]\n"
                               "chests: [{name: store, start: {blank: 100000}}, {name: shelf}]\n"
                               "stations:\n"
                               "  - {name: cutter, takes: {blank: 1}, makes: {cut: 1}, time: "
                               "{exponential: 50 s}, room: 1}\n"
                               "  - {name: closer, takes: {cut: 1}, makes: {case: 1}, time: "
                               "{exponential: 60 s}, ahead: 1}\n"
                               "arms:\n"
                               "  - {name: loader, from: store, to: cutter, swing: 0 s}\n"
                               "  - {name: mover, from: cutter, to: closer, swing: 0 s}\n"
                               "  - {name: shelver, from: closer, to: shelf, swing: 0 s}\n"
                               "demands: [{name: orders, chest: shelf, item: case, every: 60 s}]\n";
    const double rate = 0.8137108793;
    struct watched watched;
    watch(&watched, text, 600, 100);
    ck_assert_double_eq_tol(share(&watched, WAITS_STATION, 1, ACTIVITY_BUSY), rate, 0.012);
    ck_assert_double_eq_tol(share(&watched, WAITS_STATION, 1, ACTIVITY_ITEM), 1 - rate, 0.012);
    ck_assert_double_eq_tol(share(&watched, WAITS_STATION, 0, ACTIVITY_BUSY), rate / 1.2, 0.012);
    ck_assert_double_eq_tol(share(&watched, WAITS_STATION, 0, ACTIVITY_ROOM), 1 - rate / 1.2,
                            0.012);
    ck_assert(mean_period(&watched, WAITS_STATION, 1) > mean_period(&watched, WAITS_STATION, 0));
    struct shortage shortage = limit_of(&watched, 1, 2, 1 / rate);
    ck_assert(is_root(&shortage.roots.root[0], ROOT_SLOW_STATION, PART_STATION, 1));
    shortage_free(&shortage);
    watched_free(&watched);
}
END_TEST

/* ---- what an arm waits for ---- */

/* A blank comes every 10 s, the arm carries it for 3 s and waits 7 s for the next; the supply never
 * waits, and it limits. */
START_TEST(an_arm_waits_for_what_comes_too_seldom) {
    static const char text[] = "clock: {ticks_per_second: 10}\n"
                               "run: {for: 1100 s}\n"
                               "items: [blank]\n"
                               "chests: [{name: store}, {name: shelf}]\n"
                               "arms: [{name: mover, from: store, to: shelf, swing: 3 s}]\n"
                               "supplies: [{name: cart, chest: store, item: blank, every: 10 s}]\n"
                               "demands: [{name: orders, chest: shelf, item: blank, every: 5 s}]\n";
    struct watched watched;
    watch(&watched, text, 1000, 7);
    ck_assert_double_eq_tol(share(&watched, WAITS_ARM, 0, ACTIVITY_BUSY), 0.3, 1e-3);
    ck_assert_double_eq_tol(share(&watched, WAITS_ARM, 0, ACTIVITY_ITEM), 0.7, 1e-3);
    ck_assert_double_eq_tol(share(&watched, WAITS_SUPPLY, 0, ACTIVITY_BUSY), 1, 1e-9);
    ck_assert_double_eq_tol(activity_rate(&watched.activity, 0, 0), 0.1, 1e-3);
    struct shortage shortage = limit_of(&watched, 1, 0, 2);
    ck_assert(is_root(&shortage.roots.root[0], ROOT_SHORT_SUPPLY, PART_SUPPLY, 0));
    shortage_free(&shortage);
    watched_free(&watched);
}
END_TEST

/* The store has room for 2 and the arm needs 10 s: the supply waits, and the arm limits. */
START_TEST(a_supply_waits_for_an_arm) {
    static const char text[] = "clock: {ticks_per_second: 10}\n"
                               "run: {for: 1100 s}\n"
                               "items: [blank]\n"
                               "chests: [{name: store, capacity: 2}, {name: shelf}]\n"
                               "arms: [{name: mover, from: store, to: shelf, swing: 10 s}]\n"
                               "supplies: [{name: cart, chest: store, item: blank, every: 3 s}]\n"
                               "demands: [{name: orders, chest: shelf, item: blank, every: 5 s}]\n";
    struct watched watched;
    watch(&watched, text, 1000, 7);
    ck_assert_double_eq_tol(share(&watched, WAITS_ARM, 0, ACTIVITY_BUSY), 1, 1e-9);
    ck_assert_double_eq_tol(mean_period(&watched, WAITS_ARM, 0), 1000, 1);
    ck_assert_double_eq_tol(share(&watched, WAITS_SUPPLY, 0, ACTIVITY_ROOM), 0.7, 0.02);
    struct shortage shortage = limit_of(&watched, 1, 0, 2);
    ck_assert(is_root(&shortage.roots.root[0], ROOT_SLOW_ARM, PART_ARM, 0));
    shortage_free(&shortage);
    watched_free(&watched);
}
END_TEST

/* A blank comes onto the lane every 2 s and rides 80 cells, 16 s, to an arm that takes one a
 * second: 8 are under way (Little), and none comes round again. The feeder limits, not the
 * taker. */
START_TEST(what_is_under_way_is_not_let_pass) {
    static const char text[] =
        "clock: {ticks_per_second: 10}\n"
        "run: {for: 1100 s}\n"
        "items: [blank]\n"
        "loops: [{name: ring, cells: 100, rate: 5}]\n"
        "chests: [{name: store, start: {blank: 2000}}, {name: shelf}]\n"
        "arms:\n"
        "  - {name: feeder, from: store, to: ring@0, swing: 2 s}\n"
        "  - {name: taker, from: ring@80, to: shelf, swing: 1 s}\n"
        "demands: [{name: orders, chest: shelf, item: blank, every: 1.5 s}]\n";
    struct watched watched;
    watch(&watched, text, 1000, 7);
    struct shortage shortage = limit_of(&watched, 1, 0, 4. / 3);
    ck_assert_uint_eq(shortage.roots.count, 1);
    ck_assert(is_root(&shortage.roots.root[0], ROOT_SLOW_ARM, PART_ARM, 0));
    shortage_free(&shortage);
    watched_free(&watched);
}
END_TEST

/* ---- all roots, in their order ---- */

struct expected {
    enum root_kind kind;
    enum part_kind subject;
    uint32_t index;
};

static void check_roots(const struct shortage *shortage, const struct expected *expected,
                        uint32_t count) {
    ck_assert_uint_eq(shortage->roots.count, count);
    for (uint32_t i = 0; i < count; i++)
        ck_assert_msg(is_root(&shortage->roots.root[i], expected[i].kind, expected[i].subject,
                              expected[i].index),
                      "root %u is kind %d of part %d %u", i, (int)shortage->roots.root[i].kind,
                      (int)shortage->roots.root[i].subject.kind,
                      shortage->roots.root[i].subject.index);
}

/* Of a run of `text`, looked at from 100 s on: all that limits an item of a chest. */
static void check_limit(const char *text, uint32_t chest, uint32_t item,
                        const struct expected *expected, uint32_t count) {
    struct watched watched;
    watch(&watched, text, 1000, 7);
    struct shortage shortage = limit_of(&watched, chest, item, 2);
    check_roots(&shortage, expected, count);
    shortage_free(&shortage);
    watched_free(&watched);
}

/* The press makes a dial and eight chips in 4 s, and the next when all chips are out: the box holds
 * one, and the clearer needs half a second for each. So the press waits for half of its time. That
 * the clearer waits for chips in the other half is no reason: there are none to be cleared. */
START_TEST(who_takes_away_is_not_asked_for_what_he_lacks) {
    static const char text[] =
        "clock: {ticks_per_second: 10}\n"
        "run: {for: 1100 s}\n"
        "items: [blank, dial, chip]\n"
        "chests: [{name: store, start: {blank: 2000}}, {name: box, capacity: 1}, {name: heap},\n"
        "  {name: shelf}]\n"
        "stations:\n"
        "  - {name: press, takes: {blank: 1}, makes: {dial: 1, chip: 8}, time: 4 s, room: 1}\n"
        "arms:\n"
        "  - {name: loader, from: store, to: press, swing: 0.5 s}\n"
        "  - {name: shelver, from: press, to: shelf, items: [dial], swing: 0.5 s}\n"
        "  - {name: sweeper, from: press, to: box, items: [chip], swing: 0.2 s}\n"
        "  - {name: clearer, from: box, to: heap, items: [chip], swing: 0.5 s}\n"
        "demands: [{name: orders, chest: shelf, item: dial, every: 5 s}]\n";
    static const struct expected expected[] = {{ROOT_SLOW_ARM, PART_ARM, 3},
                                               {ROOT_SMALL_ROOM, PART_CHEST, 1}};
    struct watched watched;
    watch(&watched, text, 1000, 0);
    ck_assert_double_eq_tol(share(&watched, WAITS_STATION, 0, ACTIVITY_BUSY), 4 / 7.2, 0.01);
    ck_assert_double_eq_tol(share(&watched, WAITS_ARM, 3, ACTIVITY_BUSY), 4 / 7.2, 0.01);
    struct shortage shortage = limit_of(&watched, 3, 1, 1.6);
    check_roots(&shortage, expected, 2);
    shortage_free(&shortage);
    watched_free(&watched);
}
END_TEST

/* Springs come round again: the taker, which swings for a second and a half, lets some of the three
 * that lie on the ring pass each time, and then waits for the next. The gate that lets no fourth
 * one on holds the feeder, and the way back ends with it; but of more springs as many would be let
 * pass. So the taker comes first; the mover, which is as slow, and the gate come after it. */
START_TEST(who_lets_items_pass_comes_before_the_gate_of_their_feeder) {
    static const char text[] =
        "clock: {ticks_per_second: 10}\n"
        "run: {for: 1100 s}\n"
        "items: [spring]\n"
        "loops: [{name: ring, cells: 30, rate: 5}]\n"
        "chests: [{name: store, start: {spring: 2000}}, {name: tray, capacity: 2}, {name: shelf}]\n"
        "arms:\n"
        "  - {name: feeder, from: store, to: ring@0, swing: 0.5 s,\n"
        "     gate: {lane: ring, item: spring, below: 4}}\n"
        "  - {name: taker, from: ring@5, to: tray, swing: 1.5 s}\n"
        "  - {name: mover, from: tray, to: shelf, swing: 1.5 s}\n"
        "demands: [{name: orders, chest: shelf, item: spring, every: 1 s}]\n";
    static const struct expected expected[] = {{ROOT_SLOW_ARM, PART_ARM, 1},
                                               {ROOT_SLOW_ARM, PART_ARM, 2},
                                               {ROOT_LOW_THRESHOLD, PART_ARM, 0}};
    check_limit(text, 2, 0, expected, 3);
}
END_TEST

/* Springs crowd the ring: twenty lie on it from the beginning, and two feeders put on as many as
 * are taken off, of which one brings twice as many as the other. It is named, whichever it is; and
 * the feeder of the combs, which are wanted, is slow. */
START_TEST(of_two_that_crowd_who_puts_most_on_is_named) {
    static const char *const swing[] = {"3 s", "6 s"};
    char text[1200];
    snprintf(text, sizeof text,
             "clock: {ticks_per_second: 10}\n"
             "run: {for: 1100 s}\n"
             "items: [comb, spring]\n"
             "loops: [{name: ring, cells: 60, rate: 5}]\n"
             "chests: [{name: store, start: {comb: 2000, spring: 2000}}, {name: shelf},\n"
             "  {name: heap}]\n"
             "arms:\n"
             "  - {name: first, from: store, to: ring@0, items: [spring], swing: %s}\n"
             "  - {name: second, from: store, to: ring@5, items: [spring], swing: %s}\n"
             "  - {name: comb-feeder, from: store, to: ring@10, items: [comb], swing: 12 s}\n"
             "  - {name: clearer, from: ring@20, to: heap, items: [spring], swing: 2 s}\n"
             "  - {name: taker, from: ring@30, to: shelf, items: [comb], swing: 1 s}\n"
             "demands: [{name: orders, chest: shelf, item: comb, every: 6 s}]\n"
             "incidents: [{at: 0 s, drop: {lane: ring, item: spring, count: 20}}]\n",
             swing[_i], swing[1 - _i]);
    const struct expected expected[] = {{ROOT_UNGATED_FEEDER, PART_ARM, (uint32_t)_i},
                                        {ROOT_SLOW_ARM, PART_ARM, 2}};
    check_limit(text, 1, 0, expected, 2);
}
END_TEST

/* The mover is busy all the time and limits. Seen from the shelf nothing else does, and the way
 * ends with it; seen from the press, which makes the dials, the tray that is full limits as well.
 * Since both name the mover first, the way is that from the press to the mover. */
START_TEST(the_way_begins_with_the_maker) {
    static const char text[] =
        "clock: {ticks_per_second: 10}\n"
        "run: {for: 1100 s}\n"
        "items: [blank, dial]\n"
        "chests: [{name: store, start: {blank: 2000}}, {name: tray, capacity: 3},\n"
        "  {name: shelf}]\n"
        "stations: [{name: press, takes: {blank: 1}, makes: {dial: 1}, time: 1 s, room: 1}]\n"
        "arms:\n"
        "  - {name: loader, from: store, to: press, swing: 0.5 s}\n"
        "  - {name: unloader, from: press, to: tray, swing: 0.5 s}\n"
        "  - {name: mover, from: tray, to: shelf, swing: 2 s}\n"
        "demands: [{name: orders, chest: shelf, item: dial, every: 1 s}]\n";
    static const struct expected expected[] = {{ROOT_SLOW_ARM, PART_ARM, 2}};
    struct watched watched;
    watch(&watched, text, 1000, 7);
    struct shortage shortage = limit_of(&watched, 2, 1, 2);
    const struct waits *waits = &watched.waits;
    const uint32_t way[] = {waits_vertex(waits, WAITS_STATION, 0),
                            waits_vertex(waits, WAITS_ARM, 1), waits_vertex(waits, WAITS_CHEST, 1),
                            waits_vertex(waits, WAITS_ARM, 2)};
    check_roots(&shortage, expected, 1);
    ck_assert_uint_eq(shortage.chain_count, 4);
    for (uint32_t i = 0; i < 4; i++)
        ck_assert_uint_eq(shortage.chain[i].vertex, way[i]);
    shortage_free(&shortage);
    watched_free(&watched);
}
END_TEST

/* ---- what a gate waits for ---- */

/* A press works while fewer than 20 of all lie on the shelf. Nobody fetches faces any more, so that
 * these fill it; of hands, one is fetched now and then, and another made. That faces are not
 * fetched is what holds hands back. */
START_TEST(a_gate_waits_for_those_who_no_longer_take) {
    static const char text[] =
        "clock: {ticks_per_second: 10}\n"
        "run: {for: 1200 s}\n"
        "items: [blank, face, hand]\n"
        "chests: [{name: store, start: {blank: 2000}}, {name: shelf, start: {face: 18}}]\n"
        "stations:\n"
        "  - {name: press, takes: {blank: 1}, makes: {hand: 1}, time: 1 s,\n"
        "     gate: {chest: shelf, below: 20}}\n"
        "arms:\n"
        "  - {name: loader, from: store, to: press, swing: 1 s}\n"
        "  - {name: shelver, from: press, to: shelf, swing: 1 s}\n"
        "demands:\n"
        "  - {name: faces, chest: shelf, item: face, every: 10 s}\n"
        "  - {name: hands, chest: shelf, item: hand, every: 30 s}\n"
        "incidents: [{at: 5 s, stop: faces}]\n";
    struct watched watched;
    watch(&watched, text, 2000, 7);
    bool stopped = false;
    struct shortage shortage = limit_of(&watched, 1, 2, 2);
    for (uint32_t i = 0; i < shortage.roots.count; i++)
        stopped |= is_root(&shortage.roots.root[i], ROOT_STOPPED, PART_DEMAND, 0);
    ck_assert(stopped);
    shortage_free(&shortage);
    watched_free(&watched);
}
END_TEST

/* ---- looks ---- */

/* Later each time, and `every` apart on the average. */
START_TEST(looks_are_irregular_and_even) {
    static const int64_t every[] = {1, 2, 7, 300, INT64_C(1) << 40};
    int64_t tick = 0;
    for (uint32_t i = 0; i < 10000; i++) {
        int64_t next = activity_next_look(i, tick, every[_i]);
        ck_assert_int_gt(next, tick);
        tick = next;
    }
    ck_assert_double_eq_tol((double)tick / 10000 / (double)every[_i], 1, every[_i] < 3 ? 0.5 : 0.1);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_loop_test(tests, the_slowest_station_of_a_line_limits, 0, 3);
    tcase_add_test(tests, two_random_stations_work_as_published);
    tcase_add_test(tests, an_arm_waits_for_what_comes_too_seldom);
    tcase_add_test(tests, a_supply_waits_for_an_arm);
    tcase_add_test(tests, what_is_under_way_is_not_let_pass);
    tcase_add_test(tests, who_takes_away_is_not_asked_for_what_he_lacks);
    tcase_add_test(tests, who_lets_items_pass_comes_before_the_gate_of_their_feeder);
    tcase_add_loop_test(tests, of_two_that_crowd_who_puts_most_on_is_named, 0, 2);
    tcase_add_test(tests, the_way_begins_with_the_maker);
    tcase_add_test(tests, a_gate_waits_for_those_who_no_longer_take);
    tcase_add_loop_test(tests, looks_are_irregular_and_even, 0, 5);
}

int main(void) { return suite_main("shortage", add_tests); }
