/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_long.c - long runs: memory does not grow while one goes on, and times late in
 * a run are as exact as early ones. */
#include <check.h>
#include <inttypes.h>
#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "model/scenario/limits.h"
#include "sim/require.h"
#include "tests/bench/ring.h"
#include "tests/common/suite.h"
#include "tests/exact/literal.h"
#include "tests/exact/scatter.h"
#include "tests/unit/history.h"

static struct scenario *read_text(const char *text) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "long", NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%s\n%s", faults.count > 0 ? faults.fault[0].what : "?", text);
    faults_free(&faults);
    return scenario;
}

/* Scenarios that a test draws: seeds 1 .. SCENARIOS. */
enum { SCENARIOS = 300 };

/* ---- memory ---- */

/* There when the address sanitizer's allocator stands in for malloc. */
__attribute__((weak)) size_t __sanitizer_get_current_allocated_bytes(void);

static size_t bytes_held(void) {
    if (__sanitizer_get_current_allocated_bytes != NULL)
        return __sanitizer_get_current_allocated_bytes();
    struct mallinfo2 info = mallinfo2();
    return info.uordblks + info.hblkhd;
}

/* One sector for a day and for an hour; `make bench` runs it for a year. */
START_TEST(a_day_takes_no_more_memory_than_an_hour) {
    struct ring ring = ring_default();
    ring.stagger = true;
    ring.feeder_swing = 1.25;
    ring.run_for = "1 d";
    char *text = ring_text(&ring);
    struct scenario *scenario = read_text(text);
    size_t before = bytes_held();
    struct world *world = world_new(scenario);
    size_t made = bytes_held();
    ck_assert_uint_gt(made, before); /* it does see what is taken */
    world_advance(world, scenario->run_ticks / 24);
    size_t hour = bytes_held();
    uint64_t moves = world_moves(world);
    world_advance(world, scenario->run_ticks);
    size_t day = bytes_held();
    ck_assert_uint_gt(world_moves(world), 20 * moves);
    ck_assert_uint_eq(hour, made);
    ck_assert_uint_eq(day, made);
    world_free(world);
    scenario_free(scenario);
    free(text);
}
END_TEST

/* ---- the same workshop early and late ---- */

/* As late as a run may be that ends within LIMIT_TICKS. */
static int64_t most_late(const struct scenario *scenario) {
    return LIMIT_TICKS - scenario->run_ticks;
}

static void add_incident(struct scenario *scenario, enum incident_kind kind, struct part actor,
                         int64_t tick) {
    scenario->incident[scenario->incident_count++] =
        (struct scenario_incident){.label = require_text("begin"),
                                   .at_tick = tick,
                                   .kind = kind,
                                   .actor = actor,
                                   .chest = NO_INDEX,
                                   .gate = NO_INDEX,
                                   .item = NO_INDEX};
}

static uint32_t add_stops(struct scenario *scenario, enum incident_kind kind, int64_t tick,
                          bool belts_too) {
    const struct {
        enum part_kind kind;
        uint32_t count;
    } actors[] = {{PART_STATION, scenario->station_count},
                  {PART_ARM, scenario->arm_count},
                  {PART_LOOP, scenario->loop_count},
                  {PART_LINE, scenario->line_count}};
    uint32_t added = 0;
    for (size_t i = 0; i < (belts_too ? 4 : 2); i++)
        for (uint32_t k = 0; k < actors[i].count; k++, added++)
            add_incident(scenario, kind, (struct part){actors[i].kind, k}, tick);
    return added;
}

static int64_t mean_ticks(const struct span *span) {
    return span_is_random(span) ? span->mean_ticks : span->ticks;
}

static void take_away(const struct breaks **breaks) {
    scenario_breaks_free(*breaks);
    *breaks = &scenario_never_breaks;
}

static void delay_stream(struct scenario_stream *stream, int64_t late) {
    if (stream->first_tick == NOT_GIVEN) /* else an interval from 0 would be drawn */
        stream->first_tick = mean_ticks(&stream->every);
    stream->first_tick += late;
    stream->from_tick += late;
    if (stream->until_tick != NO_LIMIT)
        stream->until_tick += late;
    take_away(&stream->breaks);
}

static void delay_incident(struct scenario_incident *incident, int64_t late) {
    if (!incident->repeats) {
        incident->at_tick += late;
        return;
    }
    if (incident->first_tick == NOT_GIVEN)
        incident->first_tick = mean_ticks(&incident->every);
    incident->first_tick += late;
}

/* Breakdowns count from tick 0, whenever the rest begins. */
static void take_away_breaks(struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        take_away(&scenario->arm[i].breaks);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        take_away(&scenario->station[i].breaks);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        take_away(&scenario->loop[i].breaks);
    for (uint32_t i = 0; i < scenario->line_count; i++)
        take_away(&scenario->line[i].breaks);
}

/* Makes all begin in tick `late`: what works (and the belts, if they are to stand) is stopped in
 * tick 0 and started then, and all that comes from outside comes so much later. Returns how many
 * incidents do that; they are first. */
