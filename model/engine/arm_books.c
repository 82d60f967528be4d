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

/* Adds what differs, and returns how much that is. */
static __attribute__((noinline)) int64_t add_books(const struct arm_books *books,
                                                   int64_t to[ARM_STATES]) {
    int64_t sum = 0;
    for (int state = ARM_REACHING + 1; state < ARM_STATES; state++) {
        add_to(&to[state], books->ticks[state - 1]);
        add_to(&sum, books->ticks[state - 1]);
    }
    return sum;
}

/* Fills in what is counted in each state but reaching, and returns how much is left of `ticks`. */
static inline int64_t put_counted(const struct world *world, uint32_t index, const struct arm *arm,
                                  int64_t ticks, int64_t to[ARM_STATES]) {
    const struct arm_plan *plan = &world->arm[index].plan;
    const struct arm_shape *shape = plan->shape;
    const struct arm_books *books = world->arm_books;
    bool fixed = shape->swing_chance == NO_INDEX;
    int64_t carrying = fixed ? arm_books_times(arm->swings, shape->out_ticks) : 0;
    int64_t returning =
        fixed ? arm_books_times(arm_books_hands_emptied(arm), shape->back_ticks) : 0;
    int64_t placing = plan->placing == NO_INDEX ? 0 : world->arm_placing[plan->placing].ticks;
    to[ARM_CARRYING] = carrying;
    to[ARM_PLACING] = placing;
    to[ARM_RETURNING] = returning;
    to[ARM_STOPPED] = 0;
    uint64_t left = (uint64_t)ticks - (uint64_t)carrying - (uint64_t)placing - (uint64_t)returning;
    if (__builtin_expect(books != NULL, 0))
        left -= (uint64_t)add_books(&books[index], to);
    return (int64_t)left;
}

int64_t arm_books_moved(const struct world *world, uint32_t index) {
    int64_t moved = arm_books_hands_emptied(&world->arm[index].state);
    if (__builtin_expect(world->arm_books != NULL, 0))
        moved += world->arm_books[index].moved;
    return moved;
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
    if (state != ARM_REACHING) {
        int64_t more = tick - arm_books_counted_until(arm, state);
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
