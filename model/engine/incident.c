/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/incident.c - a thing runs when neither an incident nor a breakdown stops it; each
 * keeps a bit of its own. */
#include "model/engine/incident.h"

#include "model/engine/announce.h"
#include "model/engine/arm.h"
#include "model/engine/belt.h"
#include "model/engine/gate.h"
#include "model/engine/line.h"
#include "model/engine/parts.h"
#include "model/engine/station.h"
#include "model/engine/stock.h"
#include "model/engine/stream.h"
#include "model/engine/track.h"
#include "model/engine/wake.h"
#include "model/engine/watch.h"
#include "sim/require.h"

/* ---- stopping and starting ---- */

static uint8_t stops_of(const struct world *world, struct part actor) {
    switch (actor.kind) {
    case PART_ARM: return world->arm[actor.index].state.stops;
    case PART_STATION: return world->station[actor.index].stops;
    case PART_LOOP: return world->belt[actor.index].state.stops;
    case PART_LINE: return world->belt[belt_of_line(world, actor.index)].state.stops;
    case PART_SUPPLY: return world->supply_stops[actor.index];
    case PART_DEMAND: return world->demand_stops[actor.index];
    case PART_CHEST:
    case PART_LANE: break;
    }
    require(false);
    return 0;
}

void incident_set_belt_stops(struct world *world, uint32_t index, uint8_t stops) {
    struct belt *belt = &world->belt[index].state;
    bool ran = belt->stops == 0;
    belt->stops = stops;
    if (ran == (stops == 0))
        return;
    if (!belt_is_loop(world, index))
        line_update(world, index - world->scenario->loop_count);
    if (ran)
        belt_stop(world, index);
    else
        belt_start(world, index);
    const struct belt_plan *plan = &world->belt[index].plan;
    for (uint32_t i = 0; i < plan->track_count; i++)
        wake_track_arms(world, plan->first_track + i);
    wake_checks_of_belt(world, index);
}

static void set_stops(struct world *world, struct part actor, uint8_t stops) {
    switch (actor.kind) {
    case PART_ARM: arm_set_stops(world, actor.index, stops); break;
    case PART_STATION: station_set_stops(world, actor.index, stops); break;
    case PART_LOOP: incident_set_belt_stops(world, actor.index, stops); break;
    case PART_LINE: incident_set_belt_stops(world, belt_of_line(world, actor.index), stops); break;
    case PART_SUPPLY: stream_set_supply_stops(world, actor.index, stops); break;
    case PART_DEMAND: stream_set_demand_stops(world, actor.index, stops); break;
    case PART_CHEST:
    case PART_LANE: break;
    }
}

/* Sets or clears one reason for which a thing is stopped. */
static void give_reason(struct world *world, struct part actor, uint8_t reason, bool stop) {
    uint8_t before = stops_of(world, actor);
    uint8_t after = stop ? before | reason : before & (uint8_t)~reason;
    if (after != before)
        set_stops(world, actor, after);
}

/* ---- incidents of each kind ---- */

static void drop(struct world *world, uint32_t index) {
    const struct scenario_incident *fixed = &world->scenario->incident[index];
    uint32_t track = track_of_place(world, fixed->track);
    int64_t count =
        track_drop(world, track, track_kind_of(world, track, fixed->item), fixed->count);
    world->item_strays[fixed->item].dropped += count;
    if (count > 0)
        wake_checks_of_move(world);
    announce_drop(world, index, count);
}

/* Counts what lies there of each kind as cleared; returns how many kinds it named. */
static uint32_t count_cleared(struct world *world, uint32_t index, uint32_t only) {
    const struct track_plan *track = &world->track[index].plan;
    uint32_t named = 0;
    for (uint32_t i = 0; i < track->kind_count; i++) {
        const struct track_kind *kind = &world->kind[track->first_kind + i];
        if (kind->count == 0 || (only != NO_INDEX && kind->item != only))
            continue;
        world->item_strays[kind->item].cleared += kind->count;
        world->item_scratch[named++] = kind->item;
    }
    return named;
}

