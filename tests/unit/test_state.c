/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_state.c - saving and restoring a world: a run that is interrupted at any tick,
 * saved, put into a new world and continued equals the uninterrupted one, field by field, and
 * reports the same; a snapshot says later what was saved of its moment; states that do not fit are
 * refused and leave the world as it was; every scenario comes to the state whose hash is in
 * tests/unit/state_hashes.txt, whatever built the program.
 *
 *   test_state --hashes >tests/unit/state_hashes.txt     renews that file after an intended change
 *
 * Run from the top of the tree. */
#include <check.h>
#include <glob.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "model/state/snapshot.h"
#include "model/state/state.h"
#include "sim/random.h"
#include "sim/require.h"
#include "tests/common/sanitized.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"

/* ---- scenarios ---- */

static struct scenario *read_text(const char *text, const char *override) {
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario(text, strlen(text), "test", &override, override != NULL, &faults);
    ck_assert_msg(scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "?");
    faults_free(&faults);
    return scenario;
}

static struct scenario *read_path(const char *path) {
    struct faults faults = {0};
    bool unreadable = false;
    struct scenario *scenario = read_scenario_file(path, NULL, 0, &faults, &unreadable);
    require(scenario != NULL); /* not a check: the hashes are printed outside of tests, too */
    faults_free(&faults);
    return scenario;
}

/* All written scenarios of the tree, in the order of their names. */
static void written_scenarios(glob_t *found) {
    require(glob("scenarios/*.yaml", 0, NULL, found) == 0);
    require(glob("tests/*/*.yaml", GLOB_APPEND, NULL, found) == 0);
    int deeper = glob("tests/*/*/*.yaml", GLOB_APPEND, NULL, found);
    require(deeper == 0 || deeper == GLOB_NOMATCH);
    require(found->gl_pathc > 10);
}

/* ---- what a world tells, as a checksum that grows ---- */

struct told {
    uint64_t sum, count;
};

static void add_number(struct told *told, int64_t number) {
    told->sum = (told->sum ^ (uint64_t)number) * UINT64_C(0x9e3779b97f4a7c15);
    told->sum ^= told->sum >> 29;
}

static void moved(void *self, const struct move *move) {
    struct told *told = self;
    const int64_t part[] = {move->tick,  move->arm,        move->act,         move->item,
                            move->count, move->place.kind, move->place.index, move->place.cell};
    for (size_t i = 0; i < sizeof part / sizeof *part; i++)
        add_number(told, part[i]);
    told->count++;
}

static void add_event(struct told *told, int64_t verb, const struct event *event) {
    const int64_t part[] = {verb,
                            event->kind,
                            event->start_tick,
                            event->end_tick,
                            event->since_tick,
                            event->subject,
                            event->actor.kind,
                            event->actor.index,
                            event->track.kind,
                            event->track.index,
                            event->chest,
                            event->incident,
                            event->count,
                            event->short_count,
                            event->value,
                            event->item_count};
    for (size_t i = 0; i < sizeof part / sizeof *part; i++)
        add_number(told, part[i]);
    for (uint32_t i = 0; i < event->item_count; i++)
        add_number(told, event->item[i]);
    told->count++;
}

static void happened(void *self, const struct event *event) { add_event(self, 1, event); }
static void began(void *self, const struct event *event) { add_event(self, 2, event); }
static void ended(void *self, const struct event *event) { add_event(self, 3, event); }

static void listen(struct world *world, struct told *told) {
    world_listen(world, &(struct listener){told, moved, happened, began, ended, NULL});
}

/* ---- cutting ---- */

static struct bytes saved(const struct world *world) {
    struct bytes bytes = {0};
    state_save(world, &bytes);
    return bytes;
}

/* A new world in the state of another. */
static struct world *cut(const struct world *world, const struct scenario *scenario) {
    struct world *copy = state_copy(world, scenario);
    ck_assert_ptr_nonnull(copy);
    return copy;
}

