/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/stream.h - supplies and demands: streams of deliveries and orders at one chest
 * (rules 7). */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct world;

/* Phase 3 of the tick at work. */
void stream_supply_act(struct world *world, uint32_t supply);
void stream_demand_act(struct world *world, uint32_t demand);

/* Why it is stopped from the tick at work on, 0: it runs. */
void stream_set_supply_stops(struct world *world, uint32_t supply, uint8_t stops);
void stream_set_demand_stops(struct world *world, uint32_t demand, uint8_t stops);

/* True when it could deliver or take at once if its event were due: something is held, owed or
 * still to come, it is not stopped, its gate is open, its chest accepts or holds its item (rules
 * 11, deadlock, 5 and 6). */
bool stream_supply_is_ready(const struct world *world, uint32_t supply);
bool stream_demand_is_ready(const struct world *world, uint32_t demand);

/* Where it draws its intervals from, in world.random; NO_INDEX: they are fixed. */
uint32_t stream_chance_of_supply(const struct world *world, uint32_t supply);
uint32_t stream_chance_of_demand(const struct world *world, uint32_t demand);

/* Items that wait to be put in; orders that are owed. */
int64_t stream_held(const struct world *world, uint32_t supply);
int64_t stream_owed(const struct world *world, uint32_t demand);
