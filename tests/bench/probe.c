/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/bench/probe.c - runs the benchmark scenario once and prints what it took, one number a
 * line.
 *
 *   probe ring [OPTION...]      writes the scenario
 *   probe moves [OPTION...]     runs it: moves, and the processor time of each; also run under
 *                               callgrind, which then counts in probe_advance alone
 *   probe engines [OPTION...]   runs it in both engines: the ratio of their times
 *   probe hand [OPTION...]      runs it also in an engine that knows nothing else: the ratio of the
 *                               times; callgrind counts in probe_hand alone
 *   probe read [OPTION...]      reads it: the time of a byte; also run under callgrind, which then
 *                               counts in probe_read alone
 *   probe parse [OPTION...]     has libyaml alone go through it; callgrind counts in probe_parse
 *   probe memory [OPTION...]    bytes of scenario and world, and what is added while it runs
 *   probe rows DIR [OPTION...]  runs it without and with all tables, which go to DIR: the time of
 *                               a row
 *
 * OPTIONs are those of tests/bench/ring.h. Times are processor times, not wall times. */
#include <inttypes.h>
#include <malloc.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <yaml.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/bench/hand.h"
#include "tests/bench/ring.h"
#include "tests/exact/literal.h"
#include "tools/base/directory.h"
#include "tools/record/record.h"

/* A run with tables is short and is repeated; the fastest counts. */
enum { ROW_RUNS = 5 };

static double now_ns(void) {
    struct timespec time;
    require(clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time) == 0);
    return (double)time.tv_sec * 1e9 + (double)time.tv_nsec;
}

static struct scenario *read_text(const char *text, size_t length) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, length, "ring", NULL, 0, &faults);
    if (scenario == NULL)
        fprintf(stderr, "probe: %s\n", faults.fault[0].what);
    faults_free(&faults);
    return scenario;
}

static struct scenario *read_ring(const struct ring *ring) {
    char *text = ring_text(ring);
    struct scenario *scenario = read_text(text, strlen(text));
    free(text);
    return scenario;
}

/* What callgrind counts. */
__attribute__((noinline)) void probe_advance(struct world *world, int64_t tick);
void probe_advance(struct world *world, int64_t tick) { world_advance(world, tick); }

static int say_moves(const struct scenario *scenario, const struct ring *ring,
                     const char *directory) {
    (void)ring, (void)directory;
    struct world *world = world_new(scenario);
    double start = now_ns();
    probe_advance(world, scenario->run_ticks);
    double spent = now_ns() - start;
    uint64_t moves = world_moves(world);
    printf("moves %" PRIu64 "\nns_a_move %.2f\n", moves, spent / (double)moves);
    world_free(world);
    return 0;
}

/* What a run of the engine and of another one took. Both make the same moves. */
struct duel {
    uint64_t moves;
    double own_ns, other_ns;
};

/* Runs the engine and another one, of which two functions are known. */
static struct duel run_both(const struct scenario *scenario, void *other,
                            void (*advance)(void *other, int64_t tick),
                            uint64_t (*moves)(const void *other)) {
    struct world *world = world_new(scenario);
    double start = now_ns();
    probe_advance(world, scenario->run_ticks);
    double between = now_ns();
    advance(other, scenario->run_ticks);
    double end = now_ns();
    require(world_moves(world) == moves(other));
    struct duel duel = {world_moves(world), between - start, end - between};
    world_free(world);
    return duel;
}

static void advance_literal(void *literal, int64_t tick) { literal_advance(literal, tick); }
static uint64_t moves_of_literal(const void *literal) { return literal_moves(literal); }

static int say_engines(const struct scenario *scenario, const struct ring *ring,
                       const char *directory) {
    (void)ring, (void)directory;
    struct literal *literal = literal_new(scenario);
    struct duel duel = run_both(scenario, literal, advance_literal, moves_of_literal);
    printf("moves %" PRIu64 "\ntimes_as_fast %.1f\n", duel.moves, duel.other_ns / duel.own_ns);
    literal_free(literal);
    return 0;
}

