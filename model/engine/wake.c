/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/wake.c - who is concerned by a change, and in which tick. */
#include "model/engine/wake.h"

#include "model/engine/line.h"

/* ---- arms ---- */

static uint32_t actor_of_arm(const struct world *world, uint32_t arm) {
    return world_actor(world, RANK_ARM, arm);
}

/* Schedules it for the step with which there is room, or for `tick`, by which the belt will have
 * made `step` steps. */
static inline void set_look(struct world *world, uint32_t index, const struct belt_clock *clock,
                            int64_t room_step, int64_t step, int64_t tick) {
    world->arm[index].wait.look_step = room_step;
    if (room_step > step)
        tick = room_step == BELT_CLOCK_NEVER ? AGENDA_NEVER : belt_clock_tick_of(clock, room_step);
    agenda_set(&world->agenda, actor_of_arm(world, index), tick);
}

/* On a line, or with an item of several cells, or after the next step of the belt. */
static __attribute__((noinline)) void wake_when_room_of(struct world *world, uint32_t index,
                                                        int64_t tick, uint32_t length) {
    const struct arm_plan *plan = &world->arm[index].plan;
    const struct track_record *track = &world->track[plan->to];
    const struct belt_record *belt = &world->belt[track->plan.belt];
    int64_t step = belt_step_at(belt, tick), room_step;
    if (track->plan.is_line) {
        uint32_t line = plan->to - world->scenario->lane_count;
        room_step = line_step_to_room(world, line, plan->to_cell, length, step);
    } else {
        int64_t again = belt->position.step + LANE_WINDOW;
        uint32_t slot = belt_slot_at(belt, step, plan->to_cell);
        room_step = step + lane_steps_to_room(&track->lane, slot, length);
        if (room_step > again)
            room_step = again; /* a change further upstream does not wake it */
    }
    set_look(world, index, &belt->state.clock, room_step, step, tick);
}

/* Its belt has been asked for its step: it has tried to place, or somebody has taken. */
void wake_arm_when_room(struct world *world, uint32_t index, int64_t tick) {
    const struct arm_record *self = &world->arm[index];
    const struct arm_plan *plan = &self->plan;
    const struct track_record *track = &world->track[plan->to];
    const struct belt_record *belt = &world->belt[track->plan.belt];
    uint32_t number = plan->item[arm_run(world, self, arm_first_run(world, self)).item_slot].dest;
    const struct track_kind *kind = &world->kind[track->plan.first_kind + number];
    if (kind->special || tick >= belt->position.next_tick) {
        wake_when_room_of(world, index, tick, kind->length);
        return;
    }
    int64_t step = belt->position.step;
    int64_t ahead = lane_steps_to_room(&track->lane, belt_slot(belt, plan->to_cell), 1);
    set_look(world, index, &belt->state.clock, step + ahead, step, tick);
}

void wake_arm_for_item(struct world *world, uint32_t index, const struct belt_record *belt,
                       uint32_t class, uint32_t distance) {
    struct arm_wait *wait = &world->arm[index].wait;
    if ((wait->looks >> class & 1) == 0)
        return;
    int64_t step = belt->position.step + distance;
    if (step >= wait->look_step)
        return;
    wait->look_step = step;
    int64_t tick = distance == 0 ? world_now(world) : belt_clock_tick_of(&belt->state.clock, step);
    const struct arm *arm = &world->arm[index].state;
    if (arm->state == ARM_RETURNING && arm->due > tick)
        tick = arm->due;
    agenda_wake(&world->agenda, actor_of_arm(world, index), tick);
}

void wake_arm_for_room(struct world *world, uint32_t index) {
    bool to_come = actor_of_arm(world, index) > world->agenda.cursor;
    wake_arm_when_room(world, index, world_now(world) + (to_come ? 0 : 1));
}

void wake_arm_for_gate(struct world *world, uint32_t index, bool open) {
    if (open && world->arm[index].wait.waits & ARM_WAITS_FOR_GATE)
        agenda_wake(&world->agenda, actor_of_arm(world, index), world_now(world));
}

static void wake_arm_at_track(struct world *world, uint32_t index) {
    const struct arm_wait *wait = &world->arm[index].wait;
    if (wait->looks != 0 || wait->waits & ARM_WAITS_TO_PLACE)
        agenda_wake(&world->agenda, actor_of_arm(world, index), world_now(world));
}

void wake_track_arms(struct world *world, uint32_t index) {
    const struct track_plan *track = &world->track[index].plan;
    for (uint32_t i = 0; i < track->feeder_count; i++)
        wake_arm_at_track(world, world->feeder[track->first_feeder + i].arm);
    for (uint32_t i = 0; i < track->picker_count; i++)
        wake_arm_at_track(world, world->picker[track->first_picker + i]);
}

/* ---- stations and supplies ---- */

void wake_station(struct world *world, uint32_t index) {
    const struct station *station = &world->station[index];
    if (station->working || station->stops != 0)
        return;
    uint32_t actor = world_actor(world, RANK_BATCH_START, index);
    agenda_wake(&world->agenda, actor, world_now(world));
    if (actor <= world->agenda.cursor)
        wake_station_check(world, index);
}

void wake_supply_for_gate(struct world *world, uint32_t index, bool open) {
    if (open && world->supply_waits_for_gate[index])
        wake_at(world, RANK_SUPPLY, index, world_now(world));
}

/* ---- the checks of phase 6 ---- */

void wake_world_check(struct world *world) {
    wake_at(world, RANK_WORLD_CHECK, 0, world_now(world));
}

void wake_station_check(struct world *world, uint32_t index) {
    wake_at(world, RANK_STATION_CHECK, index, world_now(world));
}

void wake_checks_of_track(struct world *world, uint32_t index) {
    uint32_t belt = world->track[index].plan.belt;
    if (!belt_is_loop(world, belt))
        return;
    wake_at(world, RANK_TRACK_CHECK, index, world_now(world));
    wake_at(world, RANK_LOOP_CHECK, belt, world_now(world));
}

void wake_checks_of_placing(struct world *world, uint32_t index) {
    const struct track_load *load = &world->track[index].load;
    if (!load->awaits_blocked || !load->awaits_jam)
        wake_at(world, RANK_TRACK_CHECK, index, world_now(world));
}

void wake_checks_of_no_placing(struct world *world, uint32_t index) {
    if (world->track[index].state.jam_open)
        wake_at(world, RANK_TRACK_CHECK, index, world_now(world));
}

void wake_checks_of_belt(struct world *world, uint32_t index) {
    const struct belt_plan *belt = &world->belt[index].plan;
    for (uint32_t i = 0; i < belt->track_count; i++)
        wake_at(world, RANK_TRACK_CHECK, belt->first_track + i, world_now(world));
    if (belt_is_loop(world, index))
        wake_at(world, RANK_LOOP_CHECK, index, world_now(world));
}

/* Out of the way of the acts of arms, of which hardly any is observed. */
__attribute__((noinline, cold)) void wake_observers_of_arm(const struct world *world,
                                                           uint32_t arm) {
    if (world->arm[arm].wait.observers != 0 && world->listener.arm_changed != NULL)
        world->listener.arm_changed(world->listener.self, arm);
}
