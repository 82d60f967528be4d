/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_wait.h - when an arm that is about to pick acts next: when what it wants comes
 * to its cell, or when a count or gate that it waits for has changed. An arm at work has one
 * wake-up outstanding; what is planned below replaces it. */
#pragma once

#include <stdint.h>

#include "model/engine/parts.h"

/* Not compiled into the acts that call it, which so need fewer registers. */
#define ARM_WAIT_APART __attribute__((noinline))

/* Schedules an arm at work that is reaching or returning: for the first tick from `tick` on, not
 * earlier than the next one, in which it can pick, or its lingering ends. If something keeps it
 * from picking it waits for that, and is woken. */
void arm_wait_to_pick(struct world *world, struct arm_record *self, int64_t tick);

/* The same of one with an empty hand that picks from a lane; from a chest or station. */
ARM_WAIT_APART void arm_wait_at_lane(struct world *world, struct arm_record *self, int64_t tick);
ARM_WAIT_APART void arm_wait_at_stock(struct world *world, struct arm_record *self, int64_t tick);

/* Until when an arm that gathers, and holds something, waits for more. */
static inline int64_t arm_wait_lingers_until(const struct world *world,
                                             const struct arm_record *self) {
    return arm_hand(world, self)->first_pick + self->plan.shape->linger_ticks;
}

/* Waits no more for a gate, for more, or for room. */
ARM_WAIT_APART void arm_wait_end(struct world *world, struct arm_record *self);
