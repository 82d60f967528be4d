/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_line.c - compares a line that works out where its items are with one that
 * moves them cell by cell as docs/rules.md says. Fixed seeds, all comparisons exact. */
#include "model/engine/line.h"

#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/arm_items.h"
#include "model/engine/belt.h"
#include "model/engine/incident.h"
#include "model/engine/world.h"
#include "model/reader/read.h"
#include "tests/common/dice.h"
#include "tests/common/suite.h"

enum { CELLS_MOST = 90, KINDS = 3, TICKS_A_STEP = 3, TICKS = 3000, TAKER = 1 };

static const uint32_t length_of[KINDS] = {1, 2, 5};
static const bool is_wanted[KINDS] = {true, false, true}; /* by the taker */

/* A line with a step in each third tick; a feeder that has nothing and a taker whose gate is shut,
 * so that nobody but the test puts or takes; an incident in each tick, so that the clock turns. */
static const char scenario_text[] =
    "clock: {ticks_per_second: 3}\n"
    "run: {for: 1000}\n"
    "items: {screw: {}, plate: {length: 2}, frame: {length: 5}}\n"
    "lines: [{name: slide, cells: %u, rate: 1}]\n"
    "chests: [{name: bin}, {name: shelf}]\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: slide@%u, swing: 1}\n"
    "  - {name: taker, from: slide@%u, to: shelf, items: [%s], swing: 1,\n"
    "     gate: {chest: bin, at_least: 1}}\n"
    "incidents: [{every: 0.3333, first: 0, set: {chest: bin, capacity: 9}}]\n";

/* ---- the same, plainly ---- */

struct plain {
    uint32_t cells;
    uint32_t head[CELLS_MOST]; /* kind, NO_INDEX */
    bool held[CELLS_MOST];
    int64_t steps, since_step; /* made; ticks since the last or since the start */
    int64_t rolled_tick;
    bool runs;
};

static void plain_mark(struct plain *plain, uint32_t cell, uint32_t kind, bool held) {
    for (uint32_t i = 0; i < length_of[kind]; i++)
        plain->held[cell - i] = held;
    plain->head[cell] = held ? kind : NO_INDEX;
}

/* From the head end down, each moves one cell if the cell before its head is free. */
static bool plain_step(struct plain *plain) {
    bool moved = false;
    plain->steps++;
    for (uint32_t cell = plain->cells - 1; cell-- > 0;) {
        uint32_t kind = plain->head[cell];
        if (kind == NO_INDEX || plain->held[cell + 1])
            continue;
        plain_mark(plain, cell, kind, false);
        plain_mark(plain, cell + 1, kind, true);
        moved = true;
    }
    return moved;
}

static void plain_tick(struct plain *plain, int64_t tick) {
    if (!plain->runs || tick == 0 || ++plain->since_step < TICKS_A_STEP)
        return;
    plain->since_step = 0;
    if (plain_step(plain))
        plain->rolled_tick = tick;
}

static bool plain_is_free(const struct plain *plain, uint32_t cell, uint32_t length) {
    for (uint32_t i = 0; i < length; i++)
        if (i > cell || plain->held[cell - i])
            return false;
    return true;
}

/* ---- both side by side ---- */

struct pair {
    struct scenario *scenario;
    struct world *world;
    struct plain plain;
    uint32_t kinds, taker_cell;
    uint64_t seed;
};

static uint32_t draw(struct pair *pair, uint32_t below) {
    return (uint32_t)dice_below(&pair->seed, below);
}

static void pair_init(struct pair *pair, uint32_t cells, uint64_t seed) {
    *pair = (struct pair){.plain = {.cells = cells, .rolled_tick = NOT_GIVEN, .runs = true},
                          .seed = seed};
    for (uint32_t i = 0; i < cells; i++)
        pair->plain.head[i] = NO_INDEX;
    for (pair->kinds = 0; pair->kinds < KINDS && length_of[pair->kinds] <= cells;)
        pair->kinds++;
    pair->taker_cell = draw(pair, cells);
    char text[sizeof scenario_text + 64];
    snprintf(text, sizeof text, scenario_text, cells, cells - 1, pair->taker_cell,
             pair->taker_cell >= 4 ? "screw, frame" : "screw");
    struct faults faults = {0};
    pair->scenario = read_scenario(text, strlen(text), "line", NULL, 0, &faults);
    ck_assert_msg(pair->scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "?");
    faults_free(&faults);
    pair->world = world_new(pair->scenario);
}

static void pair_free(struct pair *pair) {
    world_free(pair->world);
    scenario_free(pair->scenario);
}

static void put_one(struct pair *pair) {
    uint32_t kind = draw(pair, pair->kinds), cell = draw(pair, pair->plain.cells);
    if (!plain_is_free(&pair->plain, cell, length_of[kind]))
        return;
    line_put(pair->world, 0, cell, kind);
    plain_mark(&pair->plain, cell, kind, true);
}

static void take_one(struct pair *pair) {
    uint32_t cell = draw(pair, 3) == 0 ? pair->plain.cells - 1 : draw(pair, pair->plain.cells);
    if (pair->plain.head[cell] == NO_INDEX)
        return;
    line_take(pair->world, 0, cell);
    plain_mark(&pair->plain, cell, pair->plain.head[cell], false);
}

