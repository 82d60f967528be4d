/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_short.c - `loopwright cause` where demand is not met. Each scenario
 * gallery/short-*.yaml was built to be short for what its head names (`# cause: short KIND
 * SUBJECT`): that must be named first, and what is shown first must meet the demand for twelve
 * hours when it is run. */
#define _DEFAULT_SOURCE /* getcwd */
#include <check.h>
#include <glob.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"

enum { PATH_BYTES = 512, WORD_BYTES = 80, CHANGES_BYTES = 2048 };

static char root[PATH_BYTES]; /* the top of the tree */
static glob_t gallery;

static const char *path_of(const char *scenario) {
    static char path[2 * PATH_BYTES];
    snprintf(path, sizeof path, "%s/%s", root, scenario);
    return path;
}

static const char *word(const json_t *object, const char *key) {
    const char *text = json_string_value(json_object_get(object, key));
    return text != NULL ? text : "";
}

static double number(const json_t *object, const char *key) {
    return json_number_value(json_object_get(object, key));
}

/* What `cause` says of a run of the scenario at a path, which ends with a status; freed by the
 * caller. */
static json_t *cause_at(const char *path, int status, const char *options) {
    ck_assert_msg(errand_run("run '%s' --quiet --out run", path) == status, "%s", path);
    ck_assert_int_eq(errand_run("cause run --json %s", options), 0);
    return errand_json("out");
}

/* The same of one of the tree, which holds. */
static json_t *cause_of(const char *scenario, const char *options) {
    return cause_at(path_of(scenario), 0, options);
}

/* The last entry of what was found. */
static const json_t *last_entry(const json_t *told) {
    const json_t *found = json_object_get(told, "found");
    ck_assert_uint_gt(json_array_size(found), 0);
    return json_array_get(found, json_array_size(found) - 1);
}

static const json_t *first_of(const json_t *entry, const char *list) {
    const json_t *first = json_array_get(json_object_get(entry, list), 0);
    ck_assert_msg(first != NULL, "no %s", list);
    return first;
}

static void planted(const char *scenario, char kind[WORD_BYTES], char subject[WORD_BYTES]) {
    char *text = story_text(path_of(scenario));
    const char *line = strstr(text, "# cause: short ");
    ck_assert_msg(line != NULL && sscanf(line, "# cause: short %79s %79s", kind, subject) == 2,
                  "%s", scenario);
    free(text);
}

/* ---- the gallery ---- */

START_TEST(the_planted_limit_is_named_first) {
    char kind[WORD_BYTES], subject[WORD_BYTES];
    const char *scenario = gallery.gl_pathv[_i];
    planted(scenario, kind, subject);
    json_t *told = cause_of(scenario, "");
    const json_t *entry = last_entry(told), *first = first_of(entry, "roots");
    ck_assert_str_eq(word(entry, "kind"), "short");
    ck_assert(json_is_null(json_object_get(entry, "start_s")));
    ck_assert(number(entry, "met") < 0.98 * number(entry, "asked"));
    ck_assert_msg(strcmp(word(first, "kind"), kind) == 0 &&
                      strcmp(word(first, "subject"), subject) == 0,
                  "%s: %s %s", scenario, word(first, "kind"), word(first, "subject"));
    json_decref(told);
}
END_TEST

static double sum_of(const json_t *shares) {
    const char *key;
    json_t *share;
    double sum = 0;
    json_object_foreach((json_t *)(uintptr_t)shares, key, share) {
        ck_assert(json_number_value(share) >= 0);
        sum += json_number_value(share);
    }
    return sum;
}

/* It begins with a station that makes the product, each link leads to the next, and time is divided
 * without a rest. */
