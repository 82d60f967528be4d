/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_books.h - for how long an arm has been in each state, and what it has moved.
 *
 * What follows from its swings is not kept: where a swing is fixed, each one that has begun takes
 * so many ticks of carrying, each hand that has been emptied so many of returning, and moves an
 * item. Both count from when they begin, up to `due`. The time of placing stands in struct
 * arm_placing, that of reaching is the rest of the run. By how much the totals differ from all that
 * stands in world.arm_books: where a swing is drawn, a hand holds several items, something stops an
 * arm, or a state says so. */
#pragma once

#include <stdint.h>

#include "model/engine/parts.h"

/* Up to when the time of what an arm is doing, which is `state`, is counted already: one that is on
 * its way up to its due. */
static inline int64_t arm_books_counted_until(const struct arm *arm, enum arm_state state) {
    bool under_way = state == ARM_CARRYING || state == ARM_RETURNING;
    return under_way && arm->due > arm->since ? arm->due : arm->since;
}

/* Ticks of what it has been doing since `since` that are counted already. */
static inline int64_t arm_books_ahead(const struct arm *arm) {
    if (arm->stops != 0)
        return 0;
    return arm_books_counted_until(arm, (enum arm_state)arm->state) - arm->since;
}

/* Hands that have been emptied. */
static inline int64_t arm_books_hands_emptied(const struct arm *arm) {
    return arm->swings - (arm->state == ARM_CARRYING || arm->state == ARM_PLACING);
}

static inline int64_t arm_books_times(int64_t count, int64_t ticks) {
    return (int64_t)((uint64_t)count * (uint64_t)ticks);
}

/* Makes world.arm_books where there are none. Without them nothing can be added below but time of
 * placing. */
void arm_books_make(struct world *world);

/* Adds ticks, of either sign, to those of a state other than reaching; items to those put down. */
void arm_books_add(struct world *world, struct arm_record *self, enum arm_state state,
                   int64_t ticks);
void arm_books_add_moved(struct world *world, struct arm_record *self, int64_t count);

/* The ticks in each state from the start of the run up to arm->since, where `arm` is what the state
 * of this arm is, or would be. */
void arm_books_ticks(const struct world *world, uint32_t index, const struct arm *arm,
                     int64_t ticks[ARM_STATES]);

/* Items that it has put down. */
int64_t arm_books_moved(const struct world *world, uint32_t index);

/* Of an arm of a new world, whose state is set, sets the totals: ticks as above, but of reaching,
 * which is the rest. */
void arm_books_set(struct world *world, uint32_t index, const struct arm_totals *totals);

/* Totals up to `tick`, the tick at work or the last one. */
struct arm_totals arm_books_totals_at(const struct world *world, uint32_t arm, int64_t tick);

/* The same up to the last tick, where world.arm_books is NULL. */
static inline struct arm_totals arm_books_plain_totals(const struct world *world, uint32_t index) {
    int64_t tick = world->progress.tick;
    const struct arm_record *self = &world->arm[index];
    const struct arm_shape *shape = self->plan.shape;
    const struct arm *arm = &self->state;
    uint32_t watched = self->plan.placing;
    int64_t emptied = arm_books_hands_emptied(arm);
    int64_t carrying = arm_books_times(arm->swings, shape->out_ticks);
    int64_t placing = watched == NO_INDEX ? 0 : world->arm_placing[watched].ticks;
    int64_t returning = arm_books_times(emptied, shape->back_ticks);
    if (arm->state == ARM_RETURNING)
        returning -= arm->due > tick ? arm->due - tick : 0;
    else if (arm->state == ARM_CARRYING)
        carrying += tick - arm_books_counted_until(arm, ARM_CARRYING);
    else if (arm->state == ARM_PLACING)
        placing += tick - arm->since;
    return (struct arm_totals){.swings = arm->swings,
                               .moved = emptied,
                               .ticks = {[ARM_CARRYING] = carrying,
                                         [ARM_PLACING] = placing,
                                         [ARM_RETURNING] = returning,
                                         [ARM_REACHING] = tick - carrying - placing - returning}};
}
