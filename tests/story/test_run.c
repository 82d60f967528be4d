/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_run.c - `loopwright run` as its user meets it: the command line, the files to
 * the byte, exit status, and what is left when the disk is full or the program is killed. */
#include <check.h>
#include <dirent.h>
#include <fcntl.h>
#include <jansson.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"

enum { ARGUMENTS_MAX = 32, TEXT_BYTES = 512, COLUMNS_MAX = 80 };

/* ---- scenarios ---- */

/* Its history is short enough to be worked out by hand, from the rules. */
static const char by_hand[] =
    "title: Hands and dials\n"
    "run: {for: 1 min}\n"
    "watch: {every: 15 s}\n"
    "items: [hand, dial]\n"
    "loops: [{name: ring, cells: 10, rate: 5, lanes: [outer, inner]}]\n"
    "lines: [{name: belt, cells: 4, rate: 1}]\n"
    "chests: [{name: bin, capacity: 5}, {name: shelf}]\n"
    "stations: [{name: bench, takes: {hand: 1}, makes: {dial: 1}, time: 1 s}]\n"
    "arms:\n"
    "  - {name: taker, from: ring/inner@3, to: bench, swing: 1 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s, gate: {chest: shelf, below: 3}}\n"
    "incidents:\n"
    "  - {at: 10 s, name: heap, drop: {item: hand, count: 12, lane: ring/outer}}\n"
    "  - {at: 10 s, set: {chest: bin, capacity: 7}}\n"
    "  - {at: 20 s, clear: {lane: ring/outer}}\n"
    "  - {at: 30 s, stop: taker}\n"
    "  - {at: 31 s, start: taker}\n"
    "  - {at: 40 s, set: {gate: shelver, below: 2}}\n"
    "  - {at: 41 s, drop: {item: dial, count: 1, lane: belt}}\n";

/* A revolution of ten cells at five a second takes 2 s. Nothing moves until the heap falls at 10 s;
 * it finds room for ten. The dial rolls along the line at 42, 43 and 44 s, and rest begins anew. */
static const char by_hand_events[] =
    "start_s,end_s,event,subject,loop,lane,item,count,detail\n"
    "2.0,10.0,rest,,,,,,since=0.0\n"
    "10.0,10.0,drop,ring/outer,ring,outer,hand,10,short=2; incident=heap\n"
    "10.0,10.0,set,bin,,,,,capacity=7\n"
    "10.0,60.0,starved,bench,,,hand,,since=0.0; open\n"
    "12.0,20.0,congested,ring/outer,ring,outer,,,since=10.0\n"
    "12.0,20.0,rest,,,,,,since=10.0\n"
    "12.0,20.0,clogged,,,,hand,,since=10.0\n"
    "20.0,20.0,clear,ring/outer,ring,outer,hand,10,\n"
    "22.0,41.0,rest,,,,,,since=20.0\n"
    "22.0,60.0,emptied,ring,ring,,,,since=20.0; open\n"
    "30.0,30.0,stop,taker,,,,,\n"
    "31.0,31.0,start,taker,,,,,\n"
    "40.0,40.0,set,shelver,,,,,below=2\n"
    "41.0,41.0,drop,belt,belt,,dial,1,\n"
    "46.0,60.0,rest,,,,,,since=44.0; open\n";

static const char by_hand_occupancy[] = "time_s,loop,lane,item,count,cells,share\n"
                                        "0.0,ring,outer,hand,0,0,0\n0.0,belt,,dial,0,0,0\n"
                                        "15.0,ring,outer,hand,10,10,1\n15.0,belt,,dial,0,0,0\n"
                                        "30.0,ring,outer,hand,0,0,0\n30.0,belt,,dial,0,0,0\n"
                                        "45.0,ring,outer,hand,0,0,0\n45.0,belt,,dial,1,1,0.25\n"
                                        "60.0,ring,outer,hand,0,0,0\n60.0,belt,,dial,1,1,0.25\n";

static const char by_hand_lanes[] =
    "time_s,loop,lane,count,cells,share\n"
    "0.0,ring,outer,0,0,0\n0.0,ring,inner,0,0,0\n0.0,belt,,0,0,0\n"
    "15.0,ring,outer,10,10,1\n15.0,ring,inner,0,0,0\n15.0,belt,,0,0,0\n"
    "30.0,ring,outer,0,0,0\n30.0,ring,inner,0,0,0\n30.0,belt,,0,0,0\n"
    "45.0,ring,outer,0,0,0\n45.0,ring,inner,0,0,0\n45.0,belt,,1,1,0.25\n"
    "60.0,ring,outer,0,0,0\n60.0,ring,inner,0,0,0\n60.0,belt,,1,1,0.25\n";

static const char by_hand_levels[] =
    "time_s,place,item,count\n"
    "0.0,shelf,dial,0\n0.0,bench/in,hand,0\n0.0,bench/out,dial,0\n";

static const char by_hand_stations[] =
    "time_s,station,batches,working_s,starved_s,blocked_s,gated_s,stopped_s\n"
    "0.0,bench,0,0.0,0.0,0.0,0.0,0.0\n"
    "15.0,bench,0,0.0,15.0,0.0,0.0,0.0\n"
    "30.0,bench,0,0.0,30.0,0.0,0.0,0.0\n"
    "45.0,bench,0,0.0,45.0,0.0,0.0,0.0\n"
    "60.0,bench,0,0.0,60.0,0.0,0.0,0.0\n";

