/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_replay.c - `loopwright replay`, and the capsules that `run` keeps, as a user
 * meets them. The promise: whatever capsule of a run is replayed, every row is the row of the run,
 * byte for byte, and the summary is the run's; whatever is wrong with a capsule, it is refused and
 * nothing is left. Run from the top of the tree; LOOPWRIGHT names the program. */
#define _DEFAULT_SOURCE /* P_tmpdir */
#include <check.h>
#include <dirent.h>
#include <inttypes.h>
#include <jansson.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "sim/require.h"
#include "tests/common/processor.h"
#include "tests/common/sanitized.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"
#include "tests/story/story.h"

enum { PATH_BYTES = 256, COMMAND_BYTES = 2048, COLUMNS_MAX = 80 };

/* ---- a place to work in ---- */

static char place[PATH_BYTES];

static void make_place(void) {
    snprintf(place, sizeof place, "%s/test_replay.XXXXXX", P_tmpdir);
    ck_assert_ptr_nonnull(mkdtemp(place));
}

static void remove_place(void) {
    char command[COMMAND_BYTES];
    snprintf(command, sizeof command, "rm -rf '%s'", place);
    ck_assert_int_eq(system(command), 0);
}

/* A path in the place; good until the fourth call from here. */
static const char *in_place(const char *format, ...) {
    static char path[4][2 * PATH_BYTES];
    static int turn;
    char *at = path[turn++ % 4];
    int length = snprintf(at, sizeof path[0], "%s/", place);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(at + length, sizeof path[0] - (size_t)length, format, arguments);
    va_end(arguments);
    return at;
}

/* Runs the program with what follows its name, what it says in the files `out` and `err` of
 * the place; returns the status. */
static int loopwright(const char *format, ...) {
    char command[COMMAND_BYTES];
    const char *program = getenv("LOOPWRIGHT");
    ck_assert_ptr_nonnull(program);
    int length = snprintf(command, sizeof command, "%s ", program);
    va_list arguments;
    va_start(arguments, format);
    length += vsnprintf(command + length, sizeof command - (size_t)length, format, arguments);
    va_end(arguments);
    ck_assert_int_lt(length + snprintf(command + length, sizeof command - (size_t)length,
                                       " >%s/out 2>%s/err </dev/null", place, place),
                     COMMAND_BYTES);
    int status = system(command);
    ck_assert_msg(WIFEXITED(status), "%s", command);
    return WEXITSTATUS(status);
}

static bool exists(const char *path) { return access(path, F_OK) == 0; }

