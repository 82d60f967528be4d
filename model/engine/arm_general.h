/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_general.h - the act of any arm; arm_plain.h has that of most arms once more,
 * without what does not concern them. */
#pragma once

#include <stdint.h>

#include "model/engine/parts.h"

/* One act of the arm at work. */
void arm_general_act(struct world *world, struct arm_record *self);

/* The rest of that act where an arm that has been carrying finds no cell on its track. */
void arm_general_find_no_room(struct world *world, struct arm_record *self);

/* Takes an arm that has placed onto a track from the list of those who are placing there. */
void arm_general_leave_placing(struct world *world, struct arm_record *self);

/* Makes an arm that is back from a swing by now, and runs, one that has been reaching since then.
 */
static inline void arm_general_end_return(struct arm *arm) {
    arm->since = arm->due > arm->since ? arm->due : arm->since;
    arm->state = ARM_REACHING;
}

/* Reports a move of the arm at work to whom it concerns; counts one. */
__attribute__((noinline, cold)) void arm_general_report_move(struct world *world, enum move_act act,
                                                             const struct arm_item *item,
                                                             int64_t count);
__attribute__((always_inline)) static inline void
arm_general_count_move(struct world *world, enum move_act act, const struct arm_item *item,
                       int64_t count) {
    world->progress.moves++;
    world->progress.last_move = world_now(world);
    if (__builtin_expect(world->moves_concern, false))
        arm_general_report_move(world, act, item, count);
}