static const char by_hand_arms[] =
    "time_s,arm,swings,moved,reaching_s,carrying_s,placing_s,returning_s,stopped_s\n"
    "0.0,taker,0,0,0.0,0.0,0.0,0.0,0.0\n"
    "0.0,shelver,0,0,0.0,0.0,0.0,0.0,0.0\n"
    "15.0,taker,0,0,15.0,0.0,0.0,0.0,0.0\n"
    "15.0,shelver,0,0,15.0,0.0,0.0,0.0,0.0\n"
    "30.0,taker,0,0,30.0,0.0,0.0,0.0,0.0\n"
    "30.0,shelver,0,0,30.0,0.0,0.0,0.0,0.0\n"
    "45.0,taker,0,0,44.0,0.0,0.0,0.0,1.0\n"
    "45.0,shelver,0,0,45.0,0.0,0.0,0.0,0.0\n"
    "60.0,taker,0,0,59.0,0.0,0.0,0.0,1.0\n"
    "60.0,shelver,0,0,60.0,0.0,0.0,0.0,0.0\n";

/* Springs from a bin to a bench and on to a shelf, at times that are drawn; it never ends by
 * itself. */
static const char by_chance[] =
    "title: Springs by chance\n"
    "run: {for: 5 min, seed: 3, warm_up: 1 min}\n"
    "items: [spring, movement]\n"
    "loops: [{name: ring, cells: 60, rate: 6.5}]\n"
    "chests: [{name: bin, start: {spring: 20}, limits: {spring: 90}}, {name: shelf, capacity: 9}]\n"
    "stations: [{name: bench, takes: {spring: 2}, makes: {movement: 1}, time: {uniform: [1, 3]}}]\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: ring@5, items: [spring], swing: {normal: [1, 0.2]},\n"
    "     breaks: {after: {exponential: 40 s}, repair: {exponential: 5 s}},\n"
    "     gate: {chest: shelf, item: movement, below: 6}}\n"
    "  - {name: taker, from: ring@30, to: bench, swing: 0.5 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 0.7 s}\n"
    "supplies: [{name: delivery, chest: bin, item: spring, every: {exponential: 1.5 s}}]\n"
    "demands: [{name: orders, chest: shelf, item: movement, every: {exponential: 4 s}}]\n"
    "expect: {jam: false, made: {movement: {at_least: 1}}, demand_met: {movement: {at_most: 1}}}\n";

/* Hands are fed while there are fewer than five dials; nobody asks for dials. */
static const char gated_bench[] =
    "run: {for: 5 min}\nitems: [hand, dial]\nchests: [{name: bin, start: {hand: 900}},\n"
    "  {name: shelf}]\nloops: [{name: ring, cells: 20, rate: 4}]\n"
    "stations: [{name: bench, takes: {hand: 1}, makes: {dial: 1}, time: 1 s}]\narms:\n"
    "  - {name: feeder, from: bin, to: ring@2, swing: 1 s,\n"
    "     gate: {chest: shelf, item: dial, below: 5}}\n"
    "  - {name: taker, from: ring@9, to: bench, swing: 1 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\n"
    "supplies: [{name: late, chest: bin, item: dial, every: 0.5 s, first: 1 d}]\n"
    "expect: {starved: []}\n";

/* ---- a place to work in, and a child in it ---- */

static char place[TEXT_BYTES], program[TEXT_BYTES];

static void write_text(const char *path, const char *text) {
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

static void make_place(void) {
    const char *named = getenv("LOOPWRIGHT");
    named = named != NULL ? named : "build/release/loopwright";
    char here[TEXT_BYTES / 2] = "";
    ck_assert_ptr_nonnull(getcwd(here, sizeof here));
    snprintf(program, sizeof program, "%s/%s", named[0] == '/' ? "" : here, named);
    strcpy(place, "/tmp/test_run_XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(place));
    ck_assert_int_eq(chdir(place), 0);
    write_text("hand.yaml", by_hand);
    write_text("chance.yaml", by_chance);
}

static void remove_tree(const char *path) {
    DIR *names = opendir(path);
    if (names == NULL) {
        unlink(path);
        return;
    }
    for (struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names)) {
        char below[2 * TEXT_BYTES];
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        snprintf(below, sizeof below, "%s/%s", path, entry->d_name);
        remove_tree(below);
    }
    closedir(names);
    rmdir(path);
}

static void remove_place(void) { remove_tree(place); }

static void redirect(const char *path, int flags, int to) {
    int file = open(path, flags, 0600);
    if (file < 0 || dup2(file, to) < 0)
        _exit(126);
    close(file);
}

/* What a child is given beside its words. */
struct setting {
    const char *input, *output; /* paths; NULL: nothing, "printed" */
    rlim_t file_bytes;          /* most that a file may hold; 0: no bound */
};

static pid_t start(const struct setting *setting, char *const *word) {
    fflush(NULL);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child > 0)
        return child;
    redirect(setting->input != NULL ? setting->input : "/dev/null", O_RDONLY, STDIN_FILENO);
    redirect(setting->output != NULL ? setting->output : "printed", O_WRONLY | O_CREAT | O_TRUNC,
             STDOUT_FILENO);
    redirect("complained", O_WRONLY | O_CREAT | O_TRUNC, STDERR_FILENO);
    struct rlimit limit = {setting->file_bytes, setting->file_bytes};
    if (setting->file_bytes > 0)
        setrlimit(RLIMIT_FSIZE, &limit);
    execv(program, word);
    _exit(127);
}

static int status_of(pid_t child) {
    int status = 0;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 1000 + WTERMSIG(status);
}

/* Runs the program with the words of one line, cut at its blanks. */
static int run_with(struct setting setting, const char *line) {
    char copy[TEXT_BYTES], *word[ARGUMENTS_MAX] = {program};
    snprintf(copy, sizeof copy, "%s", line);
    size_t count = 1;
    for (char *at = strtok(copy, " "); at != NULL; at = strtok(NULL, " "))
        word[count++] = at;
    return status_of(start(&setting, word));
}