START_TEST(the_chain_hangs_together) {
    json_t *told = cause_of(gallery.gl_pathv[_i], "");
    const json_t *chain = json_object_get(last_entry(told), "chain");
    size_t count = json_array_size(chain);
    ck_assert_uint_gt(count, 0);
    ck_assert(json_object_get(json_object_get(json_array_get(chain, 0), "shares"), "working") !=
              NULL);
    for (size_t i = 0; i < count; i++) {
        const json_t *link = json_array_get(chain, i);
        const json_t *shares = json_object_get(link, "shares");
        ck_assert(shares == NULL || fabs(sum_of(shares) - 1) < 1e-9);
        ck_assert_str_eq(word(link, "on"), word(json_array_get(chain, i + 1), "who"));
    }
    json_decref(told);
}
END_TEST

static void write_changes(const json_t *remedy, char text[CHANGES_BYTES]) {
    const json_t *set = json_object_get(remedy, "set");
    text[0] = '\0';
    for (size_t i = 0; i < json_array_size(set); i++) {
        size_t used = strlen(text);
        snprintf(text + used, CHANGES_BYTES - used, " --set '%s'",
                 json_string_value(json_array_get(set, i)));
    }
}

/* Runs twelve hours and asks for the demand of a product; the status. */
static int night_of(const char *scenario, const char *changes, const char *product) {
    return errand_run("run '%s' --quiet --for 12h%s "
                      "--set 'expect={jam: false, demand_met: {%s: {at_least: 0.98}}}'",
                      path_of(scenario), changes, product);
}

START_TEST(the_first_remedy_meets_the_demand_for_twelve_hours) {
    char changes[CHANGES_BYTES];
    const char *scenario = gallery.gl_pathv[_i];
    json_t *told = cause_of(scenario, "");
    const json_t *entry = last_entry(told), *remedy = first_of(entry, "remedies");
    ck_assert(number(remedy, "met") >= 0.98);
    ck_assert(number(remedy, "proved_s") >= 43200);
    ck_assert(json_is_false(json_object_get(remedy, "jam")));
    write_changes(remedy, changes);
    ck_assert_int_eq(night_of(scenario, "", word(entry, "subject")), 1);
    ck_assert_msg(night_of(scenario, changes, word(entry, "subject")) == 0, "%s%s", scenario,
                  changes);
    json_decref(told);
}
END_TEST

/* What meets the demand stands before what only brings more. */
START_TEST(remedies_that_are_enough_stand_first) {
    json_t *told = cause_of(gallery.gl_pathv[_i], "");
    const json_t *remedies = json_object_get(last_entry(told), "remedies");
    for (size_t i = 1; i < json_array_size(remedies); i++)
        ck_assert((number(json_array_get(remedies, i - 1), "met") >= 0.98) >=
                  (number(json_array_get(remedies, i), "met") >= 0.98));
    json_decref(told);
}
END_TEST

START_TEST(the_text_says_what_limits_and_what_helps) {
    char kind[WORD_BYTES], subject[WORD_BYTES];
    planted(gallery.gl_pathv[_i], kind, subject);
    json_decref(cause_of(gallery.gl_pathv[_i], ""));
    ck_assert_int_eq(errand_run("cause run"), 0);
    ck_assert(errand_says("out", " is short: of "));
    ck_assert(errand_says("out", kind) && errand_says("out", subject));
    ck_assert(errand_says("out", ", proven)"));
    ck_assert(errand_says("out", " a minute, 100 % met in 12 h"));
    ck_assert(errand_says("out", "By arithmetic (loopwright budget)"));
    ck_assert(!errand_says("out", "Nobody waits for ever"));
}
END_TEST

/* Each kind that a shortage alone has. */
START_TEST(the_gallery_has_every_kind_of_shortage) {
    static const char *const kinds[] = {"slow_arm",      "slow_station", "short_supply",
                                        "low_threshold", "small_room",   "full_lane"};
    bool has[6] = {false};
    char kind[WORD_BYTES], subject[WORD_BYTES];
    for (size_t i = 0; i < gallery.gl_pathc; i++) {
        planted(gallery.gl_pathv[i], kind, subject);
        for (size_t j = 0; j < 6; j++)
            has[j] |= strcmp(kind, kinds[j]) == 0;
    }
    for (size_t j = 0; j < 6; j++)
        ck_assert_msg(has[j], "%s", kinds[j]);
}
END_TEST

