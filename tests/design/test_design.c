/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/design/test_design.c - `loopwright design` as its user meets it: each brief of this
 * directory is designed, and what is written is run, drained, flooded, disturbed and soaked by the
 * program itself. Nights are short here; `make design-nights` has whole ones. */
#include <check.h>
#include <jansson.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

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
 * each of which survives whole nights: a feeder for each supplied kind, takers that outpace them at
 * each station, an arm that brings away what it makes, a cell for two arms along the loop, one on
 * each side, one chest as far as all fits into it (common practice, no source). */
static const struct {
    const char *brief;
    double arms, stations, chests, loops, cells;
} possible[] = {
    {"two-kinds", 7, 1, 1, 1, 3},      {"three-products", 27, 4, 1, 1, 12},
    {"by-product", 7, 1, 1, 1, 3},     {"bulk", 12, 1, 1, 1, 4},
    {"two-stages", 21, 4, 1, 1, 9},    {"chance", 9, 3, 3, 1, 3},
    {"forty-kinds", 84, 12, 4, 1, 36}, {"given-parts", 10, 1, 2, 1, 44},
    {"carriers", 16, 3, 4, 1, 6},      {"wanted-offcuts", 12, 3, 4, 1, 6},
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

/* Every loop, chest, station and arm has a comment before it, and none of them is empty. */
static void assert_reasons_are_said(void) {
    ck_assert_int_eq(system("awk '/^[a-z]+:/ { part = /^(loops|lines|chests|stations|arms):/; "
                            "said = 0 } "
                            "part && /^  # / { said = 1; open = /: *$/ } "
                            "part && /^  - / { if (!said || open) exit 1; said = 0 }' "
                            "made.yaml"),
                     0);
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
    assert_reasons_are_said();
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

/* The command lines in the head of a design are right as they stand there. */
START_TEST(a_head_says_how_to_run_its_trials) {
    char line[200];
    uint32_t lines = 0;
    begin("two-kinds");
    ck_assert_int_eq(design(""), 0);
    ck_assert_int_eq(
        system("sed -n 's/^#   loopwright \\(.*\\)FILE/\\1made.yaml/p' made.yaml >lines"), 0);
    FILE *file = fopen("lines", "r");
    ck_assert_ptr_nonnull(file);
    for (; fgets(line, sizeof line, file) != NULL; lines++) {
        line[strcspn(line, "\n")] = '\0';
        ck_assert_msg(errand_run("%s --quiet", line) == 0, "%s", line);
    }
    fclose(file);
    ck_assert_uint_eq(lines, 5); /* nights, disturbed ones, a restart, a heap, the budget */
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

/* True when what is written still survives with a change, in so many nights. */
static bool survives(const char *change, int nights) {
    return errand_run("budget made.yaml --quiet --set %s", change) == 0 &&
           errand_run("drain made.yaml --restart --quiet --set %s", change) == 0 &&
           errand_run("drain made.yaml --flood 0.8 --quiet --set %s", change) == 0 &&
           errand_run("soak made.yaml --for 3h --runs %d --quiet --set %s", nights, change) == 0;
}

static bool survives_disturbed(const char *change) {
    return errand_run("soak made.yaml --disturb --for 12h --runs 3 --quiet --set %s", change) == 0;
}

/* What is tried are all designs that lack one part of those that `design` builds with: each arm;
 * the second feeder, where one brings both kinds with its gate or with one that counts either or
 * both; the chest; the outlet. Four arms with two at a cell at most need two cells, and fewer
 * stations cannot make what is wanted. Not tried are other ways to build: more than two arms at a
 * cell, several recipes at one station, stations that are fed without a loop. */
static const struct {
    const char *brief;
    const char *change[12];
} smaller[] = {
    {"two-kinds",
     {"arms.gear-feeder=null", "arms.face-feeder=null", "arms.bench-taker=null",
      "arms.bench-taker-2=null", "arms.bench-shelver=null", "chests.store=null",
      "arms.face-feeder=null --set 'arms.gear-feeder.items=[gear, face]'",
      "arms.face-feeder=null --set 'arms.gear-feeder.items=[gear, face]' --set "
      "'arms.gear-feeder.gate={all: [{station: bench, input: gear, below: 2}, "
      "{station: bench, input: face, below: 2}]}'",
      "arms.face-feeder=null --set 'arms.gear-feeder.items=[gear, face]' --set "
      "'arms.gear-feeder.gate={any: [{station: bench, input: gear, below: 2}, "
      "{station: bench, input: face, below: 2}]}'",
      NULL}},
    {"by-product",
     {"arms.sheet-feeder=null", "arms.frame-feeder=null", "arms.bench-taker=null",
      "arms.bench-taker-2=null", "arms.bench-shelver=null", "chests.store=null",
      "demands.offcut-outlet=null",
      "arms.frame-feeder=null --set 'arms.sheet-feeder.items=[sheet, frame]'",
      "arms.frame-feeder=null --set 'arms.sheet-feeder.items=[sheet, frame]' --set "
      "'arms.sheet-feeder.gate={all: [{station: bench, input: sheet, below: 3}, "
      "{station: bench, input: frame, below: 2}]}'",
      "arms.frame-feeder=null --set 'arms.sheet-feeder.items=[sheet, frame]' --set "
      "'arms.sheet-feeder.gate={any: [{station: bench, input: sheet, below: 3}, "
      "{station: bench, input: frame, below: 2}]}'",
      NULL}},
};
enum { SMALLER = sizeof smaller / sizeof *smaller };

START_TEST(nothing_smaller_survives) {
    begin(smaller[_i].brief);
    ck_assert_int_eq(design(""), 0);
    json_t *sheet = errand_json("out");
    ck_assert_double_eq(errand_number(sheet, "parts", "arms", NULL), 5);
    ck_assert_double_eq(errand_number(sheet, "parts", "cells", NULL), 2);
    ck_assert_double_eq(errand_number(sheet, "parts", "chests", NULL), 1);
    json_decref(sheet);
    ck_assert(survives("run.seed=1", 3) && survives_disturbed("run.seed=1"));
    for (const char *const *change = smaller[_i].change; *change != NULL; change++)
        ck_assert_msg(!survives(*change, 3) || !survives_disturbed(*change), "%s", *change);
    errand_end();
}
END_TEST

/* An end that was found: with it all holds, and with the next number beyond it does not. */
static bool end_is_true(const char *path, const json_t *end, int beyond) {
    char change[200];
    if (!json_is_integer(end))
        return false;
    snprintf(change, sizeof change, "%s=%lld", path, (long long)json_integer_value(end));
    ck_assert_msg(survives(change, 1), "%s", change);
    snprintf(change, sizeof change, "%s=%lld", path, (long long)json_integer_value(end) + beyond);
    ck_assert_msg(!survives(change, 1), "%s", change);
    return true;
}

/* A tolerance says what holds, of thresholds, trays, limits and capacities. */
START_TEST(tolerances_are_true) {
    begin("two-kinds");
    ck_assert_int_eq(errand_run("design brief.yaml --out made.yaml --json "
                                "--set 'may.survive={for: 3h, seeds: 2}'"),
                     0);
    json_t *sheet = errand_json("out");
    const json_t *list = json_object_get(sheet, "tolerances");
    ck_assert_uint_ge(json_array_size(list), 6); /* two feeders, a bench and its tray, limits */
    size_t least = 0, greatest = 0;
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *entry = json_array_get(list, i);
        const char *path = json_string_value(json_object_get(entry, "path"));
        least += end_is_true(path, json_object_get(entry, "least"), -1);
        greatest += end_is_true(path, json_object_get(entry, "greatest"), 1);
    }
    json_decref(sheet);
    ck_assert(!errand_says("made.yaml", "may be up to")); /* 0 is never tried */
    ck_assert(errand_says("made.yaml", "may be 1 to "));
    ck_assert_uint_ge(least, 3);
    ck_assert_uint_ge(greatest, 1);
    errand_end();
}
END_TEST

/* The text of a file with the lines of each comment joined; freed by the caller. */
static char *joined_comments(const char *path) {
    char *text = story_text(path), *to = text;
    for (const char *from = text; *from != '\0';) {
        bool goes_on = to > text && strncmp(from, "\n  # ", 5) == 0;
        from += goes_on ? 5 : 0;
        *to++ = goes_on ? ' ' : *from++;
    }
    *to = '\0';
    return text;
}

/* A comment says a rate of a budget as that says it. */
static void assert_said(const char *text, const json_t *part, const char *needed,
                        const char *greatest, const char *words) {
    char said[200];
    snprintf(said, sizeof said, words, json_number_value(json_object_get(part, needed)),
             json_number_value(json_object_get(part, greatest)),
             100 * json_number_value(json_object_get(part, "utilisation")));
    ck_assert_msg(strstr(text, said) != NULL, "%s", said);
}

/* What the comments say of parts are the figures of the budget, and the parts of a threshold are
 * together the number at which the feeder stops. */
START_TEST(comments_have_the_figures_of_the_budget) {
    static const char *const brief[] = {"by-product", "chance", "three-products"};
    const char *name;
    json_t *part;
    begin(brief[_i]);
    ck_assert_int_eq(design(""), 0);
    char *text = joined_comments("made.yaml");
    errand_run("budget made.yaml --json");
    json_t *budget = errand_json("out");
    json_object_foreach(json_object_get(budget, "stations"), name, part)
        assert_said(text, part, "batches_per_min", "greatest_batches_per_min",
                    "%.4g batches a minute are needed, and it can make %.4g: busy %.0f %%");
    json_object_foreach(json_object_get(budget, "arms"), name, part)
        assert_said(text, part, "needed_per_min", "steady_per_min",
                    "%.4g a minute are needed, and it can carry %.4g: busy %.0f %%");
    json_object_foreach(json_object_get(budget, "lanes"), name, part)
        assert_said(text, part, "needed_per_s", "rate_per_s",
                    "%.3g of %.3g cells a second are needed on its fullest stretch");
    json_decref(budget);
    size_t thresholds = 0;
    for (const char *at = text; (at = strstr(at, " (a batch of ")) != NULL; at++, thresholds++) {
        const char *number = at;
        while (number[-1] >= '0' && number[-1] <= '9')
            number--;
        int batch = 0, used = 0, others = 0;
        double seconds;
        int read = sscanf(at, " (a batch of %d, %d for the %lf s in which the next comes, %d",
                          &batch, &used, &seconds, &others);
        ck_assert_int_ge(read, 1);
        ck_assert_int_eq(atoi(number), batch + used + others);
        char gate[40];
        snprintf(gate, sizeof gate, "below: %d}", atoi(number));
        ck_assert_msg(strstr(at, gate) != NULL, "%s", gate);
    }
    ck_assert_uint_ge(thresholds, 2);
    free(text);
    errand_end();
}
END_TEST

/* ---- what a brief has already, and what it allows ---- */

START_TEST(what_a_brief_has_is_used_as_it_is) {
    begin("given-parts");
    ck_assert_int_eq(design(""), 0);
    ck_assert(errand_says("made.yaml", "{name: link-line, cells: 40, rate: 12}"));
    ck_assert(errand_says("made.yaml", "{name: store, capacity: 300,"));
    ck_assert(errand_says("made.yaml", "{name: case, capacity: 60,"));
    ck_assert(errand_says("made.yaml", "to: link-line@"));
    ck_assert(errand_says("made.yaml", "{name: orders, chest: case,"));
    ck_assert(errand_says("made.yaml", "{name: links, chest: store,"));
    errand_end();
}
END_TEST

/* The cells of a loop and a tray may be `find` in a brief; what a design makes anyway is left
 * out. */
START_TEST(a_brief_may_leave_its_loop_open) {
    begin("two-kinds");
    ck_assert_int_eq(design("--set 'loops.round={cells: find, rate: 6}' "
                            "--set stations.bench.ahead=find"),
                     0);
    ck_assert(errand_says("made.yaml", "{name: round, cells: 2, rate: 6}"));
    ck_assert_int_eq(design("--force --set stations.bench.room=find"), 3);
    ck_assert(errand_says("err", "take `stations.bench.room` out of it"));
    errand_end();
}
END_TEST

/* Of a recipe that is stopped, several stations may be needed: each of them is. What else names it,
 * as a gate, names one station alone. */
START_TEST(what_befalls_a_recipe_befalls_all_its_stations) {
    static const char *const more =
        "--set stations.bench.time=11s --set 'incidents=[{at: 1 h, stop: bench, name: pause}, "
        "{at: 62 min, start: bench}, {at: 2 h, stop: gears}, {at: 121 min, start: gears}]'";
    begin("two-kinds");
    ck_assert_int_eq(design(more), 0);
    ck_assert(errand_says("made.yaml", "  - {at: 1 h, stop: bench-1, name: pause}\n"
                                       "  - {at: 1 h, stop: bench-2, name: pause-bench-2}\n"));
    ck_assert(errand_says("made.yaml", "  - {at: 62 min, start: bench-2}\n"
                                       "  - {at: 2 h, stop: gears}\n"));
    ck_assert_int_eq(design("--force --set stations.bench.time=11s --set "
                            "'supplies.gears.gate={station: bench, input: gear, below: 30}'"),
                     1);
    ck_assert(errand_says("out", "named NAME-1, NAME-2: there is no `bench`"));
    errand_end();
}
END_TEST

/* With gates that count it, a lane is proven never to fill; without, there is no such bound. */
START_TEST(gates_that_count_belts_prove_lanes) {
    begin("two-kinds");
    ck_assert_int_eq(design("--set may.gates=belts"), 0);
    json_t *sheet = errand_json("out");
    ck_assert_double_eq(errand_number(sheet, "lanes_proven", NULL), 1);
    json_decref(sheet);
    ck_assert(errand_says("made.yaml", "{loop: ring, item: gear, below: "));
    ck_assert_int_eq(errand_run("budget made.yaml --json"), 0);
    ck_assert(errand_says("out", "\"never_fills\": true"));
    errand_end();
}
END_TEST

/* One bench of 6 s would work all the time for a clock every 6 s: a second one is a reserve. Where
 * there may be none, the file says what that means. */
START_TEST(a_station_has_a_reserve) {
    static const char *const most[] = {"", "--set may.stations_at_most=1"};
    char more[200];
    snprintf(more, sizeof more, "--set stations.bench.time=6s --set demands.orders.every=6s %s",
             most[_i]);
    begin("two-kinds");
    ck_assert_int_eq(design(more), 0);
    json_t *sheet = errand_json("out");
    ck_assert_double_eq(errand_number(sheet, "parts", "stations", NULL), 2 - _i);
    json_decref(sheet);
    ck_assert_int_eq(errand_says("made.yaml", "# bench is busy for 100 % of the time: after a stop "
                                              "it never catches up"),
                     _i == 1);
    errand_end();
}
END_TEST

/* ---- Ctrl-C ---- */

/* Waits until a child is the program, and handles SIGINT itself. */
static void await_handler(pid_t child) {
    char path[40], line[200];
    snprintf(path, sizeof path, "/proc/%d/status", (int)child);
    for (bool handled = false; !handled;) {
        FILE *file = fopen(path, "r");
        bool started = false;
        ck_assert_ptr_nonnull(file);
        while (fgets(line, sizeof line, file) != NULL) {
            started = started || strcmp(line, "Name:\tloopwright\n") == 0;
            if (strncmp(line, "SigCgt:", 7) == 0 && started)
                handled = (strtoull(line + 7, NULL, 16) >> (SIGINT - 1) & 1) != 0;
        }
        fclose(file);
        nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL);
    }
}

START_TEST(an_interrupt_keeps_the_best_so_far) {
    begin("forty-kinds");
    pid_t child = errand_start("design brief.yaml --json --out made.yaml --no-tolerances");
    await_handler(child);
    kill(child, SIGINT);
    ck_assert_int_eq(errand_wait(child), 128 + SIGINT);
    json_t *sheet = errand_json("out");
    ck_assert(json_is_false(json_object_get(sheet, "found")));
    const char *why = json_string_value(json_object_get(sheet, "stands_in_the_way"));
    ck_assert_msg(strstr(why, "a signal stopped it at try 1") != NULL, "%s", why);
    json_decref(sheet);
    ck_assert_int_eq(errand_run("check made.yaml"), 0);
    errand_end();
}
END_TEST

START_TEST(an_interrupt_of_a_search_for_numbers_says_so) {
    errand_begin();
    ck_assert_int_eq(errand_run("new whole.yaml --quiet"), 0);
    pid_t child = errand_start("design whole.yaml --tighten --json --out made.yaml");
    await_handler(child);
    kill(child, SIGINT);
    ck_assert_int_eq(errand_wait(child), 128 + SIGINT);
    ck_assert(errand_says("out", "\"stands_in_the_way\": \"a signal stopped it after "));
    errand_end();
}
END_TEST

/* ---- scenarios with arms ---- */

/* The taker stops for good half a minute after the first moment of twenty: whoever stops the
 * demands only then sees the loop run empty. */
START_TEST(a_drain_is_tried_at_many_moments) {
    static const char stop[] = "--set 'incidents=[{at: 10.5 min, stop: taker}]'";
    errand_begin();
    ck_assert_int_eq(errand_run("new whole.yaml --quiet"), 0);
    ck_assert_int_eq(errand_run("drain whole.yaml --after 10min --quiet %s", stop), 0);
    ck_assert_int_eq(errand_run("design whole.yaml --no-tolerances --json --set 'may.survive={for: "
                                "10 min, seeds: 20, restart: false, flood: 0, disturb: false}' %s",
                                stop),
                     1);
    json_t *sheet = errand_json("out");
    const json_t *drain = json_array_get(json_object_get(sheet, "trials"), 1);
    ck_assert_str_eq(json_string_value(json_object_get(drain, "trial")), "drain");
    ck_assert_int_eq(json_integer_value(json_object_get(drain, "runs")), 20);
    ck_assert_int_eq(json_integer_value(json_object_get(drain, "failed")), 19);
    ck_assert_str_eq(json_string_value(json_object_get(sheet, "stands_in_the_way")),
                     "the nearest of 1 tries fails the trial drain, at 19 of 20 moments");
    json_decref(sheet);
    errand_end();
}
END_TEST

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

START_TEST(a_place_that_takes_no_file_is_refused_at_once) {
    begin("two-kinds");
    ck_assert_int_eq(errand_run("design brief.yaml --out nowhere/made.yaml"), 4);
    ck_assert(errand_says("err", "loopwright: nowhere/made.yaml: No such file or directory"));
    ck_assert(errand_says("err", "help: make its directory first, or give another name"));
    ck_assert(!errand_says("err", "design was found"));
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

/* What was open has its reasons: what is needed there, and how far it may vary. It stands away from
 * where it fails: a tray of one gear is enough for one night in the mean, but no more than that. */
START_TEST(open_numbers_have_reasons_and_room) {
    errand_begin();
    ck_assert_int_eq(errand_run("new whole.yaml --quiet"), 0);
    ck_assert_int_eq(system("sed -e 's/item: gear, below: 4/item: gear, below: find/' "
                            "-e 's/capacity: 30/capacity: find/' whole.yaml >brief.yaml"),
                     0);
    ck_assert_int_eq(errand_run("design brief.yaml --out made.yaml --json "
                                "--set 'may.survive={for: 3h, seeds: 2}'"),
                     0);
    char *text = joined_comments("made.yaml");
    const char *said = strstr(text, "Tried: 8.571 a minute are needed, and it can carry 18.75: "
                                    "busy 46 %; gate.below is ");
    ck_assert_ptr_nonnull(said);
    int found = atoi(strstr(said, "gate.below is ") + 14), least = 0;
    const char *range = strstr(said, ", found with all trials; gate.below may be ");
    ck_assert_ptr_nonnull(range);
    ck_assert_int_eq(sscanf(range, ", found with all trials; gate.below may be %d", &least), 1);
    ck_assert_int_gt(found, least);
    ck_assert_ptr_nonnull(
        strstr(text, "Tried: orders of 1 clock every 7 s on average; capacity is "));
    ck_assert_ptr_null(strstr(text, "it was 1000000")); /* what stood in for it meanwhile */
    free(text);
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

/* Parts that are written with a line for each key, and a comment beside it. */
static const char over_lines[] =
    "# Clocks, a line for each key.\n"
    "title: Clocks on one loop\n"
    "run: {for: 30 min}\n"
    "items: [gear, face, clock]\n"
    "loops:\n"
    "  - name: ring\n"
    "    cells: 60   # two revolutions in half a minute\n"
    "    rate: 4\n"
    "chests:\n"
    "  # Where all begins.\n"
    "  - name: bin\n"
    "    limits: {gear: 80, face: 80}   # of both alike\n"
    "    start:\n"
    "      gear: 40\n"
    "      face: 40\n"
    "  - name: tray\n"
    "  - name: shelf\n"
    "    capacity: 30\n"
    "stations:\n"
    "  - name: bench\n"
    "    takes: {gear: 1, face: 1}\n"
    "    makes: {clock: 1}\n"
    "    time: 5 s   # by hand\n"
    "    gate:\n"
    "      # What stops it.\n"
    "      chest: shelf\n"
    "      below: 15   # a quarter of an hour\n"
    "arms:\n"
    "- name: gear-feeder\n"
    "  from: bin\n"
    "  to: ring@5\n"
    "  items: [gear]\n"
    "  swing: 3.2 s\n"
    "  gate:\n"
    "    chest: tray\n"
    "    item: gear\n"
    "    below: 4   # gears\n"
    "\n"
    "# The other kind.\n"
    "- name: face-feeder\n"
    "  from: bin\n"
    "  to: ring@12\n"
    "  items: [face]\n"
    "  swing: 3.2 s\n"
    "  gate: {chest: tray, item: face,\n"
    "         below: 4}   # faces\n"
    "- name: taker\n"
    "  from: ring@40\n"
    "  to: tray\n"
    "  items:\n"
    "  - gear\n"
    "  - face\n"
    "  swing: 1 s\n"
    "- name: loader\n"
    "  from: tray\n"
    "  to: bench\n"
    "  swing: 1.2 s\n"
    "- name: shelver\n"
    "  from: bench\n"
    "  to: shelf\n"
    "  swing: 1.5 s\n"
    "supplies:\n"
    "  - name: gears\n"
    "    chest: bin\n"
    "    item: gear\n"
    "    every: 2 min\n"
    "    batch: 36   # a box\n"
    "  - {name: faces, chest: bin, item: face, every: 2 min, batch: 36}\n"
    "demands:\n"
    "  - name: orders\n"
    "    chest: shelf\n"
    "    item: clock\n"
    "    every:\n"
    "      exponential: 7 s   # as last year\n"
    "may:\n"
    "\n"
    "# Two short nights will do.\n"
    "  survive: {for: 3 h, seeds: 2}\n"
    "\n"
    "# The end.\n"
    "\n"
    "expect: {jam: false, demand_met: {clock: {at_least: 0.98}}}\n";

/* All comments stay but two: that of a rate that was replaced as a whole, and that of `may`, which
 * is left out. */
START_TEST(parts_over_several_lines_keep_their_comments) {
    static const char *const way[] = {
        "--tune stations.bench.gate.below,arms.face-feeder.gate.below,chests.bin.limits.gear",
        "--tighten", "--for-demand clock=14"};
    static const char *const comment[] = {"# Clocks, a line for each key.\n",
                                          "   # two revolutions in half a minute\n",
                                          "  # Where all begins.\n",
                                          "   # of both alike\n",
                                          "   # by hand\n",
                                          "      # What stops it.\n",
                                          "   # a quarter of an hour\n",
                                          "   # gears\n",
                                          "\n\n# The other kind.\n",
                                          "}   # faces\n",
                                          "   # a box\n",
                                          "# The end.\n"};
    errand_begin();
    errand_write("brief.yaml", over_lines);
    ck_assert_int_eq(design(way[_i]), 0);
    for (size_t i = 0; i < sizeof comment / sizeof *comment; i++)
        ck_assert_msg(errand_says("made.yaml", comment[i]), "%s", comment[i]);
    ck_assert(!errand_says("made.yaml", "# Two short nights"));
    ck_assert(errand_says("made.yaml", "# Tried: "));
    ck_assert_int_eq(errand_says("made.yaml", "\n  - {name: bench-2, ") ||
                         errand_says("made.yaml", "\n  # Tried: added: for clock=14 a minute\n"),
                     _i == 2);
    ck_assert_int_eq(errand_run("check made.yaml"), 0);
    errand_end();
}
END_TEST

/* The comments and the layout stay, a comment says what was changed and why, and the `--set` lines
 * are the same changes. */
START_TEST(a_tuned_scenario_keeps_its_comments) {
    static const char *const way[] = {
        "--tune stations.bench.gate.below", "--tighten",
        "--for-demand clock=14 --set supplies.gears.batch=36 --set supplies.faces.batch=36"};
    errand_begin();
    ck_assert_int_eq(errand_run("new brief.yaml --quiet"), 0);
    ck_assert_int_eq(design(way[_i]), 0);
    ck_assert(errand_says("made.yaml", "# - The taker is faster than both feeders together"));
    ck_assert(errand_says("made.yaml", "  # Tried: "));
    ck_assert(errand_says("made.yaml", _i == 2 ? "for clock=14 a minute" : "(it was "));
    json_t *sheet = errand_json("out");
    const json_t *changed = json_object_get(sheet, "changed");
    char set[8000] = "";
    for (size_t i = 0; i < json_array_size(changed); i++) {
        size_t used = strlen(set);
        snprintf(set + used, sizeof set - used, " --set '%s'",
                 json_string_value(json_array_get(changed, i)));
    }
    json_decref(sheet);
    const char *first = strstr(way[_i], "--set");
    ck_assert_int_eq(
        errand_run("run brief.yaml --out one --quiet %s %s", first != NULL ? first : "", set), 0);
    ck_assert_int_eq(errand_run("run made.yaml --out two --quiet"), 0);
    ck_assert(errand_same("one/summary.json", "two/summary.json"));
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

/* A feeder of 6 s brings 10 a minute, for 11 clocks: a hand of 2 would do, and so does a faster
 * arm. Where the kinds are written, only one of those is taken. */
START_TEST(a_faster_arm_is_of_a_kind_that_can_be_had) {
    static const struct {
        const char *may, *hand;
        bool swing_stays;
    } row[] = {{"may.met=0.98", "arms.gear-feeder.hand=2", true},
               {"may.arms=[{swing: 6 s}, {swing: 8 s, hand: 3}, {swing: 9 s}]",
                "arms.gear-feeder.hand=3", false}};
    errand_begin();
    ck_assert_int_eq(errand_run("new brief.yaml --quiet"), 0);
    ck_assert_int_eq(
        errand_run("design brief.yaml --for-demand clock=11 --no-tolerances --json --set '%s' "
                   "--set 'may.survive={for: 3h, seeds: 2}' --set stations.bench.time=2s "
                   "--set arms.gear-feeder.swing=6s --set supplies.gears.batch=36 "
                   "--set supplies.faces.batch=36 --out made.yaml",
                   row[_i].may),
        0);
    ck_assert_msg(errand_says("out", row[_i].hand), "%s", row[_i].hand);
    ck_assert_int_eq(errand_says("out", "arms.gear-feeder.swing=8 s"), !row[_i].swing_stays);
    errand_end();
}
END_TEST

/* A hand of 1 would do for what the first scenario asks. Where the kinds are written, there is none
 * with a hand of 1 and that swing. */
START_TEST(a_smaller_hand_is_of_a_kind_that_can_be_had) {
    static const struct {
        const char *may;
        double hand;
    } row[] = {{"may.met=0.98", 1},
               {"may.arms=[{swing: 1 s, hand: 4}, {swing: 1 s, hand: 3}, {swing: 0.9 s}]", 3}};
    errand_begin();
    ck_assert_int_eq(errand_run("new brief.yaml --quiet"), 0);
    ck_assert_int_eq(errand_run("design brief.yaml --tune arms.taker.hand --no-tolerances "
                                "--json --set 'may.survive={for: 3h, seeds: 2}' --set '%s' "
                                "--set arms.taker.hand=4 --out made.yaml",
                                row[_i].may),
                     0);
    char change[100];
    snprintf(change, sizeof change, "arms.taker.hand=%.0f", row[_i].hand);
    ck_assert_msg(errand_says("out", change), "%s", change);
    errand_end();
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_loop_test(tests, a_brief_becomes_a_loop_that_survives, 0, POSSIBLE);
    tcase_add_test(tests, a_head_says_how_to_run_its_trials);
    tcase_add_loop_test(tests, what_cannot_be_is_refused_with_numbers, 0, IMPOSSIBLE);
    tcase_add_test(tests, an_item_from_nowhere_is_an_error);
    tcase_add_test(tests, jobs_change_no_byte);
    tcase_add_loop_test(tests, nothing_smaller_survives, 0, SMALLER);
    tcase_add_test(tests, tolerances_are_true);
    tcase_add_test(tests, what_cannot_be_written_is_printed);
    tcase_add_loop_test(tests, comments_have_the_figures_of_the_budget, 0, 3);
    tcase_add_test(tests, what_a_brief_has_is_used_as_it_is);
    tcase_add_test(tests, what_befalls_a_recipe_befalls_all_its_stations);
    tcase_add_test(tests, gates_that_count_belts_prove_lanes);
    tcase_add_test(tests, a_brief_may_leave_its_loop_open);
    tcase_add_loop_test(tests, a_station_has_a_reserve, 0, 2);
    tcase_add_test(tests, an_interrupt_keeps_the_best_so_far);
    tcase_add_test(tests, an_interrupt_of_a_search_for_numbers_says_so);
    tcase_add_test(tests, a_place_that_takes_no_file_is_refused_at_once);
    tcase_add_test(tests, a_drain_is_tried_at_many_moments);
    tcase_add_test(tests, open_numbers_are_found_where_they_stand);
    tcase_add_test(tests, open_numbers_have_reasons_and_room);
    tcase_add_test(tests, a_threshold_is_lowered_as_long_as_it_survives);
    tcase_add_loop_test(tests, parts_over_several_lines_keep_their_comments, 0, 3);
    tcase_add_loop_test(tests, a_tuned_scenario_keeps_its_comments, 0, 3);
    tcase_add_test(tests, more_of_a_product_needs_a_second_bench);
    tcase_add_loop_test(tests, a_faster_arm_is_of_a_kind_that_can_be_had, 0, 2);
    tcase_add_loop_test(tests, a_smaller_hand_is_of_a_kind_that_can_be_had, 0, 2);
}

int main(void) { return suite_main("design", add_tests); }
