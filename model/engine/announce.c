/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/announce.c - events are built from the parts as they are, at the begin and at the
 * end. */
#include "model/engine/announce.h"

#include <stddef.h>

#include "model/engine/station.h"
#include "model/engine/track.h"

/* ---- moves ---- */

void announce_move(const struct world *world, uint32_t index, enum move_act act, uint32_t item,
                   int64_t count) {
    const struct scenario_arm *arm = &world->scenario->arm[index];
    struct move move = {.tick = world_now(world),
                        .arm = index,
                        .act = act,
                        .count = count,
                        .item = item,
                        .place = act == MOVE_PICK ? arm->from : arm->to};
    world->listener.moved(world->listener.self, &move);
}

/* ---- building and reporting ---- */

static struct event event_of(enum event_kind kind, int64_t start, int64_t since) {
    return (struct event){.kind = kind,
                          .start_tick = start,
                          .end_tick = start,
                          .since_tick = since,
                          .incident = NO_INDEX,
                          .count = NOT_GIVEN};
}

static struct event actor_event(enum event_kind kind, enum part_kind actor, uint32_t index,
                                int64_t start, int64_t since) {
    struct event event = event_of(kind, start, since);
    event.subject = SUBJECT_ACTOR;
    event.actor = (struct part){.kind = actor, .index = index};
    return event;
}

static struct event lane_event(enum event_kind kind, uint32_t lane, int64_t start, int64_t since) {
    struct event event = event_of(kind, start, since);
    event.subject = SUBJECT_TRACK;
    event.track = (struct place){.kind = PLACE_LANE, .index = lane};
    return event;
}

static struct event incident_event(const struct world *world, enum event_kind kind,
                                   uint32_t incident) {
    struct event event = event_of(kind, world_now(world), NOT_GIVEN);
    event.incident = incident;
    return event;
}

static void report_happened(const struct world *world, struct event event) {
    if (world->listener.happened != NULL)
        world->listener.happened(world->listener.self, &event);
}

static void report_began(const struct world *world, struct event event) {
    if (world->listener.began != NULL)
        world->listener.began(world->listener.self, &event);
}

static void report_ended(const struct world *world, struct event event, int64_t end) {
    event.end_tick = end;
    if (world->listener.ended != NULL)
        world->listener.ended(world->listener.self, &event);
}

/* ---- incidents and breakdowns ---- */

void announce_drop(struct world *world, uint32_t incident, int64_t dropped) {
    const struct scenario_incident *fixed = &world->scenario->incident[incident];
    struct event event = incident_event(world, EVENT_DROP, incident);
    event.subject = SUBJECT_TRACK;
    event.track = fixed->track;
    event.item = &fixed->item;
    event.item_count = 1;
    event.count = dropped;
    event.short_count = fixed->count - dropped;
    report_happened(world, event);
}

void announce_clear(struct world *world, uint32_t incident, uint32_t kind_count, int64_t cleared) {
    struct event event = incident_event(world, EVENT_CLEAR, incident);
    event.subject = SUBJECT_TRACK;
    event.track = world->scenario->incident[incident].track;
    event.item = world->item_scratch;
    event.item_count = kind_count;
    event.count = cleared;
    report_happened(world, event);
}

void announce_set(struct world *world, uint32_t incident) {
    const struct scenario_incident *fixed = &world->scenario->incident[incident];
    struct event event = incident_event(world, EVENT_SET, incident);
    event.value = fixed->value;
    if (fixed->kind == INCIDENT_SET_CAPACITY) {
        event.subject = SUBJECT_CHEST;
        event.chest = fixed->chest;
    } else {
        event.subject = SUBJECT_GATE;
        event.actor = fixed->actor;
    }
    report_happened(world, event);
}

static void announce_actor(struct world *world, enum event_kind kind, struct part actor,
                           uint32_t incident) {
    struct event event = incident_event(world, kind, incident);
    event.subject = SUBJECT_ACTOR;
    event.actor = actor;
    report_happened(world, event);
}

void announce_stop(struct world *world, struct part actor, uint32_t incident) {
    announce_actor(world, EVENT_STOP, actor, incident);
}

void announce_start(struct world *world, struct part actor, uint32_t incident) {
    announce_actor(world, EVENT_START, actor, incident);
}

/* ---- stations: starved, blocked ---- */

static struct event station_event(const struct world *world, uint32_t index) {
    const struct station *station = &world->station[index];
    enum event_kind kind = station->state == STATION_STARVED ? EVENT_STARVED : EVENT_BLOCKED;
    return actor_event(kind, PART_STATION, index, station->event_start, station->since);
}

