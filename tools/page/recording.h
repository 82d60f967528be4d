/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/recording.h - what a run did, tick by tick, packed so that the page can show any
 * moment of it exactly: where each item lies, what hands hold, what chests and stations hold, what
 * each arm and station is doing.
 *
 * A recording is a row of pieces, each for some ticks in a row. A piece begins with a frame, all
 * there is after its first tick, and goes on with what changed in each later tick. Belts step by
 * their clocks (model/engine/belt_clock.h), which the page works out as the engine does; so nothing
 * is recorded while items only ride. A piece can be thinned: only its frame remains.
 *
 * All numbers are packed as in packed.h. A frame:
 *   each arm: state, ticks for which it has been in it, kinds in its hand, of each: item, count
 *   each station: state, ticks for which it has been in it, ticks since its last batch began plus
 *     one (0: not known)
 *   each belt (loops, then lines): start_tick (signed), start_step, running
 *   each track (lanes, then lines): items, of each: cells from the one before, item
 *   each gate: whether it is open
 *   counts that are not 0: how many, of each: index less that of the one before, count
 * then for each tick in which something changed: ticks since the one before, changes, of each:
 *   code < arms: arm `code`: state + RECORDING_..., then the item picked, its count if it was from
 * a
 *     chest or station, the item placed if it was onto a track (else all of the hand was)
 *   then stations: state; then belts: as above; then tracks: as above, all of it; then gates:
 *     whether it is open; then counts: difference, signed
 * Gates are those of arms, then of stations, then of supplies, each in declared order.
 * Counts are numbered: chests, of each every item; inputs of stations; outputs of stations. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "sim/bytes.h"

/* Beside the state of an arm, in one number. */
enum {
    RECORDING_PICKED = 8,
    RECORDING_PLACED = 16,
    RECORDING_PLACED_FIRST = 32 /* of an arm that did both in one tick */
};

struct recording_piece {
    int64_t first_tick, last_tick;
    struct bytes frame, changes; /* deflated; no changes: thinned */
    bool is_whole;
};

struct recording {
    const struct scenario *scenario;
    struct world *world;
    struct recording_piece *piece;
    uint32_t piece_count, piece_capacity;
    int64_t first_tick, last_tick; /* -1: not begun */
    struct recording_now *now;     /* what the page knows after the last tick that was recorded */
};

/* Begins to listen to a world whose last tick was executed and is the first to be recorded. Both
 * must outlive it. */
void recording_begin(struct recording *recording, const struct scenario *scenario,
                     struct world *world);
void recording_free(struct recording *recording);
/* To be called after each tick in which something was due. */
void recording_look(struct recording *recording);
/* The world has executed its last tick. */
void recording_end(struct recording *recording);

/* The gates in the order in which they are numbered, as indices in scenario.gate; `gate` has room
 * for scenario.gate_count of them. Returns their number. */
uint32_t recording_gates(const struct scenario *scenario, uint32_t *gate);

/* Keeps only the frame of a piece; the frame too is given up with `wholly`. */
void recording_thin(struct recording_piece *piece, bool wholly);
