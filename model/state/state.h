/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state.h - the state of a world as bytes: saved, restored, compared, copied.
 *
 * One table (model/state/state_table.h) names every field that is state; save, restore, hash and
 * diff walk it. A state is saved in the scenario's own terms (which item lies in which slot, who
 * holds what, how far a draw stream has come), field by field, so that no padding and no pointer
 * gets in. What follows from that is not in it: who waits for what and when it is woken, sums,
 * gates' quiet ranges. After a restore every actor acts once in the next tick and plans anew, which
 * by the rules changes nothing.
 *
 * A state is that between two ticks, after world_advance. It can be put into any world of the same
 * parts, also with other values (a what-if from that moment):
 *  - the same items and lengths, loops, lanes, lines and their cells, chests and what they start
 *    with, stations, arms and the places between which they work (cells may differ), supplies and
 *    demands and their chests and items, what can break, ticks_per_second; all in the same order;
 *  - what an incident has `set` stays set; where a capacity or threshold is as its scenario has it,
 *    the new scenario's value holds from now on;
 *  - swings, times, intervals, thresholds: what is under way ends as it was drawn, what begins is
 *    new; a delivery or order that was due stays due; where no more were due (`until`), none are;
 *  - a loop or line of another rate begins a new grid of steps at the tick of the state;
 *  - gates, incidents, `watch`, recipes, and an arm's items may differ. A gate, or an incident that
 *    repeats, that was not there before starts as in a new world, a gate from the counts as they
 *    are, an incident's first time from 0; one that has passed never comes;
 *  - every draw stream goes on where it was; with another seed all of them are those of a new
 *    world. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "model/scenario/scenario.h"
#include "sim/bytes.h"

struct world;

/* The format of the bytes, part of a capsule's version. */
enum { STATE_FORMAT = 1 };

/* Adds the state of a world to `bytes`. The world is not changed. */
void state_save(const struct world *world, struct bytes *bytes);

/* Gives a world the state that state_save saved, as if it had reached it by itself; its listener
 * stays. False: the bytes are not such a state, or do not fit the world's scenario; the world is
 * untouched then.
 */
bool state_restore(struct world *world, const void *bytes, size_t length);

/* A checksum of what state_save saves, the same on every machine. */
uint64_t state_hash(const struct world *world);

/* The first field in which two worlds of one scenario differ, as "arm[3].due: 120 is 118", freed
 * with free(); NULL: none. */
char *state_diff(const struct world *a, const struct world *b);

/* A new world of `scenario` in the state of `world`, without a listener; NULL: it does not fit.
 * Freed with world_free. */
struct world *state_copy(const struct world *world, const struct scenario *scenario);
