/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_roots.c - the roots of small jams and starvations, to the last one and in their
 * order, against what each scenario was built to be stuck by. */
#include <check.h>
#include <string.h>

#include "model/cause/roots.h"
#include "tests/common/suite.h"
#include "tests/unit/scene.h"

/* A root as a test expects it. */
struct expected {
    enum root_kind kind;
    enum part_kind subject;
    uint32_t index, item;
    bool lingers;
};

/* That these are the roots of what waits there, all of them and in this order. */
static void check_roots(const struct roots *roots, const struct expected *expected,
                        uint32_t count) {
    ck_assert_uint_eq(roots->count, count);
    for (uint32_t i = 0; i < count; i++) {
        const struct root *root = &roots->root[i];
        ck_assert_int_eq(root->kind, expected[i].kind);
        ck_assert_int_eq(root->subject.kind, expected[i].subject);
        ck_assert_uint_eq(root->subject.index, expected[i].index);
        ck_assert_uint_eq(root->item, expected[i].item);
        ck_assert_int_eq(root->lingers, expected[i].lingers);
    }
}

static struct roots roots_at(const struct scene *scene, enum waits_kind kind, uint32_t index) {
    struct roots roots = {0};
    const struct drops none = {0};
    roots_find(&roots, &scene->waits, scene->world, &none, scene_vertex(scene, kind, index));
    return roots;
}

/* ---- the circle of a mixed lane ---- */

/* Two kinds on one lane and a bench that wants one of each: with nothing but springs on the lane
 * and in the bench, each waits for the other. (In the model of a rotating loop with two kinds and a
 * holder of one each, exhaustive search finds such jam states whenever more than N of a kind may
 * get on.) */
static const char mixed[] =
    "run: {for: 10 min}\n"
    "items: [comb, spring, box]\n"
    "loops: [{name: ring, cells: 12, rate: 6}]\n"
    "chests: [{name: comb-bin, start: {comb: 50}}, {name: spring-bin, start: {spring: 500}},\n"
    "  {name: shelf}]\n"
    "stations: [{name: bench, takes: {comb: 1, spring: 1}, makes: {box: 1}, time: 1 s}]\n"
    "arms:\n"
    "  - {name: spring-feeder, from: spring-bin, to: ring@1, items: [spring], hand: 2, swing: 0.4 "
    "s}\n"
    "  - {name: comb-feeder, from: comb-bin, to: ring@3, items: [comb], swing: 20 s}\n"
    "  - {name: bench-taker, from: ring@8, to: bench, swing: 0.2 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\n";

START_TEST(a_mixed_lane_closes_a_circle) {
    struct scene scene = scene_of(mixed, 120);
    struct roots roots = {0};
    struct drops drops = {0};
    roots_find(&roots, &scene.waits, scene.world, &drops, scene_vertex(&scene, WAITS_TRACK, 0));
    const uint32_t expected[] = {scene_vertex(&scene, WAITS_TRACK, 0),
                                 scene_vertex(&scene, WAITS_ARM, 2),
                                 scene_vertex(&scene, WAITS_STATION, 0)};
    ck_assert_uint_eq(roots.ring_length, 3);
    ck_assert_mem_eq(roots.ring, expected, sizeof expected);
    ck_assert_uint_ge(roots.count, 1);
    ck_assert_int_eq(roots.root[0].kind, ROOT_UNGATED_FEEDER);
    ck_assert_uint_eq(roots.root[0].subject.index, 0);
    roots_free(&roots);
    drops_free(&drops);
    scene_free(&scene);
}
END_TEST

/* ---- a feeder that a gate holds ---- */

enum { COMB, SPRING, NAIL, BOX };
enum { SPRING_FEEDER, COMB_FEEDER };

/* The bench lacks combs, and springs fill the lane. The feeder of combs is held until fewer of some
 * item lie in the store, out of which nobody takes anything. The bench makes boxes, the press makes
 * combs. */
#define HELD_BY(item, carries)                                                                     \
    "run: {for: 10 min}\n"                                                                         \
    "items: [comb, spring, nail, box]\n"                                                           \
    "loops: [{name: ring, cells: 12, rate: 6}]\n"                                                  \
    "chests: [{name: comb-bin, start: {comb: 50}}, {name: spring-bin, start: {spring: 500}},\n"    \
    "  {name: store, start: {comb: 5, nail: 5, box: 5}}, {name: shelf}]\n"                         \
    "stations:\n"                                                                                  \
    "  - {name: bench, takes: {comb: 1, spring: 1}, makes: {box: 1}, time: 1 s}\n"                 \
    "  - {name: press, takes: {nail: 1}, makes: {comb: 1}, time: 1 s}\n"                           \
    "arms:\n"                                                                                      \
    "  - {name: spring-feeder, from: spring-bin, to: ring@1, items: [spring], swing: 0.4 s}\n"     \
    "  - {name: comb-feeder, from: comb-bin, to: ring@3, items: [" carries "], swing: 1 s,\n"      \
    "     gate: {chest: store, item: " item ", below: 3}}\n"                                       \
    "  - {name: bench-taker, from: ring@8, to: bench, items: [comb, spring], swing: 0.2 s}\n"      \
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\n"

