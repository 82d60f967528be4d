/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_cause.c - `loopwright cause` as a user meets it. Each scenario of the gallery
 * was built to jam or starve for the cause that its head names (`# cause: KIND SUBJECT [ITEM]`);
 * the command must name it first, and what it says would have prevented it must prevent it when it
 * is run. Run from the top of the tree; LOOPWRIGHT names the program. */
#define _DEFAULT_SOURCE /* P_tmpdir */
#include <check.h>
#include <glob.h>
#include <jansson.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/common/suite.h"
#include "tests/story/story.h"
#include "tools/cause/wait_words.h"

enum { PATH_BYTES = 256, COMMAND_BYTES = 4096, WORD_BYTES = 80, SCENARIOS_LEAST = 16 };

/* ---- a place to work in ---- */

static char place[PATH_BYTES];
static glob_t gallery, examples;

static void set_up(void) {
    snprintf(place, sizeof place, "%s/test_cause.XXXXXX", P_tmpdir);
    ck_assert_ptr_nonnull(mkdtemp(place));
}

static void tear_down(void) {
    char command[COMMAND_BYTES];
    snprintf(command, sizeof command, "rm -rf '%s'", place);
    ck_assert_int_eq(system(command), 0);
}

/* Runs the program with what follows its name; what it says goes to `out` and `err` in the
 * place. Returns the status. */
static int loopwright(const char *format, ...) {
    char command[COMMAND_BYTES];
    int length = snprintf(command, sizeof command, "%s ", getenv("LOOPWRIGHT"));
    va_list arguments;
    va_start(arguments, format);
    length += vsnprintf(command + length, sizeof command - (size_t)length, format, arguments);
    va_end(arguments);
    length += snprintf(command + length, sizeof command - (size_t)length,
                       " >%s/out 2>%s/err </dev/null", place, place);
    ck_assert_int_lt(length, COMMAND_BYTES);
    int status = system(command);
    ck_assert_msg(WIFEXITED(status), "%s", command);
    return WEXITSTATUS(status);
}

static char *text_of(const char *file) {
    char path[2 * PATH_BYTES];
    snprintf(path, sizeof path, "%s/%s", place, file);
    return story_text(path);
}

static json_t *said(void) {
    char *text = text_of("out");
    json_error_t error;
    json_t *object = json_loads(text, 0, &error);
    ck_assert_msg(object != NULL, "%s", error.text);
    free(text);
    return object;
}

static void run(const char *scenario) {
    int status = loopwright("run %s --quiet --out %s/run", scenario, place);
    ck_assert_msg(status == 0, "%s does not come out as expected", scenario);
}

/* What is said about a scenario's run. */
static json_t *cause_of(const char *scenario) {
    run(scenario);
    ck_assert_int_eq(loopwright("cause %s/run --json", place), 0);
    return said();
}

static const char *word(const json_t *object, const char *key) {
    const char *text = json_string_value(json_object_get(object, key));
    return text != NULL ? text : "";
}

static double number(const json_t *object, const char *key) {
    return json_number_value(json_object_get(object, key));
}

static const json_t *list(const json_t *object, const char *key) {
    const json_t *array = json_object_get(object, key);
    ck_assert_msg(json_is_array(array), "%s", key);
    return array;
}

/* ---- the gallery ---- */

/* The words after `# cause:` or `# cause too:` in the head of a scenario; false: there are none.
 * */
static bool planted(const char *scenario, const char *mark, char kind[WORD_BYTES],
                    char subject[WORD_BYTES], char item[WORD_BYTES]) {
    char *text = story_text(scenario);
    const char *line = strstr(text, mark);
    item[0] = '\0';
    int words = line == NULL
                    ? 0
                    : sscanf(line + strlen(mark), "%79s %79s%*1[ ]%79[a-z]", kind, subject, item);
    free(text);
    ck_assert(line == NULL || words >= 2);
    return line != NULL;
}

static bool is_root(const json_t *root, const char *kind, const char *subject, const char *item) {
    return strcmp(word(root, "kind"), kind) == 0 && strcmp(word(root, "subject"), subject) == 0 &&
           (item[0] == '\0' || strcmp(word(root, "item"), item) == 0);
}

static bool is_jam(const json_t *one) {
    return strcmp(word(one, "kind"), "jam") == 0 || strcmp(word(one, "kind"), "deadlock") == 0;
}

/* The case that a scenario is about: its first jam; where it has none, its first. */
static const json_t *first_case(const json_t *told) {
    const json_t *found = list(told, "found");
    for (size_t i = 0; i < json_array_size(found); i++)
        if (is_jam(json_array_get(found, i)))
            return json_array_get(found, i);
    ck_assert_uint_gt(json_array_size(found), 0);
    return json_array_get(found, 0);
}

/* Two takers are slower than their feeders; that of pegs finds no room for them besides, which is
 * the fault of the rack. The other one is named before it, though pegs hold more of the lane. */
static const char two_takers[] =
    "run: {for: 30 min}\n"
    "items: [peg, ring]\n"
    "loops: [{name: belt, cells: 40, rate: 5}]\n"
    "chests:\n"
    "  - {name: pegs, start: {peg: 9000}}\n"
    "  - {name: rings, start: {ring: 9000}}\n"
    "  - {name: rack, capacity: 5}\n"
    "  - {name: heap}\n"
    "arms:\n"
    "  - {name: peg-feeder, from: pegs, to: belt@1, items: [peg], swing: 1 s}\n"
    "  - {name: ring-feeder, from: rings, to: belt@3, items: [ring], swing: 1.5 s}\n"
    "  - {name: peg-taker, from: belt@20, to: rack, items: [peg], swing: 2 s}\n"
    "  - {name: ring-taker, from: belt@25, to: heap, items: [ring], swing: 200 s}\n"
    "expect: {jam: true}\n";

START_TEST(a_taker_without_room_is_named_after_one_that_is_slow) {
    char path[2 * PATH_BYTES];
    snprintf(path, sizeof path, "%s/two.yaml", place);
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_ge(fputs(two_takers, file), 0);
    ck_assert_int_eq(fclose(file), 0);
    ck_assert_int_eq(loopwright("run %s --quiet --out %s/run", path, place), 0);
    ck_assert_int_eq(loopwright("cause %s/run --prove 0 --json", place), 0);
    json_t *told = said();
    const json_t *roots = list(first_case(told), "roots");
    ck_assert(is_root(json_array_get(roots, 0), "full_chest", "rack", "peg"));
    ck_assert(is_root(json_array_get(roots, 1), "slow_taker", "ring-taker", "ring"));
    ck_assert(is_root(json_array_get(roots, json_array_size(roots) - 1), "slow_taker", "peg-taker",
                      "peg"));
    json_decref(told);
}
END_TEST

