/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/standstill.c - finds a standstill from the parts as they are (see standstill.h). */
#include "model/engine/standstill.h"

#include "model/engine/belt.h"
#include "model/engine/line.h"
#include "model/engine/stream.h"
#include "sim/require.h"

/* While actors are collected: the latest begin so far, or until when some actor is busy at least.
 */
struct collector {
    enum standstill_kind kind;
    int64_t tick; /* the phase 6 that is looked at */
    int64_t since;
    bool busy;
    int64_t busy_until;
    bool rolling;    /* something will roll along a line, unless it is taken or stopped */
    bool rolled_now; /* something has, in this tick */
};

static void note_begin(const struct world *world, struct collector *look, int64_t tick) {
    /* What began up to the last change from outside stands in the anchor already. */
    if (tick > world->standstill.outside_tick && tick > look->since)
        look->since = tick;
}

static void note_busy(struct collector *look, int64_t until) {
    look->busy = true;
    look->busy_until = until > look->tick ? until : look->tick;
}

static void look_at_arm(const struct world *world, uint32_t index, struct collector *look) {
    const struct arm *arm = &world->arm[index].state;
    if (arm->stops != 0)
        return;
    switch ((enum arm_state)arm->state) {
    case ARM_CARRYING: note_busy(look, arm->due); break;
    case ARM_RETURNING:
        if (arm->due > look->tick)
            note_busy(look, arm->due);
        else
            note_begin(world, look, arm->due > arm->since ? arm->due : arm->since);
        break;
    case ARM_REACHING:
        if (arm->held > 0)
            note_busy(look, look->tick); /* it may get a full hand before its lingering ends */
        else
            note_begin(world, look, arm->since);
        break;
    case ARM_PLACING:
        if (look->kind == STANDSTILL_REST)
            note_busy(look, look->tick);
        else
            note_begin(world, look, arm->since);
        break;
    case ARM_STOPPED: require(false);
    }
}

static void look_at_lines(struct world *world, struct collector *look) {
    for (uint32_t i = 0; i < world->scenario->line_count; i++) {
        bool rolling;
        int64_t rolled = line_rolled_tick(world, i, &rolling);
        note_begin(world, look, rolled);
        look->rolling |= rolling;
        look->rolled_now |= rolled == look->tick;
    }
}

static void look_at_makers(const struct world *world, struct collector *look) {
    for (uint32_t i = 0; i < world->scenario->arm_count && !look->busy; i++)
        look_at_arm(world, i, look);
    for (uint32_t i = 0; i < world->scenario->station_count && !look->busy; i++)
        if (world->station[i].working && world->station[i].stops == 0)
            note_busy(look, world->station[i].end_tick);
}

/* Conditions 5, 6 and 7 of a deadlock: help from the edge of the workshop. */
static void look_at_edge(const struct world *world, struct collector *look) {
    for (uint32_t i = 0; i < world->scenario->supply_count && !look->busy; i++)
        if (stream_supply_is_ready(world, i))
            note_busy(look, look->tick);
    for (uint32_t i = 0; i < world->scenario->demand_count && !look->busy; i++)
        if (stream_demand_is_ready(world, i))
            note_busy(look, look->tick);
    for (uint32_t i = 0; i < world->breakdown_count && !look->busy; i++)
        if (world->breakdown[i].broken)
            note_busy(look, look->tick);
}

bool standstill_help_comes(const struct world *world) {
    struct collector look = {.tick = world_now(world)};
    look_at_edge(world, &look);
    return look.busy;
}

static struct collector collect(struct world *world, enum standstill_kind kind, int64_t tick) {
    struct collector look = {.kind = kind, .tick = tick, .since = world->standstill.anchor[kind]};
    note_begin(world, &look, world->progress.last_move);
    look_at_makers(world, &look);
    if (kind == STANDSTILL_DEADLOCK)
        look_at_edge(world, &look);
    look_at_lines(world, &look);
    return look;
}

