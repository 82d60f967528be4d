/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_draft.c - what is read of a draft: what a design may use, the numbers that are
 * left open, with their places, and the chests that a brief leaves out. For words see
 * test_messages. */
#include "model/reader/draft.h"

#include <check.h>
#include <stdio.h>
#include <string.h>

#include "model/reader/read.h"
#include "tests/common/suite.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

static struct draft *draft_with(const char *text, const char *const *change, size_t count) {
    struct faults faults = {0};
    struct draft *draft = read_draft(text, strlen(text), "draft", change, count, &faults);
    ck_assert_msg(draft != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "");
    faults_free(&faults);
    return draft;
}

static struct draft *draft_of(const char *text) { return draft_with(text, NULL, 0); }

/* ---- may ---- */

#define PARTS                                                                                      \
    "items: [gear, clock]\nstations: [{name: bench, takes: {gear: 1}, makes: {clock: 1}, time: "   \
    "4}]\nsupplies: [{name: gears, item: gear, every: 6 s}]\ndemands: [{name: orders, item: "      \
    "clock, every: 6 s}]\n"

static void assert_ratio(struct ratio ratio, int64_t numerator, int64_t denominator) {
    ck_assert_int_eq(ratio.numerator, numerator);
    ck_assert_int_eq(ratio.denominator, denominator);
}

START_TEST(all_that_a_design_may_use_is_read) {
    struct draft *draft =
        draft_of("clock: {ticks_per_second: 50}\n" PARTS "may:\n"
                 "  arms: [{swing: 0.5 s, hand: 3}, {swing: 2 s}]\n"
                 "  loops: {rates: [6, 4.5], cells_at_most: 70, lanes_at_most: 3, at_most: 5}\n"
                 "  lines: {rates: [12], cells_at_most: 80}\n"
                 "  chests: {capacities: [90, 20, 300, 40]}\n"
                 "  gates: belts\n  stations_at_most: 9\n  met: 0.75\n"
                 "  survive: {for: 90 min, seeds: 7, drain: false, restart: false, disturb: false, "
                 "flood: 0.25}\n");
    const struct may *may = &draft->may;
    ck_assert_uint_eq(may->arm_count, 2);
    ck_assert_int_eq(may->arm[0].swing_ticks, 25);
    ck_assert_str_eq(may->arm[0].swing, "0.5 s");
    ck_assert_uint_eq(may->arm[0].hand, 3);
    ck_assert_int_eq(may->arm[1].swing_ticks, 100);
    ck_assert_uint_eq(may->arm[1].hand, 1);
    ck_assert_uint_eq(may->loop_rates.count, 2);
    assert_ratio(may->loop_rates.rate[0].rate, 6, 1);
    assert_ratio(may->loop_rates.rate[1].rate, 9, 2);
    ck_assert_str_eq(may->loop_rates.rate[1].text, "4.5");
    ck_assert_uint_eq(may->line_rates.count, 1);
    assert_ratio(may->line_rates.rate[0].rate, 12, 1);
    ck_assert_str_eq(may->line_rates.rate[0].text, "12");
    ck_assert_int_eq(may->loop_cells_most, 70);
    ck_assert_int_eq(may->lanes_most, 3);
    ck_assert_int_eq(may->loops_most, 5);
    ck_assert_int_eq(may->line_cells_most, 80);
    static const int64_t capacity[] = {20, 40, 90, 300}; /* ascending */
    ck_assert_uint_eq(may->capacity_count, LENGTH(capacity));
    for (size_t i = 0; i < LENGTH(capacity); i++)
        ck_assert_int_eq(may->capacity[i], capacity[i]);
    ck_assert_int_eq(may->capacity_most, 300);
    ck_assert(may->belts);
    ck_assert_int_eq(may->stations_most, 9);
    assert_ratio(may->met, 3, 4);
    ck_assert_int_eq(may->survive_ticks, 90 * 60 * 50);
    ck_assert_int_eq(may->seeds, 7);
    ck_assert(!may->drain && !may->restart && !may->disturb);
    assert_ratio(may->flood, 1, 4);
    draft_free(draft);
}
END_TEST

