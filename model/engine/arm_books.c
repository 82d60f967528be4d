/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_books.c - sums and products are of 64 bits without a sign: what differs makes up
 * for what goes beyond them, since the totals do not. */
#include "model/engine/arm_books.h"

#include "sim/require.h"

void arm_books_make(struct world *world) {
    if (world->arm_books == NULL)
        world->arm_books = require_memory(world->scenario->arm_count, sizeof *world->arm_books);
}

static struct arm_books *books_of(const struct world *world, const struct arm_record *self) {
    require(world->arm_books != NULL);
    return &world->arm_books[self - world->arm];
}

static void add_to(int64_t *total, int64_t more) {
    *total = (int64_t)((uint64_t)*total + (uint64_t)more);
}

void arm_books_add(struct world *world, struct arm_record *self, enum arm_state state,
                   int64_t ticks) {
    if (ticks == 0)
        return;
    if (state == ARM_PLACING && self->plan.placing != NO_INDEX)
        add_to(&world->arm_placing[self->plan.placing].ticks, ticks);
    else
        add_to(&books_of(world, self)->ticks[state - 1], ticks);
}

void arm_books_add_moved(struct world *world, struct arm_record *self, int64_t count) {
    if (count != 0)
        books_of(world, self)->moved += count;
}

/* ---- what follows ---- */

/* Hands that have been emptied. */
static inline int64_t hands_emptied(const struct arm *arm) {
    return arm->swings - (arm->state == ARM_CARRYING || arm->state == ARM_PLACING);
}

static inline int64_t times(int64_t count, int64_t ticks) {
    return (int64_t)((uint64_t)count * (uint64_t)ticks);
}

/* Fills in what is counted in each state but reaching, and returns how much is left of `ticks`. */
static inline int64_t put_counted(const struct world *world, uint32_t index, const struct arm *arm,
                                  int64_t ticks, int64_t to[ARM_STATES]) {
    const struct arm_plan *plan = &world->arm[index].plan;
    bool fixed = plan->shape->swing_chance == NO_INDEX;
    to[ARM_CARRYING] = fixed ? times(arm->swings, plan->shape->out_ticks) : 0;
    to[ARM_PLACING] = plan->placing == NO_INDEX ? 0 : world->arm_placing[plan->placing].ticks;
    to[ARM_RETURNING] = fixed ? times(hands_emptied(arm), plan->shape->back_ticks) : 0;
    to[ARM_STOPPED] = 0;
    uint64_t left = (uint64_t)ticks;
    for (int state = ARM_REACHING + 1; state < ARM_STATES; state++) {
        if (world->arm_books != NULL)
            add_to(&to[state], world->arm_books[index].ticks[state - 1]);
        left -= (uint64_t)to[state];
    }
    return (int64_t)left;
}

int64_t arm_books_moved(const struct world *world, uint32_t index) {
    int64_t more = world->arm_books == NULL ? 0 : world->arm_books[index].moved;
    return hands_emptied(&world->arm[index].state) + more;
}

void arm_books_ticks(const struct world *world, uint32_t index, const struct arm *arm,
                     int64_t ticks[ARM_STATES]) {
    int64_t ahead = arm_books_ahead(arm);
    ticks[ARM_REACHING] = put_counted(world, index, arm, arm->since + ahead, ticks);
    add_to(&ticks[arm->state], -ahead);
}

void arm_books_set(struct world *world, uint32_t index, const struct arm_totals *totals) {
    struct arm_record *self = &world->arm[index];
    int64_t counted[ARM_STATES];
    arm_books_ticks(world, index, &self->state, counted);
    for (int state = ARM_REACHING + 1; state < ARM_STATES; state++) {
        int64_t more = (int64_t)((uint64_t)totals->ticks[state] - (uint64_t)counted[state]);
        if (more != 0 && (state != ARM_PLACING || self->plan.placing == NO_INDEX))
            arm_books_make(world);
        arm_books_add(world, self, (enum arm_state)state, more);
    }
    int64_t more = totals->moved - arm_books_moved(world, index);
    if (more != 0)
        arm_books_make(world);
    arm_books_add_moved(world, self, more);
}

/* ---- totals ---- */

static inline void put_totals(const struct world *world, uint32_t index, int64_t tick,
                              struct arm_totals *totals) {
    const struct arm *arm = &world->arm[index].state;
    totals->swings = arm->swings;
    totals->moved = arm_books_moved(world, index);
    int64_t reaching = put_counted(world, index, arm, tick, totals->ticks);
    enum arm_state state = arm_state_of(arm, tick);
    if (state != ARM_REACHING) { /* what it does now is counted up to `since`, or up to its due */
        int64_t more = tick - arm->since - arm_books_ahead(arm);
        totals->ticks[state] += more;
        reaching -= more;
    }
    totals->ticks[ARM_REACHING] = reaching;
}

struct arm_totals arm_books_totals_at(const struct world *world, uint32_t index, int64_t tick) {
    struct arm_totals totals;
    put_totals(world, index, tick, &totals);
    return totals;
}

void arm_books_totals_of_several(const struct world *world, uint32_t first, uint32_t count,
                                 struct arm_totals *totals) {
    for (uint32_t i = 0; i < count; i++)
        put_totals(world, first + i, world->progress.tick, &totals[i]);
}
