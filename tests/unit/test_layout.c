/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_layout.c - numbers of places and tracks, arms by place, products, and what can
 * come where, each against what can be counted by hand in a small workshop. */
#include <check.h>
#include <string.h>

#include "model/reader/read.h"
#include "model/scenario/layout.h"
#include "model/scenario/reach.h"
#include "tests/common/suite.h"

/* Springs go round the ring to the bench, whose clocks go over the line to the shelf. A lid falls
 * onto the inner lane; the arm that clears that lane carries whatever fits. Pins never move. */
static const char workshop[] =
    "run: {for: 1 h}\n"
    "items: {spring: {}, clock: {}, lid: {}, pin: {}}\n"
    "loops: [{name: ring, cells: 30, rate: 5, lanes: [outer, inner]}]\n"
    "lines: [{name: way-out, cells: 12, rate: 3.5}]\n"
    "chests: [{name: springs, start: {spring: 9, pin: 1}}, {name: shelf, capacity: 20,\n"
    "  limits: {clock: 15}}]\n"
    "stations: [{name: bench, takes: {spring: 2}, makes: {clock: 1}, time: 5 s}]\n"
    "arms:\n"
    "  - {name: feeder, from: springs, to: ring/outer@0, items: [spring], swing: 1 s}\n"
    "  - {name: taker, from: ring/outer@9, to: bench, swing: 1 s}\n"
    "  - {name: unloader, from: bench, to: way-out@1, items: [clock], swing: 1 s}\n"
    "  - {name: shelver, from: way-out@11, to: shelf, items: [clock], swing: 1 s}\n"
    "  - {name: clearer, from: ring/inner@20, to: shelf, swing: 1 s}\n"
    "demands: [{name: orders, chest: shelf, item: clock, every: 9 s}]\n"
    "incidents: [{at: 1 min, drop: {item: lid, count: 1, lane: ring/inner}},\n"
    "  {at: 2 min, set: {chest: shelf, capacity: 12}}]\n";
enum { SPRING, CLOCK, LID, PIN, ITEMS };
enum { SPRINGS, SHELF, BENCH_OUT, BENCH_IN, OUTER, INNER, WAY_OUT, PLACES }; /* as layout.h says */
enum { FEEDER, TAKER, UNLOADER, SHELVER, CLEARER };

static struct scenario *read_workshop(const char *change) {
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario(workshop, strlen(workshop), "workshop", &change, change != NULL, &faults);
    ck_assert_ptr_nonnull(scenario);
    faults_free(&faults);
    return scenario;
}

START_TEST(tracks_are_lanes_then_lines) {
    struct scenario *scenario = read_workshop(NULL);
    static const char *const name[] = {"ring/outer", "ring/inner", "way-out"};
    static const uint32_t cells[] = {30, 30, 12};
    ck_assert_uint_eq(layout_track_count(scenario), 3);
    for (uint32_t track = 0; track < 3; track++) {
        struct place place = layout_track_as_place(scenario, track);
        ck_assert_uint_eq(layout_track(scenario, place), track);
        ck_assert_str_eq(layout_track_name(scenario, track), name[track]);
        ck_assert_str_eq(layout_place_name(scenario, place), name[track]);
        ck_assert_uint_eq(layout_track_cells(scenario, track), cells[track]);
    }
    struct ratio rate = layout_track_rate(scenario, 2);
    ck_assert(rate.numerator == 7 && rate.denominator == 2);
    ck_assert_uint_eq(layout_track(scenario, (struct place){PLACE_CHEST, 1, 0}), NO_INDEX);
    ck_assert_str_eq(layout_place_name(scenario, (struct place){PLACE_STATION, 0, 0}), "bench");
    scenario_free(scenario);
}
END_TEST

START_TEST(places_have_one_number_each) {
    struct scenario *scenario = read_workshop(NULL);
    const struct scenario_arm *arm = scenario->arm;
    static const uint32_t source[] = {SPRINGS, OUTER, BENCH_OUT, WAY_OUT, INNER};
    static const uint32_t target[] = {OUTER, BENCH_IN, WAY_OUT, SHELF, SHELF};
    ck_assert_uint_eq(layout_place_count(scenario), PLACES);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        ck_assert_uint_eq(layout_source(scenario, arm[i].from), source[i]);
        ck_assert_uint_eq(layout_target(scenario, arm[i].to), target[i]);
    }
    struct layout_arms into = layout_arms_by_target(scenario);
    ck_assert_uint_eq(into.first[SHELF], 0);
    ck_assert_uint_eq(into.first[SHELF + 1], 2);
    ck_assert(into.arm[0] == SHELVER && into.arm[1] == CLEARER);
    ck_assert_uint_eq(into.first[PLACES], scenario->arm_count);
    layout_arms_free(&into);
    scenario_free(scenario);
}
END_TEST