static void write_text(const char *path, const char *text) {
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

static void assert_says(const char *file, const char *words) {
    char *text = story_text(in_place("%s", file));
    ck_assert_msg(strstr(text, words) != NULL, "does not say \"%s\":\n%s", words, text);
    free(text);
}

/* ---- whole files ---- */

struct file {
    char *data;
    size_t length;
};

static struct file read_file(const char *path) {
    struct file file = {0};
    FILE *in = fopen(path, "r");
    ck_assert_msg(in != NULL, "%s", path);
    fseek(in, 0, SEEK_END);
    file.length = (size_t)ftell(in);
    rewind(in);
    file.data = require_memory(file.length + 1, 1);
    ck_assert_uint_eq(fread(file.data, 1, file.length, in), file.length);
    fclose(in);
    return file;
}

static void write_file(const char *path, const char *data, size_t length) {
    FILE *out = fopen(path, "w");
    ck_assert_ptr_nonnull(out);
    ck_assert_uint_eq(fwrite(data, 1, length, out), length);
    ck_assert_int_eq(fclose(out), 0);
}

static void assert_same_file(const char *a, const char *b) {
    struct file first = read_file(a), second = read_file(b);
    ck_assert_msg(first.length == second.length &&
                      memcmp(first.data, second.data, first.length) == 0,
                  "%s and %s differ", a, b);
    free(first.data);
    free(second.data);
}

/* ---- the tail of a table ---- */

struct run {
    char directory[PATH_BYTES];
    int64_t ticks_per_second;
    int status;
};

/* The tick of a time in seconds, as docs/files.md says. */
static int64_t tick_of(const struct run *run, const char *seconds) {
    return (int64_t)((long double)strtod(seconds, NULL) * (long double)run->ticks_per_second +
                     0.5L);
}

/* Whether a row of a run is one of its replay from `tick` on: of events, what is not over then. */
static bool is_in_tail(const struct run *run, const char *table, const char *row, int64_t tick) {
    if (strcmp(table, "moves.csv") == 0)
        return strtoll(row, NULL, 10) >= tick;
    if (strcmp(table, "events.csv") == 0)
        return tick_of(run, strchr(row, ',') + 1) >= tick;
    return tick_of(run, row) >= tick;
}

/* Asks that a replay's table has the header, then just the rows of the run's that are in the tail.
 */
static void assert_tail(const struct run *run, const char *replay, const char *table,
                        int64_t tick) {
    char path[2 * PATH_BYTES];
    snprintf(path, sizeof path, "%s/%s", run->directory, table);
    struct file whole = read_file(path);
    snprintf(path, sizeof path, "%s/%s", replay, table);
    struct file tail = read_file(path);
    size_t at = 0, wanted = 0;
    for (const char *row = whole.data; *row != '\0'; row = whole.data + at) {
        const char *end = strchr(row, '\n') + 1;
        size_t length = (size_t)(end - row);
        at += length;
        if (row != whole.data && !is_in_tail(run, table, row, tick))
            continue;
        ck_assert_msg(tail.length - wanted >= length &&
                          memcmp(tail.data + wanted, row, length) == 0,
                      "%s of a replay from tick %" PRId64 " is not the run's at: %.*s", table, tick,
                      (int)length, row);
        wanted += length;
    }
    ck_assert_msg(wanted == tail.length, "%s of a replay from tick %" PRId64 " has more: %s", table,
                  tick, tail.data + wanted);
    free(whole.data);
    free(tail.data);
}

static bool is_capsule(const char *name) {
    const char *end = strrchr(name, '.');
    return end != NULL && strcmp(end, ".capsule") == 0;
}

/* Capsules of one moment are the same file, whoever wrote them. */
static void assert_same_capsules(const struct run *run, const char *replay) {
    DIR *names = opendir(replay);
    for (const struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names)) {
        char a[2 * PATH_BYTES], b[2 * PATH_BYTES];
        snprintf(a, sizeof a, "%s/%s", run->directory, entry->d_name);
        snprintf(b, sizeof b, "%s/%s", replay, entry->d_name);
        if (strncmp(entry->d_name, "at-", 3) == 0 && exists(a))
            assert_same_file(a, b);
    }
    closedir(names);
}

static void assert_replays(const struct run *run, const char *operand, const char *from) {
    const char *replay = in_place("replay");
    ck_assert_int_eq(loopwright("replay %s%s%s --out %s --moves --keep-every 7 --quiet", operand,
                                from != NULL ? " --from " : "", from != NULL ? from : "", replay),
                     run->status);
    char a[2 * PATH_BYTES], b[2 * PATH_BYTES];
    snprintf(a, sizeof a, "%s/summary.json", run->directory);
    snprintf(b, sizeof b, "%s/summary.json", replay);
    assert_same_file(a, b);
    snprintf(a, sizeof a, "%s/scenario.yaml", run->directory);
    snprintf(b, sizeof b, "%s/scenario.yaml", replay);
    assert_same_file(a, b);
    assert_same_capsules(run, replay);
}

/* The tick of a capsule: where the replay's own first capsule begins. */
static int64_t first_tick(const struct run *run, const char *replay) {
    int64_t first = INT64_MAX;
    DIR *names = opendir(replay);
    for (const struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names)) {
        int64_t tick = INT64_MAX;
        if (strcmp(entry->d_name, "start.capsule") == 0)
            tick = 0;
        else if (strncmp(entry->d_name, "at-", 3) == 0)
            tick = tick_of(run, entry->d_name + 3);
        first = tick < first ? tick : first;
    }
    closedir(names);
    ck_assert_int_ne(first, INT64_MAX);
    return first;
}

static const char *const table_name[] = {"occupancy.csv", "lanes.csv", "levels.csv",
                                         "stations.csv",  "arms.csv",  "events.csv",
                                         "moves.csv"};
enum { TABLES = sizeof table_name / sizeof *table_name };

static void assert_tails(const struct run *run, int64_t tick) {
    const char *replay = in_place("replay");
    for (int table = 0; table < TABLES; table++)
        assert_tail(run, replay, table_name[table], tick);
}

/* Replays every capsule of a run; returns how many there were. */
static int assert_all_replay(const struct run *run) {
    int count = 0;
    DIR *names = opendir(run->directory);
    for (const struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names)) {
        char path[2 * PATH_BYTES];
        snprintf(path, sizeof path, "%s/%s", run->directory, entry->d_name);
        if (!is_capsule(entry->d_name))
            continue;
        assert_replays(run, path, NULL);
        int64_t tick = first_tick(run, in_place("replay"));
        if (strncmp(entry->d_name, "at-", 3) == 0)
            ck_assert_int_eq(tick, tick_of(run, entry->d_name + 3));
        assert_tails(run, tick);
        count++;
    }
    closedir(names);
    return count;
}