static void assert_same(const struct world *a, const struct world *b, const char *name) {
    char *difference = state_diff(a, b);
    ck_assert_msg(difference == NULL, "%s, tick %" PRId64 ": %s", name, world_tick(a), difference);
    ck_assert_uint_eq(state_hash(a), state_hash(b));
}

/* A relay: at every tick the world is saved and another goes on. */
static void relay(const struct scenario *scenario, const char *name, int64_t ticks) {
    struct told told_whole = {0}, told_relay = {0};
    struct world *whole = world_new(scenario), *runner = world_new(scenario);
    listen(whole, &told_whole);
    for (int64_t tick = 0; tick <= ticks; tick++) {
        struct world *next = cut(runner, scenario);
        world_free(runner);
        runner = next;
        listen(runner, &told_relay);
        world_advance(whole, tick);
        world_advance(runner, tick);
        assert_same(whole, runner, name);
        ck_assert_msg(told_whole.sum == told_relay.sum, "%s, tick %" PRId64 ": told otherwise",
                      name, tick);
    }
    world_free(whole);
    world_free(runner);
}

/* Cut once, and run on to the end by another world. */
static void cut_and_run_on(const struct scenario *scenario, const char *name, int64_t tick) {
    struct told told_whole = {0}, told_cut = {0};
    struct world *whole = world_new(scenario);
    world_advance(whole, tick - 1);
    struct world *other = cut(whole, scenario);
    listen(whole, &told_whole);
    listen(other, &told_cut);
    for (int part = 1; part <= 3; part++) {
        int64_t until = tick + (scenario->run_ticks - tick) * part / 3;
        world_advance(whole, until);
        world_advance(other, until);
        assert_same(whole, other, name);
        ck_assert_msg(told_whole.sum == told_cut.sum && told_whole.count == told_cut.count,
                      "%s, cut at tick %" PRId64 ": told otherwise", name, tick);
    }
    world_free(whole);
    world_free(other);
}

enum {
    RELAYS = SANITIZED ? 40 : 120,
    RELAY_TICKS = 400,
    THROWN = SANITIZED ? 50 : 150,
    CUTS_OF_THROWN = 6,
    CUTS_OF_WRITTEN = SANITIZED ? 4 : 12
};

/* Its listener stays, and misses nothing from the first tick on: a hand-over each tick. */
START_TEST(who_listens_to_a_world_hears_all_moves_after_a_restore) {
    struct scenario *scenario =
        read_text("items: [comb]\nchests: [{name: bin}]\n"
                  "stations: [{name: bench, takes: {}, makes: {comb: 1}, time: 0.01}]\n"
                  "arms: [{name: taker, from: bench, to: bin, swing: 0}]\n",
                  NULL);
    struct told told_whole = {0}, told_restored = {0};
    struct world *whole = world_new(scenario), *restored = world_new(scenario);
    listen(whole, &told_whole);
    listen(restored, &told_restored);
    world_advance(whole, 10);
    world_advance(restored, 10);
    struct bytes bytes = saved(restored);
    ck_assert(state_restore(restored, bytes.data, bytes.length));
    world_advance(whole, 20);
    world_advance(restored, 20);
    ck_assert_uint_gt(told_whole.count, 30);
    ck_assert_uint_eq(told_whole.count, told_restored.count);
    ck_assert_uint_eq(told_whole.sum, told_restored.sum);
    bytes_free(&bytes);
    world_free(whole);
    world_free(restored);
    scenario_free(scenario);
}
END_TEST

/* A delivery that comes due while its supply is stopped is held from then on, also in a world that
 * was restored before. */
