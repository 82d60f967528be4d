/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/starvation.h - which starvations lasted, and which of them nobody minds.
 *
 * A starvation that lasted is a starved event that is open at the end, or longer than half of what
 * was left of the run when it began. Not one in which all the while every arm that feeds a short
 * input was held by a shut gate that reads what the station makes: it was not wanted, then.
 *
 * Our reading of "feeds": the arms that put the item into the station; where such an arm has no
 * such gate itself and takes from a lane or line, or from a chest that has none of the item and
 * gets none by a supply, those that put the item there in its place, and so on upstream. "All the
 * while" means when it begins, at its end, and after each tick in between in which anything
 * happens.
 *
 * Nobody polls: the arms on the way upstream are observed, and a station is looked at again after a
 * tick in which one of them, or its gate, has changed.
 *
 * Between ticks, when starvation_look has been called:
 *  1. a starvation marked as unwanted would be found unwanted if it were looked at now;
 *  2. each arm on the way upstream from such a station is linked to it, once, and observed. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/listener.h"
#include "model/engine/world.h"
#include "sim/bytes.h"

struct starvation;

/* For a run of `world`, a world of `scenario`; both must outlive it. Never NULL. Freed with
 * starvation_free; NULL is allowed. */
struct starvation *starvation_new(const struct scenario *scenario, struct world *world);
void starvation_free(struct starvation *starvation);

/* To be called by a listener, with starved events. */
void starvation_began(struct starvation *starvation, const struct event *event);
/* `open`: it lasts at the end of the run. */
void starvation_ended(struct starvation *starvation, const struct event *event, bool open);
/* To be called by a listener, as its arm_changed. */
void starvation_arm_changed(struct starvation *starvation, uint32_t arm);
/* To be called between ticks, after each in which something happened; where there is nothing to
 * look at it does nothing, and else it has paused the world (world_pause). */
void starvation_look(struct starvation *starvation);

/* Checks the invariants above, between ticks, after starvation_look; ends the program where one
 * does not hold. */
void starvation_audit(struct starvation *starvation);

/* Adds what it keeps to `bytes`; takes that back into a new one of the same world's state. False:
 * it does not fit. */
void starvation_save(const struct starvation *starvation, struct bytes *bytes);
bool starvation_restore(struct starvation *starvation, struct bytes_reader *reader);

/* True when a station had a starvation that lasted. */
bool starvation_lasted(const struct starvation *starvation, uint32_t station);
