/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/design/test_design.c - `loopwright design` as its user meets it: each brief of this
 * directory is designed, and what is written is run, drained, flooded, disturbed and soaked by the
 * program itself. Nights are short here; `make design-nights` has whole ones. */
#include <check.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"

/* Short nights, unless whole ones are asked for: then as long as briefs get them. */
static const char *night(void) { return getenv("WHOLE_NIGHTS") != NULL ? "12h" : "3h"; }
static int seeds(void) { return getenv("WHOLE_NIGHTS") != NULL ? 20 : 3; }

/* Copies a brief of this directory to where the program runs. */
static void begin(const char *brief) {
    char path[100];
    snprintf(path, sizeof path, "tests/design/%s.brief", brief);
    char *text = story_text(path);
    errand_begin();
    errand_write("brief.yaml", text);
    free(text);
}

static int design(const char *more) {
    return errand_run("design brief.yaml --no-tolerances --out made.yaml --json "
                      "--set 'may.survive={for: %s, seeds: %d}' %s",
                      night(), seeds(), more);
}

static void assert_number(const json_t *sheet, const char *key, double most) {
    double number = errand_number(sheet, "parts", key, NULL);
    ck_assert_msg(number <= most, "%s: %g, and %g are known to be enough", key, number, most);
}

/* ---- what can be designed ---- */

/* The greatest numbers of parts are half as large again as those of the smallest designs known,
 * each of which survives whole nights: a feeder for each supplied kind, a taker that outpaces
 * them at each station, an arm that brings away what it makes, a cell for each arm along the loop
 * (common practice, no source). */
static const struct {
    const char *brief;
    double arms, stations, chests, loops, cells;
} possible[] = {
    {"two-kinds", 7, 1, 3, 1, 6},      {"three-products", 27, 4, 3, 1, 22},
    {"by-product", 7, 1, 3, 1, 6},     {"bulk", 12, 1, 3, 1, 7},
    {"two-stages", 21, 4, 3, 1, 18},   {"chance", 9, 3, 4, 1, 6},
    {"forty-kinds", 84, 12, 4, 1, 72},
};
enum { POSSIBLE = sizeof possible / sizeof *possible };

static void assert_trials_hold(const json_t *sheet) {
    const json_t *trials = json_object_get(sheet, "trials");
    ck_assert_uint_eq(json_array_size(trials), 5);
    for (size_t i = 0; i < json_array_size(trials); i++)
        ck_assert_msg(json_is_true(json_object_get(json_array_get(trials, i), "holds")),
                      "trial %zu", i);
    ck_assert_uint_eq(json_array_size(json_object_get(sheet, "rules_broken")), 0);
    ck_assert(json_is_null(json_object_get(sheet, "stands_in_the_way")));
}

START_TEST(a_brief_becomes_a_loop_that_survives) {
    begin(possible[_i].brief);
    ck_assert_int_eq(design(""), 0);
    json_t *sheet = errand_json("out");
    assert_trials_hold(sheet);
    assert_number(sheet, "arms", possible[_i].arms);
    assert_number(sheet, "stations", possible[_i].stations);
    assert_number(sheet, "chests", possible[_i].chests);
    assert_number(sheet, "loops", possible[_i].loops);
    assert_number(sheet, "cells", possible[_i].cells);
    json_decref(sheet);
    ck_assert(!errand_says("made.yaml", "may:"));
    ck_assert_int_eq(errand_run("check made.yaml"), 0);
    ck_assert_int_eq(errand_run("run made.yaml --quiet"), 0);
    ck_assert_int_eq(errand_run("budget made.yaml --quiet"), 0);
    ck_assert_int_eq(errand_run("drain made.yaml --restart --quiet"), 0);
    ck_assert_int_eq(errand_run("drain made.yaml --flood 0.8 --quiet"), 0);
    ck_assert_int_eq(errand_run("soak made.yaml --for %s --runs %d --quiet", night(), seeds()), 0);
    ck_assert_int_eq(
        errand_run("soak made.yaml --disturb --for %s --runs %d --quiet", night(), seeds()), 0);
    errand_end();
}
END_TEST

/* ---- what cannot ---- */

/* The numbers are arithmetic on the brief: 23 links in 2.5 s are 9.2 a second; a bench of 20 s
 * makes 3 a minute, so that 30 need 10; 12 faces a minute are needed where 10 come. */
static const struct {
    const char *brief, *number, *other;
} impossible[] = {{"too-fast", "9.2 cells a second", "one lane has 6"},
                  {"too-few-stations", "10 are needed", "at most 6"},
                  {"too-little-supply", "12 face a minute", "bring 10"}};