/* ---- counting ---- */

static const char press[] = "tests/story/gallery/short-slow-press.yaml";

/* Every 5 s from 2 to 40 minutes are 456 orders; 24 came before, and are met first. */
START_TEST(orders_of_the_warm_up_do_not_count) {
    json_t *told = cause_of(press, "");
    ck_assert(number(last_entry(told), "asked") == 456);
    ck_assert_int_eq(errand_run("run '%s' --json", path_of(press)), 0);
    json_t *summary = errand_json("out");
    double all = errand_number(summary, "items", "lantern", "met", NULL);
    ck_assert(number(last_entry(told), "met") == all - 24);
    json_decref(summary);
    json_decref(told);
}
END_TEST

/* Orders that are lost are not met; those that a later delivery meets are. */
START_TEST(what_is_lost_is_short_and_what_is_late_is_not) {
    static const char text[] =
        "run: {for: 100 s}\nitems: [cog]\n"
        "chests: [{name: bin, start: {cog: %d}}]\n"
        "supplies: [{name: cart, chest: bin, item: cog, every: 50 s, batch: 5}]\n"
        "demands: [{name: orders, chest: bin, item: cog, every: 10 s, when_short: %s}]\n";
    char scenario[sizeof text + 8];
    snprintf(scenario, sizeof scenario, text, _i == 0 ? 0 : 2, _i == 0 ? "backlog" : "lose");
    errand_write("orders.yaml", scenario);
    json_t *told = cause_at("orders.yaml", 0, "");
    /* An order each 10 s, 10 in all, and 5 cogs at 50 and at 100 s, before the orders of that
     * tick. From 0 all orders are met by 100 s, if late; with 2 and nothing kept open, those at 30
     * and 40 s are lost. */
    ck_assert_uint_eq(json_array_size(json_object_get(told, "found")), _i == 0 ? 0 : 1);
    if (_i == 1)
        ck_assert(number(last_entry(told), "asked") == 10 && number(last_entry(told), "met") == 8);
    json_decref(told);
}
END_TEST

/* ---- beside other cases ---- */

/* A starvation that lasts, and whose waits end with what is under way, goes on to what limits. */
START_TEST(a_starvation_to_the_end_has_a_root) {
    json_t *told = cause_of("tests/story/gallery/short-slow-loop.yaml", "");
    const json_t *entry = json_array_get(json_object_get(told, "found"), 0);
    ck_assert_str_eq(word(entry, "kind"), "starved");
    ck_assert(json_is_null(json_object_get(entry, "end_s")));
    ck_assert_str_eq(word(first_of(entry, "roots"), "kind"), "full_lane");
    json_decref(told);
}
END_TEST

/* Where the way back leads round in a circle it is followed once round, and what is missing in the
 * circle is named and brought. */
START_TEST(a_circle_has_a_chain_and_a_root) {
    json_t *told = cause_of("tests/story/gallery/plates-grow-fewer.yaml", "");
    const json_t *entry = last_entry(told), *first = first_of(entry, "roots");
    ck_assert_str_eq(word(entry, "kind"), "short");
    ck_assert_str_eq(word(first, "kind"), "dead_supply");
    ck_assert_str_eq(word(first, "subject"), "box");
    ck_assert_str_eq(word(first_of(entry, "chain"), "who"), "bench");
    ck_assert(number(first_of(entry, "remedies"), "met") >= 0.98);
    json_decref(told);
}
END_TEST

/* The entries of what is short stand last, whichever row is asked for. */
START_TEST(a_shortage_is_told_beside_any_row) {
    json_t *told = cause_of("tests/story/gallery/two-causes.yaml", "--event 1");
    ck_assert_str_eq(word(last_entry(told), "kind"), "short");
    ck_assert_str_eq(word(last_entry(told), "subject"), "movement");
    json_decref(told);
}
END_TEST

