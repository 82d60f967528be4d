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
 * while" is looked at when it begins, at its end, and after each tick in between in which anything
 * happens. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/listener.h"
#include "model/engine/world.h"
#include "sim/bytes.h"

struct starvation;

/* For a run of `world`, a world of `scenario`; both must outlive it. Never NULL. */
struct starvation *starvation_new(const struct scenario *scenario, const struct world *world);
void starvation_free(struct starvation *starvation);

/* To be called by a listener, with starved events. */
void starvation_began(struct starvation *starvation, const struct event *event);
/* `open`: it lasts at the end of the run. */
void starvation_ended(struct starvation *starvation, const struct event *event, bool open);
/* To be called between ticks, after each in which something happened. */
void starvation_look(struct starvation *starvation);

/* Adds what it keeps to `bytes`; takes that back into a new one of the same world's state. False:
 * it does not fit. */
void starvation_save(const struct starvation *starvation, struct bytes *bytes);
bool starvation_restore(struct starvation *starvation, struct bytes_reader *reader);

/* True when a station had a starvation that lasted. */
bool starvation_lasted(const struct starvation *starvation, uint32_t station);
