/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_plan.c - the numbers of a plan on briefs that are worked out by hand. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/design/draw_plan.h"
#include "model/design/given_belts.h"
#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/common/suite.h"

/* ---- what may be used ---- */

START_TEST(a_chest_is_the_smallest_that_can_be_had) {
    int64_t size[] = {10, 40};
    struct may may = {.capacity = size, .capacity_count = 2, .capacity_most = 100};
    ck_assert_int_eq(may_capacity_for(&may, 1), 10);
    ck_assert_int_eq(may_capacity_for(&may, 10), 10);
    ck_assert_int_eq(may_capacity_for(&may, 11), 40);
    ck_assert_int_eq(may_capacity_for(&may, 41), NOT_GIVEN);
    may.capacity_count = 0;
    ck_assert_int_eq(may_capacity_for(&may, 41), 41);
    ck_assert_int_eq(may_capacity_for(&may, 100), 100);
    ck_assert_int_eq(may_capacity_for(&may, 101), NOT_GIVEN);
}
END_TEST

/* As docs/design.md says. */
START_TEST(what_is_not_said_of_a_design_has_its_default) {
    struct may may;
    may_init(&may, 100);
    ck_assert_int_eq(may.loop_cells_most, 400);
    ck_assert_int_eq(may.lanes_most, 2);
    ck_assert_int_eq(may.loops_most, 3);
    ck_assert_int_eq(may.capacity_most, 400);
    ck_assert_int_eq(may.stations_most, 6);
    ck_assert(!may.belts);
    ck_assert_int_eq(may.met.numerator * 50, may.met.denominator * 49);
    ck_assert_int_eq(may.survive_ticks, 12 * 3600 * 100);
    ck_assert_int_eq(may.seeds, 20);
    ck_assert(may.drain && may.restart && may.disturb);
    ck_assert_int_eq(may.flood.numerator * 5, may.flood.denominator * 4);
    may_free(&may);
}
END_TEST

/* ---- plans of briefs ---- */

enum { BRIEF_BYTES = 20000 };

struct planned {
    struct draft *draft;
    struct plan_choice choice;
    bool *nothing_given; /* [station] */
    struct plan plan;
};

/* The first plan by the rules, as `design` begins with, over so many lanes at least. */
static struct planned plan_over(uint32_t lanes, const char *brief) {
    struct planned planned = {0};
    struct faults faults = {0};
    char why[DESIGN_WHY_BYTES] = "";
    planned.draft = read_draft(brief, strlen(brief), "brief", NULL, 0, &faults);
    ck_assert_msg(planned.draft != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "");
    const struct scenario *scenario = planned.draft->scenario;
    planned.nothing_given = require_memory(scenario->station_count, sizeof(bool));
    const struct plan_choice first = {.chests_given =
                                          scenario->chest_count - (planned.draft->stand_in != NULL),
                                      .ahead_given = planned.nothing_given,
                                      .gate_given = planned.nothing_given,
                                      .threshold = 1,
                                      .ahead = 1,
                                      .bin = 1,
                                      .shelf_start = 1,
                                      .feeder_margin = 1.2,
                                      .spacing = 1,
                                      .lanes_least = lanes};
    planned.choice = plan_choice_copy(&first, scenario);
    given_belts_use(&planned.draft->may, scenario, true);
    ck_assert_msg(draw_plan(&planned.plan, scenario, &planned.draft->may, &planned.choice, why),
                  "%s", why);
    faults_free(&faults);
    return planned;
}

static struct planned plan_of(const char *brief) { return plan_over(1, brief); }

static void forget(struct planned *planned) {
    plan_free(&planned->plan);
    free(planned->nothing_given);
    plan_choice_free(&planned->choice);
    draft_free(planned->draft);
}

static char *text_of_file(const char *path) {
    FILE *file = fopen(path, "r");
    char *text = require_memory(BRIEF_BYTES, 1);
    ck_assert_msg(file != NULL, "%s", path);
    ck_assert_uint_lt(fread(text, 1, BRIEF_BYTES - 1, file), BRIEF_BYTES - 1);
    fclose(file);
    return text;
}