/* With the same cause as a jam it is told in two lines. */
START_TEST(a_shortage_by_a_jam_is_told_shortly) {
    json_decref(cause_of("tests/story/gallery/springs-outrun-combs.yaml", ""));
    ck_assert_int_eq(errand_run("cause run"), 0);
    ck_assert(errand_says("out", "movement is short: of 240 asked for after the warm-up"));
    ck_assert(errand_says("out", "for the same reason as with ring/lane above"));
}
END_TEST

/* The scenario that is written has the change. */
START_TEST(the_mended_scenario_meets_the_demand) {
    json_decref(cause_of(press, "--write mended.yaml"));
    ck_assert_int_eq(errand_run("run mended.yaml --quiet --set "
                                "'expect={demand_met: {lantern: {at_least: 0.98}}}'"),
                     0);
}
END_TEST

/* Two limits at once: each alone is not enough, and the first remedy changes both. */
START_TEST(two_limits_are_mended_together) {
    char changes[CHANGES_BYTES];
    ck_assert_int_eq(
        errand_run("run '%s' --quiet --out run --set arms.shelver.swing=7s", path_of(press)), 0);
    ck_assert_int_eq(errand_run("cause run --json"), 0);
    json_t *told = errand_json("out");
    const json_t *remedy = first_of(last_entry(told), "remedies");
    ck_assert(number(remedy, "met") >= 0.98);
    ck_assert_uint_eq(json_array_size(json_object_get(remedy, "set")), 2);
    write_changes(remedy, changes);
    ck_assert_int_eq(errand_run("run run/scenario.yaml --quiet --for 12h%s --set "
                                "'expect={demand_met: {lantern: {at_least: 0.98}}}'",
                                changes),
                     0);
    json_decref(told);
}
END_TEST

static bool is_shown(const json_t *entry, const char *change) {
    const json_t *remedies = json_object_get(entry, "remedies");
    for (size_t i = 0; i < json_array_size(remedies); i++) {
        const json_t *remedy = json_array_get(remedies, i), *set = json_object_get(remedy, "set");
        if (json_array_size(set) == 1 && number(remedy, "met") >= 0.98 &&
            strcmp(json_string_value(json_array_get(set, 0)), change) == 0)
            return true;
    }
    return false;
}

/* A delivery that finds no room because another kind fills the bin: what holds that kind back is
 * shown, by an eighth of 120 places (120 - 15 - 14 + 1) and by halves, and the feeder's gate, shut
 * for less than what is missing, is not named. */
START_TEST(what_fills_a_shared_bin_is_held_back) {
    json_t *told = cause_of("tests/story/gallery/short-crowded-bin.yaml", "");
    const json_t *entry = last_entry(told);
    ck_assert_uint_eq(json_array_size(json_object_get(entry, "roots")), 1);
    ck_assert(is_shown(entry, "supplies.tubes.gate={chest: bin, item: tube, below: 92}"));
    ck_assert(is_shown(entry, "chests.bin.limits={tube: 60, board: 60}"));
    ck_assert_int_eq(errand_run("cause run"), 0);
    ck_assert(errand_says("out", "bin fills up with tube and has no room for board"));
    ck_assert(errand_says("out", "39 % of what is asked for; in 12 h 3 %)"));
    json_decref(told);
}
END_TEST

/* Glass comes for twenty minutes only. Before that the shelf is full at times, gates are shut and a
 * few items lie still. */
static const char globes[] =
    "run: {for: 1 h, seed: 6, warm_up: 2 min}\nitems: [glass, stand, globe]\n"
    "loops: [{name: ring, cells: 36, rate: 3}]\nchests:\n"
    "  - {name: glass-bin, capacity: 60, start: {glass: 20}}\n"
    "  - {name: stand-bin, capacity: 60, start: {stand: 20}}\n"
    "  - {name: shelf, capacity: 15}\n"
    "stations: [{name: bench, takes: {glass: 1, stand: 1}, makes: {globe: 1}, time: 5 s,\n"
    "  gate: {chest: shelf, below: 8}}]\narms:\n"
    "  - {name: glass-feeder, from: glass-bin, to: ring@1, swing: 4 s,\n"
    "     gate: {station: bench, input: glass, below: 1}}\n"
    "  - {name: stand-feeder, from: stand-bin, to: ring@4, swing: 4 s,\n"
    "     gate: {station: bench, input: stand, below: 1}}\n"
    "  - {name: bench-taker, from: ring@20, to: bench, swing: 1 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\nsupplies:\n"
    "  - {name: glasses, chest: glass-bin, item: glass, every: 1 min, batch: 8, until: 20 min}\n"
    "  - {name: stands, chest: stand-bin, item: stand, every: 1 min, batch: 8}\n"
    "demands: [{name: orders, chest: shelf, item: globe, every: {exponential: 9 s}}]\n";