static void clear(struct world *world, uint32_t index) {
    const struct scenario_incident *fixed = &world->scenario->incident[index];
    uint32_t track = track_of_place(world, fixed->track);
    uint32_t kind_count = count_cleared(world, track, fixed->item);
    int64_t cleared = 0;
    if (kind_count > 0) {
        uint32_t kind =
            fixed->item == NO_INDEX ? NO_INDEX : track_kind_of(world, track, fixed->item);
        cleared = track_clear(world, track, kind);
        wake_checks_of_move(world);
    }
    announce_clear(world, index, kind_count, cleared);
}

static void stop_or_start(struct world *world, struct part actor, uint8_t reason, bool stop,
                          uint32_t incident) {
    give_reason(world, actor, reason, stop);
    if (stop)
        announce_stop(world, actor, incident);
    else
        announce_start(world, actor, incident);
}

static void set_value(struct world *world, uint32_t index) {
    const struct scenario_incident *fixed = &world->scenario->incident[index];
    if (fixed->kind == INCIDENT_SET_CAPACITY) {
        stock_set_limit(world, fixed->chest, fixed->value);
    } else {
        struct gate *gate = &world->gate[fixed->gate];
        if (fixed->kind == INCIDENT_SET_REOPEN)
            world->gate_reopen[fixed->gate] = fixed->value;
        else
            gate->threshold = fixed->value;
        if (fixed->reopen_value != NOT_GIVEN)
            world->gate_reopen[fixed->gate] = fixed->reopen_value;
        gate_update(world, gate->tally);
    }
    announce_set(world, index);
}

static void happen(struct world *world, uint32_t index) {
    const struct scenario_incident *fixed = &world->scenario->incident[index];
    switch (fixed->kind) {
    case INCIDENT_DROP: drop(world, index); break;
    case INCIDENT_CLEAR: clear(world, index); break;
    case INCIDENT_STOP: stop_or_start(world, fixed->actor, STOPPED_BY_INCIDENT, true, index); break;
    case INCIDENT_START:
        stop_or_start(world, fixed->actor, STOPPED_BY_INCIDENT, false, index);
        break;
    case INCIDENT_SET_CAPACITY:
    case INCIDENT_SET_BELOW:
    case INCIDENT_SET_AT_LEAST:
    case INCIDENT_SET_REOPEN: set_value(world, index); break;
    }
}

static struct random_stream *chance_of(struct world *world, uint32_t chance) {
    return chance == NO_INDEX ? NULL : &world->random[chance];
}

void incident_act(struct world *world, uint32_t index) {
    const struct scenario_incident *fixed = &world->scenario->incident[index];
    struct incident *incident = &world->incident[index];
    if (incident->due > world_now(world))
        return;
    watch_outside(world);
    happen(world, index);
    incident->due = AGENDA_NEVER;
    if (fixed->repeats)
        incident->due = world_now(world) +
                        span_draw(&fixed->every, chance_of(world, world->incident_chance[index]),
                                  world->scenario->ticks_per_second);
    agenda_set(&world->agenda, world_actor(world, RANK_INCIDENT, index), incident->due);
}

void incident_break(struct world *world, uint32_t index) {
    const struct breakdown_plan *plan = &world->breakdown_plan[index];
    struct breakdown *self = &world->breakdown[index];
    const struct breaks *fixed = scenario_part_breaks(world->scenario, plan->actor);
    if (self->due > world_now(world))
        return;
    watch_outside(world);
    self->broken = !self->broken;
    stop_or_start(world, plan->actor, STOPPED_BY_BREAKDOWN, self->broken, NO_INDEX);
    const struct span *span = self->broken ? &fixed->repair : &fixed->after;
    uint32_t chance = self->broken ? plan->repair_chance : plan->after_chance;
    self->due = world_now(world) +
                span_draw(span, chance_of(world, chance), world->scenario->ticks_per_second);
    agenda_set(&world->agenda, world_actor(world, RANK_BREAKDOWN, index), self->due);
}