START_TEST(a_delivery_due_at_a_stopped_supply_is_held_after_a_restore) {
    struct scenario *scenario =
        read_text("items: [comb]\nchests: [{name: bin}]\n"
                  "supplies: [{name: post, chest: bin, item: comb, every: 1}]\n"
                  "incidents: [{at: 0.5, stop: post}]\n",
                  NULL);
    struct world *world = world_new(scenario);
    world_advance(world, 60);
    struct world *other = cut(world, scenario);
    world_advance(world, 120);
    world_advance(other, 120);
    ck_assert_int_eq(world_supply_held(world, 0), 1);
    ck_assert_int_eq(world_supply_held(other, 0), 1);
    world_free(world);
    world_free(other);
    scenario_free(scenario);
}
END_TEST

/* Wake-ups at the steps of a belt that makes none within any run: far beyond 2^53 ticks. */
START_TEST(a_belt_that_hardly_moves_does_no_harm) {
    static const char *const rate[] = {"0.000000000001", "0.0000000000001", "0.00000000000001",
                                       "0.000000000000001", "0.00000000000000007"};
    for (size_t i = 0; i < sizeof rate / sizeof *rate; i++) {
        char text[512];
        snprintf(text, sizeof text,
                 "watch: {jam_after: 10 min}\nitems: [comb]\n"
                 "loops: [{name: ring, cells: 120, rate: %s}]\n"
                 "lines: [{name: slide, cells: 20, rate: %s}]\n"
                 "chests: [{name: bin, start: {comb: 5}}]\n"
                 "arms:\n  - {name: feeder, from: bin, to: ring@5, swing: 1}\n"
                 "  - {name: taker, from: ring@4, to: slide@3, swing: 1}\n",
                 rate[i], rate[i]);
        struct scenario *scenario = read_text(text, NULL);
        struct told told = {0};
        struct world *world = world_new(scenario);
        listen(world, &told);
        world_advance(world, 360000);
        world_audit(world);
        ck_assert_uint_eq(told.count, 3); /* a pick, a place, a pick: no jam, no rest */
        world_free(world);
        scenario_free(scenario);
    }
}
END_TEST

START_TEST(a_run_cut_at_every_tick_equals_the_unbroken_one) {
    for (uint64_t seed = 1; seed <= RELAYS; seed++) {
        char name[32], *text = scatter_scenario(seed, seed % 2 == 0);
        snprintf(name, sizeof name, "scenario %" PRIu64, seed);
        struct scenario *scenario = read_text(text, NULL);
        relay(scenario, name,
              scenario->run_ticks < RELAY_TICKS ? scenario->run_ticks : RELAY_TICKS);
        scenario_free(scenario);
        free(text);
    }
}
END_TEST

START_TEST(a_random_run_cut_at_some_tick_equals_the_unbroken_one) {
    struct random_stream chance;
    random_start(&chance, 1, "cuts", "tick");
    for (uint64_t seed = 1000; seed < 1000 + THROWN; seed++) {
        char name[32], *text = scatter_scenario(seed, seed % 2 == 0);
        snprintf(name, sizeof name, "scenario %" PRIu64, seed);
        struct scenario *scenario = read_text(text, NULL);
        for (int i = 0; i < CUTS_OF_THROWN; i++)
            cut_and_run_on(scenario, name,
                           random_below(&chance, (uint32_t)scenario->run_ticks + 1));
        scenario_free(scenario);
        free(text);
    }
}
END_TEST

START_TEST(a_written_run_cut_at_some_tick_equals_the_unbroken_one) {
    glob_t found;
    struct random_stream chance;
    random_start(&chance, 2, "cuts", "tick");
    written_scenarios(&found);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        struct scenario *scenario = read_path(found.gl_pathv[i]);
        for (int j = 0; j < CUTS_OF_WRITTEN; j++)
            cut_and_run_on(scenario, found.gl_pathv[i],
                           random_below(&chance, (uint32_t)scenario->run_ticks + 1));
        scenario_free(scenario);
    }
    globfree(&found);
}
END_TEST

/* ---- snapshots ---- */