/* Gates that shut while all orders were met have not cost any, and what ended by itself in seconds
 * takes one line. */
START_TEST(what_cost_nothing_is_passed_over) {
    errand_write("globes.yaml", globes);
    json_t *told = cause_at("globes.yaml", 0, "");
    ck_assert_uint_eq(json_array_size(json_object_get(last_entry(told), "roots")), 1);
    ck_assert_str_eq(word(first_of(last_entry(told), "roots"), "kind"), "dead_supply");
    ck_assert_int_eq(errand_run("cause run"), 0);
    ck_assert(errand_says("out", "and 7 clogs, each of which ended within a minute, 0:01:11.1 in "
                                 "all; the first at 0:09:44.34: --event "));
    ck_assert(!errand_says("out", "Who waits for whom"));
    json_decref(told);
}
END_TEST

/* In a remedy of several changes none can be left out: without any of them less is met. */
START_TEST(nothing_can_be_left_out) {
    const char *scenario = gallery.gl_pathv[_i];
    json_t *told = cause_of(scenario, "");
    const json_t *remedies = json_object_get(last_entry(told), "remedies");
    for (size_t i = 0; i < json_array_size(remedies); i++)
        for (size_t j = 0; j < json_array_size(remedies); j++) {
            const json_t *whole = json_array_get(remedies, i), *part = json_array_get(remedies, j);
            const json_t *more = json_object_get(whole, "set"),
                         *less = json_object_get(part, "set");
            bool is_part = json_array_size(less) < json_array_size(more);
            for (size_t k = 0; k < json_array_size(less) && is_part; k++) {
                is_part = false;
                for (size_t l = 0; l < json_array_size(more); l++)
                    is_part |= json_equal(json_array_get(less, k), json_array_get(more, l));
            }
            ck_assert_msg(!is_part || number(part, "met") < number(whole, "met"), "%s", scenario);
        }
    json_decref(told);
}
END_TEST

/* Crates come to the packer sooner than clocks and close up before them; the clocks' feeder waits
 * for the line. What a shortage is led back to is that gate, against which nothing helps; what ends
 * the packer's starvation meets the demand as well. */
START_TEST(what_ends_a_starvation_may_meet_the_demand) {
    errand_write(
        "crates.yaml",
        "run: {for: 1 h, warm_up: 2 min}\nitems: [clock, crate, parcel]\n"
        "lines: [{name: packing, cells: 20, rate: 2.5}]\nchests:\n"
        "  - {name: clock-bin, capacity: 150}\n"
        "  - {name: crate-bin, capacity: 150, start: {crate: 80}}\n"
        "  - {name: dock, capacity: 60}\n"
        "stations: [{name: packer, takes: {clock: 1, crate: 1}, makes: {parcel: 1}, time: 4 s}]\n"
        "arms:\n"
        "  - {name: layer, from: clock-bin, to: packing@2, items: [clock], swing: 3 s,\n"
        "     gate: {line: packing, item: clock, below: 4}}\n"
        "  - {name: crate-feeder, from: crate-bin, to: packing@5, items: [crate], swing: 3 s,\n"
        "     gate: {station: packer, input: crate, below: 2}}\n"
        "  - {name: packing-taker, from: packing@19, to: packer, swing: 1 s}\n"
        "  - {name: porter, from: packer, to: dock, swing: 1.5 s}\nsupplies:\n"
        "  - {name: clocks, chest: clock-bin, item: clock, every: 1 min, batch: 10}\n"
        "  - {name: crates, chest: crate-bin, item: crate, every: 1 min, batch: 10}\n"
        "demands: [{name: orders, chest: dock, item: parcel, every: 7 s}]\n");
    json_t *told = cause_at("crates.yaml", 0, "");
    const json_t *entry = last_entry(told);
    ck_assert_str_eq(word(entry, "kind"), "short");
    ck_assert_str_eq(word(first_of(entry, "roots"), "kind"), "gate_shut");
    ck_assert(is_shown(entry, "arms.crate-feeder.to=packer"));
    json_decref(told);
}
END_TEST