enum { IMPOSSIBLE = sizeof impossible / sizeof *impossible };

START_TEST(what_cannot_be_is_refused_with_numbers) {
    begin(impossible[_i].brief);
    ck_assert_int_eq(design(""), 1);
    json_t *sheet = errand_json("out");
    const char *why = json_string_value(json_object_get(sheet, "stands_in_the_way"));
    ck_assert(json_is_false(json_object_get(sheet, "found")));
    ck_assert_msg(strstr(why, impossible[_i].number) != NULL, "%s", why);
    ck_assert_msg(strstr(why, impossible[_i].other) != NULL, "%s", why);
    json_decref(sheet);
    ck_assert(!errand_exists("made.yaml"));
    errand_end();
}
END_TEST

START_TEST(an_item_from_nowhere_is_an_error) {
    errand_begin();
    errand_write("brief.yaml",
                 "items: [gear, clock]\n"
                 "stations: [{name: bench, takes: {gear: 1}, makes: {clock: 1}, time: 4 s}]\n"
                 "demands: [{name: orders, item: clock, every: 6 s}]\n");
    ck_assert_int_eq(errand_run("design brief.yaml"), 3);
    ck_assert(errand_says("err", "`gear` is taken, but nothing supplies or makes it"));
    ck_assert_int_eq(errand_run("check brief.yaml"), 3);
    errand_end();
}
END_TEST

/* ---- what a design is worth ---- */

START_TEST(jobs_change_no_byte) {
    begin("two-kinds");
    ck_assert_int_eq(design("--jobs 1"), 0);
    ck_assert_int_eq(rename("made.yaml", "one.yaml"), 0);
    ck_assert_int_eq(design("--jobs 2"), 0);
    ck_assert(errand_same("one.yaml", "made.yaml"));
    errand_end();
}
END_TEST

/* True when what is written still survives with a change. */
static bool survives(const char *change) {
    return errand_run("budget made.yaml --quiet --set %s", change) == 0 &&
           errand_run("drain made.yaml --restart --quiet --set %s", change) == 0 &&
           errand_run("drain made.yaml --flood 0.8 --quiet --set %s", change) == 0 &&
           errand_run("soak made.yaml --for 3h --runs 3 --quiet --set %s", change) == 0;
}

/* Each arm stands at a cell of its own, so that a loop of fewer cells has no room for them; what
 * is left to try is each design with one arm less. */
START_TEST(the_smallest_design_has_nothing_to_spare) {
    static const char *const arm[] = {"gear-feeder", "face-feeder", "bench-taker", "bench-taker-2",
                                      "bench-shelver"};
    begin("two-kinds");
    ck_assert_int_eq(design(""), 0);
    json_t *sheet = errand_json("out");
    ck_assert_double_eq(errand_number(sheet, "parts", "arms", NULL), sizeof arm / sizeof *arm);
    ck_assert_double_eq(errand_number(sheet, "parts", "cells", NULL), 4);
    json_decref(sheet);
    ck_assert(survives("run.seed=1"));
    for (size_t i = 0; i < sizeof arm / sizeof *arm; i++) {
        char change[60];
        snprintf(change, sizeof change, "arms.%s=null", arm[i]);
        ck_assert_msg(!survives(change), "%s", change);
    }
    errand_end();
}
END_TEST

/* A tolerance says what holds: its ends do, and the next values beyond do not. */
START_TEST(tolerances_are_true) {
    char change[100];
    begin("two-kinds");
    ck_assert_int_eq(errand_run("design brief.yaml --out made.yaml --json "
                                "--set 'may.survive={for: 3h, seeds: 2}'"),
                     0);
    json_t *sheet = errand_json("out");
    const json_t *list = json_object_get(sheet, "tolerances");
    ck_assert_uint_ge(json_array_size(list), 6); /* two feeders, a bench, two limits, two chests */
    size_t ends = 0;
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *entry = json_array_get(list, i);
        const char *path = json_string_value(json_object_get(entry, "path"));
        const json_t *greatest = json_object_get(entry, "greatest");
        if (!json_is_integer(greatest) || strstr(path, "below") == NULL)
            continue;
        snprintf(change, sizeof change, "%s=%lld", path, (long long)json_integer_value(greatest));
        ck_assert_msg(survives(change), "%s", change);
        snprintf(change, sizeof change, "%s=%lld", path,
                 (long long)json_integer_value(greatest) + 1);
        ck_assert_msg(!survives(change), "%s", change);
        ends++;
    }
    json_decref(sheet);
    ck_assert_uint_ge(ends, 1);
    errand_end();
}
END_TEST