START_TEST(the_planted_cause_is_named_first) {
    char kind[WORD_BYTES], subject[WORD_BYTES], item[WORD_BYTES];
    const char *scenario = gallery.gl_pathv[_i];
    ck_assert_msg(planted(scenario, "# cause:", kind, subject, item), "%s", scenario);
    json_t *told = cause_of(scenario);
    const json_t *found = list(told, "found");
    bool jams = is_jam(first_case(told));
    for (size_t i = 0; i < json_array_size(found); i++) { /* each jam of it has the same cause */
        const json_t *one = json_array_get(found, i);
        const json_t *root = json_array_get(list(one, "roots"), 0);
        if (is_jam(one) == jams && (jams || one == first_case(told)))
            ck_assert_msg(is_root(root, kind, subject, item), "%s: %s %s %s", scenario,
                          word(root, "kind"), word(root, "subject"), word(root, "item"));
    }
    if (planted(scenario, "# cause too:", kind, subject, item)) {
        const json_t *roots = list(first_case(told), "roots");
        size_t at = 0;
        while (at < json_array_size(roots) &&
               !is_root(json_array_get(roots, at), kind, subject, item))
            at++;
        ck_assert_uint_lt(at, json_array_size(roots));
    }
    json_decref(told);
}
END_TEST

/* The changes of a remedy as options. */
static void write_changes(const json_t *remedy, char text[COMMAND_BYTES]) {
    const json_t *set = list(remedy, "set");
    text[0] = '\0';
    for (size_t i = 0; i < json_array_size(set); i++) {
        size_t used = strlen(text);
        snprintf(text + used, COMMAND_BYTES - used, " --set '%s'",
                 json_string_value(json_array_get(set, i)));
    }
}

/* Runs a scenario with the changes of a remedy for some time and gives its summary. */
static json_t *summary_of(const char *scenario, const char *changes, const char *options) {
    int status = loopwright("run %s%s --json %s", scenario, changes, options);
    ck_assert_msg(status == 0 || status == 1, "%s%s: status %d", scenario, changes, status);
    return said();
}

static double jams_of(const json_t *summary) {
    return number(json_object_get(summary, "verdict"), "jams");
}

/* The rates reported are those of the run; of what nobody makes, what is taken is reported. */
static void check_rates(const json_t *remedy, const json_t *summary) {
    const char *product;
    json_t *rate;
    json_object_foreach(json_object_get(remedy, "throughput"), product, rate) {
        const json_t *made = json_object_get(json_object_get(summary, "items"), product);
        if (number(made, "made") > 0)
            ck_assert(fabs(number(made, "made_per_min") - json_number_value(rate)) < 1e-9);
    }
}

/* Every remedy that is shown does what is said of it: over the run, and one that is called a cure
 * for twelve hours. The first one cures. */
START_TEST(remedies_do_what_is_said_of_them) {
    const char *scenario = gallery.gl_pathv[_i];
    json_t *told = cause_of(scenario);
    const json_t *one = first_case(told), *remedies = list(one, "remedies");
    char changes[COMMAND_BYTES];
    ck_assert_uint_gt(json_array_size(remedies), 0);
    for (size_t i = 0; i < json_array_size(remedies); i++) {
        const json_t *remedy = json_array_get(remedies, i);
        bool comes = json_is_true(json_object_get(remedy, "jam"));
        write_changes(remedy, changes);
        json_t *over_run = summary_of(scenario, changes, "");
        json_t *over_night = summary_of(scenario, changes, "--for 12h");
        check_rates(remedy, over_run);
        ck_assert(i > 0 || !comes);
        ck_assert(comes == json_is_number(json_object_get(remedy, "first_jam_s")));
        if (!comes)
            ck_assert_msg(jams_of(over_run) == 0 && jams_of(over_night) == 0, "%s%s", scenario,
                          changes);
        if (jams_of(over_run) > 0)
            ck_assert_msg(comes, "%s%s", scenario, changes);
        ck_assert(comes || number(remedy, "proved_s") >= 12 * 3600);
        json_decref(over_run);
        json_decref(over_night);
    }
    json_decref(told);
}
END_TEST

/* Whether all remedies in a case that are called cures have no jam when they are run for twelve
 * hours. Those in `seen` have been run. */
static void check_cures(const char *scenario, const json_t *one, json_t *seen) {
    const json_t *remedies = list(one, "remedies");
    char changes[COMMAND_BYTES];
    for (size_t i = 0; i < json_array_size(remedies); i++) {
        const json_t *remedy = json_array_get(remedies, i);
        write_changes(remedy, changes);
        if (json_is_true(json_object_get(remedy, "jam")) || json_object_get(seen, changes) != NULL)
            continue;
        json_t *summary = summary_of(scenario, changes, "--for 12h");
        ck_assert_msg(jams_of(summary) == 0, "%s%s", scenario, changes);
        json_decref(summary);
        json_object_set_new(seen, changes, json_true());
    }
}

/* Of whatever case, in the gallery and in the scenarios to start from. */
START_TEST(cures_hold_for_twelve_hours) {
    size_t first = (size_t)_i;
    bool mine = first < gallery.gl_pathc;
    const char *scenario =
        mine ? gallery.gl_pathv[first] : examples.gl_pathv[first - gallery.gl_pathc];
    json_t *told = cause_of(scenario), *seen = json_object();
    for (size_t i = 0; i < json_array_size(list(told, "found")); i++)
        check_cures(scenario, json_array_get(list(told, "found"), i), seen);
    json_decref(seen);
    json_decref(told);
}
END_TEST

/* What a scenario of the gallery was built to show of remedies. */
START_TEST(remedies_are_what_they_are_meant_to_be) {
    static const struct {
        const char *scenario, *first, *behind;
        size_t changes; /* of the first */
        bool behind_jams, both_cure;
    } row[] = {
        /* two faults at once come out cured, and no single change is said to do it */
        {"two-stops", "incidents.taker-fault=null", "incidents.taker-fault=null", 2, false, false},
        /* room only puts off what a surplus does to it; somebody has to take it away */
        {"room-for-an-hour", "chests.offcut-box={}", "chests.scrap.capacity=1000", 3, true, false},
        /* a gate that halts what is halted anyway is no first choice */
        {"halting-gate", "chests.dust-box={}",
         "arms.log-feeder.gate={station: saw, input: log, below: 1}", 3, false, false},
        {"shared-tray", "chests.tray.limits={pane: 3, frame: 3}", NULL, 1, false, false},
        {"taker-before-feeder", "arms.bench-taker.from=line@19", NULL, 1, false, false},
        /* what is in the way at the head of a line does not go onto it */
        {"crate-before-clocks", "arms.crate-feeder.to=packer", NULL, 1, false, false},
        /* what fills a bin is held back, where it starves a station as where it is only short */
        {"one-kind-fills-the-bin", "supplies.tubes.gate={chest: bin, item: tube, below: 92}", NULL,
         1, false, false},
        /* where all feeders are held by the product alone, each gets a gate of its own */
        {"held-by-the-shelf",
         "arms.dial-feeder.gate={all: [{chest: shelf, below: 10}, "
         "{station: bench, input: dial, below: 2}]}",
         NULL, 3, false, false},
        /* the feeder's own item, where it ends */
        {"wrong-gate",
         "arms.spring-feeder.gate={all: [{chest: shelf, item: movement, below: 20}, "
         "{station: bench, input: spring, below: 2}]}",
         NULL, 1, false, false},
        /* who lingers is told not to */
        {"hand-that-lingers", "arms.comb-taker.linger=0 s", "arms.comb-taker.hand=1", 1, false,
         true}};
    char scenario[PATH_BYTES];
    snprintf(scenario, sizeof scenario, "tests/story/gallery/%s.yaml", row[_i].scenario);
    json_t *told = cause_of(scenario);
    const json_t *remedies = list(first_case(told), "remedies");
    const json_t *set = list(json_array_get(remedies, 0), "set");
    ck_assert_str_eq(json_string_value(json_array_get(set, 0)), row[_i].first);
    ck_assert_uint_eq(json_array_size(set), row[_i].changes);
    size_t at = row[_i].behind != NULL ? 1 : json_array_size(remedies);
    for (; at < json_array_size(remedies); at++) {
        const json_t *remedy = json_array_get(remedies, at), *one = list(remedy, "set");
        if (json_array_size(one) == 1 &&
            strcmp(json_string_value(json_array_get(one, 0)), row[_i].behind) == 0) {
            ck_assert(json_is_true(json_object_get(remedy, "jam")) == row[_i].behind_jams);
            ck_assert(row[_i].behind_jams || row[_i].both_cure || number(remedy, "met") < 0.9);
            break;
        }
    }
    ck_assert(row[_i].behind == NULL || at < json_array_size(remedies));
    json_decref(told);
}
END_TEST

