/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/incident.h - what happens to a workshop from outside: incidents and breakdowns
 * (rules 9). */
#pragma once

#include <stdint.h>

struct world;

/* Phase 2 of the tick at work: the incident happens, and its next time is set if it repeats; the
 * thing breaks down or is repaired. It is reported to the listener even where it changes nothing.
 */
void incident_act(struct world *world, uint32_t incident);
void incident_break(struct world *world, uint32_t breakdown);

/* Why a belt is stopped from the tick at work on, after the step of that tick: a set of reasons, 0:
 * it runs. */
void incident_set_belt_stops(struct world *world, uint32_t belt, uint8_t stops);