/* What callgrind counts of the engine that knows nothing else. */
__attribute__((noinline)) void probe_hand(void *hand, int64_t tick);
void probe_hand(void *hand, int64_t tick) { hand_advance(hand, tick); }
static uint64_t moves_of_hand(const void *hand) { return hand_moves(hand); }

static int say_hand(const struct scenario *scenario, const struct ring *ring,
                    const char *directory) {
    (void)directory;
    struct hand *hand = hand_new(ring);
    struct duel duel = run_both(scenario, hand, probe_hand, moves_of_hand);
    printf("moves %" PRIu64 "\nhand_ns_a_move %.2f\ntimes_as_slow %.2f\n", duel.moves,
           duel.other_ns / (double)duel.moves, duel.own_ns / duel.other_ns);
    hand_free(hand);
    return 0;
}

__attribute__((noinline)) struct scenario *probe_read(const char *text, size_t length);
struct scenario *probe_read(const char *text, size_t length) {
    return read_text(text, length);
}

static int say_read(const struct scenario *scenario, const struct ring *ring,
                    const char *directory) {
    (void)ring, (void)directory;
    size_t length = strlen(scenario->text);
    double start = now_ns();
    struct scenario *again = probe_read(scenario->text, length);
    double spent = now_ns() - start;
    scenario_free(again);
    printf("bytes %zu\nns_a_byte %.2f\n", length, spent / (double)length);
    return again == NULL;
}