static int run(const char *line) { return run_with((struct setting){0}, line); }

static pid_t start_long_run(void) {
    char *word[] = {program, "run", "chance.yaml", "--for", "3000d", "--out", "out", NULL};
    return start(&(struct setting){0}, word);
}

/* Waits until the hidden directory holds rows on the disk, or the run has ended. */
static void wait_for_rows(pid_t child) { errand_await_bytes(child, ".out.unfinished/arms.csv", 1); }

/* ---- what was written ---- */

static void check_text(const char *path, const char *text) {
    char *found = story_text(path);
    ck_assert_str_eq(found, text);
    free(found);
}

static bool says(const char *path, const char *words) {
    char *text = story_text(path);
    bool found = strstr(text, words) != NULL;
    free(text);
    return found;
}

static void check_same_file(const char *first, const char *second) {
    char *text = story_text(first);
    check_text(second, text);
    free(text);
}

static const char *const run_file[] = {"occupancy.csv", "lanes.csv",     "levels.csv",
                                       "stations.csv",  "arms.csv",      "events.csv",
                                       "summary.json",  "scenario.yaml", "start.capsule"};
enum { RUN_FILES = sizeof run_file / sizeof *run_file };

static void check_same_run(const char *first, const char *second) {
    for (int i = 0; i < RUN_FILES; i++) {
        char one[TEXT_BYTES], other[TEXT_BYTES];
        snprintf(one, sizeof one, "%s/%s", first, run_file[i]);
        snprintf(other, sizeof other, "%s/%s", second, run_file[i]);
        check_same_file(one, other);
    }
}

static int names_in(const char *path) {
    int count = -2;
    DIR *names = opendir(path);
    ck_assert_msg(names != NULL, "%s is missing", path);
    while (readdir(names) != NULL)
        count++;
    closedir(names);
    return count;
}

static int hidden_names(void) {
    int count = -2;
    DIR *names = opendir(".");
    for (struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names))
        count += entry->d_name[0] == '.';
    closedir(names);
    return count;
}

/* ---- tables ---- */

START_TEST(tables_are_those_worked_out_by_hand) {
    ck_assert_int_eq(run("run hand.yaml --out out"), 0);
    check_text("out/events.csv", by_hand_events);
    check_text("out/occupancy.csv", by_hand_occupancy);
    check_text("out/lanes.csv", by_hand_lanes);
    check_text("out/levels.csv", by_hand_levels);
    check_text("out/stations.csv", by_hand_stations);
    check_text("out/arms.csv", by_hand_arms);
    ck_assert_int_eq(names_in("out"), RUN_FILES);
    ck_assert_int_eq(hidden_names(), 0);
}
END_TEST

/* Springs are in the bin, and dials come to it by a mover; hands lie nowhere, hooks are dropped
 * onto the loop alone. The feeder may carry all four, the second one what the taker brings into its
 * tray: hooks, too. What a station would make of hands is made as far as the table goes. */
START_TEST(occupancy_is_of_what_can_come_there) {
    write_text(
        "reach.yaml",
        "run: {for: 1 s}\nitems: [spring, dial, hand, hook, movement]\n"
        "loops: [{name: ring, cells: 10, rate: 2}, {name: other, cells: 10, rate: 2}]\n"
        "chests: [{name: bin, start: {spring: 1}}, {name: store, start: {dial: 1}},\n"
        "  {name: tray}]\n"
        "stations: [{name: bench, takes: {hand: 1}, makes: {movement: 1}, time: 1 s}]\narms:\n"
        "  - {name: mover, from: store, to: bin, items: [dial, hand], swing: 1 s}\n"
        "  - {name: feeder, from: bin, to: ring@2, items: [spring, dial, hand, hook],\n"
        "     swing: 1 s}\n"
        "  - {name: taker, from: ring@4, to: tray, swing: 1 s}\n"
        "  - {name: second, from: tray, to: other@2, swing: 1 s}\n"
        "  - {name: third, from: bench, to: other@5, swing: 1 s}\n"
        "incidents: [{at: 9 min, drop: {item: hook, count: 1, lane: ring}}]\n");
    ck_assert_int_eq(run("run reach.yaml --out out"), 0);
    check_text("out/occupancy.csv", "time_s,loop,lane,item,count,cells,share\n"
                                    "0.0,ring,lane,spring,0,0,0\n0.0,ring,lane,dial,0,0,0\n"
                                    "0.0,ring,lane,hook,0,0,0\n"
                                    "0.0,other,lane,spring,0,0,0\n0.0,other,lane,dial,0,0,0\n"
                                    "0.0,other,lane,hook,0,0,0\n0.0,other,lane,movement,0,0,0\n"
                                    "1.0,ring,lane,spring,1,1,0.1\n1.0,ring,lane,dial,0,0,0\n"
                                    "1.0,ring,lane,hook,0,0,0\n"
                                    "1.0,other,lane,spring,0,0,0\n1.0,other,lane,dial,0,0,0\n"
                                    "1.0,other,lane,hook,0,0,0\n1.0,other,lane,movement,0,0,0\n");
}
END_TEST

/* One spring goes from a bin by a loop of ten cells (two a second) to a tray: picked at 0, carried
 * for half a swing, put down at cell 2 in tick 50, when no step is due; the step of tick 50 was
 * made. Two steps on, in tick 150, it stands at cell 4, is picked, and is in the tray in tick
 * 200. */