/* The first case of a scenario, run with one change. */
static json_t *cause_with(const char *scenario, const char *change) {
    int status = loopwright("run %s --quiet --set '%s' --out %s/run", scenario, change, place);
    ck_assert(status == 0 || status == 1);
    ck_assert_int_eq(loopwright("cause %s/run --json", place), 0);
    return said();
}

/* A feeder that names no items, or more than ever come there, brings what lies in its chest, and is
 * mended as one that names just that: it may put straight into the station that takes it, and it
 * gets a gate where each feeder does. */
START_TEST(what_a_feeder_finds_counts_not_what_it_names) {
    static const struct {
        const char *scenario, *change;
        size_t remedy;
        const char *first; /* of its changes */
    } row[] = {
        {"crate-before-clocks", "arms.crate-feeder.items=null", 0, "arms.crate-feeder.to=packer"},
        {"crate-before-clocks", "arms.crate-feeder.items=[crate, clock]", 0,
         "arms.crate-feeder.to=packer"},
        {"full-shelf", "arms.comb-feeder.items=null", 1,
         "arms.comb-feeder.gate={station: bench, input: comb, below: 2}"}};
    char scenario[PATH_BYTES];
    snprintf(scenario, sizeof scenario, "tests/story/gallery/%s.yaml", row[_i].scenario);
    json_t *told = cause_with(scenario, row[_i].change);
    const json_t *remedy = json_array_get(list(first_case(told), "remedies"), row[_i].remedy);
    ck_assert_str_eq(json_string_value(json_array_get(list(remedy, "set"), 0)), row[_i].first);
    json_decref(told);
}
END_TEST

/* A gate on another kind, on another input, on all that lies there: the feeder's own count where it
 * ends takes its place. */
static const char *const wrong_gates[] = {"{chest: comb-bin, item: comb, below: 190}",
                                          "{station: bench, input: comb, below: 2}",
                                          "{lane: ring/lane, below: 61}", "{loop: ring, below: 61}",
                                          "{loop: ring, item: comb, below: 5}"};
enum { WRONG_GATES = sizeof wrong_gates / sizeof *wrong_gates };

START_TEST(a_wrong_gate_gives_way_to_the_own) {
    static const char *const scenario = "tests/story/gallery/wrong-gate.yaml";
    char change[COMMAND_BYTES];
    snprintf(change, sizeof change, "arms.spring-feeder.gate=%s", wrong_gates[_i]);
    json_t *told = cause_with(scenario, change);
    const json_t *one = first_case(told), *root = json_array_get(list(one, "roots"), 0);
    const json_t *remedy = json_array_get(list(one, "remedies"), 0);
    ck_assert(is_root(root, "ungated_feeder", "spring-feeder", "spring"));
    ck_assert_str_eq(json_string_value(json_array_get(list(remedy, "set"), 0)),
                     "arms.spring-feeder.gate={station: bench, input: spring, below: 2}");
    ck_assert(json_is_false(json_object_get(remedy, "jam")) && number(remedy, "met") >= 0.9);
    char changes[COMMAND_BYTES];
    write_changes(remedy, changes);
    json_t *over_night = summary_of(scenario, changes, "--for 12h");
    ck_assert(jams_of(over_night) == 0);
    json_decref(over_night);
    json_decref(told);
}
END_TEST

/* Where it ends comes before where it rides, and both before a count of something else. */
START_TEST(the_own_gate_stands_first) {
    static const char *const mark[] = {"input: spring", "item: spring, below", "comb"};
    json_t *told = cause_of("tests/story/gallery/wrong-gate.yaml");
    const json_t *remedies = list(first_case(told), "remedies");
    size_t kind = 0, count = json_array_size(remedies);
    for (size_t i = 0; i < count; i++) {
        const json_t *set = list(json_array_get(remedies, i), "set");
        const char *gate = json_string_value(json_array_get(set, 0));
        if (strstr(gate, "arms.spring-feeder.gate=") == NULL)
            continue;
        ck_assert(strstr(gate, mark[0]) == NULL || kind == 0);
        while (kind < 2 && strstr(gate, mark[kind]) == NULL)
            kind++;
    }
    ck_assert_uint_ge(kind, 1); /* there were others */
    json_decref(told);
}
END_TEST

/* Each line that begins with `mark` says that nearly all of the demand is met. */
static bool some_keeps(const char *text, const char *mark) {
    for (const char *at = text; (at = strstr(at, mark)) != NULL; at++) {
        const char *less = strstr(at, "keeps less than nine tenths"), *end = strchr(at, '\n');
        if (less == NULL || less > end)
            return true;
    }
    return false;
}

/* Of the capsules of nights with incidents: where a root is called proven, some change without a
 * jam keeps what is asked for. */
START_TEST(no_proof_halts_a_disturbed_workshop) {
    glob_t capsules;
    char pattern[2 * PATH_BYTES];
    loopwright("soak scenarios/two-loops.yaml --disturb --runs 2 --for 4h --quiet --out %s/nights",
               place);
    snprintf(pattern, sizeof pattern, "%s/nights/*.capsule", place);
    ck_assert_int_eq(glob(pattern, 0, NULL, &capsules), 0);
    for (size_t i = 0; i < capsules.gl_pathc; i++) {
        ck_assert_int_eq(loopwright("cause %s", capsules.gl_pathv[i]), 0);
        char *text = text_of("out");
        if (strstr(text, ", proven)") != NULL)
            ck_assert_msg(some_keeps(text, "      no jam") ||
                              some_keeps(text, "      starves no more"),
                          "%s", text);
        free(text);
    }
    globfree(&capsules);
}
END_TEST

/* Best first: those that cure and keep what is asked for; those that cure and keep less; those that
 * only put it off, the latest first. Where the budget says that less can be had than is asked for,
 * nine tenths of that are enough. */
