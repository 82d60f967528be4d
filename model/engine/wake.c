/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/wake.c - who is concerned by a change, and in which tick. */
#include "model/engine/wake.h"

#include "model/engine/line.h"

/* ---- arms ---- */

static uint32_t actor_of_arm(const struct world *world, uint32_t arm) {
    return world_actor(world, RANK_ARM, arm);
}

void wake_arm_when_room(struct world *world, uint32_t index, int64_t tick) {
    struct arm *arm = &world->arm[index];
    const struct track *track = &world->track[arm->to];
    uint32_t what = world->hand_run[arm->first_run + arm->runs_done].what;
    uint32_t kind = world->arm_item[arm->first_item + what].dest;
    uint32_t length = world->kind[track->first_kind + kind].length;
    int64_t step = belt_step_at(world, track->belt, tick);
    int64_t room_step;
    if (arm->to_kind == PLACE_LINE) {
        uint32_t line = arm->to - world->scenario->lane_count;
        room_step = line_step_to_room(world, line, arm->to_cell, length, step);
    } else {
        uint32_t slot = belt_slot_at(world, track->belt, step, arm->to_cell);
        room_step = step + lane_steps_to_room(&world->lane[arm->to], slot, length);
        room_step = wake_step_in_window(world, track->belt, room_step);
    }
    arm->look_step = room_step;
    if (room_step > step)
        tick = room_step == BELT_CLOCK_NEVER
                   ? AGENDA_NEVER
                   : belt_clock_tick_of(&world->belt[track->belt].clock, room_step);
    agenda_set(&world->agenda, actor_of_arm(world, index), tick);
}

void wake_arm_for_item(struct world *world, uint32_t index, uint32_t class, uint32_t distance) {
    struct arm *arm = &world->arm[index];
    if ((arm->looks >> class & 1) == 0)
        return;
    const struct belt *belt = &world->belt[world->track[arm->from].belt];
    int64_t step = belt->step + distance;
    if (step >= arm->look_step)
        return;
    arm->look_step = step;
    int64_t tick = distance == 0 ? world_now(world) : belt_clock_tick_of(&belt->clock, step);
    if (arm->state == ARM_RETURNING && arm->due > tick)
        tick = arm->due;
    agenda_wake(&world->agenda, actor_of_arm(world, index), tick);
}

void wake_arm_for_room(struct world *world, uint32_t index) {
    bool to_come = actor_of_arm(world, index) > world->agenda.cursor;
    wake_arm_when_room(world, index, world_now(world) + (to_come ? 0 : 1));
}

void wake_arm_for_gate(struct world *world, uint32_t index, bool open) {
    if (open && world->arm[index].waits & ARM_WAITS_FOR_GATE)
        agenda_wake(&world->agenda, actor_of_arm(world, index), world_now(world));
}

static void wake_arm_at_track(struct world *world, uint32_t index) {
    const struct arm *arm = &world->arm[index];
    if (arm->looks != 0 || arm->waits & ARM_WAITS_TO_PLACE)
        agenda_wake(&world->agenda, actor_of_arm(world, index), world_now(world));
}

void wake_track_arms(struct world *world, uint32_t index) {
    const struct track *track = &world->track[index];
    for (uint32_t i = 0; i < track->feeder_count; i++)
        wake_arm_at_track(world, world->feeder[track->first_feeder + i].arm);
    for (uint32_t i = 0; i < track->picker_count; i++)
        wake_arm_at_track(world, world->picker[track->first_picker + i].arm);
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
    if (open && world->supply[index].waits_for_gate)
        wake_at(world, RANK_SUPPLY, index, world_now(world));
}

/* ---- the checks of phase 6 ---- */

void wake_world_check(struct world *world) { wake_at(world, RANK_WORLD_LOOK, 0, world_now(world)); }

void wake_station_check(struct world *world, uint32_t index) {
    wake_at(world, RANK_STATION_LOOK, index, world_now(world));
}

void wake_checks_of_track(struct world *world, uint32_t index) {
    uint32_t belt = world->track[index].belt;
    if (!belt_is_loop(world, belt))
        return;
    wake_at(world, RANK_TRACK_LOOK, index, world_now(world));
    wake_at(world, RANK_LOOP_LOOK, belt, world_now(world));
}

void wake_checks_of_placing(struct world *world, uint32_t index) {
    const struct track *track = &world->track[index];
    if (!track->watches_blocked || !track->watches_jam)
        wake_at(world, RANK_TRACK_LOOK, index, world_now(world));
}

void wake_checks_of_no_placing(struct world *world, uint32_t index) {
    if (world->track[index].jam_open)
        wake_at(world, RANK_TRACK_LOOK, index, world_now(world));
}

void wake_checks_of_belt(struct world *world, uint32_t index) {
    const struct belt *belt = &world->belt[index];
    for (uint32_t i = 0; i < belt->track_count; i++)
        wake_at(world, RANK_TRACK_LOOK, belt->first_track + i, world_now(world));
    if (belt_is_loop(world, index))
        wake_at(world, RANK_LOOP_LOOK, index, world_now(world));
}
