/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/stream.c - a supply's clock for the next delivery starts when the one at work is in;
 * a demand's clock always goes on. */
#include "model/engine/stream.h"

#include <stddef.h>

#include "model/engine/gate.h"
#include "model/engine/parts.h"
#include "model/engine/stock.h"
#include "model/engine/wake.h"

static int64_t interval(struct world *world, uint32_t chance, const struct scenario_stream *fixed) {
    return span_draw(&fixed->every, chance == NO_INDEX ? NULL : &world->random[chance],
                     world->scenario->ticks_per_second);
}

static void set_next(struct world *world, struct stream *stream, uint32_t chance,
                     const struct scenario_stream *fixed) {
    int64_t due = world_now(world) + interval(world, chance, fixed);
    stream->due = due <= fixed->until_tick ? due : AGENDA_NEVER;
}

uint32_t stream_chance_of_supply(const struct world *world, uint32_t supply) {
    return world->supply_chance == NULL ? NO_INDEX : world->supply_chance[supply];
}

uint32_t stream_chance_of_demand(const struct world *world, uint32_t demand) {
    return world->demand_chance == NULL ? NO_INDEX : world->demand_chance[demand];
}

static uint32_t supply_actor(const struct world *world, uint32_t supply) {
    return world_actor(world, RANK_SUPPLY, supply);
}

/* ---- supplies ---- */

static void put_in(struct world *world, uint32_t index) {
    const struct scenario_stream *fixed = &world->scenario->supply[index];
    struct stream *supply = &world->supply[index];
    uint32_t tally = stock_tally_of_chest(world, fixed->chest, fixed->item);
    uint32_t total = world->chest_total[fixed->chest];
    int64_t room = stock_room(world, tally, total);
    int64_t count = supply->open < room ? supply->open : room;
    if (count > 0) {
        wake_checks_of_move(world);
        world->item[fixed->item].supplied += count;
        supply->open -= count;
        stock_change_both(world, tally, total, count);
    }
    if (fixed->when == WHEN_LOSE)
        supply->open = 0;
}

/* A delivery that may wait for its gate, or for room, and is put in a piece at a time. */
static __attribute__((noinline)) void supply_in_general(struct world *world, uint32_t index) {
    struct stream *supply = &world->supply[index];
    const struct scenario_stream *fixed = &world->scenario->supply[index];
    uint32_t waiter = stock_waiter_of_supply(world, index);
    stock_stop_waiting(world, waiter);
    world->supply_waits_for_gate[index] = false;
    bool pending = supply->open > 0 || supply->due <= world_now(world);
    if (world->supply_stops[index] != 0)
        return;
    if (pending && !gate_is_open(world, fixed->gate)) {
        world->supply_waits_for_gate[index] = true;
        return;
    }
    if (pending) {
        if (supply->open == 0)
            supply->open = fixed->batch;
        put_in(world, index);
        if (supply->open > 0) {
            supply->due = AGENDA_NEVER; /* known when this delivery is in */
            stock_wait_for_room(world, waiter, world->chest_total[fixed->chest]);
            return;
        }
        set_next(world, supply, stream_chance_of_supply(world, index), fixed);
    }
    agenda_set_later(&world->agenda, supply_actor(world, index), supply->due);
}

/* Whether a delivery or an order is due that is like most: at fixed times, of a chest of one item
 * alone, and nothing is left of the one before. Then it waits for nothing. */
static inline bool is_plain(const struct world *world, const struct stream *stream, uint8_t stops,
                            const struct scenario_stream *fixed) {
    int64_t now = world_now(world);
    return stream->due == now && stream->open == 0 && stops == 0 &&
           !span_is_random(&fixed->every) && stock_chest_has_one_tally(world, fixed->chest) &&
           now + fixed->every.ticks <= fixed->until_tick && !world->standstill_watch.checks_moves;
}

/* What the count concerns comes last, so that no register is saved for it. */
static inline void act_plainly(struct world *world, uint32_t actor, uint32_t tally,
                               struct stream *stream, int64_t every, int64_t change) {
    int64_t now = world_now(world);
    stream->due = now + every;
    agenda_set_later(&world->agenda, actor, now + every);
    world->progress.last_move = now;
    stock_change(world, tally, change);
}

void stream_supply_act(struct world *world, uint32_t index) {
    struct stream *supply = &world->supply[index];
    const struct scenario_stream *fixed = &world->scenario->supply[index];
    uint32_t tally = world->chest_total[fixed->chest];
    if (!is_plain(world, supply, world->supply_stops[index], fixed) || fixed->gate != NO_INDEX ||
        world->tally[tally].room < fixed->batch) {
        supply_in_general(world, index);
        return;
    }
    world->item[fixed->item].supplied += fixed->batch;
    act_plainly(world, supply_actor(world, index), tally, supply, fixed->every.ticks, fixed->batch);
}

