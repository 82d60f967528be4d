/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm.h - an arm: reaching, carrying, placing, returning (rules 4). It acts when it is
 * woken, does all that the rules let it do in that tick, and plans when to act next: at a tick that
 * it knows, when what it waits for reaches its cell, or when wake.h wakes it because a count or
 * gate has changed. An act that does nothing is never wrong, because by the rules every arm may act
 * in every tick. */
#pragma once

#include <stdint.h>

#include "model/engine/totals.h"

struct arm;
struct world;

/* One act in the tick at work. A stopped arm does nothing. */
void arm_act(struct world *world, uint32_t arm);

/* Why it is stopped from the tick at work on, 0: it runs. */
void arm_set_stops(struct world *world, uint32_t arm, uint8_t stops);

/* Makes an arm that is back from a swing by now, and runs, one that has been reaching since then.
 */
void arm_end_return(struct arm *arm);

/* The state in phase 6 of `tick`, the tick at work or the last one. */
enum arm_state arm_state_at(const struct world *world, uint32_t arm, int64_t tick);
