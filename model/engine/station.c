/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/station.c - the recorded state is the one that the last phase 6 saw; only the start
 * of a batch is recorded at once, because nothing later in the tick can undo it. */
#include "model/engine/station.h"

#include "model/engine/gate.h"
#include "model/engine/parts.h"
#include "model/engine/stock.h"
#include "model/engine/wake.h"
#include "sim/require.h"

static inline bool is_short_of(const struct tally *stock, const struct item_count *takes) {
    return stock->count < takes->count;
}

static inline bool lacks_room_for(const struct tally *stock, const struct station_output *makes) {
    return stock->count + makes->count > makes->room;
}

bool station_is_short_of(const struct world *world, uint32_t index, uint32_t input) {
    return is_short_of(&world->tally[stock_first_input(world, index) + input],
                       &world->scenario->station[index].takes.entry[input]);
}

bool station_lacks_room_for(const struct world *world, uint32_t index, uint32_t output) {
    return lacks_room_for(&world->tally[stock_first_output(world, index) + output],
                          &world->scenario->station[index].makes[output]);
}

/* Whether there is room for what a batch makes; whether there is what it takes. */
static inline bool has_room(const struct world *world, const struct station *station,
                            const struct scenario_station *fixed) {
    const struct tally *stock = &world->tally[stock_first_output_of(station, fixed)];
    for (uint32_t i = 0; i < fixed->makes_count; i++)
        if (lacks_room_for(&stock[i], &fixed->makes[i]))
            return false;
    return true;
}

static inline bool has_inputs(const struct world *world, const struct station *station,
                              const struct scenario_station *fixed) {
    const struct tally *stock = &world->tally[station->first_input];
    for (uint32_t i = 0; i < fixed->takes.count; i++)
        if (is_short_of(&stock[i], &fixed->takes.entry[i]))
            return false;
    return true;
}

enum station_state station_state_now(const struct world *world, uint32_t index) {
    const struct station *station = &world->station[index];
    const struct scenario_station *fixed = &world->scenario->station[index];
    if (station->stops != 0)
        return STATION_STOPPED;
    if (station->working)
        return STATION_WORKING;
    if (!gate_is_open(world, fixed->gate))
        return STATION_GATED;
    if (!has_room(world, station, fixed))
        return STATION_BLOCKED;
    if (!has_inputs(world, station, fixed))
        return STATION_STARVED;
    return STATION_GATED; /* it could start, but acted before it could */
}

/* ---- for how long it has been in each state ---- */

void station_make_stopped(struct world *world) {
    if (world->station_stopped == NULL)
        world->station_stopped =
            require_memory(world->scenario->station_count, sizeof *world->station_stopped);
}

/* Ticks while its gate is shut are what the other states leave. */
void station_enter(struct world *world, uint32_t index, enum station_state state) {
    struct station *station = &world->station[index];
    int64_t lasted = world_now(world) - station->since;
    if (station->state < STATION_GATED)
        station->ticks[station->state] += lasted;
    else if (station->state == STATION_STOPPED)
        world->station_stopped[index] += lasted;
    station->since = world_now(world);
    station->state = (uint8_t)state;
}

void station_ticks(const struct world *world, uint32_t index, int64_t *ticks) {
    const struct station *station = &world->station[index];
    ticks[STATION_STOPPED] = world->station_stopped == NULL ? 0 : world->station_stopped[index];
    ticks[STATION_GATED] = station->since - ticks[STATION_STOPPED];
    for (int i = 0; i < STATION_GATED; i++) {
        ticks[i] = station->ticks[i];
        ticks[STATION_GATED] -= ticks[i];
    }
}

struct station_totals station_totals_at(const struct world *world, uint32_t index, int64_t tick) {
    const struct station *station = &world->station[index];
    struct station_totals totals = {.batches = station->batches};
    station_ticks(world, index, totals.ticks);
    totals.ticks[station->state] += tick - station->since;
    return totals;
}

/* ---- chance ---- */

/* Of its outputs; NO_INDEX: no station draws numbers. */
static uint32_t first_output_chance(const struct world *world, uint32_t index) {
    if (world->station_chance == NULL)
        return NO_INDEX;
    return world->station_chance[index] + span_is_random(&world->scenario->station[index].time);
}

