/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/announce.h - reports to the listener what happens: moves, incidents and breakdowns,
 * and the begin and end of what the checks of phase 6 found. An event that lasts is marked open
 * here in the part whose event it is, with the tick in which it began, and closed here. All is of
 * the tick at work. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "model/engine/parts.h"

/* A pick or place, to a listener that has `moved`. */
void announce_move(const struct world *world, uint32_t arm, enum move_act act, uint32_t item,
                   int64_t count);

/* ---- incidents and breakdowns: no end is reported ---- */

/* `dropped`: how many found room. */
void announce_drop(struct world *world, uint32_t incident, int64_t dropped);
/* The first `kind_count` of world.item_scratch are the items of what was taken off, `cleared` how
 * many there were. */
void announce_clear(struct world *world, uint32_t incident, uint32_t kind_count, int64_t cleared);
void announce_set(struct world *world, uint32_t incident);
/* `incident`: NO_INDEX for a breakdown or its repair. */
void announce_stop(struct world *world, struct part actor, uint32_t incident);
void announce_start(struct world *world, struct part actor, uint32_t incident);

/* ---- what lasts ---- */

/* `starved` or `blocked`, by the state in the books, which must not change while the event is
 * open. */
void announce_station(struct world *world, uint32_t station);
void announce_station_over(struct world *world, uint32_t station);

/* `blocked`, of an arm that is placing. */
void announce_arm(struct world *world, uint32_t arm);
void announce_arm_over(struct world *world, uint32_t arm);

void announce_congested(struct world *world, uint32_t lane);
void announce_congested_over(struct world *world, uint32_t lane);

/* `from`: the s of the rules. The end of a jam is that of its deadlock. */
void announce_jam(struct world *world, uint32_t lane, int64_t from);
void announce_jam_over(struct world *world, uint32_t lane);

/* `since`: when the standstill began. */
void announce_deadlock(struct world *world, uint32_t lane, int64_t since);
void announce_deadlock_over(struct world *world, uint32_t lane);

void announce_emptied(struct world *world, uint32_t loop);
void announce_emptied_over(struct world *world, uint32_t loop);

/* `rest` and, if items lie on loops, `clogged`. */
void announce_rest(struct world *world, int64_t since);
void announce_rest_over(struct world *world);

/* Reports the end of all that is open, as of the last tick executed. It stays open. */
void announce_all_open(const struct world *world);
