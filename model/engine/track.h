/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/track.h - a lane or a line as arms use it: finding, putting and taking items at a
 * cell, the counts of what lies there, and the list of arms that are placing onto it. Kinds are
 * numbered within a track. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/belt.h"
#include "model/engine/parts.h"

/* The track of a place on a lane or line. */
uint32_t track_of_place(const struct world *world, struct place place);

/* The number of an item among the kinds of a track, NO_INDEX when it never comes there. */
uint32_t track_kind_of(const struct world *world, uint32_t track, uint32_t item);

/* What is at a cell in the tick at work: the slot of a lane, the cell of a line. */
static inline uint32_t track_spot(struct world *world, uint32_t index, uint32_t cell) {
    const struct track_plan *track = &world->track[index].plan;
    if (track->is_line)
        return cell;
    return belt_slot_now(world, track->belt, cell);
}

/* The kind whose head is at a spot in the tick at work, NO_INDEX: none. */
uint32_t track_kind_at(struct world *world, uint32_t track, uint32_t spot);

/* How many of the takers of a kind (world.taker) stand before `cell`; among the arms that place on
 * the track, the first that room freed at `cell` may concern. */
uint32_t track_first_taker(const struct world *world, uint32_t track, uint32_t kind, uint32_t cell);
uint32_t track_first_feeder(const struct world *world, uint32_t track, uint32_t cell);

/* Puts an item of `kind` with its head at `cell`, if there is room in the tick at work; takes the
 * one of `kind` that is at `cell`, in `spot`. Counts and gates are updated, checks and arms that
 * may wait for it are woken. first_taker and first_feeder are the results of the functions above
 * for the cell. */
bool track_put(struct world *world, uint32_t track, uint32_t cell, uint32_t kind,
               uint32_t first_taker);
void track_take(struct world *world, uint32_t track, uint32_t cell, uint32_t spot, uint32_t kind,
                uint32_t first_feeder);

/* Puts up to `count` items of a kind where they fit, head cells 0, 1, ... tried once each; returns
 * how many it put. Takes all items of a kind off, of all kinds for NO_INDEX; returns how many. */
int64_t track_drop(struct world *world, uint32_t track, uint32_t kind, int64_t count);
int64_t track_clear(struct world *world, uint32_t track, uint32_t kind);

/* Works out which numbers of held cells concern no check: as long as it stays crowded or not, and
 * empty or not. To be called when a check has looked at the track. */
void track_find_quiet_range(struct world *world, uint32_t track);

/* Puts an arm at the end of those placing onto the track, from now on; takes it out of the list. */
void track_join_placing(struct world *world, uint32_t track, uint32_t arm);
void track_leave_placing(struct world *world, uint32_t track, uint32_t arm);

/* Stops the program when its items, their counts, or the list of those who place onto it contradict
 * each other (invariants 3 and 6 of world.h). */
void track_audit(const struct world *world, uint32_t track);
