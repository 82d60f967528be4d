/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/belt.h - the motion of a loop or line: its position in steps, and stopping and
 * starting it. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/parts.h"
#include "sim/require.h"

/* Sets the position of a belt that has made `step` steps by now, by its clock. */
void belt_set_step(struct world *world, uint32_t belt, int64_t step);

/* Brings the position of a belt up to date with the current tick. */
void belt_catch_up(struct world *world, uint32_t belt);

/* Whether a belt has to be brought up to date. */
static inline bool belt_is_late(const struct world *world, const struct belt_record *belt) {
    return world_now(world) >= belt->position.next_tick;
}

/* Steps that a belt has made by the tick at work. */
static inline int64_t belt_step(struct world *world, uint32_t index) {
    if (belt_is_late(world, &world->belt[index]))
        belt_catch_up(world, index);
    return world->belt[index].position.step;
}

/* Whole steps that a belt of which belt_step() was asked will have made by `tick`, not before the
 * tick at work, if nobody stops it. */
static inline int64_t belt_step_at(const struct belt_record *belt, int64_t tick) {
    return tick < belt->position.next_tick ? belt->position.step
                                           : belt_clock_step_at(&belt->state.clock, tick);
}

/* The slot of its lanes that is at `cell` after `step` steps, not less than it has made. */
static inline uint32_t belt_slot_at(const struct belt_record *belt, int64_t step, uint32_t cell) {
    int64_t ahead = step - belt->position.step;
    require(ahead >= 0);
    int64_t slot = (int64_t)belt->position.turn - cell + ahead;
    if (slot < 0)
        return (uint32_t)(slot + belt->plan.cell_count);
    return (uint32_t)(slot < belt->plan.cell_count ? slot : slot % belt->plan.cell_count);
}

/* The slot of a lane of a belt that is at `cell` in the tick at work; of one that is up to date. */
static inline uint32_t belt_slot(const struct belt_record *belt, uint32_t cell) {
    uint32_t turn = belt->position.turn;
    return turn >= cell ? turn - cell : turn + belt->plan.cell_count - cell;
}
static inline uint32_t belt_slot_now(struct world *world, uint32_t index, uint32_t cell) {
    belt_step(world, index);
    return belt_slot(&world->belt[index], cell);
}

/* Cells from `from` to `to` in the direction of travel: 0 .. cell_count - 1. */
static inline uint32_t belt_distance(const struct belt_record *belt, uint32_t from, uint32_t to) {
    return to >= from ? to - from : to + belt->plan.cell_count - from;
}

/* Index of a scenario's line among the belts. */
uint32_t belt_of_line(const struct world *world, uint32_t line);

static inline bool belt_is_loop(const struct world *world, uint32_t belt) {
    return belt < world->scenario->loop_count;
}

/* Makes no step after that of the tick at work; starts a new grid of steps at the tick at work. */
void belt_stop(struct world *world, uint32_t belt);
void belt_start(struct world *world, uint32_t belt);