/* The one spring is taken off by a mover before it comes to the taker, and put on again: whoever is
 * asked waits for somebody else, and nobody is busy. More of them must be brought. */
START_TEST(what_only_goes_round_is_brought_by_nobody) {
    errand_write("springs.yaml",
                 "run: {for: 10 min}\nitems: [spring]\n"
                 "loops: [{name: ring, cells: 20, rate: 2}]\n"
                 "chests: [{name: bin, start: {spring: 1}}]\n"
                 "arms:\n"
                 "  - {name: feeder, from: bin, to: ring@0, swing: 0 s}\n"
                 "  - {name: mover, from: ring@5, to: ring@3, swing: 0 s}\n"
                 "  - {name: taker, from: ring@10, to: bin, swing: 1 s}\n"
                 "demands: [{name: orders, chest: bin, item: spring, every: 20 s}]\n");
    json_t *told = cause_at("springs.yaml", 0, "");
    const json_t *limit = first_of(last_entry(told), "roots");
    ck_assert_str_eq(word(limit, "kind"), "dead_supply");
    ck_assert_str_eq(word(limit, "subject"), "bin");
    json_decref(told);
}
END_TEST

static bool sets_something_of(const json_t *remedy, const char *part) {
    size_t i;
    const json_t *set;
    json_array_foreach(json_object_get(remedy, "set"), i, set) {
        if (strncmp(json_string_value(set), part, strlen(part)) == 0)
            return true;
    }
    return false;
}

/* Nobody takes away scrap, so that by a budget no clock can be made. To take both scrap and gears
 * away ends the jam, and keeps all of that nothing, while a larger tray and a way out for scrap
 * meet each order. Without somebody who empties it the box for scrap would go on filling. */