START_TEST(remedies_stand_best_first) {
    json_t *told = cause_of(gallery.gl_pathv[_i]);
    const json_t *remedies = list(first_case(told), "remedies");
    for (size_t i = 1; i < json_array_size(remedies); i++) {
        const json_t *a = json_array_get(remedies, i - 1), *b = json_array_get(remedies, i);
        bool a_comes = json_is_true(json_object_get(a, "jam"));
        bool b_comes = json_is_true(json_object_get(b, "jam"));
        ck_assert(a_comes <= b_comes);
        if (a_comes && b_comes)
            ck_assert(number(a, "first_jam_s") >= number(b, "first_jam_s"));
        if (!a_comes && !b_comes && json_is_number(json_object_get(a, "met")))
            ck_assert(number(a, "met") >= 0.9 || number(b, "met") < 0.9);
    }
    json_decref(told);
}
END_TEST

/* A clog for want of room: what only makes the room larger puts it off, as the run as written shows
 * when it goes on. */
START_TEST(more_room_puts_a_clog_off) {
    static const char *const scenario = "tests/story/gallery/clog-after-the-orders.yaml";
    json_t *told = cause_of(scenario);
    const json_t *remedies = list(first_case(told), "remedies");
    char changes[COMMAND_BYTES];
    for (size_t i = 0; i < json_array_size(remedies); i++) {
        const json_t *remedy = json_array_get(remedies, i);
        write_changes(remedy, changes);
        json_t *over_night = summary_of(scenario, changes, "--for 12h");
        bool clogs = number(json_object_get(over_night, "events"), "clogged") > 0;
        ck_assert_msg(clogs == json_is_true(json_object_get(remedy, "jam")), "%s", changes);
        json_decref(over_night);
    }
    ck_assert(json_is_false(json_object_get(json_array_get(remedies, 0), "jam")));
    json_decref(told);
}
END_TEST

static const char spill[] =
    "run: {for: 40 min, warm_up: 2 min}\nitems: [dial, clock, screw]\n"
    "loops: [{name: ring, cells: 60, rate: 7}]\nchests:\n"
    "  - {name: dial-bin, capacity: 200, start: {dial: 100}}\n"
    "  - {name: shelf, capacity: 40}\n"
    "stations: [{name: bench, takes: {dial: 1}, makes: {clock: 1}, time: 3 s}]\n"
    "arms:\n"
    "  - {name: dial-feeder, from: dial-bin, to: ring@5, items: [dial], swing: 2 s,\n"
    "     gate: {loop: ring, item: dial, below: 10}}\n"
    "  - {name: bench-taker, from: ring@30, to: bench, swing: 0.8 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\n"
    "supplies: [{name: dials, chest: dial-bin, item: dial, every: 20 s, batch: 10}]\n"
    "demands: [{name: orders, chest: shelf, item: clock, every: 5 s, until: 10 min}]\n"
    "incidents: [{name: spill, at: 50 min, drop: {item: screw, count: 3, lane: ring}}]"
    "\n";

/* The shelf is full after the last order; ten minutes after the run screws would fall onto the
 * lane, which nothing takes off. A gate on the shelf alone clogs only then, so that it takes what
 * is done against screws as well, and neither can be left out. */
START_TEST(a_clog_that_comes_late_needs_a_second_change) {
    const double spill_s = 50 * 60;
    static const char gate[] = "arms.dial-feeder.gate={all: [{loop: ring, item: dial, below: 10}, "
                               "{chest: shelf, item: clock, below: 10}]}";
    char path[2 * PATH_BYTES];
    snprintf(path, sizeof path, "%s/spill.yaml", place);
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_ge(fputs(spill, file), 0);
    ck_assert_int_eq(fclose(file), 0);
    json_t *told = cause_of(path);
    const json_t *remedies = list(first_case(told), "remedies"), *remedy;
    const json_t *first = list(json_array_get(remedies, 0), "set");
    ck_assert_uint_eq(json_array_size(first), 2);
    ck_assert_str_eq(json_string_value(json_array_get(first, 0)), gate);
    ck_assert_str_eq(json_string_value(json_array_get(first, 1)), "incidents.spill=null");
    ck_assert(json_is_false(json_object_get(json_array_get(remedies, 0), "jam")));
    bool alone = false;
    size_t i;
    json_array_foreach(remedies, i, remedy) {
        const json_t *set = list(remedy, "set");
        if (json_array_size(set) != 1 ||
            strcmp(json_string_value(json_array_get(set, 0)), gate) != 0)
            continue;
        alone = true;
        ck_assert(json_is_true(json_object_get(remedy, "jam")));
        ck_assert(number(remedy, "first_jam_s") >= spill_s);
    }
    ck_assert(alone);
    json_decref(told);
}
END_TEST

/* What ended is let go on, first of all; and the share that is met with a change is that of the run
 * as written, in which the supply has ended, whatever comes of one in which it had not. */
START_TEST(what_ended_goes_on) {
    static const char *const scenario = "tests/story/gallery/dials-end.yaml";
    json_t *told = cause_of(scenario);
    const json_t *remedies = list(first_case(told), "remedies");
    char changes[COMMAND_BYTES];
    for (size_t i = 0; i < json_array_size(remedies); i++) {
        const json_t *remedy = json_array_get(remedies, i);
        if (json_is_true(json_object_get(remedy, "jam")))
            continue;
        write_changes(remedy, changes);
        json_t *over_night = summary_of(scenario, changes, "--for 12h");
        const json_t *clock = json_object_get(json_object_get(over_night, "items"), "clock");
        double met = number(clock, "met") / number(clock, "demanded");
        ck_assert_msg(fabs(number(remedy, "met") - met) < 0.02, "%s", changes);
        json_decref(over_night);
    }
    write_changes(json_array_get(remedies, 0), changes);
    ck_assert_str_eq(changes, " --set 'supplies.dials.until=null'");
    json_decref(told);
}
END_TEST

/* Two scenarios at least for each kind of root that a jam can have, sixteen in all. */
START_TEST(the_gallery_has_every_kind) {
    size_t count[ROOT_SLOW_ARM] = {0};
    char kind[WORD_BYTES], subject[WORD_BYTES], item[WORD_BYTES];
    for (size_t i = 0; i < gallery.gl_pathc; i++) {
        ck_assert(planted(gallery.gl_pathv[i], "# cause:", kind, subject, item));
        for (size_t j = 0; j < ROOT_SLOW_ARM; j++)
            count[j] += strcmp(kind, wait_words_root_word((enum root_kind)j)) == 0;
    }
    ck_assert_uint_ge(gallery.gl_pathc, SCENARIOS_LEAST);
    for (size_t j = 0; j < ROOT_SLOW_ARM; j++)
        ck_assert_msg(count[j] >= 2, "%s", wait_words_root_word((enum root_kind)j));
}
END_TEST

/* ---- what is reported agrees with the files of the run ---- */

static bool has_wait(const json_t *one, const char *who, const char *what, const char *on,
                     double since) {
    const json_t *waits = list(one, "waits");
    for (size_t i = 0; i < json_array_size(waits); i++) {
        const json_t *wait = json_array_get(waits, i);
        if (strcmp(word(wait, "who"), who) == 0 &&
            strncmp(word(wait, "what"), what, strlen(what)) == 0 &&
            strcmp(word(wait, "on"), on) == 0 && fabs(number(wait, "since_s") - since) < 1e-6)
            return true;
    }
    return false;
}