static struct run run_scenario(const char *scenario, const char *options, int64_t rate) {
    struct run run = {.ticks_per_second = rate};
    snprintf(run.directory, sizeof run.directory, "%s", in_place("run"));
    run.status = loopwright("run %s --out %s --moves --quiet %s", scenario, run.directory, options);
    ck_assert_int_le(run.status, 1);
    return run;
}

/* ---- every row is the run's ---- */

START_TEST(every_capsule_of_written_scenarios_replays_to_the_byte) {
    static const struct {
        const char *path, *options;
        int least; /* capsules: the start and the periodic ones, and those of jams */
    } row[] = {{"scenarios/demo.yaml", "--keep-every 2min", 16},
               {"scenarios/surplus-jam.yaml", "--keep-every 100s", 14},
               {"scenarios/packing-line.yaml", "--keep-every 3min", 7},
               {"scenarios/two-loops.yaml", "--keep-every 5min --seed 11", 7},
               {"tests/story/seven-feeders.yaml", "--keep-every 10s --for 2min", 13}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        make_place();
        struct run run = run_scenario(row[i].path, row[i].options, 100);
        ck_assert_int_ge(assert_all_replay(&run), row[i].least);
        remove_place();
    }
}
END_TEST

/* Everything that chance and oddity can throw: open events, latches, stops, hands half full. */
START_TEST(every_capsule_of_random_scenarios_replays_to_the_byte) {
    int jams = 0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        make_place();
        char *text = scatter_scenario(seed, seed % 2 == 0);
        const char *rate = strstr(text, "ticks_per_second: ");
        write_text(in_place("thrown.yaml"), text);
        struct run run = run_scenario(
            in_place("thrown.yaml"), "--keep-every 77",
            rate != NULL ? strtoll(rate + strlen("ticks_per_second: "), NULL, 10) : 100);
        ck_assert_int_ge(assert_all_replay(&run), 1);
        jams += exists(in_place("run/jam-1.capsule"));
        free(text);
        remove_place();
    }
    ck_assert_int_ge(jams, 5); /* else too little of it was tried */
}
END_TEST

/* Hands are fed while there are fewer than five dials, and nobody asks for dials: the bench
 * starves, but nobody minds, which is only known from what the feeder had done when it began. */
static const char gated_bench[] =
    "run: {for: 5 min}\nitems: [hand, dial]\n"
    "chests: [{name: bin, start: {hand: 900}}, {name: shelf}]\n"
    "loops: [{name: ring, cells: 20, rate: 4}]\n"
    "stations: [{name: bench, takes: {hand: 1}, makes: {dial: 1}, time: 1 s}]\narms:\n"
    "  - {name: feeder, from: bin, to: ring@2, swing: 1 s,\n"
    "     gate: {chest: shelf, item: dial, below: 5}}\n"
    "  - {name: taker, from: ring@9, to: bench, swing: 1 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\n"
    "expect: {starved: []}\n";

START_TEST(a_starvation_that_nobody_minds_stays_one) {
    make_place();
    write_text(in_place("bench.yaml"), gated_bench);
    struct run run = run_scenario(in_place("bench.yaml"), "--keep-every 50s", 100);
    ck_assert_int_eq(run.status, 0);
    ck_assert_int_eq(assert_all_replay(&run), 7);
    remove_place();
}
END_TEST

/* A feeder that is stopped is held by its stop, also behind a gate that is shut: stopped comes
 * before gated, as of a station. */
START_TEST(a_stopped_feeder_is_not_held_by_its_gate) {
    make_place();
    write_text(in_place("bench.yaml"), gated_bench);
    ck_assert_int_eq(loopwright("run %s", in_place("bench.yaml")), 0);
    ck_assert_int_eq(
        loopwright("run %s --set 'incidents=[{at: 4 min, stop: feeder}]'", in_place("bench.yaml")),
        1);
    ck_assert_int_eq(
        loopwright("run %s --set 'incidents=[{at: 4 min, stop: shelver}]'", in_place("bench.yaml")),
        0);
    remove_place();
}
END_TEST