static void stop_or_start(struct pair *pair) {
    pair->plain.runs = !pair->plain.runs;
    pair->plain.since_step = 0;
    incident_set_belt_stops(pair->world, belt_of_line(pair->world, 0),
                            pair->plain.runs ? 0 : STOPPED_BY_INCIDENT);
}

static void compare_cells(struct pair *pair) {
    for (uint32_t cell = 0; cell < pair->plain.cells; cell++) {
        if (line_kind_at(pair->world, 0, cell) != pair->plain.head[cell])
            ck_abort_msg("tick %" PRId64 ", cell %" PRIu32 ": another kind", world_now(pair->world),
                         cell);
        for (uint32_t kind = 0; kind < pair->kinds; kind++)
            if (line_is_free(pair->world, 0, cell, length_of[kind]) !=
                plain_is_free(&pair->plain, cell, length_of[kind]))
                ck_abort_msg("tick %" PRId64 ", cell %" PRIu32 ": room for %" PRIu32,
                             world_now(pair->world), cell, length_of[kind]);
    }
    line_audit(pair->world, 0);
}

/* ---- what it expects: carried out on a copy; after as many steps as cells all has come to rest
 * ---- */

static int64_t plain_step_to_room(struct plain plain, uint32_t cell, uint32_t length,
                                  int64_t step) {
    for (uint32_t i = 0; i <= 2 * plain.cells; i++) {
        if (plain.steps >= step && plain_is_free(&plain, cell, length))
            return plain.steps;
        plain_step(&plain);
    }
    return BELT_CLOCK_NEVER;
}

static int64_t plain_step_to_wanted(struct plain plain, uint32_t cell, int64_t step) {
    for (uint32_t i = 0; i <= 2 * plain.cells; i++) {
        uint32_t kind = plain.head[cell];
        if (plain.steps >= step && kind != NO_INDEX && is_wanted[kind])
            return plain.steps;
        plain_step(&plain);
    }
    return BELT_CLOCK_NEVER;
}

static void compare_expected(struct pair *pair) {
    uint32_t cell = draw(pair, pair->plain.cells), length = length_of[draw(pair, pair->kinds)];
    int64_t from = pair->plain.steps + draw(pair, pair->plain.cells);
    if (length <= cell + 1) {
        int64_t due = plain_step_to_room(pair->plain, cell, length, from);
        int64_t step = line_step_to_room(pair->world, 0, cell, length, from);
        if (step != due)
            ck_abort_msg("tick %" PRId64 ": room for %" PRIu32 " at cell %" PRIu32
                         " from step %" PRId64 " on at %" PRId64 ", due is %" PRId64,
                         world_now(pair->world), length, cell, from, step, due);
    }
    int64_t due = plain_step_to_wanted(pair->plain, pair->taker_cell, from);
    int64_t step = arm_items_step_on_line(pair->world, &pair->world->arm[TAKER].plan, from);
    if (step != due)
        ck_abort_msg("tick %" PRId64 ": wanted at cell %" PRIu32 " from step %" PRId64
                     " on at %" PRId64 ", due is %" PRId64,
                     world_now(pair->world), pair->taker_cell, from, step, due);
    struct plain later = pair->plain;
    while (later.steps < from)
        plain_step(&later);
    if (line_kind_at_step(pair->world, 0, cell, from) != later.head[cell])
        ck_abort_msg("tick %" PRId64 ": cell %" PRIu32 " after step %" PRId64,
                     world_now(pair->world), cell, from);
}

static void compare_rolling(struct pair *pair) {
    struct plain later = pair->plain;
    bool rolling, rolls = later.runs && plain_step(&later);
    int64_t tick = line_rolled_tick(pair->world, 0, &rolling);
    if (tick != pair->plain.rolled_tick || rolling != rolls)
        ck_abort_msg("tick %" PRId64 ": rolled in %" PRId64 ", due is %" PRId64
                     "; rolls on: %d, %d",
                     world_now(pair->world), tick, pair->plain.rolled_tick, rolling, rolls);
}

static void play(uint32_t cells, uint64_t seed) {
    struct pair pair;
    pair_init(&pair, cells, seed);
    for (int64_t tick = 0; tick < TICKS; tick++) {
        world_advance(pair.world, tick);
        plain_tick(&pair.plain, tick);
        if (draw(&pair, 60) == 0)
            stop_or_start(&pair);
        if (draw(&pair, 3) == 0) /* else nobody looks, and positions are worked out later */
            compare_cells(&pair);
        bool filling = tick / 300 % 2 == 0;
        if (draw(&pair, 5) == 0)
            put_one(&pair);
        if (draw(&pair, filling ? 16 : 4) == 0)
            take_one(&pair);
        if (draw(&pair, 3) == 0)
            compare_expected(&pair);
        if (draw(&pair, 3) == 0)
            compare_rolling(&pair);
    }
    pair_free(&pair);
}

START_TEST(items_roll_as_they_would_cell_by_cell) {
    for (uint32_t cells = 1; cells <= 12; cells++)
        for (uint64_t seed = 0; seed < 4; seed++)
            play(cells, 100 * cells + seed);
    play(40, 1);
    play(41, 2);
    play(CELLS_MOST, 3);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("line");
    TCase *tests = tcase_create("line");
    tcase_add_test(tests, items_roll_as_they_would_cell_by_cell);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