enum { SNAPSHOTS = 6, SNAPSHOTS_OF_THROWN = SANITIZED ? 100 : 400 };

/* A moment as plain memory, and what was saved of it at once. */
struct both {
    struct bytes snapshot, state;
};

static void assert_still_so(struct world *world, const struct both *both, const char *name) {
    struct bytes before = saved(world), after, now = {0};
    snapshot_save(world, both->snapshot.data, both->snapshot.length, &now);
    after = saved(world);
    ck_assert_msg(
        now.length == both->state.length && memcmp(now.data, both->state.data, now.length) == 0,
        "%s, tick %" PRId64 ": another state than was saved at once", name, world_tick(world));
    ck_assert_uint_eq(after.length, before.length);
    ck_assert_msg(memcmp(after.data, before.data, after.length) == 0,
                  "%s, tick %" PRId64 ": the world is no longer what it was", name,
                  world_tick(world));
    bytes_free(&before);
    bytes_free(&after);
    bytes_free(&now);
}

/* Takes moments on the way, and makes states of all of them again and again: each time the same
 * ones, and the world goes on as one does of which none are taken. */
static void take_on_the_way(const struct scenario *scenario, const char *name) {
    struct told told = {0}, told_whole = {0};
    struct both both[SNAPSHOTS] = {0};
    struct world *world = world_new(scenario), *whole = world_new(scenario);
    listen(world, &told);
    listen(whole, &told_whole);
    for (int i = 0; i < SNAPSHOTS; i++) {
        world_advance(world, scenario->run_ticks * i / SNAPSHOTS - 1); /* the first before tick 0 */
        snapshot_take(world, &both[i].snapshot);
        both[i].state = saved(world);
        for (int j = 0; j <= i; j++)
            assert_still_so(world, &both[j], name);
    }
    world_advance(world, scenario->run_ticks);
    world_advance(whole, scenario->run_ticks);
    world_audit(world);
    assert_same(whole, world, name);
    ck_assert_msg(told.sum == told_whole.sum && told.count == told_whole.count,
                  "%s: told otherwise", name);
    for (int i = 0; i < SNAPSHOTS; i++) {
        assert_still_so(world, &both[i], name);
        bytes_free(&both[i].snapshot);
        bytes_free(&both[i].state);
    }
    world_free(world);
    world_free(whole);
}

START_TEST(a_snapshot_of_a_random_run_says_later_what_its_state_was) {
    for (uint64_t seed = 5000; seed < 5000 + SNAPSHOTS_OF_THROWN; seed++) {
        char name[32], *text = scatter_scenario(seed, seed % 2 == 0);
        snprintf(name, sizeof name, "scenario %" PRIu64, seed);
        struct scenario *scenario = read_text(text, NULL);
        take_on_the_way(scenario, name);
        scenario_free(scenario);
        free(text);
    }
}
END_TEST

START_TEST(a_snapshot_of_a_written_run_says_later_what_its_state_was) {
    glob_t found;
    written_scenarios(&found);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        struct scenario *scenario = read_path(found.gl_pathv[i]);
        take_on_the_way(scenario, found.gl_pathv[i]);
        scenario_free(scenario);
    }
    globfree(&found);
}
END_TEST

/* ---- refused ---- */

START_TEST(a_state_cut_short_or_of_other_parts_is_refused_and_nothing_changes) {
    struct scenario *demo = read_path("scenarios/demo.yaml");
    struct scenario *other = read_path("scenarios/two-loops.yaml");
    struct world *world = world_new(demo), *stranger = world_new(other);
    world_advance(world, 90000);
    world_advance(stranger, 700);
    uint64_t before = state_hash(stranger);
    struct bytes bytes = saved(world);
    ck_assert(!state_restore(stranger, bytes.data, bytes.length));
    ck_assert_uint_eq(state_hash(stranger), before);
    before = state_hash(world);
    world_advance(stranger, 800);
    for (size_t length = 0; length < bytes.length; length++) {
        void *copy = require_memory(length, 1); /* so that a read past the end is found */
        if (length > 0)
            memcpy(copy, bytes.data, length);
        ck_assert_msg(!state_restore(world, copy, length), "%zu bytes are accepted", length);
        free(copy);
    }
    bytes_add(&bytes, 0, 1);
    ck_assert(!state_restore(world, bytes.data, bytes.length));
    ck_assert_uint_eq(state_hash(world), before);
    bytes_free(&bytes);
    world_free(world);
    world_free(stranger);
    scenario_free(demo);
    scenario_free(other);
}
END_TEST