/* ---- scenarios with arms ---- */

/* The work of a night is not lost with the file that was to hold it. */
START_TEST(what_cannot_be_written_is_printed) {
    static const char line[] = "design whole.yaml --tune arms.gear-feeder.gate.below "
                               "--no-tolerances --set 'may.survive={for: 1h, seeds: 1}'";
    errand_begin();
    ck_assert_int_eq(errand_run("new whole.yaml --quiet"), 0);
    ck_assert_int_eq(errand_run("%s", line), 0);
    ck_assert_int_eq(system("mv out printed"), 0);
    ck_assert_int_eq(errand_run("%s --out /dev/full", line), 4);
    ck_assert(errand_says("err", "/dev/full: cannot be written: No space left on device"));
    ck_assert(errand_same("out", "printed"));
    errand_end();
}
END_TEST

START_TEST(open_numbers_are_found_where_they_stand) {
    errand_begin();
    ck_assert_int_eq(errand_run("new whole.yaml --quiet"), 0);
    ck_assert_int_eq(system("sed -e 's/item: gear, below: 4/item: gear, below: find/' "
                            "-e 's/ring@40/ring@find/' whole.yaml >brief.yaml"),
                     0);
    ck_assert_int_eq(errand_run("run brief.yaml"), 3);
    ck_assert(errand_says("err", "`loopwright design` finds it"));
    ck_assert_int_eq(design(""), 0);
    ck_assert(!errand_says("made.yaml", ": find"));
    ck_assert(!errand_says("made.yaml", "@find"));
    ck_assert(errand_says("made.yaml", "# - The taker is faster than both feeders together"));
    ck_assert_int_eq(errand_run("soak made.yaml --for 3h --runs 3 --quiet"), 0);
    errand_end();
}
END_TEST

START_TEST(a_threshold_is_lowered_as_long_as_it_survives) {
    errand_begin();
    ck_assert_int_eq(errand_run("new brief.yaml --quiet"), 0);
    ck_assert_int_eq(design("--tune stations.bench.gate.below"), 0);
    json_t *sheet = errand_json("out");
    const json_t *changed = json_array_get(json_object_get(sheet, "changed"), 0);
    ck_assert_ptr_nonnull(changed);
    ck_assert_int_eq(strncmp(json_string_value(changed), "stations.bench.gate.below=", 26), 0);
    ck_assert_int_lt(atoi(json_string_value(changed) + 26), 15);
    json_decref(sheet);
    ck_assert_int_eq(design("--tune arms.nobody.hand --force"), 2);
    errand_end();
}
END_TEST

/* A bench of 5 s makes 12 a minute: 14 need a second one. */
START_TEST(more_of_a_product_needs_a_second_bench) {
    errand_begin();
    ck_assert_int_eq(errand_run("new brief.yaml --quiet"), 0);
    ck_assert_int_eq(errand_run("design brief.yaml --for-demand clock=14 --no-tolerances --json "
                                "--set 'may.survive={for: 3h, seeds: 2}' "
                                "--set supplies.gears.batch=36 --set supplies.faces.batch=36 "
                                "--out made.yaml"),
                     0);
    json_t *sheet = errand_json("out");
    ck_assert_double_eq(errand_number(sheet, "parts", "stations", NULL), 2);
    json_decref(sheet);
    ck_assert_int_eq(errand_run("design brief.yaml --for-demand clock=14 --json"), 1);
    ck_assert(errand_says("out", "the supplies bring 12"));
    errand_end();
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_loop_test(tests, a_brief_becomes_a_loop_that_survives, 0, POSSIBLE);
    tcase_add_loop_test(tests, what_cannot_be_is_refused_with_numbers, 0, IMPOSSIBLE);
    tcase_add_test(tests, an_item_from_nowhere_is_an_error);
    tcase_add_test(tests, jobs_change_no_byte);
    tcase_add_test(tests, the_smallest_design_has_nothing_to_spare);
    tcase_add_test(tests, tolerances_are_true);
    tcase_add_test(tests, what_cannot_be_written_is_printed);
    tcase_add_test(tests, open_numbers_are_found_where_they_stand);
    tcase_add_test(tests, a_threshold_is_lowered_as_long_as_it_survives);
    tcase_add_test(tests, more_of_a_product_needs_a_second_bench);
}

int main(void) { return suite_main("design", add_tests); }