/* As docs/scenario.md says, whether the section is there or not. */
START_TEST(what_is_not_said_has_its_default) {
    static const char *const more[] = {"", "may: {}\n", "may: {loops: {}, survive: {}}\n",
                                       "may: {gates: chests}\n"};
    for (size_t i = 0; i < LENGTH(more); i++) {
        char text[600];
        snprintf(text, sizeof text, PARTS "%s", more[i]);
        struct draft *draft = draft_of(text);
        const struct may *may = &draft->may;
        ck_assert_int_eq(draft->has_may, i > 0);
        ck_assert_uint_eq(may->arm_count, 1);
        ck_assert_int_eq(may->arm[0].swing_ticks * 10, 8 * draft->scenario->ticks_per_second);
        ck_assert_str_eq(may->arm[0].swing, "0.8 s");
        ck_assert_uint_eq(may->arm[0].hand, 1);
        ck_assert_uint_eq(may->loop_rates.count, 1);
        assert_ratio(may->loop_rates.rate[0].rate, 6, 1);
        ck_assert_str_eq(may->loop_rates.rate[0].text, "6");
        ck_assert_uint_eq(may->line_rates.count, 0);
        ck_assert_uint_eq(may->capacity_count, 0);
        ck_assert_int_eq(may->capacity_most, 400);
        ck_assert_int_eq(may->loop_cells_most, 400);
        ck_assert_int_eq(may->line_cells_most, 400);
        ck_assert_int_eq(may->lanes_most, 2);
        ck_assert_int_eq(may->loops_most, 3);
        ck_assert_int_eq(may->stations_most, 6);
        ck_assert(!may->belts);
        assert_ratio(may->met, 49, 50);
        ck_assert_int_eq(may->survive_ticks, 12 * 3600 * draft->scenario->ticks_per_second);
        ck_assert_int_eq(may->seeds, 20);
        ck_assert(may->drain && may->restart && may->disturb);
        assert_ratio(may->flood, 4, 5);
        draft_free(draft);
    }
}
END_TEST

/* A tick is then the shortest swing, and a cell a tick the fastest belt. */
START_TEST(a_coarse_clock_has_what_it_can_have) {
    struct draft *draft = draft_of("clock: {ticks_per_second: 1}\n" PARTS);
    ck_assert_int_eq(draft->may.arm[0].swing_ticks, 1);
    assert_ratio(draft->may.loop_rates.rate[0].rate, 1, 1);
    ck_assert_str_eq(draft->may.loop_rates.rate[0].text, "1");
    draft_free(draft);
}
END_TEST

START_TEST(where_may_stands_is_known) {
    static const char *const change[] = {"may.met=0.5"};
    struct draft *draft = draft_of(PARTS "may: {met: 0.9}\n");
    ck_assert(draft->has_may && draft->may_in_file);
    ck_assert_uint_eq(draft->may_line, 5);
    ck_assert_ptr_null(yaml_tree_find(draft->tree.root, "may"));
    ck_assert_ptr_null(strstr(draft->scenario->text, "may"));
    draft_free(draft);
    draft = draft_with(PARTS, change, 1);
    ck_assert(draft->has_may && !draft->may_in_file);
    assert_ratio(draft->may.met, 1, 2);
    ck_assert_str_eq(draft->text, PARTS);
    draft_free(draft);
}
END_TEST

/* ---- numbers that are left open ---- */

static const char open_text[] =
    "items: [comb, case]\n"
    "loops: [{name: ring, cells: find, rate: find}]\n"
    "lines:\n  - name: slide\n    cells: find\n    rate: 4\n"
    "chests:\n"
    "  - {name: bin, capacity: find, limits: {comb: find}, start: {comb: 3, case: find}}\n"
    "  - {name: tray}\n"
    "stations:\n"
    "  - {name: bench, takes: {comb: 1}, makes: {case: 2}, time: 4, ahead: find, room: find}\n"
    "  - {name: press, takes: {comb: 1}, makes: {case: 2}, time: 4, room: {case: find}}\n"
    "arms:\n"
    "  - {name: in, from: bin, to: ring@find, swing: find, hand: find,\n"
    "     gate: {any: [{chest: tray, item: case, below: find, reopen_below: find},\n"
    "                  {loop: ring, at_least: find}]}}\n"
    "  - {name: out, from: slide@find, to: tray, swing: 1}\n";