static int64_t steps_wanted(const struct world *world, uint32_t belt) {
    return belt < world->scenario->loop_count ? world->belt[belt].plan.cell_count : 1;
}

/* Steps that a belt had made in phase 6 of `tick`, which is the anchor or later than the last
 * change from outside. */
static int64_t step_of(const struct world *world, enum standstill_kind kind, uint32_t belt,
                       int64_t tick) {
    if (tick == world->standstill.anchor[kind])
        return world->belt[belt].state.still_step[kind];
    return belt_clock_step_at(&world->belt[belt].state.clock, tick);
}

/* The tick in which all belts that run have made their steps since `since`. */
static int64_t long_enough_at(const struct world *world, enum standstill_kind kind, int64_t since) {
    int64_t latest = since;
    for (uint32_t i = 0; i < world->belt_count; i++) {
        const struct belt_clock *clock = &world->belt[i].state.clock;
        if (!clock->running)
            continue;
        int64_t tick =
            belt_clock_tick_of(clock, step_of(world, kind, i, since) + steps_wanted(world, i));
        if (tick > latest)
            latest = tick;
    }
    return latest;
}

/* The same if it begins in `tick`, after the last change from outside. */
static int64_t long_enough_from(const struct world *world, int64_t tick) {
    int64_t latest = tick;
    for (uint32_t i = 0; i < world->belt_count; i++) {
        const struct belt_clock *clock = &world->belt[i].state.clock;
        if (!clock->running)
            continue;
        int64_t then =
            belt_clock_tick_of(clock, belt_clock_step_at(clock, tick) + steps_wanted(world, i));
        if (then > latest)
            latest = then;
    }
    return latest;
}

int64_t standstill_earliest(struct world *world) {
    const struct standstill *standstill = &world->standstill;
    if (world->progress.last_move <= standstill->outside_tick)
        return world_now(world);
    return long_enough_from(world, world->progress.last_move);
}

struct standstill_finding standstill_find(struct world *world, enum standstill_kind kind) {
    struct collector look = collect(world, kind, world_now(world));
    if (look.busy)
        return (struct standstill_finding){.since = NOT_GIVEN,
                                           .retry = long_enough_from(world, look.busy_until)};
    int64_t then = look.rolling ? long_enough_from(world, world_now(world) + 1)
                                : long_enough_at(world, kind, look.since);
    /* Where every belt is stopped one quiet tick is enough, but that one must be. */
    bool quiet = world->progress.last_move < world_now(world) && !look.rolled_now;
    return (struct standstill_finding){
        .since = look.since, .retry = then, .long_enough = quiet && then <= world_now(world)};
}

void standstill_before_outside(struct world *world) {
    struct standstill *standstill = &world->standstill;
    int64_t now = world_now(world);
    for (int kind = 0; kind < STANDSTILLS; kind++) {
        struct collector look = {.busy = true};
        if (now > 0)
            look = collect(world, (enum standstill_kind)kind, now - 1);
        world->standstill_watch.before[kind] = look.busy ? NOT_GIVEN : look.since;
        for (uint32_t i = 0; i < world->belt_count && !look.busy; i++)
            world->belt[i].state.still_step[kind] =
                step_of(world, (enum standstill_kind)kind, i, look.since);
        if (!look.busy)
            standstill->anchor[kind] = look.since;
    }
    standstill->outside_tick = now;
}

static void anchor_now(struct world *world, enum standstill_kind kind) {
    world->standstill.anchor[kind] = world_now(world);
    for (uint32_t i = 0; i < world->belt_count; i++)
        world->belt[i].state.still_step[kind] = belt_step(world, i);
}

void standstill_after_outside(struct world *world) {
    for (int kind = 0; kind < STANDSTILLS; kind++) {
        bool carried = world->standstill_watch.before[kind] != NOT_GIVEN &&
                       world->progress.last_move < world_now(world) &&
                       !collect(world, (enum standstill_kind)kind, world_now(world)).busy;
        if (!carried)
            anchor_now(world, (enum standstill_kind)kind);
    }
}