static uint32_t delay_scenario(struct scenario *scenario, int64_t late, bool belts_stand) {
    struct scenario_incident *before = scenario->incident;
    uint32_t count_before = scenario->incident_count;
    uint32_t actors =
        scenario->loop_count + scenario->line_count + scenario->station_count + scenario->arm_count;
    scenario->incident = require_memory(count_before + 2 * (size_t)actors, sizeof *before);
    scenario->incident_count = 0;
    uint32_t added = add_stops(scenario, INCIDENT_STOP, 0, belts_stand);
    added += add_stops(scenario, INCIDENT_START, late, belts_stand);
    for (uint32_t i = 0; i < count_before; i++) {
        delay_incident(&before[i], late);
        scenario->incident[scenario->incident_count++] = before[i];
    }
    free(before);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        delay_stream(&scenario->supply[i], late);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        delay_stream(&scenario->demand[i], late);
    take_away_breaks(scenario);
    scenario->run_ticks += late;
    return added;
}

/* Totals of a late run are those of an early one, but for the ticks before it began. */
static void compare_totals(const struct world *early, const struct world *late,
                           const struct scenario *scenario, int64_t late_ticks) {
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct arm_totals a = world_arm_totals(early, i), b = world_arm_totals(late, i);
        a.ticks[ARM_STOPPED] += late_ticks;
        ck_assert_mem_eq(&a, &b, sizeof a);
    }
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        struct station_totals a = world_station_totals(early, i), b = world_station_totals(late, i);
        a.ticks[STATION_STOPPED] += late_ticks;
        ck_assert_mem_eq(&a, &b, sizeof a);
    }
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        struct place lane = {PLACE_LANE, i, 0};
        ck_assert(world_track_totals(early, lane).cell_ticks ==
                  world_track_totals(late, lane).cell_ticks);
    }
}

static struct world *run_world(struct history *history) {
    struct listener listener = history_begin(history);
    struct world *world = world_new(history->scenario);
    world_listen(world, &listener);
    world_advance(world, history->scenario->run_ticks);
    world_report_open(world);
    history_end(history);
    return world;
}

static void run_literal(struct history *history) {
    struct listener listener = history_begin(history);
    struct literal *literal = literal_new(history->scenario);
    literal_listen(literal, &listener);
    literal_advance(literal, history->scenario->run_ticks);
    literal_free(literal);
    history_end(history);
}

/* Runs both and compares all that they tell. Returns the moves. */
static int64_t compare_runs(const struct scenario *early, const struct scenario *late,
                            int64_t early_ticks, int64_t late_ticks, uint32_t unheard,
                            uint64_t seed) {
    struct history one = {
        .scenario = early, .unheard_incidents = unheard, .late_ticks = early_ticks};
    struct history other = {
        .scenario = late, .unheard_incidents = unheard, .late_ticks = late_ticks};
    struct world *early_world = run_world(&one), *late_world = run_world(&other);
    history_assert_same(&one, &other, seed);
    compare_totals(early_world, late_world, early, late_ticks - early_ticks);
    world_free(early_world);
    world_free(late_world);
    return one.told;
}

static void compare_with_literal(const struct scenario *early, const struct scenario *late,
                                 int64_t late_ticks, uint64_t seed) {
    struct history one = {.scenario = early, .moves_only = true};
    struct history other = {.scenario = late, .moves_only = true, .late_ticks = late_ticks};
    run_literal(&one);
    world_free(run_world(&other));
    history_assert_same(&one, &other, seed);
}

/* Scenarios that end in the last tick that a run may have, 2^53, against the same from tick 0. */
START_TEST(all_is_the_same_at_the_end_of_time) {
    int64_t moves = 0;
    for (uint64_t seed = 1; seed <= SCENARIOS; seed++) {
        char *text = scatter_scenario(seed, seed % 3 == 0);
        struct scenario *early = read_text(text), *late = read_text(text);
        int64_t late_ticks = most_late(late);
        uint32_t unheard = delay_scenario(early, 0, true);
        delay_scenario(late, late_ticks, true);
        moves += compare_runs(early, late, 0, late_ticks, unheard, seed);
        compare_with_literal(early, late, late_ticks, seed);
        scenario_free(early);
        scenario_free(late);
        free(text);
    }
    ck_assert_int_gt(moves, 100 * SCENARIOS);
}
END_TEST

/* ---- belts that have run since tick 0 ---- */

/* All belts make so many steps, from 200 on, in ALIKE_TICKS, and are then as at the start: a prime
 * number, so that steps and ticks of a run have no short product. */
enum { ALIKE_TICKS = 9973 };

static struct ratio round_rate(uint64_t seed, int64_t ticks_per_second) {
    int64_t steps = 200 + (int64_t)(seed * 2654435761 % (ALIKE_TICKS - 199));
    return (struct ratio){steps * ticks_per_second, ALIKE_TICKS};
}