START_TEST(moves_are_those_worked_out_by_hand) {
    write_text("one.yaml",
               "run: {for: 3 s}\nitems: [spring]\nloops: [{name: ring, cells: 10, rate: 2}]\n"
               "chests: [{name: bin, start: {spring: 1}}, {name: tray}]\narms:\n"
               "  - {name: feeder, from: bin, to: ring@2, swing: 1 s}\n"
               "  - {name: taker, from: ring@4, to: tray, swing: 1 s}\n");
    ck_assert_int_eq(run("run one.yaml --out out --moves"), 0);
    check_text("out/moves.csv", "tick,arm,act,item,count,place,cell\n"
                                "0,feeder,pick,spring,1,bin,\n"
                                "50,feeder,place,spring,1,ring/lane,2\n"
                                "150,taker,pick,spring,1,ring/lane,4\n"
                                "200,taker,place,spring,1,tray,\n");
    check_text("out/levels.csv", "time_s,place,item,count\n"
                                 "0.0,bin,spring,0\n0.0,tray,spring,0\n2.0,tray,spring,1\n");
    ck_assert_int_eq(names_in("out"), RUN_FILES + 1);
}
END_TEST

START_TEST(breakdown_is_told_as_stop_and_start) {
    write_text("breaks.yaml", "run: {for: 30 s}\nitems: [spring]\nchests: [{name: a}, {name: b}]\n"
                              "arms: [{name: mover, from: a, to: b, swing: 1 s,\n"
                              "        breaks: {after: 8 s, repair: 3 s}}]\n");
    ck_assert_int_eq(run("run breaks.yaml --out out"), 0);
    check_text("out/events.csv", "start_s,end_s,event,subject,loop,lane,item,count,detail\n"
                                 "8.0,8.0,stop,mover,,,,,cause=breaks\n"
                                 "11.0,11.0,start,mover,,,,,cause=breaks\n"
                                 "19.0,19.0,stop,mover,,,,,cause=breaks\n"
                                 "22.0,22.0,start,mover,,,,,cause=breaks\n"
                                 "30.0,30.0,stop,mover,,,,,cause=breaks\n");
}
END_TEST

START_TEST(same_seed_gives_the_same_bytes) {
    ck_assert_int_eq(run("run chance.yaml --out one"), 0);
    ck_assert_int_eq(run("run --out=two -- chance.yaml"), 0);
    check_same_run("one", "two");
    ck_assert_int_eq(run("run chance.yaml --seed 4 --out three"), 0);
    char *third = story_text("three/arms.csv"), *first = story_text("one/arms.csv");
    ck_assert_str_ne(first, third);
    free(first);
    free(third);
}
END_TEST

START_TEST(scenario_of_a_run_gives_the_run_again) {
    ck_assert_int_eq(run("run chance.yaml --seed 9 --for 0:03:20.5 --set chests.shelf.capacity=7"
                         " --set watch.every=7s --out one"),
                     0);
    ck_assert_int_eq(run("run one/scenario.yaml --out two"), 0);
    check_same_run("one", "two");
    ck_assert(says("one/summary.json", "\"seed\": 9,"));
    ck_assert(says("one/summary.json", "\"ticks\": 20050,"));
}
END_TEST

START_TEST(scenario_may_come_on_standard_input) {
    ck_assert_int_eq(run("run chance.yaml --out one"), 0);
    ck_assert_int_eq(run_with((struct setting){.input = "chance.yaml"}, "run - --out two"), 0);
    check_same_run("one", "two");
}
END_TEST

/* ---- the summary ---- */

static void check_keys(json_t *object, const char *const *key) {
    const char *found;
    json_t *value;
    ck_assert(json_is_object(object));
    json_object_foreach(object, found, value) {
        ck_assert_msg(*key != NULL, "`%s` is one key too many", found);
        ck_assert_str_eq(found, *key++);
    }
    ck_assert_msg(*key == NULL, "`%s` is missing", *key);
}

static double sum_of(json_t *object, const char *const *key) {
    double sum = 0;
    for (; *key != NULL; key++)
        sum += json_number_value(json_object_get(object, *key));
    return sum;
}

static const char *const summary_key[] = {
    "title", "version",  "seed", "ticks_per_second", "ticks", "moves", "verdict", "items",
    "lanes", "stations", "arms", "events",           NULL};
static const char *const verdict_key[] = {"holds", "jams", "deadlocks", "expect", NULL};
static const char *const point_key[] = {"what", "expected", "found", "holds", NULL};
static const char *const item_key[] = {"made", "consumed", "supplied",     "demanded", "met",
                                       "owed", "lost",     "made_per_min", "left",     NULL};
static const char *const lane_key[] = {"mean_share", "max_share", "items", NULL};
static const char *const station_key[] = {"batches", "working", "starved", "blocked",
                                          "gated",   "stopped", NULL};
static const char *const arm_key[] = {"swings",  "moved",     "reaching", "carrying",
                                      "placing", "returning", "stopped",  NULL};
static const char *const event_key[] = {"starved", "blocked", "congested", "jam", "deadlock",
                                        "rest",    "clogged", "emptied",   NULL};

static json_t *part(json_t *summary, const char *section, const char *name) {
    json_t *found = json_object_get(json_object_get(summary, section), name);
    ck_assert_msg(found != NULL, "there is no %s of %s", name, section);
    return found;
}

