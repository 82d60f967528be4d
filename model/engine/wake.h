/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/wake.h - puts actors on the agenda when something that they wait for has changed, so
 * that nobody polls: arms at a track or a gate, stations, supplies, and the checks of phase 6.
 *
 * An actor whose turn in the tick at work is still to come is woken in this tick, else in the next
 * one (sim/agenda.h). To be woken for nothing costs a little and changes nothing, because by the
 * rules every actor may act in every tick. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "model/engine/belt.h"
#include "model/engine/parts.h"

/* Wakes an actor, or a check, in `tick` unless it is due earlier. */
static inline void wake_at(struct world *world, enum rank rank, uint32_t index, int64_t tick) {
    agenda_wake(&world->agenda, world_actor(world, rank, index), tick);
}

/* ---- arms ---- */

/* An item of a class of kinds was put on a belt `distance` cells upstream of the arm's cell. */
void wake_arm_for_item(struct world *world, uint32_t arm, const struct belt_record *belt,
                       uint32_t class, uint32_t distance);

/* Cells have been freed within reach of an arm that is placing onto a lane. */
void wake_arm_for_room(struct world *world, uint32_t arm);

/* Its gate has opened or closed. */
void wake_arm_for_gate(struct world *world, uint32_t arm, bool open);

/* What lies on a track, or how the track moves, has changed: wakes all arms that wait there. */
void wake_track_arms(struct world *world, uint32_t track);

/* Schedules an arm that is placing onto a track for the first tick, from `tick` on, in which there
 * may be room at its cell. */
void wake_arm_when_room(struct world *world, uint32_t arm, int64_t tick);

/* ---- stations and supplies ---- */

/* Something that decides whether a batch can start has changed. */
__attribute__((noinline)) void wake_station(struct world *world, uint32_t station);

/* The gate of a supply has opened or closed. */
void wake_supply_for_gate(struct world *world, uint32_t supply, bool open);

/* ---- the checks of phase 6 in the tick at work ---- */

void wake_world_check(struct world *world);
void wake_station_check(struct world *world, uint32_t station);

/* Notes that something has moved in the tick at work. */
static inline void wake_checks_of_move(struct world *world) {
    world->progress.last_move = world_now(world);
    if (world->standstill_watch.checks_moves)
        wake_world_check(world);
}

/* Whether a move of an arm concerns more than its places: to be called when it may have changed. */
static inline void wake_find_whom_moves_concern(struct world *world) {
    world->moves_concern = world->standstill_watch.checks_moves || world->listener.moved != NULL;
}

/* What lies on a track has changed in a way that the checks of the track or its loop must see. */
void wake_checks_of_track(struct world *world, uint32_t track);

/* The arms that are placing onto a track have changed from none to some; from some to none. */
void wake_checks_of_placing(struct world *world, uint32_t track);
void wake_checks_of_no_placing(struct world *world, uint32_t track);

/* A belt has stopped or started. */
void wake_checks_of_belt(struct world *world, uint32_t belt);

/* An arm may have changed: says so to the listener where it is observed. */
void wake_observers_of_arm(const struct world *world, uint32_t arm);