START_TEST(a_directory_is_replayed_from_any_time) {
    static const char *const time[] = {"0", "0.01", "59.99", "120", "0:12:34.56", "17min", "30min"};
    make_place();
    struct run run = run_scenario("scenarios/demo.yaml", "", 100);
    for (size_t i = 0; i < sizeof time / sizeof *time; i++) {
        assert_replays(&run, run.directory, time[i]);
        static const int64_t tick[] = {0, 1, 5999, 12000, 75456, 102000, 180000};
        assert_tails(&run, tick[i]);
    }
    remove_place();
}
END_TEST

/* What is over by then is left out, what began before and lasts has its true start. */
START_TEST(a_directory_is_replayed_from_before_its_first_jam) {
    make_place();
    struct run run = run_scenario("scenarios/surplus-jam.yaml", "", 100);
    ck_assert_int_eq(run.status, 0); /* it expects its jam */
    assert_replays(&run, run.directory, NULL);
    int64_t tick = first_tick(&run, in_place("replay"));
    struct file events = read_file(in_place("run/events.csv"));
    const char *since = strstr(strstr(events.data, ",jam,"), "since=");
    ck_assert_int_le(tick, tick_of(&run, since + strlen("since=")));
    ck_assert_int_gt(tick, 0);
    free(events.data);
    assert_tails(&run, tick);
    remove_place();
}
END_TEST

/* A replay is a run like another: its own capsules can be replayed. */
START_TEST(a_replay_of_a_replay_is_the_same_again) {
    make_place();
    struct run run = run_scenario("scenarios/demo.yaml", "", 100);
    ck_assert_int_eq(
        loopwright("replay %s --from 900 --out %s --quiet", run.directory, in_place("first")),
        run.status);
    assert_replays(&run, in_place("first"), "1000");
    assert_tails(&run, 100000);
    remove_place();
}
END_TEST

/* ---- capsules of a run ---- */

static int count_capsules(const char *directory) {
    int count = 0;
    DIR *names = opendir(directory);
    for (const struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names))
        count += is_capsule(entry->d_name);
    closedir(names);
    return count;
}

START_TEST(a_run_keeps_its_start_and_every_multiple_thinned_to_64) {
    make_place();
    struct run run = run_scenario("scenarios/first.yaml", "--for 65min --keep-every 1min", 100);
    ck_assert_int_eq(count_capsules(run.directory), 1 + 32); /* 65 are too many: every second */
    ck_assert(exists(in_place("run/start.capsule")));
    ck_assert(exists(in_place("run/at-120.capsule")));
    ck_assert(exists(in_place("run/at-3840.capsule")));
    ck_assert(!exists(in_place("run/at-60.capsule")));
    run = run_scenario("scenarios/first.yaml", "--for 64min --keep-every 1min", 100);
    ck_assert_int_eq(count_capsules(run.directory), 1 + 64);
    run = run_scenario("scenarios/first.yaml", "--for 25min", 100);
    ck_assert_int_eq(count_capsules(run.directory), 3); /* every ten minutes */
    ck_assert(exists(in_place("run/at-1200.capsule")));
    remove_place();
}
END_TEST

START_TEST(capsules_need_a_directory_and_a_time_between_them) {
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --keep-every 1min"), 2);
    assert_says("err", "--out");
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --keep-every 0 --out %s", in_place("a")),
                     2);
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --keep-every x --out %s", in_place("a")),
                     2);
    ck_assert(!exists(in_place("a")));
    remove_place();
}
END_TEST

/* ---- what-if ---- */

static double number_of(const char *path, const char *outer, const char *inner, const char *key) {
    json_t *summary = json_load_file(path, 0, NULL);
    ck_assert_ptr_nonnull(summary);
    const json_t *value =
        json_object_get(json_object_get(json_object_get(summary, outer), inner), key);
    ck_assert_ptr_nonnull(value);
    double number = json_number_value(value);
    json_decref(summary);
    return number;
}

/* The same change made at the start and made in the start capsule is the same run. */
START_TEST(a_change_at_the_start_is_the_changed_run) {
    static const char *const set[] = {
        "--set arms.comb-feeder.swing=1s",
        "--set chests.shelf.capacity=5",
        "--set stations.bench.time=6s",
        "--set arms.comb-feeder.gate.below=3",
        "--set loops.ring.rate=2",
        "--set arms.comb-feeder.gate=null",
        "--set 'incidents.heap={at: 2 min, drop: {item: comb, count: 9, lane: ring}}'",
        "--set arms.taker.items=[comb] --set watch.every=3s"};
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --out %s --quiet", in_place("plain")), 0);
    for (size_t i = 0; i < sizeof set / sizeof *set; i++) {
        struct run run = run_scenario("scenarios/first.yaml", set[i], 100);
        char operand[COMMAND_BYTES];
        snprintf(operand, sizeof operand, "%s %s", in_place("plain/start.capsule"), set[i]);
        assert_replays(&run, operand, NULL);
        assert_tails(&run, 0);
    }
    remove_place();
}
END_TEST