/* Rows of events.csv, by the program's own table reader. */
static double since_of(const struct happening *event) {
    const char *since = strstr(event->detail, "since=");
    ck_assert_ptr_nonnull(since);
    return strtod(since + 6, NULL);
}

START_TEST(times_are_those_of_events_csv) {
    struct story story = story_run("tests/story/gallery/second-loop-full.yaml", NULL);
    ck_assert_int_eq(loopwright("cause %s/out --json", story.directory), 0);
    json_t *told = said();
    const json_t *found = list(told, "found");
    ck_assert_uint_eq(json_array_size(found), 4);
    for (size_t i = 0; i < 4; i++) {
        const json_t *one = json_array_get(found, i);
        struct happening event = story_event(&story, word(one, "kind"), word(one, "subject"), 0);
        ck_assert(number(one, "start_s") == event.start_s && event.open);
        ck_assert(json_is_null(json_object_get(one, "end_s")));
        ck_assert(number(one, "since_s") == since_of(&event));
    }
    json_decref(told);
    story_free(&story);
}
END_TEST

/* Whoever is blocked while it places onto the lane when the jam begins waits for a cell, since when
 * events.csv says. */
START_TEST(every_blocked_arm_waits_for_the_lane) {
    static const char *const feeder[] = {"comb-feeder", "spring-feeder"};
    struct story story = story_run("tests/story/gallery/springs-outrun-combs.yaml", NULL);
    ck_assert_int_eq(loopwright("cause %s/out --json", story.directory), 0);
    json_t *told = said();
    const json_t *one = first_case(told);
    for (size_t i = 0; i < 2; i++) {
        size_t last = story_count(&story, "blocked", feeder[i]) - 1;
        struct happening blocked = story_event(&story, "blocked", feeder[i], last);
        ck_assert(blocked.open && blocked.start_s <= number(one, "start_s"));
        ck_assert(has_wait(one, feeder[i], "a free cell", "ring/lane", since_of(&blocked)));
    }
    const json_t *lane = json_object_get(one, "lane");
    ck_assert(number(lane, "cells") == 90 && number(lane, "occupied") == 90);
    ck_assert(number(json_object_get(lane, "items"), "spring") == 90);
    json_decref(told);
    story_free(&story);
}
END_TEST

/* What is stopped has been so since its incident or breakdown, not since somebody missed it. */
START_TEST(a_stop_is_dated_by_its_row) {
    static const char *const stopped[][2] = {
        {"tests/story/gallery/taker-breaks.yaml", "spring-taker"},
        {"tests/story/gallery/second-loop-stopped.yaml", "lid-press"},
        {"tests/story/gallery/orders-stopped.yaml", "orders"}};
    struct story story = story_run(stopped[_i][0], NULL);
    ck_assert_int_eq(loopwright("cause %s/out --json", story.directory), 0);
    json_t *told = said();
    const json_t *one = first_case(told), *root = json_array_get(list(one, "roots"), 0);
    ck_assert(is_root(root, "stopped", stopped[_i][1], ""));
    size_t stops = story_count(&story, "stop", stopped[_i][1]);
    double last = -1;
    for (size_t i = 0; i < stops; i++) {
        double start = story_event(&story, "stop", stopped[_i][1], i).start_s;
        last = start <= number(one, "start_s") ? start : last;
    }
    ck_assert_msg(number(root, "since_s") == last, "%g, not %g", number(root, "since_s"), last);
    json_decref(told);
    story_free(&story);
}
END_TEST

/* What was done to the workshop and shares in a cause stands below it, and may be left undone. */
START_TEST(a_deed_is_named_with_what_it_led_to) {
    static const char *const led[][2] = {
        {"rack-made-smaller",
         "      incidents.bays-go set the capacity of rack to 30 at 0:10:00\n"},
        {"waits-for-six", "      incidents.0 set at_least of its gate to 6 at 0:20:00\n"},
        {"second-loop-stopped", "      incidents.press-fault stopped it at 0:15:00\n"},
        {"taker-breaks", "      it broke down at "}};
    char scenario[PATH_BYTES];
    snprintf(scenario, sizeof scenario, "tests/story/gallery/%s.yaml", led[_i][0]);
    run(scenario);
    ck_assert_int_eq(loopwright("cause %s/run", place), 0);
    char *text = text_of("out");
    ck_assert_msg(strstr(text, led[_i][1]) != NULL, "%s", text);
    bool undone = strstr(text, "  --set incidents.") != NULL;
    ck_assert(undone == (strstr(led[_i][1], "incidents.") != NULL));
    free(text);
}
END_TEST

/* No more comes over a bridge than is put on before it, however quick the bridge is. */
START_TEST(a_bridge_makes_no_taker_slow) {
    json_t *told = cause_of("tests/story/gallery/bridge-to-a-stopped-loop.yaml");
    for (size_t i = 0; i < json_array_size(list(told, "found")); i++) {
        const json_t *roots = list(json_array_get(list(told, "found"), i), "roots");
        for (size_t k = 0; k < json_array_size(roots); k++)
            ck_assert_str_ne(word(json_array_get(roots, k), "kind"), "slow_taker");
    }
    json_decref(told);
}
END_TEST

/* Each in the circle waits for the next, the last for the first. */
START_TEST(the_circle_is_one_of_the_waits) {
    json_t *told = cause_of("tests/story/gallery/springs-outrun-combs.yaml");
    const json_t *one = first_case(told), *cycle = list(one, "cycle"), *waits = list(one, "waits");
    static const char *const expected[] = {"ring/lane", "bench-taker", "bench"};
    ck_assert_uint_eq(json_array_size(cycle), 3);
    for (size_t i = 0; i < 3; i++) {
        const char *who = json_string_value(json_array_get(cycle, i));
        const char *next = json_string_value(json_array_get(cycle, (i + 1) % 3));
        size_t at = 0;
        ck_assert_str_eq(who, expected[i]);
        while (at < json_array_size(waits) &&
               (strcmp(word(json_array_get(waits, at), "who"), who) != 0 ||
                strcmp(word(json_array_get(waits, at), "on"), next) != 0))
            at++;
        ck_assert_uint_lt(at, json_array_size(waits));
    }
    json_decref(told);
}
END_TEST

/* No circle where the waits have an end: the shelf is full because nobody takes from it. */
START_TEST(a_chain_with_an_end_is_no_circle) {
    json_t *told = cause_of("tests/story/gallery/full-shelf.yaml");
    ck_assert(json_is_null(json_object_get(first_case(told), "cycle")));
    json_decref(told);
}
END_TEST

START_TEST(a_cause_may_lie_more_than_an_hour_back) {
    json_t *told = cause_of("tests/story/gallery/orders-stopped.yaml");
    ck_assert(number(first_case(told), "start_s") - 600 > 3600); /* the orders stop at 10 min */
    json_decref(told);
}
END_TEST

/* ---- the turning point ---- */

/* Items on the lane ten minutes after the end when its two feeders stop at a second, and the one of
 * which there are most ("": none); by the scenario language alone. */