START_TEST(summary_has_the_keys_of_the_interface_in_their_order) {
    ck_assert_int_eq(run("run chance.yaml --out out --json"), 0);
    check_same_file("printed", "out/summary.json");
    json_t *summary = json_load_file("printed", JSON_REJECT_DUPLICATES, NULL);
    ck_assert_ptr_nonnull(summary);
    check_keys(summary, summary_key);
    check_keys(json_object_get(summary, "verdict"), verdict_key);
    json_t *points = json_object_get(json_object_get(summary, "verdict"), "expect");
    ck_assert_uint_eq(json_array_size(points), 3);
    static const char *const what[] = {"jam", "made.movement", "demand_met.movement"};
    for (size_t i = 0; i < 3; i++) {
        check_keys(json_array_get(points, i), point_key);
        ck_assert_str_eq(json_string_value(json_object_get(json_array_get(points, i), "what")),
                         what[i]);
    }
    check_keys(part(summary, "items", "spring"), item_key);
    check_keys(part(summary, "lanes", "ring/lane"), lane_key);
    check_keys(part(summary, "stations", "bench"), station_key);
    check_keys(part(summary, "arms", "taker"), arm_key);
    check_keys(json_object_get(summary, "events"), event_key);
    /* the states of an actor are all its time */
    ck_assert_double_eq_tol(sum_of(part(summary, "stations", "bench"), station_key + 1), 1, 1e-9);
    ck_assert_double_eq_tol(sum_of(part(summary, "arms", "feeder"), arm_key + 2), 1, 1e-9);
    json_decref(summary);
}
END_TEST

START_TEST(summary_leaves_the_warm_up_out_of_shares_only) {
    /* The taker of hand.yaml stands from 30 to 31 s, the bench starves always. */
    ck_assert_int_eq(run("run hand.yaml --json --set run.warm_up=30s"), 0);
    json_t *summary = json_load_file("printed", 0, NULL);
    json_t *taker = part(summary, "arms", "taker");
    ck_assert_double_eq_tol(json_real_value(json_object_get(taker, "stopped")), 1 / 30.0, 1e-12);
    json_t *outer = part(summary, "lanes", "ring/outer"), *belt = part(summary, "lanes", "belt");
    ck_assert(json_real_value(json_object_get(outer, "max_share")) == 0); /* 1 from 10 to 20 s */
    ck_assert_double_eq_tol(json_real_value(json_object_get(belt, "mean_share")), 19 / 120.0,
                            1e-12); /* a quarter for 19 of 30 s */
    ck_assert_int_eq(json_integer_value(part(summary, "events", "clogged")), 1);
    /* ten hands fell and were cleared, one dial fell and lies there */
    json_t *hand = part(summary, "items", "hand"), *dial = part(summary, "items", "dial");
    ck_assert_int_eq(json_integer_value(json_object_get(hand, "left")), 0);
    ck_assert_int_eq(json_integer_value(json_object_get(dial, "left")), 1);
    json_decref(summary);
    ck_assert_int_eq(run("run hand.yaml --json"), 0);
    summary = json_load_file("printed", 0, NULL);
    outer = part(summary, "lanes", "ring/outer");
    ck_assert(json_real_value(json_object_get(outer, "max_share")) == 1);
    ck_assert_double_eq_tol(json_real_value(json_object_get(outer, "mean_share")), 10 / 60.0,
                            1e-12);
    json_decref(summary);
}
END_TEST

/* Each hand that is taken makes a dial; at the end the bench waits, with nothing under way. */
START_TEST(summary_counts_what_is_left) {
    write_text("gated.yaml", gated_bench);
    ck_assert_int_eq(run("run gated.yaml --json"), 0);
    json_t *summary = json_load_file("printed", 0, NULL);
    json_t *hand = part(summary, "items", "hand"), *dial = part(summary, "items", "dial");
    long long hands = json_integer_value(json_object_get(hand, "left"));
    long long dials = json_integer_value(json_object_get(dial, "left"));
    ck_assert_int_eq(hands + dials, 900);
    ck_assert_int_ge(dials, 5);
    ck_assert_int_eq(dials, json_integer_value(json_object_get(dial, "made")));
    ck_assert_int_eq(dials, json_integer_value(json_object_get(hand, "consumed")));
    json_decref(summary);
}
END_TEST

/* Four springs fill the ring, a fifth waits in the hand: a jam and a deadlock, until somebody
 * clears the ring at 20 s. They count if they end no earlier than the warm-up. */
static const char cleared_jam[] =
    "run: {for: 1 min}\nwatch: {jam_after: 5 s}\nitems: [spring]\n"
    "loops: [{name: ring, cells: 4, rate: 4}]\nchests: [{name: bin, start: {spring: 5}}]\n"
    "arms: [{name: feeder, from: bin, to: ring@0, swing: 0.1 s}]\n"
    "incidents: [{at: 20 s, clear: {lane: ring}}]\n";

static const struct {
    const char *line;
    int status, counted;
} warm_up[] = {
    {"run jam.yaml --json", 1, 1},
    {"run jam.yaml --json --set run.warm_up=20s", 1, 1},
    {"run jam.yaml --json --set run.warm_up=20.01s", 0, 0},
    {"run jam.yaml --json --set expect.jam=true", 0, 1},
    {"run jam.yaml --json --set expect.deadlock=true", 0, 1},
    {"run jam.yaml --json --set expect.deadlock=false", 1, 1},
    {"run jam.yaml --json --set incidents.0=null --set run.warm_up=50s", 1, 1}, /* open */
};

START_TEST(jam_of_the_warm_up_does_not_count) {
    write_text("jam.yaml", cleared_jam);
    ck_assert_int_eq(run(warm_up[_i].line), warm_up[_i].status);
    json_t *summary = json_load_file("printed", 0, NULL);
    json_t *verdict = json_object_get(summary, "verdict");
    ck_assert_int_eq(json_integer_value(json_object_get(verdict, "jams")), warm_up[_i].counted);
    ck_assert_int_eq(json_integer_value(json_object_get(verdict, "deadlocks")),
                     warm_up[_i].counted);
    ck_assert_int_eq(json_is_true(json_object_get(verdict, "holds")), warm_up[_i].status == 0);
    ck_assert_int_eq(json_integer_value(part(summary, "events", "jam")), 1);
    json_decref(summary);
}
END_TEST

