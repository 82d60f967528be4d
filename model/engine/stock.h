/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/stock.h - counts of items in chests and stations, what is promised to them, and who
 * is woken when they change. An arm, supply or demand that waits for a count is in a list of that
 * count, as are the gates that read it; a change wakes the former and updates the latter at once.
 */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/parts.h"
#include "sim/require.h"

/* Updates gates and wakes waiters after the count of a tally has changed by `change`. It must not
 * have become negative. */
void stock_notify(struct world *world, uint32_t tally, int64_t change);

/* The same where it may concern somebody at all; a negative count concerns stock_notify. */
__attribute__((always_inline)) static inline void stock_look_round(struct world *world,
                                                                   uint32_t tally, int64_t change) {
    const struct tally *stock = &world->tally[tally];
    if (__builtin_expect((uint64_t)stock->count - (uint64_t)stock->quiet_from > stock->quiet_span,
                         0))
        stock_notify(world, tally, change);
}

/* Changes the count of a tally by `change`, updates its gates and wakes its waiters. The count must
 * not become negative. */
__attribute__((always_inline)) static inline void stock_change(struct world *world, uint32_t tally,
                                                               int64_t change) {
    struct tally *stock = &world->tally[tally];
    stock->count += change;
    stock->room -= change;
    stock_look_round(world, tally, change);
}

/* One side of a place that has `total` as its common tally: both counts change by `change`. */
__attribute__((always_inline)) static inline void
stock_change_both(struct world *world, uint32_t tally, uint32_t total, int64_t change) {
    stock_change(world, tally, change);
    if (total != tally)
        stock_change(world, total, change);
}

/* Promises `count` more to the place (they are in a hand now); keeps `count` of what was promised
 * by counting it in. `moves_total`: the total counts too (a chest), else it only serves waiters. */
void stock_notify_room(struct world *world, uint32_t total);
__attribute__((always_inline)) static inline void stock_promise(struct world *world, uint32_t tally,
                                                                uint32_t total, int64_t count) {
    world->tally[tally].room -= count;
    if (total != tally)
        world->tally[total].room -= count;
    if (world->tally[total].waiting_for_room != NO_INDEX)
        stock_notify_room(world, total);
}
void stock_keep_promise(struct world *world, uint32_t tally, uint32_t total, int64_t count);

/* True when one more is accepted as far as this tally goes. */
static inline bool stock_accepts(const struct world *world, uint32_t tally) {
    return world->tally[tally].room > 0;
}

/* Whether some limit bounds the count of a tally; before anything is promised to it. */
static inline bool stock_is_bounded(const struct world *world, uint32_t tally) {
    return world->tally[tally].room + world->tally[tally].count != NO_LIMIT;
}

/* Lays something in a place that nobody works at yet. */
static inline void stock_lay(struct world *world, uint32_t tally, uint32_t total, int64_t count) {
    world->tally[tally].count += count;
    world->tally[tally].room -= count;
    if (total != tally) {
        world->tally[total].count += count;
        world->tally[total].room -= count;
    }
}

/* How many more are accepted: not negative; NO_LIMIT or nearly so where nothing bounds it. */
static inline int64_t stock_room(const struct world *world, uint32_t tally, uint32_t total) {
    int64_t room = world->tally[tally].room;
    if (world->tally[total].room < room)
        room = world->tally[total].room;
    return room > 0 ? room : 0;
}

/* Items of a chest at most: its capacity, or what an incident has set. */
static inline int64_t stock_limit(const struct world *world, uint32_t chest) {
    return world->chest_limit == NULL ? world->scenario->chest[chest].capacity
                                      : world->chest_limit[chest];
}

/* Room for limits that differ from capacities: to be made before one is set in a tick. */
void stock_make_limits(struct world *world);

/* Sets the limit of a chest and wakes those who wait for room. */
void stock_set_limit(struct world *world, uint32_t chest, int64_t limit);

/* Puts a waiter, which must not be in a list, into one of a tally: it is woken at each change
 * upward (for more) or whenever there may be more room (for room; an arm that has promised
 * something there is woken for less room, too). */