START_TEST(every_part_has_its_name) {
    struct scenario *scenario = read_workshop(NULL);
    static const char *const name[] = {
        [PART_ARM] = "feeder",     [PART_STATION] = "bench", [PART_LOOP] = "ring",
        [PART_LINE] = "way-out",   [PART_DEMAND] = "orders", [PART_CHEST] = "springs",
        [PART_LANE] = "ring/outer"};
    for (int kind = 0; kind <= PART_LANE; kind++)
        if (name[kind] != NULL)
            ck_assert_str_eq(scenario_part_name(scenario, (struct part){(enum part_kind)kind, 0}),
                             name[kind]);
    scenario_free(scenario);
}
END_TEST

START_TEST(chests_have_their_bounds) {
    struct scenario *scenario = read_workshop(NULL);
    ck_assert_int_eq(layout_chest_capacity(scenario, SPRINGS), NO_LIMIT);
    ck_assert_int_eq(layout_chest_capacity(scenario, SHELF), 12); /* the incident's */
    ck_assert_int_eq(layout_chest_limit(scenario, SHELF, CLOCK), 15);
    ck_assert_int_eq(layout_chest_limit(scenario, SHELF, LID), NO_LIMIT);
    ck_assert_int_eq(layout_chest_start(scenario, SPRINGS, SPRING), 9);
    ck_assert_int_eq(layout_chest_start(scenario, SPRINGS, CLOCK), 0);
    scenario_free(scenario);
}
END_TEST

static void check_reach(const struct reach *reach, const char *const *expected) {
    for (uint32_t place = 0; place < PLACES; place++)
        for (uint32_t item = 0; item < ITEMS; item++)
            ck_assert_msg(reach_comes_to(reach, place, item) == (expected[place][item] == '1'),
                          "item %u at place %u", item, place);
}

START_TEST(items_come_where_arms_carry_them) {
    struct scenario *scenario = read_workshop(NULL);
    static const char *const by_itself[PLACES] = {
        [SPRINGS] = "1001", [SHELF] = "0100", [BENCH_OUT] = "0100", [BENCH_IN] = "1000",
        [OUTER] = "1000",   [INNER] = "0000", [WAY_OUT] = "0100"};
    static const char *const with_drops[PLACES] = {
        [SPRINGS] = "1001", [SHELF] = "0110", [BENCH_OUT] = "0100", [BENCH_IN] = "1000",
        [OUTER] = "1000",   [INNER] = "0010", [WAY_OUT] = "0100"};
    struct reach reach = reach_of(scenario, REACH_WITHOUT_DROPS, REACH_NO_STEPS_LIMIT);
    check_reach(&reach, by_itself);
    ck_assert(reach.complete && reach.arm_used[FEEDER] && !reach.arm_used[CLEARER]);
    reach_free(&reach);
    reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    check_reach(&reach, with_drops);
    ck_assert(reach.arm_used[CLEARER]);
    reach_free(&reach);
    scenario_free(scenario);
}
END_TEST

START_TEST(takers_are_known_by_place_and_item) {
    struct scenario *scenario = read_workshop(NULL);
    struct reach reach = reach_of(scenario, REACH_WITHOUT_DROPS, REACH_NO_STEPS_LIMIT);
    ck_assert(reach_leaves(&reach, OUTER, SPRING) && !reach_leaves(&reach, OUTER, LID));
    ck_assert(reach_leaves(&reach, INNER, LID) && reach_leaves(&reach, INNER, PIN));
    ck_assert(reach_has_taker(&reach, SPRINGS) && reach_has_taker(&reach, INNER));
    ck_assert(!reach_has_taker(&reach, SHELF) && !reach_has_taker(&reach, BENCH_IN));
    reach_free(&reach);
    scenario_free(scenario);
}
END_TEST

START_TEST(a_search_gives_up_after_its_steps) {
    struct scenario *scenario = read_workshop(NULL);
    struct reach reach = reach_of(scenario, REACH_WITHOUT_DROPS, 1);
    ck_assert(!reach.complete);
    reach_free(&reach);
    scenario_free(scenario);
}
END_TEST

static void check_products(const char *change, const char *expected) {
    struct scenario *scenario = read_workshop(change);
    bool product[ITEMS];
    layout_mark_products(scenario, product);
    for (uint32_t item = 0; item < ITEMS; item++)
        ck_assert(product[item] == (expected[item] == '1'));
    scenario_free(scenario);
}

START_TEST(products_are_made_and_demanded) {
    check_products(NULL, "0100");
    check_products("demands.orders.item=lid", "0000"); /* no station makes lids */
    check_products("demands.orders=null", "0100");     /* made, and no station takes it */
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("layout");
    TCase *tests = tcase_create("layout");
    tcase_add_test(tests, tracks_are_lanes_then_lines);
    tcase_add_test(tests, places_have_one_number_each);
    tcase_add_test(tests, every_part_has_its_name);
    tcase_add_test(tests, chests_have_their_bounds);
    tcase_add_test(tests, items_come_where_arms_carry_them);
    tcase_add_test(tests, takers_are_known_by_place_and_item);
    tcase_add_test(tests, a_search_gives_up_after_its_steps);
    tcase_add_test(tests, products_are_made_and_demanded);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
