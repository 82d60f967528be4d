/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/stock.c - the totals of a chest and the hubs of a station's sides are tallies like
 * the others, so that one list serves who waits for any of several items. */
#include "model/engine/stock.h"

#include "model/engine/gate.h"

uint32_t stock_waiter_of_supply(const struct world *world, uint32_t supply) {
    return world->scenario->arm_count + supply;
}

uint32_t stock_waiter_of_demand(const struct world *world, uint32_t demand) {
    return world->scenario->arm_count + world->scenario->supply_count + demand;
}

static uint32_t actor_of_waiter(const struct world *world, uint32_t waiter) {
    const struct scenario *scenario = world->scenario;
    uint32_t arms = scenario->arm_count, outside = scenario->supply_count + scenario->demand_count;
    if (waiter < arms)
        return world_actor(world, RANK_ARM, waiter);
    if (waiter - arms < outside) /* demands follow supplies, as waiters do */
        return world_actor(world, RANK_SUPPLY, waiter - arms);
    return world_actor(world, RANK_ARM, world->second_waiter[waiter - arms - outside]);
}

static void wake_all(struct world *world, uint32_t waiter) {
    for (; waiter != NO_INDEX; waiter = world->waiter[waiter].next)
        agenda_wake(&world->agenda, actor_of_waiter(world, waiter), world_now(world));
}

void stock_notify(struct world *world, uint32_t tally, int64_t change) {
    const struct tally *stock = &world->tally[tally];
    require(stock->count >= 0);
    if (world->first_leaf[tally] != NO_INDEX)
        gate_update(world, tally);
    if (change > 0)
        wake_all(world, stock->waiting_for_more);
    wake_all(world, stock->waiting_for_room);
}

void stock_notify_room(struct world *world, uint32_t total) {
    wake_all(world, world->tally[total].waiting_for_room);
}

/* Counts what was promised: there was room for it. */
static inline void count_in(struct world *world, uint32_t tally, int64_t count) {
    world->tally[tally].count += count;
    stock_look_round(world, tally, count);
}

void stock_keep_promise(struct world *world, uint32_t tally, uint32_t total, int64_t count) {
    count_in(world, tally, count);
    if (total != tally)
        count_in(world, total, count);
}

void stock_make_limits(struct world *world) {
    if (world->chest_limit != NULL)
        return;
    uint32_t count = world->scenario->chest_count;
    int64_t *limit = require_memory(count, sizeof *limit);
    for (uint32_t i = 0; i < count; i++)
        limit[i] = stock_limit(world, i);
    world->chest_limit = limit;
}

void stock_set_limit(struct world *world, uint32_t chest, int64_t limit) {
    stock_make_limits(world);
    struct tally *total = &world->tally[world->chest_total[chest]];
    total->room += limit - world->chest_limit[chest];
    world->chest_limit[chest] = limit;
    wake_all(world, total->waiting_for_room);
}

static void hang(struct world *world, uint32_t waiter, uint32_t tally, uint32_t *first) {
    require(world->waiter[waiter].prev == NO_INDEX);
    world->waiter[waiter] = (struct waiter){.next = *first, .prev = stock_first_waiter(tally)};
    if (*first != NO_INDEX)
        world->waiter[*first].prev = waiter;
    *first = waiter;
    world->tally[tally].quiet_from = TALLY_NEVER_QUIET;
    world->tally[tally].quiet_span = 0;
}

void stock_wait_for_more(struct world *world, uint32_t waiter, uint32_t tally) {
    hang(world, waiter, tally, &world->tally[tally].waiting_for_more);
}

void stock_wait_for_room(struct world *world, uint32_t waiter, uint32_t tally) {
    hang(world, waiter, tally, &world->tally[tally].waiting_for_room);
}

/* The first who waits for a tally leaves its list. */
static void leave_front(struct world *world, uint32_t waiter, uint32_t index) {
    struct tally *tally = &world->tally[index];
    uint32_t next = world->waiter[waiter].next;
    if (next != NO_INDEX)
        world->waiter[next].prev = stock_first_waiter(index);
    if (tally->waiting_for_more == waiter)
        tally->waiting_for_more = next;
    else
        tally->waiting_for_room = next;
    if ((tally->waiting_for_more & tally->waiting_for_room) != NO_INDEX)
        return;
    tally->quiet_from = 0;
    tally->quiet_span = UINT32_MAX;
    if (world->first_leaf[index] != NO_INDEX)
        gate_find_quiet_range(world, index);
}

void stock_leave_list(struct world *world, uint32_t waiter) {
    struct waiter *self = &world->waiter[waiter];
    if (stock_is_first_waiter(self)) {
        leave_front(world, waiter, stock_tally_of_first(self));
    } else {
        world->waiter[self->prev].next = self->next;
        if (self->next != NO_INDEX)
            world->waiter[self->next].prev = self->prev;
    }
    self->prev = NO_INDEX;
}

uint32_t stock_tally_of_chest(const struct world *world, uint32_t chest, uint32_t item) {
    uint32_t low = stock_first_item_of_chest(world, chest), end = stock_end_of_chest(world, chest);
    for (uint32_t high = end; low < high;) {
        uint32_t middle = low + (high - low) / 2;
        if (world->chest_item[middle] < item)
            low = middle + 1;
        else
            high = middle;
    }
    return low < end && world->chest_item[low] == item ? low : NO_INDEX;
}