static char most_left[WORD_BYTES];
static double left_when_stopped(const char *scenario, const char *first, const char *second,
                                double at_s, const char *run_for) {
    loopwright("run %s --set run.for='%s' --set 'expect={jam: false}' --json "
               "--set 'incidents=[{at: %.0f s, stop: %s}, {at: %.0f s, stop: %s}]'",
               scenario, run_for, at_s, first, at_s, second);
    json_t *summary = said();
    const json_t *lane = json_object_get(json_object_get(summary, "lanes"), "ring/lane");
    double count = 0, most = 0;
    const char *item;
    json_t *held;
    most_left[0] = '\0';
    json_object_foreach(json_object_get(lane, "items"), item, held) {
        count += json_number_value(held);
        if (json_number_value(held) > most)
            snprintf(most_left, sizeof most_left, "%s", item);
        most = fmax(most, json_number_value(held));
    }
    json_decref(summary);
    return count;
}

START_TEST(until_the_turning_point_the_lane_could_be_saved) {
    static const struct {
        const char *scenario, *first, *second, *run_for;
    } row[] = {
        {"tests/story/gallery/full-shelf.yaml", "comb-feeder", "spring-feeder", "50 min"},
        {"tests/story/gallery/chips-in-the-lathe.yaml", "rod-feeder", "rod-feeder", "30 min"},
        {"tests/story/gallery/springs-without-a-gate.yaml", "comb-feeder", "spring-feeder",
         "60 min"},
    };
    json_t *told = cause_of(row[_i].scenario);
    const json_t *turning = json_object_get(first_case(told), "turning_point_s");
    ck_assert(json_is_number(turning));
    double at_s = json_number_value(turning);
    ck_assert(at_s == floor(at_s) && at_s < number(first_case(told), "start_s"));
    ck_assert(left_when_stopped(row[_i].scenario, row[_i].first, row[_i].second, at_s,
                                row[_i].run_for) == 0);
    ck_assert(left_when_stopped(row[_i].scenario, row[_i].first, row[_i].second, at_s + 1,
                                row[_i].run_for) > 0);
    json_decref(told);
    char sentence[2 * WORD_BYTES];
    snprintf(sentence, sizeof sentence,
             "run empty; a second later %.70s would have been left over.", most_left);
    run(row[_i].scenario);
    ck_assert_int_eq(loopwright("cause %s/run", place), 0);
    char *text = text_of("out");
    ck_assert_msg(strstr(text, sentence) != NULL, "%s", sentence);
    free(text);
}
END_TEST

/* A heap that nothing takes off lies there even if nobody ever feeds: null. And a starvation has
 * none. */
START_TEST(there_may_be_no_turning_point) {
    static const char *const scenario[] = {"tests/story/gallery/heap-of-springs.yaml",
                                           "tests/story/gallery/bin-without-a-supply.yaml"};
    json_t *told = cause_of(scenario[_i]);
    const json_t *one = first_case(told);
    ck_assert(json_is_null(json_object_get(one, "turning_point_s")));
    ck_assert(json_is_null(json_object_get(one, "lane")) == (_i == 1));
    json_decref(told);
}
END_TEST

/* ---- the command ---- */

START_TEST(a_row_or_a_time_may_be_chosen) {
    run("tests/story/gallery/springs-without-a-gate.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --json", place), 0);
    json_t *all = said();
    size_t jams = 0, count = json_array_size(list(all, "found"));
    ck_assert_uint_gt(count, 1);
    for (size_t row = 1; row < 1000; row++) {
        int status = loopwright("cause %s/run --json --event %zu", place, row);
        if (status == 2)
            break;
        json_t *told = said();
        const json_t *found = list(told, "found");
        ck_assert_uint_le(json_array_size(found), 1);
        jams += json_array_size(found) == 1 && is_jam(json_array_get(found, 0));
        json_decref(told);
    }
    ck_assert_uint_eq(jams, 2); /* the jam, and the deadlock that it became */
    ck_assert_int_eq(loopwright("cause %s/run --json --at 1:00", place), 2);
    ck_assert_int_eq(loopwright("cause %s/run --json --at 1min", place), 0);
    json_t *told = said();
    ck_assert_uint_eq(json_array_size(list(told, "found")), 0);
    json_decref(told);
    ck_assert_int_eq(loopwright("cause %s/run --json --at 0:49:00", place), 0);
    told = said();
    ck_assert_uint_eq(json_array_size(list(told, "found")), count);
    json_decref(told);
    json_decref(all);
}
END_TEST

/* Whatever row is asked for: the answer is about that row, or nothing where it needs no answer. */
START_TEST(a_row_is_the_row_of_events_csv) {
    struct story story = story_run("tests/story/gallery/second-loop-full.yaml", NULL);
    const struct table *events = &story.events;
    for (size_t row = 1; row < events->rows; row++) {
        const char *const *field = (const char *const *)events->field + row * events->columns;
        const char *event = field[2], *loop = field[4];
        ck_assert_int_eq(loopwright("cause %s/out --json --event %zu", story.directory, row), 0);
        json_t *told = said();
        const json_t *one = json_array_get(list(told, "found"), 0);
        bool wanted = strcmp(event, "jam") == 0 || strcmp(event, "deadlock") == 0 ||
                      strcmp(event, "starved") == 0 || strcmp(event, "clogged") == 0;
        ck_assert_int_eq(one != NULL, wanted);
        ck_assert(!wanted || (strcmp(word(one, "kind"), event) == 0 &&
                              strncmp(word(one, "subject"), loop, strlen(loop)) == 0 &&
                              number(one, "start_s") == strtod(field[0], NULL)));
        json_decref(told);
    }
    ck_assert_int_eq(loopwright("cause %s/out --event %zu", story.directory, events->rows), 2);
    story_free(&story);
}
END_TEST

START_TEST(the_text_tells_the_most_important_first) {
    run("tests/story/gallery/second-loop-full.yaml");
    ck_assert_int_eq(loopwright("cause %s/run", place), 0);
    char *text = text_of("out");
    const char *jam = strstr(text, "jam on second/lane"),
               *later = strstr(text, "jam on first/lane");
    const char *why = strstr(text, "Why\n"), *root = strstr(text, "box-shelf has no room left");
    const char *waits = strstr(text, "Who waits for whom"),
               *cure = strstr(text, "--set chests.box-shelf");
    ck_assert(jam != NULL && later > jam && why > later && root > why && waits > root &&
              cure > waits);
    ck_assert_ptr_null(strstr(why + 1, "Why\n")); /* lanes that jammed together: one paragraph */
    free(text);
    run("tests/story/gallery/taker-breaks.yaml");
    ck_assert_int_eq(loopwright("cause %s/run", place), 0);
    text = text_of("out");
    ck_assert_ptr_nonnull(strstr(text, "and 1 starvation: --event "));
    free(text);
    ck_assert_int_eq(loopwright("cause %s/run --quiet", place), 0);
    text = text_of("out");
    ck_assert_str_eq(text, "");
    free(text);
}
END_TEST

/* Where the only demand is for what no station makes, that is the product, and told as it is taken.
 */
