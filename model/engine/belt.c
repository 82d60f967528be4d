/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/belt.c - the position of a belt is computed at most once a tick, and only when it is
 * needed.
 */
#include "model/engine/belt.h"

/* Sets the position of a belt that has made `step` steps by the current tick. */
static void note_step(struct world *world, uint32_t index, int64_t step) {
    struct belt_position *belt = &world->belt[index].position;
    uint32_t cells = world->belt[index].plan.cell_count;
    int64_t turn = belt->turn + (step - belt->step);
    belt->turn = (uint32_t)(turn < cells ? turn : turn % cells);
    belt->step = step;
    belt->next_tick = belt_clock_tick_of(&world->belt[index].state.clock, step + 1);
}

void belt_catch_up(struct world *world, uint32_t index) {
    note_step(world, index, belt_clock_step_at(&world->belt[index].state.clock, world_now(world)));
}

uint32_t belt_of_line(const struct world *world, uint32_t line) {
    return world->scenario->loop_count + line;
}

void belt_stop(struct world *world, uint32_t index) {
    belt_step(world, index);
    belt_clock_stop(&world->belt[index].state.clock, world_now(world));
    world->belt[index].position.next_tick = BELT_CLOCK_NEVER;
}

void belt_start(struct world *world, uint32_t index) {
    belt_clock_start(&world->belt[index].state.clock, world_now(world));
    note_step(world, index, world->belt[index].position.step);
}