static bool has_stock(const struct plan *plan, uint32_t chest, uint32_t item) {
    ck_assert_uint_lt(chest, plan->chest_count);
    for (uint32_t i = 0; i < plan->chest[chest].stock_count; i++)
        if (plan->chest[chest].stock[i].item == item)
            return true;
    return false;
}

/* Each part that is new has a reason, and a name of its own. */
static void check_reasons(const struct plan *plan) {
    for (uint32_t i = 0; i < plan->belt_count; i++)
        ck_assert(plan->belt[i].given != NO_INDEX || plan->belt[i].why[0] != '\0');
    for (uint32_t i = 0; i < plan->arm_count; i++)
        ck_assert_msg(plan->arm[i].why[0] != '\0', "%s", plan->arm[i].name);
    for (uint32_t i = 0; i < plan->arm_count; i++)
        for (uint32_t k = 0; k < i; k++)
            ck_assert_str_ne(plan->arm[i].name, plan->arm[k].name);
    for (uint32_t i = 0; i < plan->chest_count; i++)
        for (uint32_t k = 0; k < plan->chest[i].stock_count; k++)
            ck_assert_str_ne(plan->chest[i].stock[k].why, "");
}

/* What a chest begins with is no more than there may be of it, and all of it has room. */
static void check_chests(const struct plan *plan) {
    for (uint32_t i = 0; i < plan->chest_count; i++) {
        const struct plan_chest *chest = &plan->chest[i];
        int64_t all = 0;
        for (uint32_t k = 0; k < chest->stock_count; k++) {
            ck_assert_int_ge(chest->stock[k].start, 0);
            ck_assert_int_le(chest->stock[k].start, chest->stock[k].limit);
            all += chest->stock[k].limit;
        }
        ck_assert(chest->capacity == NO_LIMIT || all <= chest->capacity);
    }
    for (uint32_t i = 0; i < plan->scenario->supply_count; i++)
        ck_assert(has_stock(plan, plan->supply_chest[i], plan->scenario->supply[i].item));
    for (uint32_t i = 0; i < plan->scenario->demand_count; i++)
        ck_assert(has_stock(plan, plan->demand_chest[i], plan->scenario->demand[i].item));
}

static void check_end(const struct plan *plan, struct plan_end end) {
    if (end.kind == PLAN_CHEST)
        ck_assert_uint_lt(end.index, plan->chest_count);
    if (end.kind == PLAN_STATION)
        ck_assert_uint_lt(end.index, plan->station_count);
    if (end.kind != PLAN_BELT)
        return;
    ck_assert_uint_lt(end.index, plan->belt_count);
    ck_assert_uint_lt(end.lane, plan->belt[end.index].lanes);
    ck_assert_uint_lt(end.cell, plan->belt[end.index].cells);
}

static const char *const brief[] = {"two-kinds",  "three-products", "by-product",  "bulk",
                                    "two-stages", "chance",         "forty-kinds", "given-parts",
                                    "carriers",   "wanted-offcuts"};

START_TEST(all_parts_of_a_plan_fit_each_other) {
    char path[80];
    snprintf(path, sizeof path, "tests/design/%s.brief", brief[_i]);
    char *text = text_of_file(path);
    struct planned planned = plan_of(text);
    check_reasons(&planned.plan);
    check_chests(&planned.plan);
    for (uint32_t i = 0; i < planned.plan.arm_count; i++) {
        check_end(&planned.plan, planned.plan.arm[i].from);
        check_end(&planned.plan, planned.plan.arm[i].to);
        ck_assert_uint_gt(planned.plan.arm[i].item_count, 0);
    }
    forget(&planned);
    free(text);
}
END_TEST

/* ---- one lane ---- */

/* Where gates count a belt, it is one cell longer than what can lie on it: each feeder's hand, and
 * of each kind as many as its feeders still work at; each of them spoils for a longest item its own
 * length and that one's, less one. */