/* Adds an item to the `count` that are named, into the scenario's order. */
static void name_in_order(struct world *world, uint32_t count, uint32_t item) {
    uint32_t at = count;
    for (; at > 0 && world->item_scratch[at - 1] > item; at--)
        world->item_scratch[at] = world->item_scratch[at - 1];
    world->item_scratch[at] = item;
}

/* Names the short inputs in the order of `takes`, or the outputs without room. */
static uint32_t name_station_items(struct world *world, uint32_t index) {
    const struct scenario_station *fixed = &world->scenario->station[index];
    uint32_t count = 0;
    if (world->station[index].state == STATION_STARVED) {
        for (uint32_t i = 0; i < fixed->takes.count; i++)
            if (station_is_short_of(world, index, i))
                world->item_scratch[count++] = fixed->takes.entry[i].item;
    } else {
        for (uint32_t i = 0; i < fixed->makes_count; i++)
            if (station_lacks_room_for(world, index, i))
                name_in_order(world, count++, fixed->makes[i].item);
    }
    return count;
}

void announce_station(struct world *world, uint32_t index) {
    struct station *station = &world->station[index];
    station->event_open = true;
    station->event_start = world_now(world);
    struct event event = station_event(world, index);
    event.item_count = name_station_items(world, index);
    event.item = world->item_scratch;
    report_began(world, event);
}

void announce_station_over(struct world *world, uint32_t index) {
    report_ended(world, station_event(world, index), world_now(world));
    world->station[index].event_open = false;
}

/* ---- arms: blocked ---- */

static struct event arm_event(const struct world *world, uint32_t index) {
    const struct arm_placing *placing = arm_placing_of(world, index);
    struct event event =
        actor_event(EVENT_BLOCKED, PART_ARM, index, placing->blocked_start, placing->since);
    event.track = world->scenario->arm[index].to;
    return event;
}

static uint32_t name_hand(struct world *world, uint32_t index) {
    const struct arm_record *arm = &world->arm[index];
    uint32_t first = arm_first_run(world, arm), end = arm_end_run(world, arm), count = 0;
    for (uint32_t run = first; run < end; run++)
        world->scratch[arm_run(world, arm, run).item_slot] = 1;
    for (uint32_t run = first; run < end; run++) {
        uint32_t item_slot = arm_run(world, arm, run).item_slot;
        if (world->scratch[item_slot] == 0)
            continue;
        world->scratch[item_slot] = 0;
        name_in_order(world, count++, arm_item_at(world, &arm->plan, item_slot));
    }
    return count;
}

void announce_arm(struct world *world, uint32_t index) {
    struct arm_placing *placing = arm_placing_of(world, index);
    placing->blocked_start = world_now(world);
    struct event event = arm_event(world, index);
    event.item_count = name_hand(world, index);
    event.item = world->item_scratch;
    report_began(world, event);
}

void announce_arm_over(struct world *world, uint32_t index) {
    struct event event = arm_event(world, index);
    arm_placing_of(world, index)->blocked_start = NOT_GIVEN;
    report_ended(world, event, world_now(world));
}

/* ---- lanes: congested, jam, deadlock ---- */

static struct event congested_event(const struct world *world, uint32_t lane) {
    const struct track *track = &world->track[lane].state;
    return lane_event(EVENT_CONGESTED, lane, track->congested_start, track->crowded_since);
}

static struct event jam_event(const struct world *world, uint32_t lane) {
    const struct track *track = &world->track[lane].state;
    return lane_event(EVENT_JAM, lane, track->jam_start, track->jam_since);
}

static struct event deadlock_event(const struct world *world, uint32_t lane) {
    const struct track *track = &world->track[lane].state;
    return lane_event(EVENT_DEADLOCK, lane, track->deadlock_start, track->deadlock_since);
}

void announce_congested(struct world *world, uint32_t lane) {
    world->track[lane].state.congested_open = true;
    world->track[lane].state.congested_start = world_now(world);
    report_began(world, congested_event(world, lane));
}

void announce_congested_over(struct world *world, uint32_t lane) {
    report_ended(world, congested_event(world, lane), world_now(world));
    world->track[lane].state.congested_open = false;
}

void announce_jam(struct world *world, uint32_t lane, int64_t from) {
    struct track *track = &world->track[lane].state;
    track->jam_open = true;
    track->jam_from = from;
    track->jam_since = track->last_move == NOT_GIVEN ? 0 : track->last_move;
    track->jam_start = world_now(world);
    world->standstill_watch.jammed_tracks++;
    report_began(world, jam_event(world, lane));
}