uint32_t station_time_chance(const struct world *world, uint32_t index) {
    return span_is_random(&world->scenario->station[index].time) ? world->station_chance[index]
                                                                 : NO_INDEX;
}

uint32_t station_output_chance(const struct world *world, uint32_t index, uint32_t output) {
    const struct station_output *makes = world->scenario->station[index].makes;
    if (!makes[output].has_chance)
        return NO_INDEX;
    uint32_t chance = first_output_chance(world, index);
    for (uint32_t i = 0; i < output; i++)
        chance += makes[i].has_chance;
    return chance;
}

/* ---- batches ---- */

/* `chance` is that of the next output that has one, and is moved on. */
static void put_output(struct world *world, uint32_t index, uint32_t output, uint32_t *chance) {
    const struct station_output *makes = &world->scenario->station[index].makes[output];
    if (makes->has_chance && !random_hits(&world->random[(*chance)++], makes->chance))
        return;
    world->item[makes->item].made += makes->count;
    world->progress.made_ticks += (wide_count)makes->count * (wide_count)world_now(world);
    stock_change_both(world, stock_first_output(world, index) + output,
                      stock_all_outputs(world, index), makes->count);
}

void station_end_batch(struct world *world, uint32_t index) {
    struct station *station = &world->station[index];
    if (station->stops != 0 || !station->working || station->end_tick > world_now(world))
        return;
    wake_checks_of_move(world);
    station->working = false;
    station->batches++;
    world->batches++;
    uint32_t chance = first_output_chance(world, index);
    for (uint32_t i = 0; i < world->scenario->station[index].makes_count; i++)
        put_output(world, index, i, &chance);
    wake_station(world, index);
}

static void consume(struct world *world, uint32_t index) {
    uint32_t first = stock_first_input(world, index), all = stock_all_inputs(world, index);
    const struct item_counts *takes = &world->scenario->station[index].takes;
    for (uint32_t i = 0; i < takes->count; i++) {
        world->item[takes->entry[i].item].consumed += takes->entry[i].count;
        world->progress.used_ticks +=
            (wide_count)takes->entry[i].count * (wide_count)world_now(world);
        stock_change_both(world, first + i, all, -takes->entry[i].count);
    }
}

static int64_t batch_ticks(struct world *world, uint32_t index) {
    uint32_t chance = station_time_chance(world, index);
    return span_draw(&world->scenario->station[index].time,
                     chance == NO_INDEX ? NULL : &world->random[chance],
                     world->scenario->ticks_per_second);
}

static __attribute__((noinline)) void start_batch(struct world *world, uint32_t index) {
    struct station *station = &world->station[index];
    station->working = true; /* before its inputs go, so that it is not woken for them */
    wake_checks_of_move(world);
    consume(world, index);
    station->end_tick = world_now(world) + batch_ticks(world, index);
    agenda_set_later(&world->agenda, world_actor(world, RANK_BATCH_END, index), station->end_tick);
    if (station->event_open)
        wake_station_check(world, index); /* the event of the old state ends */
    else if (station->state != STATION_WORKING)
        station_enter(world, index, STATION_WORKING);
}

void station_start_batch(struct world *world, uint32_t index) {
    enum station_state state = station_state_now(world, index);
    if (state == STATION_GATED && gate_is_open(world, world->scenario->station[index].gate))
        start_batch(world, index);
    else if (state != world->station[index].state)
        wake_station_check(world, index);
}

void station_set_stops(struct world *world, uint32_t index, uint8_t stops) {
    struct station *station = &world->station[index];
    uint32_t end = world_actor(world, RANK_BATCH_END, index);
    int64_t now = world_now(world);
    bool before = station->stops != 0;
    station->stops = stops;
    if (!before && stops != 0 && station->working) {
        station->rest_ticks = station->end_tick - now;
        agenda_set(&world->agenda, end, AGENDA_NEVER);
    } else if (before && stops == 0 && station->working) {
        station->end_tick = now + station->rest_ticks;
        agenda_set(&world->agenda, end, station->end_tick);
    }
    wake_station(world, index);
    wake_station_check(world, index);
}
