/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm.h - an arm: reaching, carrying, placing, returning (rules 4). It acts when it is
 * woken, does all that the rules let it do in that tick, and plans when to act next: at a tick that
 * it knows, when what it waits for reaches its cell, or when wake.h wakes it because a count or
 * gate has changed. An act that does nothing is never wrong, because by the rules every arm may act
 * in every tick.
 *
 * A returning arm is not woken when it is back: what it does next is planned when it starts back,
 * from the tick at which it will be ready, and its due tick distinguishes returning from reaching.
 */
#pragma once

#include <stdint.h>

#include "model/engine/parts.h"
#include "model/engine/totals.h"

/* What executes one act of an arm; for each set of acts (struct arm_wait) and each state. */
typedef void arm_act_function(struct world *world, struct arm_record *self);
extern arm_act_function *const arm_act_table[ARM_ACTS][ARM_STOPPED];

/* One act in the tick at work. A stopped arm does nothing. */
static inline void arm_act(struct world *world, uint32_t arm) {
    struct arm_record *self = &world->arm[arm];
    arm_act_table[self->wait.acts][self->state.state](world, self);
}

/* Chooses its acts: to be called when it is made, and when what decides that may have changed. */
void arm_choose_acts(struct world *world, uint32_t arm);

/* Why it is stopped from the tick at work on, 0: it runs. */
void arm_set_stops(struct world *world, uint32_t arm, uint8_t stops);

/* The state in phase 6 of `tick`, the tick at work or the last one. */
enum arm_state arm_state_at(const struct world *world, uint32_t arm, int64_t tick);