START_TEST(summary_is_short_and_ends_with_the_caution) {
    ck_assert_int_eq(run("run chance.yaml"), 0);
    char *text = story_text("printed");
    for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n"))
        ck_assert_msg(strlen(line) <= COLUMNS_MAX, "too long: %s", line);
    free(text);
    ck_assert(says("printed", "It holds: no jam; 3 of 3 expectations came true."));
    ck_assert(says("printed", "ISO 13850"));
    ck_assert(!says("printed", "\033")); /* no colour but on a terminal */
    ck_assert_int_eq(run("run chance.yaml --quiet"), 0);
    check_text("printed", "");
    check_text("complained", "");
    ck_assert_int_eq(run("run chance.yaml --quiet --json"), 0);
    ck_assert(says("printed", "\"verdict\""));
}
END_TEST

/* A word for what came, and the command that says more, as the last line. What is short: five hands
 * a minute reach a bench that would make six, or a bench takes 12 s for what is asked every 10 s.
 */
static const struct {
    const char *line, *says, *last;
} advice[] = {
    {"run jam.yaml", "It does not hold: 1 jam, 1 deadlock.",
     "\nring/lane jammed: run it with --out DIR, then loopwright cause DIR\n"},
    {"run jam.yaml --set expect.jam=true --out john's", "As expected: 1 jam, 1 deadlock; 1 of 1",
     "\nring/lane jammed: loopwright cause 'john'\\''s'\n"},
    {"run gated.yaml --out out", "It holds: no jam; ", "licensed practice.\n"},
    {"run gated.yaml --out out --set stations.bench.time=12s --set supplies=null --set "
     "demands.orders={\"chest\":shelf,\"item\":dial,\"every\":10}",
     "It holds: no jam",
     "\nOrders for dial are short (80 % met; bench works all the time): loopwright cause out\n"},
    {"run hand.yaml --set expect.rest=false --out out", "rest: expected no, found yes",
     "\nbench starved for long: loopwright cause out\n"},
    {"run gated.yaml --set expect.rest=false --out out", "rest: expected no, found yes",
     "\nIt came otherwise than expected: loopwright replay out --show\n"},
};

START_TEST(summary_ends_with_the_command_that_says_more) {
    write_text("jam.yaml", cleared_jam);
    write_text("gated.yaml", gated_bench);
    ck_assert_int_le(run(advice[_i].line), 1);
    char *text = story_text("printed");
    size_t length = strlen(text), last = strlen(advice[_i].last);
    ck_assert_msg(strstr(text, advice[_i].says) != NULL, "%s", text);
    ck_assert_msg(length > last && strcmp(text + length - last, advice[_i].last) == 0, "%s", text);
    free(text);
}
END_TEST

/* Five dials shut the gate of a feeder of one hand a second. By then four more are under way: from
 * its pick on a hand is carried for half a second, rides for 7 cells at 4 a second, is carried to
 * the bench, made into a dial in a second and carried to the shelf, 4.25 s together. The first
 * sample is taken when the first hand is gone. */
START_TEST(summary_tells_how_low_and_high_chests_went) {
    write_text("gated.yaml", gated_bench);
    ck_assert_int_eq(run("run gated.yaml --set chests.bin.capacity=1000"), 0);
    ck_assert(says("printed", "chest  item  lowest  highest  bound  gates want\n"
                              "shelf  dial       0        9      -  below 5\n"
                              "bin    all      891      899   1000\n"));
    ck_assert_int_eq(run("run gated.yaml --set chests.shelf.limits.dial=20 --set run.warm_up=1min"),
                     0);
    ck_assert(says("printed", "shelf  dial       9        9     20  below 5\n"));
}
END_TEST

START_TEST(summary_cuts_no_name) {
    write_text("gated.yaml", gated_bench);
    ck_assert_int_eq(run("run gated.yaml --set "
                         "arms.the-feeder-with-the-long-name-of-its-own-that-goes-on="
                         "{\"from\":bin,\"to\":ring@3,\"swing\":1}"),
                     0);
    ck_assert(
        says("printed", "the-feeder-with-the-long-name-of-its-own-that-goes-on  ring/lane@3"));
}
END_TEST

START_TEST(run_within_its_warm_up_says_what_counts) {
    ck_assert_int_eq(run("run chance.yaml --for 30s --set expect=null"), 0);
    ck_assert(says("printed", "The run ended within its warm-up of 0:01:00: of jams only those"));
    ck_assert_int_eq(run("run chance.yaml --for 61s --set expect=null"), 0);
    ck_assert(!says("printed", "within its warm-up"));
    ck_assert_int_eq(run("run chance.yaml --jobs 2"), 2);
}
END_TEST

/* ---- starvations that lasted ---- */

/* The same, but the hands come late. A starvation that begins at 10 s of 300 lasted if it is longer
 * than 145 s. Later, the bench is shut off by its own product. */
static const char late_hands[] = "chests.bin.start=null --set supplies.late.item=hand";

static const struct {
    bool late;
    const char *set;
    int status;
} lasting[] = {
    {false, "run.seed=1", 0},              /* shut off by its own product: */
    {false, "expect.starved=[bench]", 1},  /* so it is not one that lasted */
    {false, "chests.bin.start.hand=3", 1}, /* nothing left to feed */
    {false, "chests.bin.start.hand=3 --set expect.starved=[bench]", 0},
    {false, "arms.feeder.gate.item=hand --set arms.feeder.gate.below=0", 1}, /* not its product */
    {true, "supplies.late.first=140s", 0}, /* starves until 143 s */
    {true, "supplies.late.first=165s", 1}, /* until 168 s */
    {true, "supplies.late.first=165s --set expect.starved=[bench]", 0},
};