void stream_set_supply_stops(struct world *world, uint32_t index, uint8_t stops) {
    world->supply_stops[index] = stops;
    if (stops == 0)
        agenda_wake(&world->agenda, supply_actor(world, index), world_now(world));
}

int64_t stream_held(const struct world *world, uint32_t index) {
    const struct stream *supply = &world->supply[index];
    if (supply->open > 0)
        return supply->open;
    int64_t now = world_now(world) > world->progress.tick ? world_now(world) : world->progress.tick;
    return supply->due <= now ? world->scenario->supply[index].batch : 0;
}

bool stream_supply_is_ready(const struct world *world, uint32_t index) {
    const struct stream *supply = &world->supply[index];
    const struct scenario_stream *fixed = &world->scenario->supply[index];
    bool to_come = supply->open > 0 || supply->due != AGENDA_NEVER;
    return to_come && world->supply_stops[index] == 0 && gate_is_open(world, fixed->gate) &&
           stock_room_in_chest(world, fixed->chest, fixed->item) > 0;
}

/* ---- demands ---- */

static void order(struct world *world, uint32_t index) {
    const struct scenario_stream *fixed = &world->scenario->demand[index];
    struct stream *demand = &world->demand[index];
    if (world->demand_stops[index] == 0) {
        demand->open += fixed->batch;
        world->demand_orders[index].demanded += fixed->outlet ? 0 : fixed->batch;
    }
    set_next(world, demand, stream_chance_of_demand(world, index), fixed);
}

/* From the chest's count of its item. */
static void take_out(struct world *world, uint32_t index, uint32_t tally) {
    int64_t stock = world->tally[tally].count, open = world->demand[index].open;
    int64_t count = open < stock ? open : stock;
    if (count == 0)
        return;
    wake_checks_of_move(world);
    world->demand_orders[index].met += count;
    world->demand[index].open -= count;
    stock_change_both(world, tally, world->chest_total[world->scenario->demand[index].chest],
                      -count);
}

/* An order that may wait for items, or be met a piece at a time; one for what is there. */
static __attribute__((noinline)) void demand_in_general(struct world *world, uint32_t index) {
    struct stream *demand = &world->demand[index];
    const struct scenario_stream *fixed = &world->scenario->demand[index];
    uint32_t waiter = stock_waiter_of_demand(world, index);
    uint32_t tally = stock_tally_of_chest(world, fixed->chest, fixed->item);
    stock_stop_waiting(world, waiter);
    if (demand->due <= world_now(world))
        order(world, index);
    if (world->demand_stops[index] == 0) {
        take_out(world, index, tally);
        if (fixed->when == WHEN_LOSE) {
            world->demand_orders[index].lost += fixed->outlet ? 0 : demand->open;
            demand->open = 0;
        }
        if (demand->open > 0)
            stock_wait_for_more(world, waiter, tally);
    }
    agenda_set_later(&world->agenda, world_actor(world, RANK_DEMAND, index), demand->due);
}

void stream_demand_act(struct world *world, uint32_t index) {
    struct stream *demand = &world->demand[index];
    const struct scenario_stream *fixed = &world->scenario->demand[index];
    uint32_t tally = world->chest_total[fixed->chest];
    if (!is_plain(world, demand, world->demand_stops[index], fixed) || fixed->outlet ||
        world->tally[tally].count < fixed->batch) {
        demand_in_general(world, index);
        return;
    }
    world->demand_orders[index].demanded += fixed->batch;
    world->demand_orders[index].met += fixed->batch;
    act_plainly(world, world_actor(world, RANK_DEMAND, index), tally, demand, fixed->every.ticks,
                -fixed->batch);
}

void stream_set_demand_stops(struct world *world, uint32_t index, uint8_t stops) {
    world->demand_stops[index] = stops;
    agenda_wake(&world->agenda, world_actor(world, RANK_DEMAND, index), world_now(world));
}

int64_t stream_owed(const struct world *world, uint32_t index) { return world->demand[index].open; }

bool stream_demand_is_ready(const struct world *world, uint32_t index) {
    const struct stream *demand = &world->demand[index];
    bool to_come = demand->open > 0 || demand->due != AGENDA_NEVER;
    const struct scenario_stream *fixed = &world->scenario->demand[index];
    return to_come && world->demand_stops[index] == 0 &&
           world->tally[stock_tally_of_chest(world, fixed->chest, fixed->item)].count > 0;
}