START_TEST(a_counted_lane_is_longer_than_what_may_lie_on_it) {
    struct planned planned =
        plan_of("items: {gear: {length: 2}, face: {}, clock: {}}\n"
                "stations: [{name: bench, takes: {gear: 4, face: 9}, makes: {clock: 1}, time: 4}]\n"
                "supplies: [{name: gears, item: gear, every: 4 s, batch: 4},\n"
                "  {name: faces, item: face, every: 4 s, batch: 9}]\n"
                "demands: [{name: orders, item: clock, every: 5 s}]\n"
                "may: {gates: belts, arms: [{swing: 0.5 s, hand: 3}], loops: {rates: [9]}}\n");
    const struct plan *plan = &planned.plan;
    uint32_t cells = 1, feeders[2] = {0}, below[2] = {0};
    ck_assert_uint_eq(plan->belt_count, 1);
    ck_assert_uint_eq(plan->belt[0].lanes, 1);
    for (uint32_t i = 0; i < plan->arm_count; i++) {
        const struct plan_arm *arm = &plan->arm[i];
        if (arm->to.kind != PLAN_BELT)
            continue;
        feeders[arm->item[0]]++;
        below[arm->item[0]] = (uint32_t)arm->belt_below;
    }
    for (uint32_t item = 0; item < 2; item++) {
        ck_assert_uint_ge(below[item], 1);
        cells += (3 * feeders[item] + below[item] - 1) * (item == 0 ? 3 : 2);
    }
    ck_assert_uint_gt(below[1], 1);
    ck_assert_uint_eq(plan->belt[0].cells, cells);
    /* the tray: of two kinds a flood of 0.8 has 0.4 each, and half as much again is 0.6 */
    char heap[40];
    snprintf(heap, sizeof heap, "a heap of %d", (int)ceil(0.6 * cells / 2));
    ck_assert_msg(strstr(plan->station[0].why_ahead, heap) != NULL, "%s, not %s",
                  plan->station[0].why_ahead, heap);
    forget(&planned);
}
END_TEST

/* Wheels are used at the first station alone, plates at both. A feeder puts on 1.25 a second (a
 * swing of 0.8 s), 2.5 cells of wheels and 3.75 of plates: more than 6 together. One lane is enough
 * when wheels come first, are taken, and leave their place to the plates. */
START_TEST(what_leaves_a_lane_first_comes_onto_it_first) {
    struct planned planned =
        plan_of("items: {plate: {length: 3}, wheel: {length: 2}, cart: {}, sledge: {}}\n"
                "stations:\n"
                "  - {name: cart-bench, takes: {plate: 1, wheel: 1}, makes: {cart: 1}, time: 4}\n"
                "  - {name: sledge-bench, takes: {plate: 1}, makes: {sledge: 1}, time: 4}\n"
                "supplies: [{name: plates, item: plate, every: 5 s}, {name: wheels, item: wheel, "
                "every: 9 s}]\n"
                "demands: [{name: carts, item: cart, every: 15 s}, {name: sledges, item: sledge, "
                "every: 15 s}]\n");
    ck_assert_uint_eq(planned.plan.belt_count, 1);
    ck_assert_uint_eq(planned.plan.belt[0].lanes, 1);
    forget(&planned);
}
END_TEST

/* Clocks and toys are made of the same parts. A second lane for toys would take three feeders and a
 * taker more, beside the clocks it is a taker alone: nothing is put on a second lane. */
START_TEST(what_shares_parts_shares_a_lane) {
    struct planned planned = plan_over(
        2,
        "items: [gear, face, hand, clock, toy]\n"
        "stations:\n"
        "  - {name: bench, takes: {gear: 1, face: 1, hand: 1}, makes: {clock: 1}, time: 4}\n"
        "  - {name: table, takes: {gear: 1, face: 1, hand: 1}, makes: {toy: 1}, time: 4}\n"
        "supplies: [{name: gears, item: gear, every: 2 s}, {name: faces, item: face, every: 2},\n"
        "  {name: hands, item: hand, every: 2 s}]\n"
        "demands: [{name: clocks, item: clock, every: 20 s}, {name: toys, item: toy, "
        "every: 20 s}]\n");
    ck_assert_uint_eq(planned.plan.belt_count, 1);
    ck_assert_uint_eq(planned.plan.belt[0].lanes, 1);
    forget(&planned);
}
END_TEST