/* Bytes that somebody made up, each within a valid seal: refused, or a world that runs. */
static void forge(const struct scenario *scenario, int64_t tick, uint64_t seed, int tries) {
    struct random_stream chance;
    random_start(&chance, seed, "forge", "byte");
    struct world *world = world_new(scenario);
    world_advance(world, tick);
    struct bytes bytes = saved(world);
    static const unsigned char odd[] = {0, 1, 2, 3, 0x7f, 0x80, 0xff};
    for (int i = 0; i < tries; i++) {
        unsigned char *forged = require_memory(bytes.length, 1);
        memcpy(forged, bytes.data, bytes.length);
        uint32_t changes = 1 + random_below(&chance, 3);
        for (uint32_t j = 0; j < changes; j++) /* not the head: it would be refused at once */
            forged[24 + random_below(&chance, (uint32_t)bytes.length - 24)] =
                odd[random_below(&chance, sizeof odd)];
        struct world *victim = world_new(scenario);
        if (state_restore(victim, forged, bytes.length))
            world_advance(victim, world_tick(victim) + 500);
        world_free(victim);
        free(forged);
    }
    bytes_free(&bytes);
    world_free(world);
}

START_TEST(a_forged_state_is_refused_or_runs) {
    for (uint64_t seed = 1; seed <= 40; seed++) {
        char *text = scatter_scenario(seed, true);
        struct scenario *scenario = read_text(text, NULL);
        forge(scenario, scenario->run_ticks / 2, seed, 150);
        scenario_free(scenario);
        free(text);
    }
}
END_TEST

START_TEST(a_difference_is_named) {
    struct scenario *scenario = read_path("scenarios/first.yaml");
    struct world *a = world_new(scenario), *b = world_new(scenario);
    world_advance(a, 500);
    world_advance(b, 501);
    char *difference = state_diff(a, b);
    ck_assert_str_eq(difference, "world[0].tick: 500 is 501");
    ck_assert_uint_ne(state_hash(a), state_hash(b));
    free(difference);
    world_free(a);
    world_free(b);
    scenario_free(scenario);
}
END_TEST

/* ---- what-if ---- */

/* All of an item that is anywhere, less all that came and plus all that went: what there was at the
 * start (rules 13). */
static int64_t start_of_item(const struct world *world, const struct scenario *scenario,
                             uint32_t item) {
    struct item_totals totals = world_item_totals(world, item);
    int64_t sum = totals.met + totals.consumed + totals.cleared - totals.supplied - totals.dropped -
                  totals.made;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        sum += world_chest_count(world, i, item);
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        for (uint32_t j = 0; j < scenario->station[i].takes.count; j++)
            if (scenario->station[i].takes.entry[j].item == item)
                sum += world_input_count(world, i, j);
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++)
            if (scenario->station[i].makes[j].item == item)
                sum += world_output_count(world, i, j);
    }
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        sum += world_hand_count(world, i, item);
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        sum += world_track_count(world, (struct place){PLACE_LANE, i, 0}, item);
    for (uint32_t i = 0; i < scenario->line_count; i++)
        sum += world_track_count(world, (struct place){PLACE_LINE, i, 0}, item);
    return sum;
}

