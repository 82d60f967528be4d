/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_record.c - the invariants at the head of tools/record/record.h hold after every
 * tick of thrown and of written scenarios, also where a saved record goes on; and each of them,
 * once broken, is found. */
#include <check.h>
#include <glob.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "model/state/state.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"
#include "tools/record/record.h"

/* Seeds 1 .. THROWN, every second with chance; stretches from one saving to the next. */
enum { THROWN = 200, STRETCHES = 5 };

static struct scenario *checked(struct scenario *scenario, struct faults *faults) {
    ck_assert_msg(scenario != NULL, "%s", faults->count > 0 ? faults->fault[0].what : "?");
    faults_free(faults);
    return scenario;
}

static struct scenario *read_text(const char *text) {
    struct faults faults = {0};
    return checked(read_scenario(text, strlen(text), "text", NULL, 0, &faults), &faults);
}

/* A world and its record. */
struct trial {
    const struct scenario *scenario;
    struct world *world;
    struct record record;
};

static void begin(struct trial *trial, const struct scenario *scenario) {
    trial->scenario = scenario;
    trial->world = world_new(scenario);
    record_begin(&trial->record, scenario, trial->world, false);
}

static void end(struct trial *trial) {
    record_free(&trial->record);
    world_free(trial->world);
}

static bool audit(void *record) {
    record_audit(record);
    return true;
}

static void run_to(struct trial *trial, int64_t tick) {
    struct progress progress;
    struct record_onlooker onlooker = {&trial->record, audit};
    progress_init(&progress, tick, 1, false);
    ck_assert(record_run_until(&trial->record, &progress, &onlooker, tick));
}

/* Goes on as from a capsule. */
static void take_up_again(struct trial *trial) {
    struct bytes kept = {0};
    record_save(&trial->record, &kept);
    struct world *world = state_copy(trial->world, trial->scenario);
    end(trial);
    trial->world = world;
    record_begin(&trial->record, trial->scenario, world, false);
    ck_assert(record_restore(&trial->record, &kept));
    bytes_free(&kept);
}

static void audit_run(struct scenario *scenario) {
    struct trial trial;
    begin(&trial, scenario);
    for (int64_t part = 1; part <= STRETCHES; part++) {
        run_to(&trial, scenario->run_ticks * part / STRETCHES);
        take_up_again(&trial);
    }
    end(&trial);
    scenario_free(scenario);
}

START_TEST(invariants_hold_on_thrown_scenarios) {
    for (uint64_t seed = 1; seed <= THROWN; seed++) {
        char *text = scatter_scenario(seed, seed % 2 == 0);
        audit_run(read_text(text));
        free(text);
    }
}
END_TEST

/* Among them are those whose stations starve because their product is held. */
START_TEST(invariants_hold_on_written_scenarios) {
    static const char *const change[] = {"run.for=20min"};
    glob_t paths = {0};
    ck_assert_int_eq(glob("scenarios/*.yaml", 0, NULL, &paths), 0);
    ck_assert_int_eq(glob("tests/story/gallery/*.yaml", GLOB_APPEND, NULL, &paths), 0);
    for (size_t i = 0; i < paths.gl_pathc; i++) {
        struct faults faults = {0};
        bool unreadable;
        audit_run(checked(read_scenario_file(paths.gl_pathv[i], change, 1, &faults, &unreadable),
                          &faults));
    }
    globfree(&paths);
}
END_TEST

/* A clock that is brought at 20 s shuts both gates, and the bench, which works until 35 s, starves
 * 10 s later. Its taker is on its way back until 62 s and held itself from there on; as it waits
 * for nothing but its gate, it does not act then. Deliveries go on, so that there are ticks in
 * which somebody looks. */
static const char slow_return[] =
    "run: {for: 3 min}\n"
    "items: [wheel, clock, spring]\n"
    "loops: [{name: ring, cells: 400, rate: 4}]\n"
    "chests: [{name: bin, start: {wheel: 500}}, {name: shelf}, {name: springs}]\n"
    "stations: [{name: bench, takes: {wheel: 1}, makes: {clock: 1}, time: 3 s}]\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: ring@3, swing: 1 s,\n"
    "     gate: {chest: shelf, item: clock, below: 1}}\n"
    "  - {name: taker, from: ring@8, to: bench, swing: 60 s,\n"
    "     gate: {chest: shelf, item: clock, below: 1}}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\n"
    "supplies: [{name: delivery, chest: springs, item: spring, every: 1 s},\n"
    "  {name: clock, chest: shelf, item: clock, every: 1 s, first: 20 s, until: 20 s}]\n";

START_TEST(arm_that_comes_back_is_looked_at) {
    struct trial trial;
    struct scenario *scenario = read_text(slow_return);
    begin(&trial, scenario);
    run_to(&trial, 50 * 100);
    ck_assert(events_tally(trial.record.events, EVENT_STARVED, 0)->last_end_tick == NOT_GIVEN);
    ck_assert(world_arm_state(trial.world, 1) == ARM_RETURNING);
    ck_assert(!world_gate_open(trial.world, trial.scenario->arm[1].gate));
    run_to(&trial, trial.scenario->run_ticks);
    end(&trial);
    scenario_free(scenario);
}
END_TEST