void announce_jam_over(struct world *world, uint32_t lane) {
    report_ended(world, jam_event(world, lane), world_now(world));
    world->track[lane].state.jam_open = false;
    world->standstill_watch.jammed_tracks--;
    if (world->track[lane].state.deadlock_open)
        announce_deadlock_over(world, lane);
}

void announce_deadlock(struct world *world, uint32_t lane, int64_t since) {
    struct track *track = &world->track[lane].state;
    track->deadlock_open = true;
    track->deadlock_since = since;
    track->deadlock_start = world_now(world);
    world->standstill_watch.deadlocked_tracks++;
    report_began(world, deadlock_event(world, lane));
}

void announce_deadlock_over(struct world *world, uint32_t lane) {
    report_ended(world, deadlock_event(world, lane), world_now(world));
    world->track[lane].state.deadlock_open = false;
    world->standstill_watch.deadlocked_tracks--;
}

/* ---- loops: emptied ---- */

static struct event emptied_event(const struct world *world, uint32_t loop) {
    const struct belt *belt = &world->belt[loop].state;
    return actor_event(EVENT_EMPTIED, PART_LOOP, loop, belt->emptied_start, belt->empty_tick);
}

void announce_emptied(struct world *world, uint32_t loop) {
    world->belt[loop].state.emptied_open = true;
    world->belt[loop].state.emptied_start = world_now(world);
    report_began(world, emptied_event(world, loop));
}

void announce_emptied_over(struct world *world, uint32_t loop) {
    report_ended(world, emptied_event(world, loop), world_now(world));
    world->belt[loop].state.emptied_open = false;
}

/* ---- the workshop: rest, clogged ---- */

static struct event rest_event(const struct world *world, enum event_kind kind) {
    return event_of(kind, world->standstill.rest_start, world->standstill.rest_since);
}

/* The items on loops, in the scenario's order; returns how many. */
static uint32_t name_items_on_loops(struct world *world) {
    uint32_t count = 0;
    for (uint32_t lane = 0; lane < world->scenario->lane_count; lane++) {
        const struct track_plan *track = &world->track[lane].plan;
        for (uint32_t i = 0; i < track->kind_count; i++)
            if (world->kind[track->first_kind + i].count > 0)
                world->item_marks[world->kind[track->first_kind + i].item] = true;
    }
    for (uint32_t item = 0; item < world->scenario->item_count; item++) {
        if (world->item_marks[item])
            world->item_scratch[count++] = item;
        world->item_marks[item] = false;
    }
    return count;
}

void announce_rest(struct world *world, int64_t since) {
    struct standstill *standstill = &world->standstill;
    standstill->rest_open = true;
    standstill->rest_since = since;
    standstill->rest_start = world_now(world);
    report_began(world, rest_event(world, EVENT_REST));
    struct event event = rest_event(world, EVENT_CLOGGED);
    event.item_count = name_items_on_loops(world);
    event.item = world->item_scratch;
    standstill->clogged_open = event.item_count > 0;
    if (standstill->clogged_open)
        report_began(world, event);
}

static void report_rest_ended(const struct world *world, int64_t end) {
    report_ended(world, rest_event(world, EVENT_REST), end);
    if (world->standstill.clogged_open)
        report_ended(world, rest_event(world, EVENT_CLOGGED), end);
}

void announce_rest_over(struct world *world) {
    report_rest_ended(world, world_now(world));
    world->standstill.rest_open = world->standstill.clogged_open = false;
}

/* ---- at the end of a run ---- */

static void report_open_of_lane(const struct world *world, uint32_t lane) {
    const struct track *track = &world->track[lane].state;
    if (track->congested_open)
        report_ended(world, congested_event(world, lane), world->progress.tick);
    if (track->jam_open)
        report_ended(world, jam_event(world, lane), world->progress.tick);
    if (track->deadlock_open)
        report_ended(world, deadlock_event(world, lane), world->progress.tick);
}

void announce_all_open(const struct world *world) {
    const struct scenario *scenario = world->scenario;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        if (world->station[i].event_open)
            report_ended(world, station_event(world, i), world->progress.tick);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (arm_is_blocked(world, i))
            report_ended(world, arm_event(world, i), world->progress.tick);
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        report_open_of_lane(world, i);
    if (world->standstill.rest_open)
        report_rest_ended(world, world->progress.tick);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        if (world->belt[i].state.emptied_open)
            report_ended(world, emptied_event(world, i), world->progress.tick);
}