/* Returns how many events the parser finds. */
__attribute__((noinline)) uint64_t probe_parse(const char *text, size_t length);
uint64_t probe_parse(const char *text, size_t length) {
    yaml_parser_t parser;
    uint64_t events = 0;
    require(yaml_parser_initialize(&parser));
    yaml_parser_set_input_string(&parser, (const unsigned char *)text, length);
    for (bool over = false; !over; events++) {
        yaml_event_t event;
        require(yaml_parser_parse(&parser, &event));
        over = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    return events;
}

static int say_parse(const struct scenario *scenario, const struct ring *ring,
                     const char *directory) {
    (void)ring, (void)directory;
    printf("events %" PRIu64 "\n", probe_parse(scenario->text, strlen(scenario->text)));
    return 0;
}

/* ---- memory ---- */

static size_t bytes_held(void) {
    struct mallinfo2 info = mallinfo2();
    return info.uordblks + info.hblkhd;
}

static long resident_kib(void) {
    struct rusage usage;
    require(getrusage(RUSAGE_SELF, &usage) == 0);
    return usage.ru_maxrss;
}

static size_t name_bytes(const char *name) {
    return name == NULL ? 0 : malloc_usable_size((void *)(uintptr_t)name) + sizeof(size_t);
}

/* All texts of the scenario: of its own file, and the names. */
static size_t text_bytes(const struct scenario *scenario) {
    size_t bytes = name_bytes(scenario->text) + name_bytes(scenario->title);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        bytes += name_bytes(scenario->item[i].name);
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        bytes += name_bytes(scenario->chest[i].name);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        bytes += name_bytes(scenario->station[i].name);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        bytes += name_bytes(scenario->arm[i].name);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        bytes += name_bytes(scenario->supply[i].name);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        bytes += name_bytes(scenario->demand[i].name);
    return bytes;
}

static int say_memory(const struct scenario *scenario, const struct ring *ring,
                      const char *directory) {
    (void)ring, (void)directory;
    size_t before = bytes_held();
    struct world *world = world_new(scenario);
    size_t made = bytes_held();
    world_advance(world, scenario->run_ticks / 100);
    long resident = resident_kib();
    size_t began = bytes_held();
    world_advance(world, scenario->run_ticks);
    size_t grown = bytes_held() - began;
    printf("scenario_bytes %zu\ntext_bytes %zu\nworld_bytes %zu\n", before, text_bytes(scenario),
           made - before);
    printf("growth_bytes %zu\ngrowth_kib %ld\n", grown, resident_kib() - resident);
    world_free(world);
    return 0;
}

/* ---- tables ---- */

/* Nanoseconds of a run with samples; `directory` NULL: without tables. */
static double sampled_ns(const struct scenario *scenario, const struct directory *directory) {
    struct world *world = world_new(scenario);
    struct record record;
    require(record_open(&record, scenario, world, directory, directory != NULL));
    double start = now_ns();
    for (int64_t tick = 0; tick <= scenario->run_ticks; tick += scenario->watch.every_ticks) {
        world_advance(world, tick);
        record_sample(&record);
    }
    record_end(&record);
    require(directory == NULL || record_write(&record, "{}"));
    double spent = now_ns() - start;
    record_free(&record);
    world_free(world);
    return spent;
}

static double rows_ns(const struct scenario *scenario, const char *path) {
    struct directory directory;
    if (path == NULL)
        return sampled_ns(scenario, NULL);
    require(directory_begin(&directory, path));
    double spent = sampled_ns(scenario, &directory);
    require(directory_commit(&directory));
    directory_abandon(&directory);
    return spent;
}

static double fastest_ns(const struct scenario *scenario, const char *path) {
    double fastest = rows_ns(scenario, path);
    for (int i = 1; i < ROW_RUNS; i++) {
        double spent = rows_ns(scenario, path);
        fastest = spent < fastest ? spent : fastest;
    }
    return fastest;
}

/* The script counts the rows: they lie in the directory. */
static int say_rows(const struct scenario *scenario, const struct ring *ring, const char *path) {
    (void)ring;
    printf("without_ns %.0f\n", fastest_ns(scenario, NULL));
    printf("with_ns %.0f\n", fastest_ns(scenario, path));
    return 0;
}

/* ---- the program ---- */

static const struct mode {
    const char *name;
    bool wants_directory;
    /* NULL: writes it */
    int (*say)(const struct scenario *scenario, const struct ring *ring, const char *directory);
} mode_table[] = {{"ring", false, NULL},           {"moves", false, say_moves},
                  {"engines", false, say_engines}, {"hand", false, say_hand},
                  {"read", false, say_read},       {"parse", false, say_parse},
                  {"memory", false, say_memory},   {"rows", true, say_rows}};

static const struct mode *find_mode(int count, char **word) {
    for (size_t i = 0; i < sizeof mode_table / sizeof *mode_table && count > 1; i++)
        if (strcmp(word[1], mode_table[i].name) == 0)
            return count > 2 || !mode_table[i].wants_directory ? &mode_table[i] : NULL;
    return NULL;
}

static bool read_ring_options(struct ring *ring, int count, char **word) {
    *ring = ring_default();
    for (int i = 0, used; i < count; i += used)
        if (!ring_set(ring, word[i], i + 1 < count ? word[i + 1] : NULL, &used))
            return false;
    return true;
}

int main(int count, char **word) {
    const struct mode *mode = find_mode(count, word);
    int first = mode != NULL && mode->wants_directory ? 3 : 2;
    struct ring ring;
    if (mode == NULL || !read_ring_options(&ring, count - first, word + first)) {
        fputs("usage: probe ring|moves|engines|hand|read|parse|memory|rows DIR [OPTION...]\n",
              stderr);
        return 2;
    }
    if (mode->say == NULL) {
        ring_write(&ring, stdout);
        return ferror(stdout) || fflush(stdout) != 0;
    }
    struct scenario *scenario = read_ring(&ring);
    if (scenario == NULL)
        return 1;
    int status = mode->say(scenario, &ring, mode->wants_directory ? word[2] : NULL);
    scenario_free(scenario);
    return status;
}