START_TEST(what_is_bought_in_is_told_as_it_is_taken) {
    run("tests/story/gallery/tickets-run-out.yaml");
    ck_assert_int_eq(loopwright("cause %s/run", place), 0);
    char *text = text_of("out");
    ck_assert_ptr_nonnull(strstr(text, "      no jam in 12 h; "));
    ck_assert_ptr_nonnull(strstr(text, " spring, "));
    ck_assert_ptr_nonnull(strstr(text, "office delivers no more ticket, missed since 0:10:00"));
    free(text);
}
END_TEST

START_TEST(the_mended_scenario_runs) {
    run("tests/story/gallery/full-shelf.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --quiet --write %s/mended.yaml", place, place), 0);
    ck_assert_int_eq(loopwright("run %s/mended.yaml --set 'expect={jam: false}'", place), 0);
    ck_assert_int_eq(loopwright("run %s/mended.yaml", place),
                     1); /* it expects a jam, like the first */
}
END_TEST

/* The change is made where it belongs: all other lines, comments too, are those of the original,
 * after a head that names the change. */
START_TEST(the_mended_scenario_keeps_its_comments) {
    run("tests/story/gallery/shared-tray.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --quiet --write %s/mended.yaml", place, place), 0);
    char *mended = text_of("mended.yaml");
    char *original = story_text("tests/story/gallery/shared-tray.yaml");
    const char *head = "#   --set 'chests.tray.limits={pane: 3, frame: 3}'\n\n";
    const char *body = strstr(mended, head);
    ck_assert_ptr_nonnull(body);
    body += strlen(head);
    const char *changed = strstr(original, "capacity: 6}");
    size_t before = (size_t)(changed - original) + strlen("capacity: 6");
    ck_assert(strncmp(body, original, before) == 0);
    const char *added = ", limits: {pane: 3, frame: 3}";
    ck_assert(strncmp(body + before, added, strlen(added)) == 0);
    const char *rest = body + before + strlen(added);
    ck_assert(strncmp(rest, original + before, strlen(original + before)) == 0);
    const char *mark = "# Written by loopwright; checksum of all before this line: ";
    ck_assert(strncmp(rest + strlen(original + before), mark, strlen(mark)) == 0);
    free(mended);
    free(original);
    ck_assert_int_eq(
        loopwright("run %s/mended.yaml --set 'expect={jam: false, starved: []}' --for 12h", place),
        0);
}
END_TEST

START_TEST(the_graph_is_drawn_the_same_each_time) {
    char command[COMMAND_BYTES];
    run("tests/story/gallery/springs-outrun-combs.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --quiet --dot %s/a.dot", place, place), 0);
    ck_assert_int_eq(loopwright("cause %s/run --quiet --dot %s/b.dot", place, place), 0);
    char *a = text_of("a.dot"), *b = text_of("b.dot");
    ck_assert_str_eq(a, b);
    ck_assert(strncmp(a, "digraph", 7) == 0);
    size_t bold = 0;
    for (const char *at = a; (at = strstr(at, "penwidth=3")) != NULL; at++)
        bold++;
    ck_assert_uint_eq(bold, 6 + 0); /* three vertices and the three waits between them */
    free(a);
    free(b);
    if (system("command -v dot >/dev/null 2>&1") == 0) {
        snprintf(command, sizeof command, "dot -Tsvg %s/a.dot -o %s/a.svg", place, place);
        ck_assert_int_eq(system(command), 0);
    }
}
END_TEST

START_TEST(threads_change_nothing) {
    run("tests/story/gallery/full-offcut-box.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --json", place), 0);
    char *first = text_of("out");
    for (int i = 0; i < 5; i++) {
        ck_assert_int_eq(loopwright("cause %s/run --json", place), 0);
        char *again = text_of("out");
        ck_assert_str_eq(first, again);
        free(again);
    }
    free(first);
}
END_TEST

/* From a capsule on it is the same story; what began before it is reported from there. */
START_TEST(a_capsule_tells_the_same) {
    run("tests/story/gallery/full-shelf.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --json", place), 0);
    json_t *whole = said();
    static const char *const capsule[] = {"start", "at-600", "jam-1"};
    static const char *const key[] = {"kind", "subject", "start_s",         "since_s", "end_s",
                                      "lane", "cycle",   "turning_point_s", "remedies"};
    for (size_t i = 0; i < 3; i++) {
        ck_assert_int_eq(loopwright("cause %s/run/%s.capsule --json", place, capsule[i]), 0);
        json_t *part = said();
        const json_t *a = first_case(whole), *b = first_case(part);
        for (size_t j = 0; j < sizeof key / sizeof *key; j++)
            ck_assert_msg(json_equal(json_object_get(a, key[j]), json_object_get(b, key[j])),
                          "%s: %s", capsule[i], key[j]);
        json_decref(part);
    }
    json_decref(whole);
}
END_TEST

/* The directory of a replay with a change is about what happened there, not about a run with that
 * change from the start. */
START_TEST(a_replay_is_explained_as_it_went) {
    ck_assert_int_eq(loopwright("run scenarios/surplus-jam.yaml --quiet --keep-every 4min "
                                "--out %s/run",
                                place),
                     0);
    ck_assert_int_eq(loopwright("replay %s/run/at-240.capsule --set stations.cutter.time=9s "
                                "--out %s/other --quiet",
                                place, place),
                     0);
    char *events = text_of("other/events.csv"), *row = strstr(events, ",jam,ring/lane,");
    ck_assert_ptr_nonnull(row);
    while (row > events && row[-1] != '\n')
        row--;
    ck_assert_int_eq(loopwright("cause %s/other --json", place), 0);
    json_t *told = said();
    ck_assert_double_eq_tol(number(first_case(told), "start_s"), strtod(row, NULL), 1e-9);
    ck_assert_int_eq(loopwright("cause %s/other --event 1", place), 0);
    json_decref(told);
    free(events);
}
END_TEST

/* What was asked for and is nothing to explain is not called a run without trouble. */
START_TEST(nothing_is_told_of_what_was_asked) {
    run("scenarios/surplus-jam.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --event 2", place), 0);
    char *text = text_of("out");
    ck_assert_str_eq(text, "Nothing to explain: row 2 of events.csv is no jam, deadlock, clog or "
                           "starvation.\n");
    free(text);
    ck_assert_int_eq(loopwright("cause %s/run --at 1min", place), 0);
    text = text_of("out");
    ck_assert_str_eq(text, "Nothing to explain: at 0:01:00 no jam, no clog, and no starvation that "
                           "lasted.\n");
    free(text);
    ck_assert_int_eq(loopwright("cause %s/run --at 20min", place), 0);
    ck_assert_int_eq(loopwright("cause %s/run --at 20:01min", place), 2);
    ck_assert_int_eq(loopwright("cause %s/run --at 0:20:01", place), 2);
    text = text_of("err");
    ck_assert_ptr_nonnull(strstr(text, "the run ends at 0:20:00"));
    free(text);
}
END_TEST