/* In the order of the text; lines and columns are counted there by hand. */
static const struct {
    const char *path;
    enum draft_open_kind kind;
    uint32_t line, column;
} open_there[] = {
    {"loops.ring.cells", DRAFT_CELLS, 2, 29},
    {"loops.ring.rate", DRAFT_RATE, 2, 41},
    {"lines.slide.cells", DRAFT_CELLS, 5, 12},
    {"chests.bin.capacity", DRAFT_CAPACITY, 8, 27},
    {"chests.bin.limits.comb", DRAFT_COUNT, 8, 48},
    {"chests.bin.start.case", DRAFT_COUNT, 8, 78},
    {"stations.bench.ahead", DRAFT_COUNT, 11, 71},
    {"stations.bench.room", DRAFT_COUNT, 11, 83},
    {"stations.press.room.case", DRAFT_COUNT, 12, 77},
    {"arms.in.to", DRAFT_PLACE, 14, 31},
    {"arms.in.swing", DRAFT_SWING, 14, 49},
    {"arms.in.hand", DRAFT_HAND, 14, 61},
    {"arms.in.gate.any.0.below", DRAFT_COUNT, 15, 52},
    {"arms.in.gate.any.0.reopen_below", DRAFT_COUNT, 15, 72},
    {"arms.in.gate.any.1.at_least", DRAFT_COUNT, 16, 42},
    {"arms.out.from", DRAFT_PLACE, 17, 23},
};

START_TEST(open_numbers_are_listed_with_their_places) {
    struct draft *draft = draft_of(open_text);
    ck_assert_uint_eq(draft->open_count, LENGTH(open_there));
    for (uint32_t i = 0; i < draft->open_count; i++) {
        const struct draft_open *open = &draft->open[i];
        ck_assert_str_eq(open->path, open_there[i].path);
        ck_assert_msg(open->kind == open_there[i].kind, "%s", open->path);
        ck_assert_msg(open->line == open_there[i].line && open->column == open_there[i].column,
                      "%s: %u:%u", open->path, open->line, open->column);
        ck_assert(open->in_file);
        const char *place = open->kind == DRAFT_PLACE ? i == 9 ? "ring" : "slide" : NULL;
        ck_assert_uint_eq(open->width, place == NULL ? 4 : strlen(place) + 5);
        ck_assert((open->place == NULL) == (place == NULL));
        if (place != NULL)
            ck_assert_str_eq(open->place, place);
    }
    ck_assert(!draft->is_brief && draft_is_open(draft) && draft->stand_in == NULL);
    draft_free(draft);
}
END_TEST

/* What stands in is valid, and where it is a bound it holds nothing back. */
START_TEST(what_stands_in_holds_nothing_back) {
    enum { MILLION = 1000000 };
    struct draft *draft = draft_of(open_text);
    const struct scenario *scenario = draft->scenario;
    const struct scenario_arm *arm = &scenario->arm[0];
    ck_assert_uint_eq(scenario->loop[0].cell_count, MILLION);
    assert_ratio(scenario->loop[0].rate, 1, 1);
    ck_assert_int_eq(scenario->chest[0].capacity, MILLION);
    ck_assert_int_eq(scenario->chest[0].limits.entry[0].count, MILLION);
    ck_assert_int_eq(scenario->chest[0].start.entry[0].count, 3);
    ck_assert_int_eq(scenario->chest[0].start.entry[1].count, 0);
    ck_assert_int_eq(scenario->station[0].ahead, 2);
    ck_assert_int_eq(scenario->station[0].makes[0].room, 4); /* two batches of 2 */
    ck_assert_int_eq(scenario->station[1].makes[0].room, MILLION);
    ck_assert_uint_eq(arm->to.cell, 0);
    ck_assert_uint_eq(arm->hand, 1);
    ck_assert_int_eq((int64_t)arm->swing.mean_ticks, scenario->ticks_per_second);
    const struct scenario_gate *gate = &scenario->gate[scenario->gate[arm->gate].first_child];
    ck_assert_int_eq(gate->threshold, MILLION);
    ck_assert_int_eq(gate->reopen_below, 1);
    ck_assert_int_eq(scenario->gate[gate->next_sibling].threshold, MILLION);
    draft_free(draft);
}
END_TEST

