/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_world_audit.c - the invariants of model/engine/world.h hold after every tick of
 * thrown scenarios, also where a saved state goes on; and each of them, once broken, is found. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/parts.h"
#include "model/engine/world.h"
#include "model/reader/read.h"
#include "model/state/state.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"

/* Seeds 1 .. SCENARIOS, every second with chance. */
enum { SCENARIOS = 300 };

static struct scenario *read_text(const char *text) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "text", NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%s\n%s", faults.count > 0 ? faults.fault[0].what : "?", text);
    faults_free(&faults);
    return scenario;
}

static void audit_run(const struct scenario *scenario) {
    struct world *world = world_new(scenario);
    world_audit(world);
    while (world_step(world, scenario->run_ticks)) {
        world_audit(world);
        if (world_tick(world) % 64 != 0)
            continue;
        struct world *copy = state_copy(world, scenario);
        world_audit(copy);
        world_free(world);
        world = copy;
    }
    world_audit(world);
    world_free(world);
}

START_TEST(invariants_hold_after_every_tick) {
    for (uint64_t seed = 1; seed <= SCENARIOS; seed++) {
        char *text = scatter_scenario(seed, seed % 2 == 0);
        struct scenario *scenario = read_text(text);
        audit_run(scenario);
        scenario_free(scenario);
        free(text);
    }
}
END_TEST

/* ---- each invariant broken once: the program ends with status 5 ---- */

/* A lane that fills up: after a minute items lie on it, the feeder is placing and blocked, and the
 * keeper's gate is shut. */
static const char scenario_text[] =
    "run: {for: 10 min}\n"
    "watch: {blocked_after: 1 s}\n"
    "items: [wheel, case]\n"
    "loops: [{name: ring, cells: 12, rate: 4}]\n"
    "chests: [{name: bin, start: {wheel: 50, case: 50}}, {name: tray, capacity: 3}]\n"
    "stations: [{name: bench, takes: {case: 1}, makes: {wheel: 1}, time: 7 s}]\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: ring@3, items: [wheel], swing: 1 s}\n"
    "  - {name: taker, from: ring@8, to: tray, swing: 1 s}\n"
    "  - {name: loader, from: bin, to: bench, swing: 2 s}\n"
    "  - {name: keeper, from: bench, to: bin, swing: 2 s, gate: {chest: tray, below: 2}}\n"
    "demands: [{name: orders, chest: bin, item: case, every: 9 min}]\n";

static struct world *world_at_work(const struct scenario *scenario) {
    struct world *world = world_new(scenario);
    world_advance(world, 60 * 100);
    world_audit(world);
    return world;
}

static void lose_item(struct world *world) { world->item[0].supplied++; }
static void miscount_total(struct world *world) { world->tally[world->chest_total[0]].count++; }
static void forget_promise(struct world *world) { world->tally[world->chest_total[1]].room--; }
static void miscount_track(struct world *world) { world->track[0].load.held_cells--; }
static void look_away(struct world *world) { world->track[0].load.quiet_span++; }
static void turn_belt(struct world *world) { world->belt[0].position.turn ^= 1; }
static void flip_bit(struct world *world) { world->track[0].lane.bits[LANE_CLASSES] ^= 1; }
static void open_gate(struct world *world) { world->gate[0].open = true; }
static void fill_hand(struct world *world) { world->arm[0].state.held++; }
static void lose_time(struct world *world) { world->arm[1].plan.shape->out_ticks += 6000; }
static void leave_list(struct world *world) { world->track[0].load.first_placing = NO_INDEX; }
static void forget_waiter(struct world *world) { world->arm[3].wait.waits ^= ARM_WAITS_FOR_MORE; }
static void never_wake(struct world *world) {
    world->station[0].working = true;
    world->station[0].end_tick = world_tick(world);
}
static void never_look(struct world *world) { world->arm[1].wait.looks = 1; }
static void jam_nothing(struct world *world) { world->standstill_watch.jammed_tracks++; }
static void clog_nothing(struct world *world) { world->standstill.clogged_open = true; }
static void owe_nothing(struct world *world) { world->demand_orders[0].lost += 7; }

static void (*const breaks[])(struct world *world) = {
    lose_item,  miscount_total, forget_promise, miscount_track, look_away,  turn_belt,
    flip_bit,   open_gate,      fill_hand,      lose_time,      leave_list, forget_waiter,
    never_wake, never_look,     jam_nothing,    clog_nothing,   owe_nothing};

START_TEST(broken_invariant_ends_the_program) {
    struct scenario *scenario = read_text(scenario_text);
    struct world *world = world_at_work(scenario);
    breaks[_i](world);
    world_audit(world);
    world_free(world); /* not reached */
    scenario_free(scenario);
}
END_TEST

/* Without a break the same world passes, so that what ends it above is the break. */
START_TEST(whole_world_passes) {
    struct scenario *scenario = read_text(scenario_text);
    struct world *world = world_at_work(scenario);
    ck_assert(arm_is_blocked(world, 0));
    ck_assert(!world->gate[0].open);
    world_free(world);
    scenario_free(scenario);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("world_audit");
    TCase *runs = tcase_create("runs"), *broken = tcase_create("broken");
    tcase_add_test(runs, invariants_hold_after_every_tick);
    tcase_add_test(runs, whole_world_passes);
    tcase_add_loop_exit_test(broken, broken_invariant_ends_the_program, REQUIRE_EXIT_STATUS, 0,
                             sizeof breaks / sizeof *breaks);
    suite_add_tcase(suite, runs);
    suite_add_tcase(suite, broken);
    return suite_end(suite);
}