static void round_rates(struct scenario *scenario, uint64_t seed) {
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        scenario->loop[i].rate = round_rate(seed * 7 + i * 3, scenario->ticks_per_second);
    for (uint32_t i = 0; i < scenario->line_count; i++)
        scenario->line[i].rate = round_rate(seed * 11 + i * 5, scenario->ticks_per_second);
}

/* Against runs in which all begins when each loop has come round many times, too. */
START_TEST(belts_that_have_run_for_ages_are_where_they_should_be) {
    int64_t moves = 0;
    for (uint64_t seed = 1; seed <= SCENARIOS; seed++) {
        char *text = scatter_scenario(seed, seed % 3 == 0);
        struct scenario *early = read_text(text), *late = read_text(text);
        int64_t early_ticks = 10 * ALIKE_TICKS;
        int64_t late_ticks = most_late(late) / ALIKE_TICKS * ALIKE_TICKS;
        round_rates(early, seed);
        round_rates(late, seed);
        uint32_t unheard = delay_scenario(early, early_ticks, false);
        delay_scenario(late, late_ticks, false);
        moves += compare_runs(early, late, early_ticks, late_ticks, unheard, seed);
        scenario_free(early);
        scenario_free(late);
        free(text);
    }
    ck_assert_int_gt(moves, 100 * SCENARIOS);
}
END_TEST

/* ---- the longest durations ---- */

struct told {
    int64_t tick[8];
    int count;
};

static void note_tick(void *self, const struct move *move) {
    struct told *told = self;
    ck_assert_int_lt(told->count, 8);
    told->tick[told->count++] = move->tick;
}

/* A million ticks a second; 2^52 ticks are 4503599627.370496 s, and the run has 2^53.
 *   tick 0          the feeder picks for the bench, out and back in 2^53; the putter lays the other
 *                   screw on cell 0 at once
 *   10^15           the sixth step, 6 * 10^6 / 0.000000006, brings it to cell 6, where the picker
 * takes it to the shelf at once 2^52            the feeder places; the bench begins a batch of 2^52
 * - 1; a delivery 2^53 - 1        the batch ends; the shelver picks 2^53            the second
 *   delivery; the feeder is back and finds nothing */
START_TEST(the_longest_durations_are_kept_to_the_tick) {
    struct scenario *scenario =
        read_text("clock: {ticks_per_second: 1000000}\n"
                  "run: {for: 9007199254.740992}\n"
                  "items: [screw, clip]\n"
                  "loops: [{name: ring, cells: 7, rate: 0.000000006}]\n"
                  "chests: [{name: bin, start: {screw: 2}}, {name: shelf}, {name: post}]\n"
                  "stations: [{name: bench, takes: {screw: 1}, makes: {clip: 1},\n"
                  "  time: 4503599627.370495}]\n"
                  "arms:\n"
                  "  - {name: feeder, from: bin, to: bench, swing: 9007199254.740992}\n"
                  "  - {name: shelver, from: bench, to: shelf, swing: 9007199254.740992}\n"
                  "  - {name: putter, from: bin, to: ring@0, items: [screw], swing: 0}\n"
                  "  - {name: picker, from: ring@6, to: shelf, swing: 0}\n"
                  "supplies: [{name: order, chest: post, item: clip, every: 4503599627.370496,\n"
                  "  batch: 1000000}]\n");
    struct world *world = world_new(scenario);
    struct told told = {0};
    world_listen(world, &(struct listener){.self = &told, .moved = note_tick});
    world_advance(world, scenario->run_ticks);
    int64_t end = LIMIT_TICKS, half = LIMIT_TICKS / 2, sixth_step = 1000000000000000;
    const int64_t due[] = {0, 0, 0, sixth_step, sixth_step, half, end - 1};
    ck_assert_int_eq(world_tick(world), end);
    ck_assert_int_eq(told.count, 7);
    ck_assert_mem_eq(told.tick, due, sizeof due);
    struct station_totals bench = world_station_totals(world, 0);
    ck_assert_int_eq(bench.ticks[STATION_WORKING], half - 1);
    ck_assert_int_eq(bench.ticks[STATION_STARVED], half + 1);
    struct arm_totals feeder = world_arm_totals(world, 0);
    ck_assert_int_eq(feeder.ticks[ARM_CARRYING], half);
    ck_assert_int_eq(feeder.ticks[ARM_RETURNING], half);
    ck_assert_int_eq(world_item_totals(world, 1).supplied, 2 * LIMIT_BATCH);
    ck_assert(world_track_totals(world, (struct place){PLACE_LANE, 0, 0}).cell_ticks ==
              (double)sixth_step);
    world_free(world);
    scenario_free(scenario);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("long");
    TCase *tests = tcase_create("long");
    tcase_add_test(tests, a_day_takes_no_more_memory_than_an_hour);
    tcase_add_test(tests, all_is_the_same_at_the_end_of_time);
    tcase_add_test(tests, belts_that_have_run_for_ages_are_where_they_should_be);
    tcase_add_test(tests, the_longest_durations_are_kept_to_the_tick);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