/* Nothing is lost or doubled by a change, nor while it runs on. */
static void change_and_run(const struct world *world, const struct scenario *scenario,
                           const char *text, const char *override, int *changed) {
    struct faults faults = {0};
    struct scenario *other = read_scenario(text, strlen(text), "test", &override, 1, &faults);
    faults_free(&faults);
    struct world *copy = other != NULL ? state_copy(world, other) : NULL;
    for (int part = 0; part < 3 && copy != NULL; part++) {
        for (uint32_t item = 0; item < scenario->item_count; item++)
            ck_assert_int_eq(start_of_item(copy, other, item),
                             start_of_item(world, scenario, item));
        world_advance(copy, world_tick(copy) + 400);
    }
    *changed += copy != NULL;
    world_free(copy);
    scenario_free(other);
}

START_TEST(a_change_at_any_moment_loses_nothing) {
    static const char *const override[] = {
        "loops.ring-0.rate=0.25",
        "loops.ring-0.rate=1",
        "lines.slide-0.rate=0.5",
        "arms.arm-0.swing=0",
        "arms.arm-0.hand=1",
        "arms.arm-0.linger=0",
        "arms.arm-1.gate=null",
        "chests.bin-0.capacity=1",
        "chests.bin-1.limits=null",
        "stations.bench-0.time=1",
        "stations.bench-0.ahead=1",
        "watch.blocked_after=0",
        "watch.congested_at=0.2",
        "watch.jam_after=0",
        "run.seed=5",
        "supplies.post-0.every=3",
        "demands.order-0.until=1",
        "arms.arm-2.swing={exponential: 4}",
        "arms.arm-2.gate={loop: ring-0, below: 3, reopen_below: 1}",
        "incidents.new={every: 20, clear: {lane: slide-0}}"};
    enum { OVERRIDES = sizeof override / sizeof *override };
    struct random_stream chance;
    int changed[OVERRIDES] = {0};
    random_start(&chance, 3, "what-if", "tick");
    for (uint64_t seed = 1; seed <= 60; seed++) {
        char *text = scatter_scenario(seed, seed % 2 == 0);
        struct scenario *scenario = read_text(text, NULL);
        struct world *world = world_new(scenario);
        world_advance(world, random_below(&chance, (uint32_t)scenario->run_ticks + 1));
        for (size_t i = 0; i < OVERRIDES; i++)
            change_and_run(world, scenario, text, override[i], &changed[i]);
        world_free(world);
        scenario_free(scenario);
        free(text);
    }
    for (size_t i = 0; i < OVERRIDES; i++)
        ck_assert_msg(changed[i] >= 5, "%s was tried %d times", override[i], changed[i]);
}
END_TEST

/* Two products that are left to chance, one after another: each goes on with its own numbers. */
START_TEST(each_of_two_chances_goes_on_as_it_was) {
    struct scenario *scenario =
        read_text("run: {for: 2 min}\nitems: [dial, chip]\n"
                  "chests: [{name: bin}]\n"
                  "stations: [{name: press, takes: {}, time: 0.1, makes: "
                  "{dial: {count: 1, chance: 0.5}, chip: {count: 1, chance: 0.3}}}]\n"
                  "arms: [{name: taker, from: press, to: bin, swing: 0}]\n",
                  NULL);
    cut_and_run_on(scenario, "two chances", 2000);
    scenario_free(scenario);
}
END_TEST

/* A press that no longer makes chips: that can be as long as none lies there. */
START_TEST(what_is_no_longer_made_may_not_lie_there) {
    static const char text[] =
        "items: [dial, chip]\nchests: [{name: bin}]\n"
        "stations: [{name: press, takes: {}, makes: {dial: 1, chip: 1}, time: 1}]\n"
        "arms: [{name: taker, from: press, to: bin, items: [dial], swing: 1}]\n";
    struct scenario *scenario = read_text(text, NULL);
    struct scenario *other = read_text(text, "stations.press.makes={dial: 1}");
    struct world *world = world_new(scenario);
    world_advance(world, 50);
    struct world *copy = state_copy(world, other);
    ck_assert_ptr_nonnull(copy);
    world_free(copy);
    world_advance(world, 150);
    ck_assert_int_eq(world_output_count(world, 0, 1), 1);
    ck_assert_ptr_null(state_copy(world, other));
    world_free(world);
    scenario_free(other);
    scenario_free(scenario);
}
END_TEST