/* A jam that nothing but the clearing of its surplus can prevent: see the scenario's head. */
START_TEST(a_change_before_the_jam_prevents_it) {
    make_place();
    struct run run = run_scenario("scenarios/surplus-jam.yaml", "--keep-every 1min", 100);
    ck_assert(exists(in_place("run/jam-1.capsule")));
    ck_assert_int_ge(
        loopwright("replay %s --from 60 --set chests.scrap.capacity=900 --json", run.directory), 0);
    json_t *summary = json_load_file(in_place("out"), 0, NULL);
    ck_assert_ptr_nonnull(summary);
    ck_assert_int_eq(json_integer_value(json_object_get(json_object_get(summary, "events"), "jam")),
                     0);
    json_decref(summary);
    remove_place();
}
END_TEST

START_TEST(a_change_of_the_parts_is_refused) {
    static const char *const set[] = {"--set 'arms.more={from: bin, to: ring@9, swing: 1 s}'",
                                      "--set arms.taker=null",
                                      "--set loops.ring.cells=61",
                                      "--set arms.comb-feeder.to=shelf",
                                      "--set chests.bin.start={comb: 1}",
                                      "--set 'items=[comb, cylinder, movement, more]'"};
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --out %s --quiet", in_place("run")), 0);
    for (size_t i = 0; i < sizeof set / sizeof *set; i++) {
        int status =
            loopwright("replay %s --from 300 %s --out %s", in_place("run"), set[i], in_place("b"));
        ck_assert_msg(status == 2 || (i == 5 && status == 3), "%s: status %d", set[i], status);
        ck_assert(!exists(in_place("b")));
    }
    ck_assert_int_eq(loopwright("replay %s --set arms.nobody.swing=1s", in_place("run")), 3);
    ck_assert_int_eq(loopwright("replay %s --set arms.comb-feeder.swing=x", in_place("run")), 3);
    remove_place();
}
END_TEST

/* A shelf that an incident has made smaller stays so; one that is as it was written follows --set.
 */
START_TEST(what_an_incident_has_set_stays_set) {
    make_place();
    ck_assert_int_le(
        loopwright("run scenarios/first.yaml --out %s --quiet "
                   "--set 'incidents.less={at: 3 min, set: {chest: shelf, capacity: 4}}' "
                   "--set demands.orders=null --set stations.bench.gate=null --set expect=null",
                   in_place("run")),
        1);
    ck_assert_int_le(
        loopwright("replay %s --from 200 --set chests.shelf.capacity=90 --out %s --quiet",
                   in_place("run"), in_place("late")),
        1);
    ck_assert_int_le(
        loopwright("replay %s --from 100 --set chests.shelf.capacity=90 --out %s --quiet "
                   "--set incidents.less=null",
                   in_place("run"), in_place("early")),
        1);
    ck_assert_double_gt(number_of(in_place("early/summary.json"), "items", "movement", "left"), 60);
    ck_assert_double_lt(number_of(in_place("late/summary.json"), "items", "movement", "left"), 50);
    remove_place();
}
END_TEST

/* A change begins where the stretch does, whichever capsule was the nearest one before. */
START_TEST(a_change_begins_where_it_is_asked_for) {
    static const char *const change[] = {"--set loops.ring.rate=4", "--seed 5",
                                         "--set arms.comb-feeder.gate.below=2"};
    static const char *const file[] = {"moves.csv", "events.csv",   "occupancy.csv",
                                       "lanes.csv", "levels.csv",   "stations.csv",
                                       "arms.csv",  "summary.json", "scenario.yaml"};
    make_place();
    struct run run = run_scenario("scenarios/first.yaml", "--keep-every 4min", 100);
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --out %s --quiet", in_place("seldom")),
                     0);
    for (size_t i = 0; i < sizeof change / sizeof *change; i++) {
        ck_assert_int_le(loopwright("replay %s/at-240.capsule %s --moves --out %s --quiet",
                                    run.directory, change[i], in_place("near")),
                         1);
        ck_assert_int_le(loopwright("replay %s --from 4min %s --moves --out %s --quiet",
                                    in_place("seldom"), change[i], in_place("far")),
                         1);
        for (size_t k = 0; k < sizeof file / sizeof *file; k++)
            assert_same_file(in_place("near/%s", file[k]), in_place("far/%s", file[k]));
    }
    remove_place();
}
END_TEST