/* `find` is a word like others where no number is wanted, and what is expected is never open. */
START_TEST(find_elsewhere_is_a_word) {
    struct draft *draft = draft_of("title: find\nitems: [find]\n"
                                   "chests: [{name: bin, start: {find: 2}}, {name: tray}]\n"
                                   "arms: [{name: find-it, from: bin, to: tray, swing: 1}]\n");
    ck_assert_uint_eq(draft->open_count, 0);
    ck_assert(!draft_is_open(draft) && !draft->has_may);
    ck_assert_str_eq(draft->scenario->title, "find");
    draft_free(draft);
    static const char *const wrong[] = {
        "items: [comb]\nexpect: {made: {comb: {at_least: find}}}\n",
        "items: [comb]\nchests: [{name: bin, capacity: 'find'}]\n",
        "items: [comb]\nrun: {seed: find}\n",
    };
    for (size_t i = 0; i < LENGTH(wrong); i++) {
        struct faults faults = {0};
        ck_assert_ptr_null(read_draft(wrong[i], strlen(wrong[i]), "draft", NULL, 0, &faults));
        ck_assert_uint_eq(faults.error_count, 1);
        faults_free(&faults);
    }
}
END_TEST

START_TEST(what_a_change_leaves_open_is_not_in_the_file) {
    static const char *const change[] = {"chests.bin.capacity=find"};
    struct draft *draft =
        draft_with("items: [comb]\nchests: [{name: bin, capacity: 4}, {name: tray}]\n"
                   "arms: [{name: in, from: bin, to: tray, swing: find}]\n",
                   change, 1);
    ck_assert_uint_eq(draft->open_count, 2);
    ck_assert_str_eq(draft->open[0].path, "chests.bin.capacity");
    ck_assert(!draft->open[0].in_file && draft->open[1].in_file);
    draft_free(draft);
}
END_TEST

/* ---- chests that a brief leaves out ---- */

static uint32_t chest_named(const struct scenario *scenario, const char *name) {
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        if (strcmp(scenario->chest[i].name, name) == 0)
            return i;
    ck_abort_msg("no %s", name);
    return 0;
}

START_TEST(streams_without_a_chest_are_at_one_that_stands_in) {
    struct draft *draft =
        draft_of("items: [gear, clock]\nchests: [{name: unplaced}, {name: unplaced-2}]\n"
                 "stations: [{name: bench, takes: {gear: 1}, makes: {clock: 1}, time: 4}]\n"
                 "supplies: [{name: gears, item: gear, every: 6 s},\n"
                 "           {name: more, item: gear, every: 6 s, chest: unplaced}]\n"
                 "demands: [{name: orders, item: clock, every: 6 s},\n"
                 "          {name: others, item: clock, every: 6 s, chest: unplaced-2}]\n");
    const struct scenario *scenario = draft->scenario;
    ck_assert(draft->is_brief);
    ck_assert_str_eq(draft->stand_in, "unplaced-3");
    ck_assert_uint_eq(scenario->chest_count, 3);
    ck_assert_uint_eq(scenario->supply[0].chest, chest_named(scenario, "unplaced-3"));
    ck_assert_uint_eq(scenario->supply[1].chest, chest_named(scenario, "unplaced"));
    ck_assert_uint_eq(scenario->demand[0].chest, chest_named(scenario, "unplaced-3"));
    ck_assert_uint_eq(scenario->demand[1].chest, chest_named(scenario, "unplaced-2"));
    draft_free(draft);
    draft = draft_of(PARTS); /* no chests at all */
    ck_assert_str_eq(draft->stand_in, "unplaced");
    ck_assert_uint_eq(draft->scenario->chest_count, 1);
    ck_assert(draft_is_open(draft));
    draft_free(draft);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, all_that_a_design_may_use_is_read);
    tcase_add_test(tests, what_is_not_said_has_its_default);
    tcase_add_test(tests, a_coarse_clock_has_what_it_can_have);
    tcase_add_test(tests, where_may_stands_is_known);
    tcase_add_test(tests, open_numbers_are_listed_with_their_places);
    tcase_add_test(tests, what_stands_in_holds_nothing_back);
    tcase_add_test(tests, find_elsewhere_is_a_word);
    tcase_add_test(tests, what_a_change_leaves_open_is_not_in_the_file);
    tcase_add_test(tests, streams_without_a_chest_are_at_one_that_stands_in);
}

int main(void) { return suite_main("draft", add_tests); }