/* One clock in twelve hours, made in 10 ms: a station is needed for it all the same. */
START_TEST(what_is_hardly_ever_made_needs_a_station) {
    struct planned planned =
        plan_of("items: [gear, clock]\n"
                "stations: [{name: bench, takes: {gear: 1}, makes: {clock: 1}, time: 10 ms}]\n"
                "supplies: [{name: gears, item: gear, every: 1 h}]\n"
                "demands: [{name: orders, item: clock, every: 12 h}]\n");
    ck_assert_uint_eq(planned.plan.station_count, 1);
    forget(&planned);
}
END_TEST

/* Fifteen clocks a minute are twice what one bench makes; chips come with them, of which a few are
 * ordered and no station takes any: none is kept for stations. */
START_TEST(stations_are_numbered_and_nothing_is_kept_for_none) {
    struct planned planned =
        plan_of("items: [gear, clock, chip]\n"
                "stations: [{name: bench, takes: {gear: 1}, makes: {clock: 1, chip: 2}, time: 7}]\n"
                "supplies: [{name: gears, item: gear, every: 3 s}]\n"
                "demands: [{name: clocks, item: clock, every: 4 s}, {name: chips, item: chip, "
                "every: 20 s}]\n");
    const struct plan *plan = &planned.plan;
    ck_assert_uint_eq(plan->station_count, 2);
    ck_assert_str_eq(plan->station[0].name, "bench-1");
    ck_assert_str_eq(plan->station[1].name, "bench-2");
    uint32_t overflows = 0;
    for (uint32_t i = 0; i < plan->arm_count; i++) {
        ck_assert_ptr_null(strstr(plan->arm[i].why, "for the stations"));
        overflows += strstr(plan->arm[i].why, "than wanted") != NULL;
    }
    ck_assert_uint_gt(overflows, 0);
    forget(&planned);
}
END_TEST

/* ---- what goes round ---- */

/* A base that goes round has a chest that holds all, and what its stations bring back between two
 * takings of what is too much, which are ten seconds apart, and eight more. */
START_TEST(carriers_have_room_to_come_back) {
    char *text = text_of_file("tests/design/carriers.brief");
    struct planned planned = plan_of(text);
    uint32_t carriers = 0;
    for (uint32_t c = 0; c < planned.plan.chest_count; c++)
        for (uint32_t k = 0; k < planned.plan.chest[c].stock_count; k++) {
            const struct plan_stock *stock = &planned.plan.chest[c].stock[k];
            if (strstr(stock->why, "go round") == NULL)
                continue;
            carriers++;
            ck_assert_int_gt(stock->limit, stock->start + 8);
        }
    ck_assert_uint_gt(carriers, 0);
    forget(&planned);
    free(text);
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_test(tests, a_chest_is_the_smallest_that_can_be_had);
    tcase_add_test(tests, what_is_not_said_of_a_design_has_its_default);
    tcase_add_loop_test(tests, all_parts_of_a_plan_fit_each_other, 0, sizeof brief / sizeof *brief);
    tcase_add_test(tests, a_counted_lane_is_longer_than_what_may_lie_on_it);
    tcase_add_test(tests, what_leaves_a_lane_first_comes_onto_it_first);
    tcase_add_test(tests, what_shares_parts_shares_a_lane);
    tcase_add_test(tests, what_is_hardly_ever_made_needs_a_station);
    tcase_add_test(tests, stations_are_numbered_and_nothing_is_kept_for_none);
    tcase_add_test(tests, carriers_have_room_to_come_back);
}

int main(void) { return suite_main("plan", add_tests); }
