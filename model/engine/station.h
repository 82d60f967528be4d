/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/station.h - a station: batches that start when inputs, room and gate allow (rules
 * 5). */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/totals.h"

struct world;

/* Phase 4: the batch ends. Phase 5, after the arms: a batch starts if it can. */
void station_end_batch(struct world *world, uint32_t station);
void station_start_batch(struct world *world, uint32_t station);

/* Why it is stopped from the tick at work on, 0: it runs. */
void station_set_stops(struct world *world, uint32_t station, uint8_t stops);

/* The state that the rules give it as things stand. */
enum station_state station_state_now(const struct world *world, uint32_t station);
/* Records a new state from the current tick on. */
void station_enter(struct world *world, uint32_t station, enum station_state state);

/* For how many ticks it has been in each of STATION_STATES, without the one that lasts; and with
 * it, in phase 6 of `tick`. Room for the ticks for which stations are stopped, to be made before
 * one is. */
void station_ticks(const struct world *world, uint32_t station, int64_t *ticks);
void station_make_stopped(struct world *world);
struct station_totals station_totals_at(const struct world *world, uint32_t station, int64_t tick);

/* What is short of an input, and whether an output has no room for one more batch. */
bool station_is_short_of(const struct world *world, uint32_t station, uint32_t input);
bool station_lacks_room_for(const struct world *world, uint32_t station, uint32_t output);

/* Where it draws the time of a batch from, and whether an output is made, in world.random;
 * NO_INDEX: that is fixed. */
uint32_t station_time_chance(const struct world *world, uint32_t station);
uint32_t station_output_chance(const struct world *world, uint32_t station, uint32_t output);
