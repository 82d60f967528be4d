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

/* Totals up to `tick`, the tick at work or the last one; of `count` arms from `first` on, up to the
 * last tick executed: false, where none of them has ever been stopped. */
struct arm_totals arm_books_totals_at(const struct world *world, uint32_t arm, int64_t tick);
bool arm_books_totals_of_several(const struct world *world, uint32_t first, uint32_t count,
                                 struct arm_totals *totals);
