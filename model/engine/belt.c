/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/belt.c - the position of a belt is computed at most once a tick, and only when it is
 * needed.
 */
#include "model/engine/belt.h"

/* So many steps are made one by one, without a division; more are counted at once. */
enum { STEPS_MADE_ONE_BY_ONE = 8 };

void belt_set_step(struct world *world, uint32_t index, int64_t step) {
    const struct belt_clock *clock = &world->belt[index].state.clock;
    struct belt_position *position = &world->belt[index].position;
    position->step = step;
    position->turn = (uint32_t)(step % world->belt[index].plan.cell_count);
    position->next_tick = belt_clock_tick_of(clock, step + 1);
    world->belt_pace[index] = (struct belt_pace){.whole_ticks = clock->ticks / clock->steps,
                                                 .rest = clock->ticks % clock->steps,
                                                 .late = belt_clock_late(clock, step + 1)};
}

/* The step of next_tick is made. The one after comes whole_ticks later, or one more, so that it is
 * never too early. */
static inline void make_step(struct belt_record *belt, struct belt_pace *pace) {
    struct belt_position *position = &belt->position;
    position->step++;
    if (++position->turn == belt->plan.cell_count)
        position->turn = 0;
    position->next_tick += pace->whole_ticks;
    pace->late -= pace->rest;
    if (pace->late < 0) {
        pace->late += belt->state.clock.steps;
        position->next_tick++;
    }
}

/* Out of the way of the steps that are made one by one, which need no register of others. */
static __attribute__((noinline)) void count_steps(struct world *world, uint32_t index) {
    belt_set_step(world, index,
                  belt_clock_step_at(&world->belt[index].state.clock, world_now(world)));
}

void belt_catch_up(struct world *world, uint32_t index) {
    struct belt_record *belt = &world->belt[index];
    struct belt_pace *pace = &world->belt_pace[index];
    int64_t now = world_now(world);
    for (int left = STEPS_MADE_ONE_BY_ONE; left > 0; left--) {
        make_step(belt, pace);
        if (now < belt->position.next_tick)
            return;
    }
    count_steps(world, index);
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
    belt_set_step(world, index, world->belt[index].position.step);
}
