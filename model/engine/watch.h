/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/watch.h - the watchers of phase 6: starved, blocked, congested, jam, deadlock, rest,
 * clogged and emptied (rules 11). They are told of what may matter and look then, or when a
 * duration may have passed; a look too early costs a little and says nothing. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/parts.h"

/* Has the workshop looked at in phase 6 of the tick at work. */
void watch_have_looked(struct world *world);

/* Something has moved in the tick at work. */
static inline void watch_moved(struct world *world) {
    world->last_move = world_now(world);
    if (world->looks_at_moves)
        watch_have_looked(world);
}

/* Something has been put on this track or taken off that its watchers or its loop's must see; who
 * places onto it has changed from none to some or back; a belt has stopped or started. */
void watch_track_moved(struct world *world, uint32_t track);
void watch_placing_began(struct world *world, uint32_t track);
void watch_placing_ended(struct world *world, uint32_t track);
void watch_belt_changed(struct world *world, uint32_t belt);

/* Begins the `blocked` event of an arm that is placing; ends it when it has put something down. */
void watch_arm_blocked(struct world *world, uint32_t arm);
void watch_arm_unblocked(struct world *world, uint32_t arm);

/* An incident or breakdown is about to change something in the tick at work. */
void watch_outside(struct world *world);

/* The looks of phase 6. */
void watch_station_look(struct world *world, uint32_t station);
void watch_track_look(struct world *world, uint32_t track);
void watch_loop_look(struct world *world, uint32_t loop);
void watch_world_look(struct world *world);

/* Tells the end of all that is open, as of the last tick executed. */
void watch_tell_open(struct world *world);
