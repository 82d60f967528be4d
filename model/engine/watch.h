/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/watch.h - the watchers of phase 6: starved, blocked, congested, jam, deadlock, rest,
 * clogged and emptied (rules 11). They are told of what may matter and look then, or when a
 * duration may have passed; a look too early costs a little and says nothing. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/parts.h"

/* An incident or breakdown is about to change something in the tick at work. */
void watch_outside(struct world *world);

/* The looks of phase 6. */
void watch_station_look(struct world *world, uint32_t station);
void watch_track_look(struct world *world, uint32_t track);
void watch_loop_look(struct world *world, uint32_t loop);
void watch_world_look(struct world *world);