START_TEST(starvation_that_nobody_minds_is_none) {
    char line[TEXT_BYTES];
    write_text("gated.yaml", gated_bench);
    snprintf(line, sizeof line, "run gated.yaml --set %s --set %s",
             lasting[_i].late ? late_hands : "run.seed=2", lasting[_i].set);
    ck_assert_int_eq(run(line), lasting[_i].status);
}
END_TEST

/* ---- exit status ---- */

static const struct {
    const char *line;
    int status;
    const char *complaint; /* part of what standard error says */
} outcome[] = {
    {"run hand.yaml", 0, ""},
    {"run hand.yaml --set expect.rest=true", 0, ""},
    {"run hand.yaml --set expect.rest=false", 1, ""},
    {"run hand.yaml --set expect.on_lane.ring/outer.at_least=1", 1, ""},
    {"--help", 0, ""},
    {"--version", 0, ""},
    {"run --help nowhere.yaml --seed 5", 0, ""},
    {"run hand.yaml --version", 0, ""},
    {"", 2, "Usage"},
    {"rum hand.yaml", 2, "did you mean `run`?"},
    {"run", 2, "a SCENARIO is missing"},
    {"run hand.yaml chance.yaml", 2, "both `hand.yaml` and `chance.yaml`"},
    {"run hand.yaml --quite", 2, "did you mean `--quiet`?"},
    {"run hand.yaml -x", 2, "unknown option `-x`"},
    {"run hand.yaml -for 3", 2, "did you mean `--for`?"},
    {"run hand.yaml -o", 2, "`--out` needs a directory, as in --out run-1"},
    {"run hand.yaml -q", 0, ""},
    {"-h", 0, ""},
    {"-V", 0, ""},
    {"run -Vq", 0, ""},
    {"help", 0, ""},
    {"help run", 0, ""},
    {"help rum", 2, "did you mean `run`?"},
    {"schema extra", 2, "it takes no `extra`"},
    {"run --help=al", 2, "`--help` takes no value"},
    {"run hand.yaml --for", 2, "`--for` needs a duration, as in --for 30min"},
    {"run hand.yaml --for=", 2, "`--for` needs a duration"},
    {"run hand.yaml --for soon", 2, "not `soon`"},
    {"run hand.yaml --seed -1", 2, "not `-1`"},
    {"run hand.yaml --seed 9007199254740992", 2, "not `9007199254740992`"},
    {"run hand.yaml --quiet=yes", 2, "`--quiet` takes no value"},
    {"run hand.yaml --moves", 2, "add --out DIR"},
    {"run hand.yaml --set chests.bim.capacity=3", 3, "--set chests.bim.capacity=3"},
    {"run hand.yaml --set chests.bin.capacity=many", 3, "--set chests.bin.capacity=many"},
    {"run hand.yaml --out out --set arms=3", 3, "error"},
    {"run nowhere.yaml", 4, "nowhere.yaml"},
    {"run hand.yaml --out nowhere/out", 4, "nowhere"},
    {"run hand.yaml --out hand.yaml", 4, "hand.yaml"},
    {"run hand.yaml --out .", 4, "holds `"},
};

START_TEST(exit_status_says_what_was_wrong) {
    ck_assert_msg(run(outcome[_i].line) == outcome[_i].status, "%s", outcome[_i].line);
    ck_assert_msg(says("complained", outcome[_i].complaint), "%s", outcome[_i].line);
    if (outcome[_i].status >= 2)
        check_text("printed", "");
    else
        ck_assert(!says("complained", "error"));
    ck_assert_int_eq(names_in("."), 4); /* two scenarios, what was printed, what was complained */
}
END_TEST

START_TEST(help_fits_the_screen) {
    static const char *const line[] = {"--help", "run --help"};
    ck_assert_int_eq(run(line[_i]), 0);
    char *text = story_text("printed");
    for (char *row = strtok(text, "\n"); row != NULL; row = strtok(NULL, "\n"))
        ck_assert_msg(strlen(row) <= COLUMNS_MAX, "too long: %s", row);
    free(text);
}
END_TEST

START_TEST(output_that_is_lost_is_an_error) {
    ck_assert_int_eq(run_with((struct setting){.output = "/dev/full"}, "run hand.yaml"), 4);
    ck_assert(says("complained", "standard output: No space left"));
}
END_TEST

/* ---- the directory ---- */

START_TEST(directory_of_somebody_else_is_left_alone) {
    ck_assert_int_eq(mkdir("mine", 0777), 0);
    write_text("mine/notes.txt", "mine");
    ck_assert_int_eq(run("run hand.yaml --out mine"), 4);
    ck_assert(says("complained", "mine: holds `notes.txt`"));
    check_text("mine/notes.txt", "mine");
    ck_assert_int_eq(names_in("mine"), 1);
    ck_assert_int_eq(hidden_names(), 0);
}
END_TEST

START_TEST(earlier_run_is_replaced) {
    ck_assert_int_eq(run("run hand.yaml --out out --moves"), 0);
    ck_assert_int_eq(run("run chance.yaml --out out"), 0);
    ck_assert_int_eq(run("run chance.yaml --out other"), 0);
    check_same_run("out", "other");
    ck_assert_int_eq(names_in("out"), RUN_FILES);
    ck_assert_int_eq(hidden_names(), 0);
}
END_TEST

