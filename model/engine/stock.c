/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/stock.c - the totals of a chest and the hubs of a station's sides are tallies like
 * the others, so that one list serves who waits for any of several items. */
#include "model/engine/stock.h"

#include "model/engine/gate.h"

uint32_t stock_waiter_of_supply(const struct world *world, uint32_t supply) {
    return 2 * world->scenario->arm_count + supply;
}

uint32_t stock_waiter_of_demand(const struct world *world, uint32_t demand) {
    return 2 * world->scenario->arm_count + world->scenario->supply_count + demand;
}

static uint32_t actor_of_waiter(const struct world *world, uint32_t waiter) {
    uint32_t arms = 2 * world->scenario->arm_count;
    if (waiter < arms)
        return world_actor(world, RANK_ARM, waiter / 2);
    return world_actor(world, RANK_SUPPLY,
                       waiter - arms); /* demands follow supplies, as waiters do */
}

static void wake_all(struct world *world, uint32_t waiter) {
    for (; waiter != NO_INDEX; waiter = world->waiter[waiter].next)
        agenda_wake(&world->agenda, actor_of_waiter(world, waiter), world_now(world));
}

void stock_notify(struct world *world, uint32_t tally, int64_t change) {
    const struct tally *stock = &world->tally[tally];
    if (stock->first_leaf != NO_INDEX)
        gate_update(world, tally);
    if (change > 0)
        wake_all(world, stock->waiting_for_more);
    wake_all(world, stock->waiting_for_room);
}

static inline void promise(struct world *world, uint32_t tally, uint32_t total, int64_t change) {
    world->tally[tally].promised += change;
    if (total != tally)
        world->tally[total].promised += change;
}

void stock_promise(struct world *world, uint32_t tally, uint32_t total, int64_t count) {
    promise(world, tally, total, count);
    if (world->tally[total].waiting_for_room != NO_INDEX)
        wake_all(world, world->tally[total].waiting_for_room);
}

void stock_keep_promise(struct world *world, uint32_t tally, uint32_t total, int64_t count) {
    promise(world, tally, total, -count);
    require(world->tally[tally].promised >= 0);
    stock_change_both(world, tally, total, count);
}

void stock_set_limit(struct world *world, uint32_t tally, int64_t limit) {
    world->tally[tally].limit = limit;
    wake_all(world, world->tally[tally].waiting_for_room);
}

static void hang(struct world *world, uint32_t waiter, uint32_t tally, uint32_t *first) {
    require(world->waiter[waiter].tally == NO_INDEX);
    world->waiter[waiter] = (struct waiter){.next = *first, .prev = NO_INDEX, .tally = tally};
    if (*first != NO_INDEX)
        world->waiter[*first].prev = waiter;
    *first = waiter;
    world->tally[tally].quiet_from = INT64_MIN; /* no count is quiet */
    world->tally[tally].quiet_span = 0;
}

void stock_wait_for_more(struct world *world, uint32_t waiter, uint32_t tally) {
    hang(world, waiter, tally, &world->tally[tally].waiting_for_more);
}

void stock_wait_for_room(struct world *world, uint32_t waiter, uint32_t tally) {
    hang(world, waiter, tally, &world->tally[tally].waiting_for_room);
}

void stock_leave_list(struct world *world, uint32_t waiter) {
    struct waiter *self = &world->waiter[waiter];
    struct tally *tally = &world->tally[self->tally];
    if (self->next != NO_INDEX)
        world->waiter[self->next].prev = self->prev;
    if (self->prev != NO_INDEX)
        world->waiter[self->prev].next = self->next;
    else if (tally->waiting_for_more == waiter)
        tally->waiting_for_more = self->next;
    else
        tally->waiting_for_room = self->next;
    if ((tally->waiting_for_more & tally->waiting_for_room) == NO_INDEX) {
        tally->quiet_span = UINT64_MAX;
        if (tally->first_leaf != NO_INDEX)
            gate_find_quiet_range(world, self->tally);
    }
    self->tally = NO_INDEX;
}

uint32_t stock_tally_of_chest(const struct world *world, uint32_t chest, uint32_t item) {
    uint32_t low = world->first_of_chest[chest];
    uint32_t high = world->first_of_chest[chest + 1];
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (world->chest_item[middle] < item)
            low = middle + 1;
        else
            high = middle;
    }
    bool found = low < world->first_of_chest[chest + 1] && world->chest_item[low] == item;
    if (!found || world->chest_shares[chest])
        return found ? world->chest_total[chest] : NO_INDEX;
    return world->chest_total[chest] + 1 + (low - world->first_of_chest[chest]);
}