/* ---- the hashes of all scenarios ---- */

static const char hashes_path[] = "tests/unit/state_hashes.txt";
enum { LINE_BYTES = 256 };

/* "HASH PATH TICK", with the states in the middle of a run and at its end. */
static void hash_line(char line[LINE_BYTES], const char *path, bool end) {
    struct scenario *scenario = read_path(path);
    int64_t tick = end ? scenario->run_ticks : scenario->run_ticks / 2;
    struct world *world = world_new(scenario);
    world_advance(world, tick);
    snprintf(line, LINE_BYTES, "%016" PRIx64 " %s %" PRId64 "\n", state_hash(world), path, tick);
    world_free(world);
    scenario_free(scenario);
}

START_TEST(every_scenario_comes_to_its_known_state) {
    glob_t found;
    FILE *file = fopen(hashes_path, "r");
    ck_assert_msg(file != NULL, "%s is not there", hashes_path);
    written_scenarios(&found);
    for (size_t i = 0; i < 2 * found.gl_pathc; i++) {
        char line[LINE_BYTES], known[LINE_BYTES] = "";
        hash_line(line, found.gl_pathv[i / 2], i % 2 == 1);
        fgets(known, sizeof known, file);
        ck_assert_msg(strcmp(line, known) == 0,
                      "found  %sknown  %sif that is wanted: test_state --hashes >%s", line, known,
                      hashes_path);
    }
    ck_assert_int_eq(fgetc(file), EOF);
    fclose(file);
    globfree(&found);
}
END_TEST

static int print_hashes(void) {
    glob_t found;
    written_scenarios(&found);
    for (size_t i = 0; i < 2 * found.gl_pathc; i++) {
        char line[LINE_BYTES];
        hash_line(line, found.gl_pathv[i / 2], i % 2 == 1);
        fputs(line, stdout);
    }
    globfree(&found);
    return EXIT_SUCCESS;
}

int main(int count, char **word) {
    if (count > 1 && strcmp(word[1], "--hashes") == 0)
        return print_hashes();
    Suite *suite = suite_begin("state");
    TCase *tests = tcase_create("state");
    tcase_add_test(tests, who_listens_to_a_world_hears_all_moves_after_a_restore);
    tcase_add_test(tests, a_delivery_due_at_a_stopped_supply_is_held_after_a_restore);
    tcase_add_test(tests, a_belt_that_hardly_moves_does_no_harm);
    tcase_add_test(tests, a_run_cut_at_every_tick_equals_the_unbroken_one);
    tcase_add_test(tests, a_random_run_cut_at_some_tick_equals_the_unbroken_one);
    tcase_add_test(tests, a_written_run_cut_at_some_tick_equals_the_unbroken_one);
    tcase_add_test(tests, a_snapshot_of_a_random_run_says_later_what_its_state_was);
    tcase_add_test(tests, a_snapshot_of_a_written_run_says_later_what_its_state_was);
    tcase_add_test(tests, a_state_cut_short_or_of_other_parts_is_refused_and_nothing_changes);
    tcase_add_test(tests, a_forged_state_is_refused_or_runs);
    tcase_add_test(tests, a_change_at_any_moment_loses_nothing);
    tcase_add_test(tests, each_of_two_chances_goes_on_as_it_was);
    tcase_add_test(tests, what_is_no_longer_made_may_not_lie_there);
    tcase_add_test(tests, a_difference_is_named);
    tcase_add_test(tests, every_scenario_comes_to_its_known_state);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