void stock_wait_for_more(struct world *world, uint32_t waiter, uint32_t tally);
void stock_wait_for_room(struct world *world, uint32_t waiter, uint32_t tally);
/* Takes it out of the list that it is in. */
void stock_leave_list(struct world *world, uint32_t waiter);
static inline void stock_stop_waiting(struct world *world, uint32_t waiter) {
    if (world->waiter[waiter].prev != NO_INDEX)
        stock_leave_list(world, waiter);
}

/* What stands in `prev` of the first who waits for a tally; whether that stands there, of a waiter
 * in a list; and which tally it is then. Tallies and waiters are less than 2^31. */
#define STOCK_FIRST (UINT32_C(1) << 31)
static inline uint32_t stock_first_waiter(uint32_t tally) { return tally | STOCK_FIRST; }
static inline bool stock_is_first_waiter(const struct waiter *waiter) {
    return (waiter->prev & STOCK_FIRST) != 0;
}
static inline uint32_t stock_tally_of_first(const struct waiter *waiter) {
    return waiter->prev & ~STOCK_FIRST;
}

/* Waiters: one for each arm, for more at its source or for room at its destination; one for each
 * supply (room) and each demand (more); a second one for each arm between chests and stations,
 * which may wait for both. */
static inline uint32_t stock_waiter_for_more_of_arm(const struct world *world,
                                                    const struct arm_record *arm) {
    return (uint32_t)(arm - world->arm);
}
static inline uint32_t stock_waiter_for_room_of_arm(const struct world *world,
                                                    const struct arm_record *arm) {
    return arm->plan.shape->from_track ? (uint32_t)(arm - world->arm) : arm->plan.room_waiter;
}
uint32_t stock_waiter_of_supply(const struct world *world, uint32_t supply);
uint32_t stock_waiter_of_demand(const struct world *world, uint32_t demand);

/* The tallies of a chest: that of all its items, those of each in rising order, up to the first of
 * the next chest. A chest with one item and no limit of its own has one, for both. */
static inline bool stock_chest_has_one_tally(const struct world *world, uint32_t chest) {
    return world->chest_item[world->chest_total[chest]] != NO_INDEX;
}
static inline uint32_t stock_first_item_of_chest(const struct world *world, uint32_t chest) {
    return world->chest_total[chest] + (stock_chest_has_one_tally(world, chest) ? 0 : 1);
}
static inline uint32_t stock_end_of_chest(const struct world *world, uint32_t chest) {
    return world->chest_total[chest + 1];
}

/* The tally of an item in a chest, NO_INDEX when none can ever be there. */
uint32_t stock_tally_of_chest(const struct world *world, uint32_t chest, uint32_t item);

/* The tallies of a station: that of all its inputs, those of each; likewise its outputs. One input
 * alone has one, for both, and so has one output. */
static inline uint32_t stock_first_output_of(const struct station *station,
                                             const struct scenario_station *fixed) {
    return station->first_input + fixed->takes.count + (fixed->makes_count == 1 ? 0 : 1);
}
static inline uint32_t stock_first_input(const struct world *world, uint32_t station) {
    return world->station[station].first_input;
}
static inline uint32_t stock_all_inputs(const struct world *world, uint32_t station) {
    return stock_first_input(world, station) -
           (world->scenario->station[station].takes.count == 1 ? 0 : 1);
}
static inline uint32_t stock_first_output(const struct world *world, uint32_t station) {
    return stock_first_output_of(&world->station[station], &world->scenario->station[station]);
}
static inline uint32_t stock_all_outputs(const struct world *world, uint32_t station) {
    return stock_first_output(world, station) -
           (world->scenario->station[station].makes_count == 1 ? 0 : 1);
}

/* How many more of an item that may be there a chest accepts. */
static inline int64_t stock_room_in_chest(const struct world *world, uint32_t chest,
                                          uint32_t item) {
    return stock_room(world, stock_tally_of_chest(world, chest, item), world->chest_total[chest]);
}