/* ---- how far ---- */

/* The last tick of a run may be kept: it is one of the run. The next one is not. */
START_TEST(no_capsule_is_behind_the_end) {
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --keep-every 10min --out %s --quiet",
                                in_place("last")),
                     0);
    ck_assert(exists(in_place("last/at-600.capsule")));
    ck_assert_int_eq(loopwright("replay %s", in_place("last/at-600.capsule")), 0);
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --keep-every 600.01 --out %s --quiet",
                                in_place("next")),
                     0);
    ck_assert(exists(in_place("next/start.capsule")));
    ck_assert(!exists(in_place("next/at-600.01.capsule")));
    remove_place();
}
END_TEST

START_TEST(a_stretch_behind_the_end_needs_an_end) {
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --out %s --quiet", in_place("run")), 0);
    ck_assert_int_eq(loopwright("replay %s --from 11min", in_place("run")), 2);
    assert_says("err", "the run ends before the stretch begins");
    assert_says("err", "help: with --until or --for it goes on after the end");
    ck_assert_int_eq(loopwright("replay %s --from 11min --for 1min", in_place("run")), 0);
    remove_place();
}
END_TEST

START_TEST(a_stretch_ends_where_it_is_told_to) {
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --out %s --quiet", in_place("run")), 0);
    struct run run = run_scenario("scenarios/first.yaml", "--for 7min", 100);
    snprintf(run.directory, sizeof run.directory, "%s", in_place("seven"));
    ck_assert_int_eq(
        loopwright("run scenarios/first.yaml --for 420 --out %s --moves --quiet", run.directory),
        run.status);
    ck_assert_int_eq(
        loopwright("run scenarios/first.yaml --out %s --quiet --keep-every 2min", in_place("ten")),
        0);
    char operand[COMMAND_BYTES];
    snprintf(operand, sizeof operand, "%s --until 7min", in_place("ten/at-240.capsule"));
    assert_replays(&run, operand, NULL);
    assert_tails(&run, 24000);
    ck_assert_int_eq(loopwright("replay %s", operand), run.status);
    assert_says("out", "No verdict on a part of a run; up to its end: no jam.\n");
    ck_assert_int_eq(loopwright("replay %s", in_place("ten/at-240.capsule")), 0);
    assert_says("out", "It holds: no jam");
    snprintf(operand, sizeof operand, "%s --for 60", in_place("ten"));
    assert_replays(&run, operand, "360");
    assert_tails(&run, 36000);
    remove_place();
}
END_TEST

/* "or as far as --for or --until say": also further than the run went. */
START_TEST(a_stretch_may_go_on_behind_the_end) {
    make_place();
    struct run run = run_scenario("scenarios/demo.yaml", "--for 2400", 100);
    ck_assert_int_eq(loopwright("run scenarios/demo.yaml --out %s --quiet", in_place("short")),
                     run.status);
    char operand[COMMAND_BYTES];
    snprintf(operand, sizeof operand, "%s --until 40min", in_place("short/at-1800.capsule"));
    assert_replays(&run, operand, NULL);
    assert_tails(&run, 180000);
    remove_place();
}
END_TEST

START_TEST(a_wrong_command_line_is_told) {
    static const struct {
        const char *words, *says;
    } row[] = {{"--for 60 --until 300", "one of them"},
               {"--from 300 --until 200", "before it begins"},
               {"--from x", "a time of the run"},
               {"--until x", "a time of the run"},
               {"--show --json", "cannot be combined"},
               {"--moves", "--out"},
               {"--keep-every 60", "--out"},
               {"--after 3", "unknown option"}};
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --out %s --quiet", in_place("run")), 0);
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        ck_assert_msg(loopwright("replay %s %s", in_place("run"), row[i].words) == 2, "%s",
                      row[i].words);
        assert_says("err", row[i].says);
    }
    ck_assert_int_eq(loopwright("replay %s --from 0", in_place("run/at-600.capsule")), 2);
    assert_says("err", "before the capsule");
    ck_assert_int_eq(loopwright("replay"), 2);
    ck_assert_int_eq(loopwright("replay --help"), 0);
    assert_says("out", "--until TIME");
    remove_place();
}
END_TEST

/* ---- refused ---- */