START_TEST(what_is_wrong_is_said) {
    run("tests/story/gallery/full-shelf.yaml");
    ck_assert_int_eq(loopwright("cause"), 2);
    ck_assert_int_eq(loopwright("cause %s/run --event 0", place), 2);
    ck_assert_int_eq(loopwright("cause %s/run --event 1 --at 1", place), 2);
    ck_assert_int_eq(loopwright("cause %s/run --event 100000", place), 2);
    ck_assert_int_eq(loopwright("cause %s/nothing-there", place), 4);
    ck_assert_int_eq(loopwright("cause %s", place), 4);
    ck_assert_int_eq(loopwright("cause %s/run/events.csv", place), 4);
    ck_assert_int_eq(loopwright("cause %s/run --dot %s/no/such/place", place, place), 4);
    ck_assert_int_eq(loopwright("cause --help"), 0);
}
END_TEST

/* Nothing to explain is an answer. */
START_TEST(a_run_without_trouble_is_an_answer) {
    run("scenarios/packing-line.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --json", place), 0);
    json_t *told = said();
    ck_assert_uint_eq(json_array_size(list(told, "found")), 0);
    json_decref(told);
    ck_assert_int_eq(loopwright("cause %s/run --quiet --write %s/mended.yaml", place, place), 1);
}
END_TEST

/* What the user has made of the mended scenario is kept, and said so before anything is run. */
START_TEST(a_file_of_the_user_is_not_overwritten) {
    char path[2 * PATH_BYTES];
    run("tests/story/gallery/full-shelf.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --quiet --write %s/mended.yaml", place, place), 0);
    ck_assert_int_eq(loopwright("cause %s/run --quiet --write %s/mended.yaml", place, place), 0);
    snprintf(path, sizeof path, "%s/mended.yaml", place);
    FILE *file = fopen(path, "a");
    ck_assert_ptr_nonnull(file);
    fputs("# my own line\n", file);
    fclose(file);
    char *mine = text_of("mended.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --quiet --write %s/mended.yaml", place, place), 4);
    ck_assert_int_eq(loopwright("cause %s/run --quiet --dot %s/mended.yaml", place, place), 4);
    char *kept = text_of("mended.yaml");
    ck_assert_str_eq(kept, mine);
    ck_assert_int_eq(
        loopwright("cause %s/run --quiet --force --write %s/mended.yaml", place, place), 0);
    char *written = text_of("mended.yaml");
    ck_assert_ptr_null(strstr(written, "# my own line"));
    free(mine);
    free(kept);
    free(written);
}
END_TEST

/* The file alone, under each name that standard output has. */
START_TEST(a_file_may_be_standard_output) {
    run("tests/story/gallery/full-shelf.yaml");
    ck_assert_int_eq(loopwright("cause %s/run --quiet --dot %s/a.dot", place, place), 0);
    ck_assert_int_eq(loopwright("cause %s/run --dot -", place), 0);
    char *file = text_of("a.dot"), *out = text_of("out");
    ck_assert_str_eq(out, file);
    free(out);
    ck_assert_int_eq(loopwright("cause %s/run --dot /dev/stdout", place), 0);
    out = text_of("out");
    ck_assert_str_eq(out, file);
    free(out);
    free(file);
    ck_assert_int_eq(loopwright("cause %s/run --dot - --write -", place), 2);
    ck_assert_int_eq(loopwright("cause %s/run --dot a --write a", place), 2);
    ck_assert_int_eq(loopwright("cause %s/run --dot - --json", place), 2);
}
END_TEST

/* Those in which only too little comes have a test of their own: test_short. */
static void leave_shortages_out(void) {
    size_t kept = 0;
    for (size_t i = 0; i < gallery.gl_pathc; i++) {
        char *path = gallery.gl_pathv[i];
        if (strstr(path, "/short-") != NULL)
            continue;
        gallery.gl_pathv[i] = gallery.gl_pathv[kept]; /* nothing that glob() gave is lost */
        gallery.gl_pathv[kept++] = path;
    }
    gallery.gl_pathc = kept;
}

static void add_tests(TCase *tests) {
    if (glob("tests/story/gallery/*.yaml", 0, NULL, &gallery) == 0)
        leave_shortages_out();
    int scenarios = (int)gallery.gl_pathc; /* the_gallery_has_every_kind does not let 0 pass */
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, a_taker_without_room_is_named_after_one_that_is_slow);
    tcase_add_test(tests, the_gallery_has_every_kind);
    tcase_add_loop_test(tests, the_planted_cause_is_named_first, 0, scenarios);
    tcase_add_loop_test(tests, remedies_do_what_is_said_of_them, 0, scenarios);
    tcase_add_loop_test(tests, remedies_stand_best_first, 0, scenarios);
    int runs = glob("scenarios/*.yaml", 0, NULL, &examples) == 0 ? (int)examples.gl_pathc : 0;
    tcase_add_loop_test(tests, cures_hold_for_twelve_hours, 0, scenarios + runs);
    tcase_add_loop_test(tests, remedies_are_what_they_are_meant_to_be, 0, 10);
    tcase_add_loop_test(tests, what_a_feeder_finds_counts_not_what_it_names, 0, 3);
    tcase_add_loop_test(tests, a_wrong_gate_gives_way_to_the_own, 0, WRONG_GATES);
    tcase_add_test(tests, the_own_gate_stands_first);
    tcase_add_test(tests, no_proof_halts_a_disturbed_workshop);
    tcase_add_test(tests, more_room_puts_a_clog_off);
    tcase_add_test(tests, a_clog_that_comes_late_needs_a_second_change);
    tcase_add_test(tests, what_ended_goes_on);
    tcase_add_test(tests, times_are_those_of_events_csv);
    tcase_add_test(tests, every_blocked_arm_waits_for_the_lane);
    tcase_add_loop_test(tests, a_stop_is_dated_by_its_row, 0, 3);
    tcase_add_test(tests, a_bridge_makes_no_taker_slow);
    tcase_add_loop_test(tests, a_deed_is_named_with_what_it_led_to, 0, 4);
    tcase_add_test(tests, the_circle_is_one_of_the_waits);
    tcase_add_test(tests, a_chain_with_an_end_is_no_circle);
    tcase_add_test(tests, a_cause_may_lie_more_than_an_hour_back);
    tcase_add_loop_test(tests, until_the_turning_point_the_lane_could_be_saved, 0, 3);
    tcase_add_loop_test(tests, there_may_be_no_turning_point, 0, 2);
    tcase_add_test(tests, a_row_or_a_time_may_be_chosen);
    tcase_add_test(tests, a_row_is_the_row_of_events_csv);
    tcase_add_test(tests, the_text_tells_the_most_important_first);
    tcase_add_test(tests, what_is_bought_in_is_told_as_it_is_taken);
    tcase_add_test(tests, the_mended_scenario_runs);
    tcase_add_test(tests, the_mended_scenario_keeps_its_comments);
    tcase_add_test(tests, the_graph_is_drawn_the_same_each_time);
    tcase_add_test(tests, threads_change_nothing);
    tcase_add_test(tests, a_capsule_tells_the_same);
    tcase_add_test(tests, a_replay_is_explained_as_it_went);
    tcase_add_test(tests, nothing_is_told_of_what_was_asked);
    tcase_add_test(tests, what_is_wrong_is_said);
    tcase_add_test(tests, a_run_without_trouble_is_an_answer);
    tcase_add_test(tests, a_file_of_the_user_is_not_overwritten);
    tcase_add_test(tests, a_file_may_be_standard_output);
}

int main(void) { return suite_main("cause", add_tests); }
