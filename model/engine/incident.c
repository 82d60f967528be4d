/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/incident.c - a thing runs when neither an incident nor a breakdown stops it; each
 * keeps a bit of its own. */
#include "model/engine/incident.h"

#include <stddef.h>

#include "model/engine/arm.h"
#include "model/engine/belt.h"
#include "model/engine/gate.h"
#include "model/engine/parts.h"
#include "model/engine/station.h"
#include "model/engine/stock.h"
#include "model/engine/stream.h"
#include "model/engine/track.h"
#include "model/engine/watch.h"
#include "sim/require.h"

/* ---- stopping and starting ---- */

static uint8_t stops_of(const struct world *world, struct actor actor) {
    switch (actor.kind) {
    case ACTOR_ARM: return world->arm[actor.index].stops;
    case ACTOR_STATION: return world->station[actor.index].stops;
    case ACTOR_LOOP: return world->belt[actor.index].stops;
    case ACTOR_LINE: return world->belt[belt_of_line(world, actor.index)].stops;
    case ACTOR_SUPPLY: return world->supply[actor.index].stops;
    case ACTOR_DEMAND: return world->demand[actor.index].stops;
    }
    require(false);
    return 0;
}

static void set_stops(struct world *world, struct actor actor, uint8_t stops) {
    switch (actor.kind) {
    case ACTOR_ARM: arm_set_stops(world, actor.index, stops); break;
    case ACTOR_STATION: station_set_stops(world, actor.index, stops); break;
    case ACTOR_LOOP: belt_set_stops(world, actor.index, stops); break;
    case ACTOR_LINE: belt_set_stops(world, belt_of_line(world, actor.index), stops); break;
    case ACTOR_SUPPLY: stream_set_supply_stops(world, actor.index, stops); break;
    case ACTOR_DEMAND: stream_set_demand_stops(world, actor.index, stops); break;
    }
}

/* Sets or clears one reason; a thing that goes on being stopped, or running, hears nothing of
 * it. */
static void give_reason(struct world *world, struct actor actor, uint8_t reason, bool stop) {
    uint8_t before = stops_of(world, actor);
    uint8_t after = stop ? before | reason : before & (uint8_t)~reason;
    if (after != before)
        set_stops(world, actor, after);
}

/* ---- telling ---- */

static void tell(struct world *world, const struct event *event) {
    if (world->listener.happened != NULL)
        world->listener.happened(world->listener.self, event);
}

static struct event event_now(const struct world *world, enum event_kind kind, uint32_t incident) {
    return (struct event){.kind = kind,
                          .start_tick = world_now(world),
                          .since_tick = NOT_GIVEN,
                          .end_tick = world_now(world),
                          .incident = incident,
                          .count = NOT_GIVEN};
}

static void tell_actor(struct world *world, enum event_kind kind, struct actor actor,
                       uint32_t incident) {
    struct event event = event_now(world, kind, incident);
    event.subject = SUBJECT_ACTOR;
    event.actor = actor;
    tell(world, &event);
}

/* ---- incidents of each kind ---- */

static void drop(struct world *world, uint32_t index) {
    const struct scenario_incident *fixed = &world->scenario->incident[index];
    uint32_t track = track_of_place(world, fixed->track);
    int64_t count =
        track_drop(world, track, track_kind_of(world, track, fixed->item), fixed->count);
    world->item[fixed->item].dropped += count;
    if (count > 0)
        watch_moved(world);
    struct event event = event_now(world, EVENT_DROP, index);
    event.subject = SUBJECT_TRACK;
    event.track = fixed->track;
    event.item = &fixed->item;
    event.item_count = 1;
    event.count = count;
    event.short_count = fixed->count - count;
    tell(world, &event);
}

/* Counts what lies there of each kind as cleared; returns how many kinds it named. */
static uint32_t count_cleared(struct world *world, uint32_t index, uint32_t only) {
    const struct track *track = &world->track[index];
    uint32_t named = 0;
    for (uint32_t i = 0; i < track->kind_count; i++) {
        const struct track_kind *kind = &world->kind[track->first_kind + i];
        if (kind->count == 0 || (only != NO_INDEX && kind->item != only))
            continue;
        world->item[kind->item].cleared += kind->count;
        world->item_scratch[named++] = kind->item;
    }
    return named;
}

static void clear(struct world *world, uint32_t index) {
    const struct scenario_incident *fixed = &world->scenario->incident[index];
    uint32_t track = track_of_place(world, fixed->track);
    struct event event = event_now(world, EVENT_CLEAR, index);
    event.item_count = count_cleared(world, track, fixed->item);
    event.item = world->item_scratch;
    event.subject = SUBJECT_TRACK;
    event.track = fixed->track;
    event.count = 0;
    if (event.item_count > 0) {
        uint32_t kind =
            fixed->item == NO_INDEX ? NO_INDEX : track_kind_of(world, track, fixed->item);
        event.count = track_clear(world, track, kind);
        watch_moved(world);
    }
    tell(world, &event);
}

static void stop_or_start(struct world *world, uint32_t index, bool stop) {
    struct actor actor = world->scenario->incident[index].actor;
    give_reason(world, actor, STOPPED_BY_INCIDENT, stop);
    tell_actor(world, stop ? EVENT_STOP : EVENT_START, actor, index);
}

static void set_value(struct world *world, uint32_t index) {
    const struct scenario_incident *fixed = &world->scenario->incident[index];
    struct event event = event_now(world, EVENT_SET, index);
    event.value = fixed->value;
    if (fixed->kind == INCIDENT_SET_CAPACITY) {
        event.subject = SUBJECT_CHEST;
        event.chest = fixed->chest;
        stock_set_limit(world, world->chest_total[fixed->chest], fixed->value);
    } else {
        event.subject = SUBJECT_GATE;
        event.actor = fixed->actor;
        struct gate *gate = &world->gate[fixed->gate];
        if (fixed->kind == INCIDENT_SET_REOPEN)
            gate->reopen_below = fixed->value;
        else
            gate->threshold = fixed->value;
        gate_tell(world, gate->tally);
    }
    tell(world, &event);
}

static void happen(struct world *world, uint32_t index) {
    switch (world->scenario->incident[index].kind) {
    case INCIDENT_DROP: drop(world, index); break;
    case INCIDENT_CLEAR: clear(world, index); break;
    case INCIDENT_STOP: stop_or_start(world, index, true); break;
    case INCIDENT_START: stop_or_start(world, index, false); break;
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
        incident->due =
            world_now(world) + span_draw(&fixed->every, chance_of(world, incident->chance),
                                         world->scenario->ticks_per_second);
    agenda_set(&world->agenda, world_actor(world, RANK_INCIDENT, index), incident->due);
}

void incident_break(struct world *world, uint32_t index) {
    struct breakdown *self = &world->breakdown[index];
    const struct breaks *fixed = scenario_actor_breaks(world->scenario, self->actor);
    if (self->due > world_now(world))
        return;
    watch_outside(world);
    self->broken = !self->broken;
    give_reason(world, self->actor, STOPPED_BY_BREAKDOWN, self->broken);
    tell_actor(world, self->broken ? EVENT_STOP : EVENT_START, self->actor, NO_INDEX);
    const struct span *span = self->broken ? &fixed->repair : &fixed->after;
    uint32_t chance = self->broken ? self->repair_chance : self->after_chance;
    self->due = world_now(world) +
                span_draw(span, chance_of(world, chance), world->scenario->ticks_per_second);
    agenda_set(&world->agenda, world_actor(world, RANK_BREAKDOWN, index), self->due);
}