START_TEST(a_cure_of_a_jam_that_meets_the_demand_stands_first) {
    errand_write(
        "clocks.yaml",
        "run: {for: 2 h, seed: 3}\n"
        "items: {gear: {}, plate: {}, spring: {}, case: {length: 2}, clock: {}, scrap: {}}\n"
        "loops: [{name: belt, cells: 80, rate: 3, lanes: [in, out]}]\n"
        "chests:\n"
        "  - {name: gears, capacity: 300, start: {gear: 200}}\n"
        "  - {name: plates, capacity: 300, start: {plate: 200}}\n"
        "  - {name: springs, capacity: 300, start: {spring: 200}}\n"
        "  - {name: cases, capacity: 100, start: {case: 80}}\n"
        "  - {name: tray, capacity: 24}\n"
        "  - {name: store, capacity: 60}\n"
        "stations:\n"
        "  - {name: press, takes: {gear: 2, plate: 1, spring: 1, case: 1}, time: 8 s,\n"
        "     makes: {clock: 1, scrap: {chance: 0.1, count: 1}}}\n"
        "arms:\n"
        "  - {name: f-gear, from: gears, to: belt/in@3, swing: 2 s,\n"
        "     gate: {chest: tray, item: gear, below: 6}}\n"
        "  - {name: f-plate, from: plates, to: belt/in@9, swing: 2 s,\n"
        "     gate: {chest: tray, item: plate, below: 4}}\n"
        "  - {name: f-spring, from: springs, to: belt/out@12, swing: 2 s,\n"
        "     gate: {chest: tray, item: spring, below: 4}}\n"
        "  - {name: f-case, from: cases, to: belt/out@20, swing: 3 s,\n"
        "     gate: {chest: tray, item: case, below: 3}}\n"
        "  - {name: t-in, from: belt/in@50, to: tray, swing: 1.5 s, hand: 2, linger: 1 s}\n"
        "  - {name: t-out, from: belt/out@52, to: tray, swing: 1.5 s}\n"
        "  - {name: load, from: tray, to: press, swing: 1 s}\n"
        "  - {name: unload, from: press, to: store, swing: 2 s, items: [clock]}\n"
        "supplies:\n"
        "  - {name: s-gear, chest: gears, item: gear, every: 1 min, batch: 15}\n"
        "  - {name: s-plate, chest: plates, item: plate, every: 1 min, batch: 8}\n"
        "  - {name: s-spring, chest: springs, item: spring, every: 1 min, batch: 8}\n"
        "  - {name: s-case, chest: cases, item: case, every: 1 min, batch: 8}\n"
        "demands:\n"
        "  - {name: orders, chest: store, item: clock, every: {exponential: 10 s}}\n");
    json_t *told = cause_at("clocks.yaml", 1, "");
    const json_t *jam = json_array_get(json_object_get(told, "found"), 0);
    ck_assert_str_eq(word(jam, "kind"), "jam");
    const json_t *remedy = first_of(jam, "remedies");
    ck_assert(json_is_false(json_object_get(remedy, "jam")));
    ck_assert_double_ge(number(remedy, "met"), 0.98);
    ck_assert(sets_something_of(remedy, "chests.scrap-box="));
    ck_assert(sets_something_of(remedy, "demands.scrap-carter="));
    json_decref(told);
}
END_TEST

static void add_tests(TCase *tests) {
    if (getcwd(root, sizeof root) == NULL)
        root[0] = '\0';
    int scenarios = glob("tests/story/gallery/short-*.yaml", 0, NULL, &gallery) == 0
                        ? (int)gallery.gl_pathc
                        : 0; /* which the_gallery_has_every_kind_of_shortage does not let pass */
    tcase_add_checked_fixture(tests, errand_begin, errand_end);
    tcase_add_test(tests, the_gallery_has_every_kind_of_shortage);
    tcase_add_loop_test(tests, the_planted_limit_is_named_first, 0, scenarios);
    tcase_add_loop_test(tests, the_chain_hangs_together, 0, scenarios);
    tcase_add_loop_test(tests, the_first_remedy_meets_the_demand_for_twelve_hours, 0, scenarios);
    tcase_add_loop_test(tests, remedies_that_are_enough_stand_first, 0, scenarios);
    tcase_add_loop_test(tests, nothing_can_be_left_out, 0, scenarios);
    tcase_add_loop_test(tests, the_text_says_what_limits_and_what_helps, 0, scenarios);
    tcase_add_test(tests, orders_of_the_warm_up_do_not_count);
    tcase_add_loop_test(tests, what_is_lost_is_short_and_what_is_late_is_not, 0, 2);
    tcase_add_test(tests, a_starvation_to_the_end_has_a_root);
    tcase_add_test(tests, a_circle_has_a_chain_and_a_root);
    tcase_add_test(tests, a_shortage_is_told_beside_any_row);
    tcase_add_test(tests, a_shortage_by_a_jam_is_told_shortly);
    tcase_add_test(tests, the_mended_scenario_meets_the_demand);
    tcase_add_test(tests, two_limits_are_mended_together);
    tcase_add_test(tests, what_fills_a_shared_bin_is_held_back);
    tcase_add_test(tests, what_cost_nothing_is_passed_over);
    tcase_add_test(tests, what_ends_a_starvation_may_meet_the_demand);
    tcase_add_test(tests, what_only_goes_round_is_brought_by_nobody);
    tcase_add_test(tests, a_cure_of_a_jam_that_meets_the_demand_stands_first);
}

int main(void) { return suite_main("short", add_tests); }