/* ---- each invariant broken once: the program ends with status 5 ---- */

/* Orders stop after a minute; then the shelf fills, its gate shuts, and the bench starves without
 * being wanted. A second bench starves because it gets nothing. */
static const char scenario_text[] =
    "run: {for: 10 min, warm_up: 30 s}\n"
    "items: [wheel, clock, spring]\n"
    "loops: [{name: ring, cells: 12, rate: 4}]\n"
    "chests: [{name: bin, start: {wheel: 500}}, {name: shelf, capacity: 9}]\n"
    "stations: [{name: bench, takes: {wheel: 1}, makes: {clock: 1}, time: 3 s},\n"
    "  {name: other, takes: {spring: 1}, makes: {clock: 1}, time: 3 s}]\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: ring@3, swing: 1 s,\n"
    "     gate: {chest: shelf, item: clock, below: 4}}\n"
    "  - {name: taker, from: ring@8, to: bench, swing: 1 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 2 s}\n"
    "demands: [{name: orders, chest: shelf, item: clock, every: 4 s, until: 1 min}]\n";
enum { WHEEL, BENCH = 0, OTHER };

static struct event starved(uint32_t station, int64_t tick) {
    return (struct event){.kind = EVENT_STARVED,
                          .start_tick = tick,
                          .end_tick = tick,
                          .since_tick = tick,
                          .subject = SUBJECT_ACTOR,
                          .actor = {PART_STATION, station},
                          .incident = NO_INDEX,
                          .count = NOT_GIVEN};
}

static void begin_nothing(struct trial *trial) {
    struct event event = starved(OTHER, world_tick(trial->world));
    events_began(trial->record.events, &event);
}

static void end_what_lasts(struct trial *trial) {
    struct event event = starved(OTHER, world_tick(trial->world));
    events_ended(trial->record.events, &event);
}

/* The bench is not wanted: it would be again if it were looked at now. */
static void want_nobody(struct trial *trial) {
    uint32_t wheel = WHEEL;
    struct event event = starved(OTHER, world_tick(trial->world));
    event.actor.index = BENCH;
    event.item = &wheel;
    event.item_count = 1;
    starvation_began(trial->record.starvation, &event);
}

static void begin_later(struct trial *trial) { trial->record.window.start_tick = INT64_MAX; }
static void lose_items(struct trial *trial) { trial->record.window.item[WHEEL].consumed += 9999; }
static void lose_swings(struct trial *trial) { trial->record.window.arm[0].swings += 9999; }
static void lose_batches(struct trial *trial) { trial->record.window.station[0].batches += 9999; }
static void cross_levels(struct trial *trial) { trial->record.levels.level[0].lowest = 10; }

static void (*const breaks[])(struct trial *trial) = {begin_nothing, end_what_lasts, want_nobody,
                                                      begin_later,   lose_items,     lose_swings,
                                                      lose_batches,  cross_levels};

START_TEST(broken_invariant_ends_the_program) {
    struct trial trial;
    struct scenario *scenario = read_text(scenario_text);
    begin(&trial, scenario);
    run_to(&trial, 120 * 100);
    breaks[_i](&trial);
    record_audit(&trial.record);
}
END_TEST

/* Without a break the same record passes, so that what ends it above is the break. */
START_TEST(whole_record_passes) {
    struct trial trial;
    struct scenario *scenario = read_text(scenario_text);
    begin(&trial, scenario);
    run_to(&trial, 120 * 100);
    record_audit(&trial.record);
    ck_assert(events_tally(trial.record.events, EVENT_STARVED, OTHER)->last_end_tick == NOT_GIVEN);
    ck_assert(events_tally(trial.record.events, EVENT_STARVED, BENCH)->last_end_tick == NOT_GIVEN);
    record_end(&trial.record);
    ck_assert(starvation_lasted(trial.record.starvation, OTHER));
    ck_assert(!starvation_lasted(trial.record.starvation, BENCH));
    end(&trial);
    scenario_free(scenario);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("record");
    TCase *runs = tcase_create("runs"), *broken = tcase_create("broken");
    tcase_add_test(runs, invariants_hold_on_thrown_scenarios);
    tcase_add_test(runs, invariants_hold_on_written_scenarios);
    tcase_add_test(runs, arm_that_comes_back_is_looked_at);
    tcase_add_test(runs, whole_record_passes);
    tcase_add_loop_exit_test(broken, broken_invariant_ends_the_program, REQUIRE_EXIT_STATUS, 0,
                             sizeof breaks / sizeof *breaks);
    suite_add_tcase(suite, runs);
    suite_add_tcase(suite, broken);
    return suite_end(suite);
}
