/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/watch.h - the watchers of phase 6: starved, blocked, congested, jam, deadlock, rest,
 * clogged and emptied (rules 11). A check runs when wake.h schedules it because something relevant
 * changed, or when a duration may have passed; one that runs too early costs a little and reports
 * nothing. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/parts.h"

/* An incident or breakdown is about to change something in the tick at work. */
void watch_outside(struct world *world);

/* The checks of phase 6. */
void watch_check_station(struct world *world, uint32_t station);
void watch_check_track(struct world *world, uint32_t track);
void watch_check_loop(struct world *world, uint32_t loop);
void watch_check_world(struct world *world);