static void assert_refused(const char *path, const char *says) {
    ck_assert_msg(loopwright("replay %s --out %s", path, in_place("b")) == 4, "%s", path);
    assert_says("err", says);
    ck_assert(!exists(in_place("b")) && !exists(in_place(".b.unfinished")));
}

START_TEST(what_is_no_capsule_is_refused_and_nothing_is_left) {
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --out %s --quiet", in_place("run")), 0);
    struct file capsule = read_file(in_place("run/at-600.capsule"));
    write_file(in_place("half.capsule"), capsule.data, capsule.length / 2);
    assert_refused(in_place("half.capsule"), "cut short");
    write_file(in_place("more.capsule"), capsule.data, capsule.length + 1);
    assert_refused(in_place("more.capsule"), "too many");
    capsule.data[capsule.length / 2] ^= 1;
    write_file(in_place("flip.capsule"), capsule.data, capsule.length);
    assert_refused(in_place("flip.capsule"), "damaged");
    write_file(in_place("none.capsule"), "", 0);
    assert_refused(in_place("none.capsule"), "not a capsule");
    assert_refused("scenarios/first.yaml", "not a capsule");
    assert_refused(in_place("nowhere.capsule"), "No such file");
    assert_refused("scenarios", "holds no capsule");
    free(capsule.data);
    remove_place();
}
END_TEST

/* Each byte in turn, of which a few are enough here: tests/unit/test_capsule.c takes all. */
START_TEST(a_capsule_with_any_byte_changed_is_refused) {
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/first.yaml --out %s --quiet", in_place("run")), 0);
    struct file capsule = read_file(in_place("run/start.capsule"));
    for (size_t i = 0; i < capsule.length; i += 97) {
        capsule.data[i] ^= 0x20;
        write_file(in_place("flip.capsule"), capsule.data, capsule.length);
        ck_assert_int_eq(loopwright("replay %s --quiet", in_place("flip.capsule")), 4);
        capsule.data[i] ^= 0x20;
    }
    free(capsule.data);
    remove_place();
}
END_TEST

/* ---- shown ---- */

START_TEST(a_jam_can_be_read_in_a_terminal) {
    make_place();
    ck_assert_int_eq(loopwright("run scenarios/surplus-jam.yaml --out %s --quiet", in_place("run")),
                     0);
    ck_assert_int_le(loopwright("replay %s --show --until 11min", in_place("run")), 1);
    assert_says("out", "o offcut");
    assert_says("out", "cutter-unloader puts 1 offcut on ring/lane@6");
    assert_says("out", "> jam ring/lane, since 0:10:01.05");
    /* at the end the ring of 68 cells is full of offcuts, and the two arms at cells 6 and 17 wait
     */
    assert_says("out", "\n              V          V\n     0  "
                       "oooooooooooooooooooooooooooooooooooooooooooooooooooooooooooooooooooo\n");
    assert_says("out", "frame-feeder (frame-bin to ring/lane@17) is placing, holds 1 frame\n");
    struct file out = read_file(in_place("out"));
    for (const char *line = strtok(out.data, "\n"); line != NULL; line = strtok(NULL, "\n"))
        ck_assert_msg(strlen(line) <= COLUMNS_MAX, "%s", line);
    free(out.data);
    remove_place();
}
END_TEST

/* A long item, a ring of more than a row, a line, and a stop. */
START_TEST(strips_wrap_and_long_items_have_tails) {
    make_place();
    write_text(
        in_place("long.yaml"),
        "run: {for: 20 s}\nitems: {case: {length: 3}, comb: {}}\n"
        "loops: [{name: ring, cells: 100, rate: 1}]\nlines: [{name: slide, cells: 12, rate: 1}]\n"
        "chests: [{name: bin}]\n"
        "arms: [{name: taker, from: ring@75, to: bin, swing: 1 s, items: [case]}]\n"
        "incidents:\n  - {at: 0, drop: {item: case, count: 2, lane: ring}}\n"
        "  - {at: 1, drop: {item: comb, count: 1, lane: slide}}\n  - {at: 2, stop: taker}\n");
    ck_assert_int_eq(loopwright("run %s --out %s --quiet", in_place("long.yaml"), in_place("run")),
                     0);
    ck_assert_int_eq(loopwright("replay %s --show --until 5", in_place("run")), 0);
    /* heads at 0 and 3 at 0 s, moved on by 5 steps; the first lies over the seam at 0 s */
    assert_says("out", "     0  ...--c--c");
    assert_says("out", "\n    70  ..............................\n             ^\n");
    assert_says("out", "     0  ....o.......\n");
    assert_says("out", "! drop ring/lane: case, 2\n");
    assert_says("out", "! stop taker\n");
    remove_place();
}
END_TEST