/* A feeder that waits until fewer boxes lie there halts as it should, as boxes are made: what goes
 * on feeding is to blame alone. One that waits for nails, which nobody makes, or for the combs that
 * it brings itself, is held by a gate that never opens again; but one that brings everything cannot
 * but wait for what it brings. */
START_TEST(only_what_is_made_holds_a_feeder_rightly) {
    static const struct {
        const char *text;
        bool rightly;
    } row[] = {{HELD_BY("box", "comb"), true},
               {HELD_BY("nail", "comb"), false},
               {HELD_BY("comb", "comb"), false},
               {HELD_BY("box", "comb, spring, nail, box"), true},
               {HELD_BY("box", "box, comb"), false}};
    static const struct expected expected[] = {
        {ROOT_GATE_SHUT, PART_ARM, COMB_FEEDER, NO_INDEX, false},
        {ROOT_UNGATED_FEEDER, PART_ARM, SPRING_FEEDER, SPRING, false}};
    uint32_t left_out = row[_i].rightly ? 1 : 0;
    struct scene scene = scene_of(row[_i].text, 60);
    struct roots roots = roots_at(&scene, WAITS_TRACK, 0);
    check_roots(&roots, expected + left_out, 2 - left_out);
    roots_free(&roots);
    scene_free(&scene);
}
END_TEST

/* ---- what a taker has no room for ---- */

/* The bench has all the combs and springs that it wants and lacks a nail. Combs fill the lane, on
 * which two springs lie as well. */
static const char two_without_room[] =
    "run: {for: 10 min}\n"
    "items: [comb, spring, nail, box]\n"
    "loops: [{name: ring, cells: 30, rate: 6}]\n"
    "chests: [{name: comb-bin, start: {comb: 500}}, {name: spring-bin, start: {spring: 4}},\n"
    "  {name: nail-bin}, {name: shelf}]\n"
    "stations:\n"
    "  - {name: bench, takes: {comb: 1, spring: 1, nail: 1}, makes: {box: 1}, ahead: 1,\n"
    "     time: 1 s}\n"
    "arms:\n"
    "  - {name: comb-feeder, from: comb-bin, to: ring@1, items: [comb], swing: 1 s}\n"
    "  - {name: spring-feeder, from: spring-bin, to: ring@3, items: [spring], swing: 0.4 s}\n"
    "  - {name: bench-taker, from: ring@20, to: bench, items: [comb, spring], swing: 0.2 s}\n"
    "  - {name: loader, from: nail-bin, to: bench, items: [nail], swing: 1 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\n";
enum { BENCH_TAKER = 2 };

/* The taker has room for neither, and that it has none for combs is what matters. */
START_TEST(a_taker_is_followed_for_what_crowds) {
    struct scene scene = scene_of(two_without_room, 120);
    uint32_t taker = scene_vertex(&scene, WAITS_ARM, BENCH_TAKER);
    uint32_t bench = scene_vertex(&scene, WAITS_STATION, 0), comb_waits = 0;
    struct roots roots = roots_at(&scene, WAITS_TRACK, 0);
    ck_assert_ptr_nonnull(scene_edge(&scene, taker, bench, WAITS_FOR_ROOM, COMB));
    ck_assert_ptr_nonnull(scene_edge(&scene, taker, bench, WAITS_FOR_ROOM, SPRING));
    for (uint32_t i = 0; i < roots.chain_length; i++) {
        const struct waits_edge *edge = &scene.waits.edge[roots.chain[i]];
        if (edge->from == taker)
            ck_assert_uint_eq(edge->item, COMB);
        comb_waits += edge->from == taker;
    }
    ck_assert_uint_eq(comb_waits, 1);
    roots_free(&roots);
    scene_free(&scene);
}
END_TEST

/* ---- a hand that lingers ---- */

/* Three combs go round, and the arm that brings them waits for a hand of four: the bench
 * starves. */
static const char lingering[] =
    "run: {for: 10 min}\n"
    "watch: {starved_after: 20 s}\n"
    "items: [comb, box]\n"
    "loops: [{name: ring, cells: 30, rate: 6}]\n"
    "chests: [{name: comb-bin, start: {comb: 3}}, {name: shelf}]\n"
    "stations: [{name: bench, takes: {comb: 1}, makes: {box: 1}, ahead: 8, time: 1 s}]\n"
    "arms:\n"
    "  - {name: comb-feeder, from: comb-bin, to: ring@1, items: [comb], swing: 1 s}\n"
    "  - {name: bench-taker, from: ring@20, to: bench, items: [comb], hand: 4, linger: 1 h,\n"
    "     swing: 0.2 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\n";

START_TEST(a_hand_that_lingers_is_said_to) {
    static const struct expected expected[] = {{ROOT_SLOW_TAKER, PART_ARM, 1, COMB, true}};
    struct scene scene = scene_of(lingering, 60);
    struct roots roots = roots_at(&scene, WAITS_STATION, 0);
    check_roots(&roots, expected, 1);
    roots_free(&roots);
    scene_free(&scene);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, a_mixed_lane_closes_a_circle);
    tcase_add_loop_test(tests, only_what_is_made_holds_a_feeder_rightly, 0, 5);
    tcase_add_test(tests, a_taker_is_followed_for_what_crowds);
    tcase_add_test(tests, a_hand_that_lingers_is_said_to);
}

int main(void) { return suite_main("roots", add_tests); }