START_TEST(run_that_fails_what_was_expected_is_kept) {
    ck_assert_int_eq(run("run hand.yaml --set expect.rest=false --out out"), 1);
    ck_assert_int_eq(names_in("out"), RUN_FILES);
}
END_TEST

static void make_two_runs(void) {
    ck_assert_int_eq(run("run hand.yaml --out out"), 0);
    ck_assert_int_eq(run("run hand.yaml --out same"), 0);
}

START_TEST(killed_run_leaves_the_earlier_one) {
    make_two_runs();
    pid_t child = start_long_run();
    wait_for_rows(child);
    kill(child, SIGKILL);
    ck_assert_int_eq(status_of(child), 1000 + SIGKILL);
    check_same_run("out", "same");
    ck_assert_int_eq(names_in("out"), RUN_FILES);
    ck_assert_int_eq(run("run chance.yaml --out out"), 0);
    ck_assert_int_eq(hidden_names(), 0);
    ck_assert_int_eq(run("run chance.yaml --out same"), 0);
    check_same_run("out", "same");
}
END_TEST

static const int stop_signal[] = {SIGINT, SIGTERM, SIGHUP};

START_TEST(stopped_run_leaves_nothing_but_the_earlier_one) {
    make_two_runs();
    pid_t child = start_long_run();
    wait_for_rows(child);
    kill(child, stop_signal[_i]);
    ck_assert_int_eq(status_of(child), 128 + stop_signal[_i]);
    check_same_run("out", "same");
    ck_assert_int_eq(hidden_names(), 0);
}
END_TEST

START_TEST(second_run_to_the_same_place_is_refused) {
    pid_t child = start_long_run();
    wait_for_rows(child);
    ck_assert_int_eq(run("run hand.yaml --out out"), 4);
    ck_assert(says("complained", "another run is being written there"));
    kill(child, SIGTERM);
    ck_assert_int_eq(status_of(child), 128 + SIGTERM);
    ck_assert_int_eq(hidden_names(), 0);
}
END_TEST

/* A bound on the size of files acts as a full disk: at the first large write, in the middle of the
 * last small one, and for the files that are written at the end. */
static const rlim_t disk_bytes[] = {1, 100, 1200, 5000, 20000};

START_TEST(full_disk_leaves_the_earlier_run) {
    make_two_runs();
    struct setting full = {.file_bytes = disk_bytes[_i]};
    ck_assert_int_eq(run_with(full, "run chance.yaml --out out --moves --quiet"), 4);
    check_same_run("out", "same");
    ck_assert_int_eq(names_in("out"), RUN_FILES);
    ck_assert_int_eq(hidden_names(), 0);
    if (disk_bytes[_i] >= 100) /* else the complaint does not fit either */
        ck_assert(says("complained", "loopwright: out/"));
    if (disk_bytes[_i] >= 100)
        ck_assert(says("complained", "File too large"));
}
END_TEST

START_TEST(full_disk_ends_a_long_run_soon) {
    struct setting full = {.file_bytes = 1 << 20};
    ck_assert_int_eq(run_with(full, "run chance.yaml --for 3000d --out out"), 4);
    ck_assert_int_eq(hidden_names(), 0);
}
END_TEST

#define LOOP(tests, name, list)                                                                    \
    tcase_add_loop_test(tests, name, 0, (int)(sizeof(list) / sizeof *(list)))

static void add_tests(TCase *tests) {
    tcase_add_checked_fixture(tests, make_place, remove_place);
    tcase_add_test(tests, tables_are_those_worked_out_by_hand);
    tcase_add_test(tests, occupancy_is_of_what_can_come_there);
    tcase_add_test(tests, moves_are_those_worked_out_by_hand);
    tcase_add_test(tests, breakdown_is_told_as_stop_and_start);
    tcase_add_test(tests, same_seed_gives_the_same_bytes);
    tcase_add_test(tests, scenario_of_a_run_gives_the_run_again);
    tcase_add_test(tests, scenario_may_come_on_standard_input);
    tcase_add_test(tests, summary_has_the_keys_of_the_interface_in_their_order);
    tcase_add_test(tests, summary_leaves_the_warm_up_out_of_shares_only);
    tcase_add_test(tests, summary_counts_what_is_left);
    LOOP(tests, jam_of_the_warm_up_does_not_count, warm_up);
    tcase_add_test(tests, summary_is_short_and_ends_with_the_caution);
    tcase_add_loop_test(tests, summary_ends_with_the_command_that_says_more, 0,
                        (int)(sizeof advice / sizeof *advice));
    tcase_add_test(tests, summary_tells_how_low_and_high_chests_went);
    tcase_add_test(tests, summary_cuts_no_name);
    tcase_add_test(tests, run_within_its_warm_up_says_what_counts);
    LOOP(tests, starvation_that_nobody_minds_is_none, lasting);
    LOOP(tests, exit_status_says_what_was_wrong, outcome);
    tcase_add_loop_test(tests, help_fits_the_screen, 0, 2);
    tcase_add_test(tests, output_that_is_lost_is_an_error);
    tcase_add_test(tests, directory_of_somebody_else_is_left_alone);
    tcase_add_test(tests, earlier_run_is_replaced);
    tcase_add_test(tests, run_that_fails_what_was_expected_is_kept);
    tcase_add_test(tests, killed_run_leaves_the_earlier_one);
    LOOP(tests, stopped_run_leaves_nothing_but_the_earlier_one, stop_signal);
    tcase_add_test(tests, second_run_to_the_same_place_is_refused);
    LOOP(tests, full_disk_leaves_the_earlier_run, disk_bytes);
    tcase_add_test(tests, full_disk_ends_a_long_run_soon);
}

int main(void) { return suite_main("run", add_tests); }