/* A reader that has gone: what would go on for years of simulated time ends soon, as if by SIGPIPE;
 * with files to be written it goes on to its end. */
START_TEST(what_nobody_reads_is_not_shown_to_its_end) {
    make_place();
    char command[COMMAND_BYTES];
    ck_assert_int_le(
        loopwright("run scenarios/surplus-cured.yaml --for 1h --out %s --quiet", in_place("run")),
        1);
    snprintf(command, sizeof command,
             "{ %s replay %s --from 0 --for 300d --show 2>%s; echo $? >%s; } | head -n 3 >%s",
             getenv("LOOPWRIGHT"), in_place("run"), in_place("err"), in_place("status"),
             in_place("out"));
    ck_assert_int_eq(system(command), 0);
    assert_says("status", "141\n");
    snprintf(command, sizeof command,
             "%s replay %s --from 0 --for 20min --show --out %s | head -n 3 >%s",
             getenv("LOOPWRIGHT"), in_place("run"), in_place("again"), in_place("out"));
    ck_assert_int_eq(system(command), 0);
    ck_assert(exists(in_place("again/summary.json")));
    snprintf(command, sizeof command, "%s replay %s --from 0 --show >/dev/full 2>%s",
             getenv("LOOPWRIGHT"), in_place("run"), in_place("err"));
    ck_assert_int_eq(WEXITSTATUS(system(command)), 4);
    assert_says("err", "loopwright: standard output: ");
    remove_place();
}
END_TEST

/* ---- quickly ---- */

/* Own goal: anywhere in twelve hours within a second of processor time. With sanitizers the time is
 * not asked for. */
START_TEST(any_time_of_twelve_hours_is_there_within_a_second) {
    make_place();
    ck_assert_int_le(
        loopwright("run scenarios/surplus-cured.yaml --for 12h --out %s --quiet", in_place("run")),
        1);
    double begun = processor_children_s();
    ck_assert_int_le(loopwright("replay %s --from 11:37:21 --for 5 --show", in_place("run")), 1);
    double took = processor_children_s() - begun;
    if (!SANITIZED)
        ck_assert_double_lt(took, 1);
    remove_place();
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, every_capsule_of_written_scenarios_replays_to_the_byte);
    tcase_add_test(tests, every_capsule_of_random_scenarios_replays_to_the_byte);
    tcase_add_test(tests, a_starvation_that_nobody_minds_stays_one);
    tcase_add_test(tests, a_stopped_feeder_is_not_held_by_its_gate);
    tcase_add_test(tests, a_directory_is_replayed_from_any_time);
    tcase_add_test(tests, a_directory_is_replayed_from_before_its_first_jam);
    tcase_add_test(tests, a_replay_of_a_replay_is_the_same_again);
    tcase_add_test(tests, a_run_keeps_its_start_and_every_multiple_thinned_to_64);
    tcase_add_test(tests, capsules_need_a_directory_and_a_time_between_them);
    tcase_add_test(tests, a_change_at_the_start_is_the_changed_run);
    tcase_add_test(tests, a_change_before_the_jam_prevents_it);
    tcase_add_test(tests, a_change_of_the_parts_is_refused);
    tcase_add_test(tests, what_an_incident_has_set_stays_set);
    tcase_add_test(tests, a_change_begins_where_it_is_asked_for);
    tcase_add_test(tests, no_capsule_is_behind_the_end);
    tcase_add_test(tests, a_stretch_behind_the_end_needs_an_end);
    tcase_add_test(tests, a_stretch_ends_where_it_is_told_to);
    tcase_add_test(tests, a_stretch_may_go_on_behind_the_end);
    tcase_add_test(tests, a_wrong_command_line_is_told);
    tcase_add_test(tests, what_is_no_capsule_is_refused_and_nothing_is_left);
    tcase_add_test(tests, a_capsule_with_any_byte_changed_is_refused);
    tcase_add_test(tests, a_jam_can_be_read_in_a_terminal);
    tcase_add_test(tests, strips_wrap_and_long_items_have_tails);
    tcase_add_test(tests, what_nobody_reads_is_not_shown_to_its_end);
    tcase_add_test(tests, any_time_of_twelve_hours_is_there_within_a_second);
}

int main(void) { return suite_main("replay", add_tests); }
