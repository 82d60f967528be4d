/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/watch.c - conditions are compared as phase 6 sees them: what flickers within a tick
 * has not changed. The agenda entry of a look is never later than the first tick in which it has to
 * speak. */
#include "model/engine/watch.h"

#include "model/engine/arm.h"
#include "model/engine/belt.h"
#include "model/engine/parts.h"
#include "model/engine/standstill.h"
#include "model/engine/station.h"
#include "model/engine/track.h"
#include "sim/require.h"

/* ---- telling ---- */

static struct event event_of(enum event_kind kind, int64_t start, int64_t since) {
    return (struct event){.kind = kind,
                          .start_tick = start,
                          .end_tick = start,
                          .since_tick = since,
                          .incident = NO_INDEX,
                          .count = NOT_GIVEN};
}

static void tell_began(struct world *world, const struct event *event) {
    if (world->listener.began != NULL)
        world->listener.began(world->listener.self, event);
}

static void tell_ended(struct world *world, struct event event, int64_t end) {
    event.end_tick = end;
    if (world->listener.ended != NULL)
        world->listener.ended(world->listener.self, &event);
}

static struct place place_of_track(const struct world *world, uint32_t track) {
    if (world->track[track].is_line)
        return (struct place){.kind = PLACE_LINE, .index = track - world->scenario->lane_count};
    return (struct place){.kind = PLACE_LANE, .index = track};
}

static struct event actor_event(enum event_kind kind, enum actor_kind actor, uint32_t index,
                                int64_t start, int64_t since) {
    struct event event = event_of(kind, start, since);
    event.subject = SUBJECT_ACTOR;
    event.actor = (struct actor){.kind = actor, .index = index};
    return event;
}

static struct event track_event(const struct world *world, enum event_kind kind, uint32_t track,
                                int64_t start, int64_t since) {
    struct event event = event_of(kind, start, since);
    event.subject = SUBJECT_TRACK;
    event.track = place_of_track(world, track);
    return event;
}

static void wake(struct world *world, enum rank rank, uint32_t index, int64_t tick) {
    agenda_wake(&world->agenda, world_actor(world, rank, index), tick);
}

static bool is_loop(const struct world *world, uint32_t belt) {
    return belt < world->scenario->loop_count;
}

/* The tick in which a belt has made one revolution since it had made `step` steps. */
static int64_t revolution_from(const struct world *world, uint32_t belt, int64_t step) {
    return belt_clock_tick_of(&world->belt[belt].clock, step + world->belt[belt].cell_count);
}

/* ---- being told ---- */

void watch_have_looked(struct world *world) { wake(world, RANK_WORLD_LOOK, 0, world_now(world)); }

void watch_track_moved(struct world *world, uint32_t index) {
    uint32_t belt = world->track[index].belt;
    if (!is_loop(world, belt))
        return;
    wake(world, RANK_TRACK_LOOK, index, world_now(world));
    wake(world, RANK_LOOP_LOOK, belt, world_now(world));
}

void watch_placing_began(struct world *world, uint32_t index) {
    const struct track *track = &world->track[index];
    if (!track->watches_blocked || !track->watches_jam)
        wake(world, RANK_TRACK_LOOK, index, world_now(world));
}

void watch_placing_ended(struct world *world, uint32_t index) {
    if (world->track[index].jam_open)
        wake(world, RANK_TRACK_LOOK, index, world_now(world));
}

void watch_belt_changed(struct world *world, uint32_t index) {
    const struct belt *belt = &world->belt[index];
    for (uint32_t i = 0; i < belt->track_count; i++)
        wake(world, RANK_TRACK_LOOK, belt->first_track + i, world_now(world));
    if (is_loop(world, index))
        wake(world, RANK_LOOP_LOOK, index, world_now(world));
}

void watch_outside(struct world *world) {
    if (world->standstill.outside_tick == world_now(world))
        return;
    standstill_before_outside(world);
    watch_have_looked(world);
}

/* ---- stations: starved, blocked ---- */

static bool is_watched(enum station_state state) {
    return state == STATION_STARVED || state == STATION_BLOCKED;
}

static struct event station_event(const struct world *world, uint32_t index, int64_t start) {
    const struct station *station = &world->station[index];
    enum event_kind kind = station->state == STATION_STARVED ? EVENT_STARVED : EVENT_BLOCKED;
    return actor_event(kind, ACTOR_STATION, index, start, station->since);
}

/* Names the short inputs, or the outputs without room. */
static uint32_t name_station_items(struct world *world, uint32_t index) {
    const struct station *station = &world->station[index];
    const struct scenario_station *fixed = &world->scenario->station[index];
    uint32_t count = 0;
    if (station->state == STATION_STARVED) {
        for (uint32_t i = 0; i < station->input_count; i++)
            if (station_is_short_of(world, index, i))
                world->item_scratch[count++] = fixed->takes.entry[i].item;
    } else {
        for (uint32_t i = 0; i < station->output_count; i++)
            if (station_lacks_room_for(world, index, i))
                world->item_scratch[count++] = fixed->makes[i].item;
    }
    return count;
}

static int64_t station_tells_at(const struct world *world, const struct station *station) {
    const struct scenario_watch *watch = &world->scenario->watch;
    if (station->state == STATION_STARVED)
        return station->since + watch->starved_after_ticks;
    bool given = watch->blocked_after_ticks != NOT_GIVEN;
    return station->since + (given ? watch->blocked_after_ticks : watch->blocked_default_ticks);
}

void watch_station_look(struct world *world, uint32_t index) {
    struct station *station = &world->station[index];
    enum station_state state = station_state_now(world, index);
    if (state != station->state) {
        if (station->told)
            tell_ended(world, station_event(world, index, station->told_start), world_now(world));
        station->told = false;
        station_enter(world, index, state);
    }
    if (!is_watched(state) || station->told)
        return;
    int64_t tells_at = station_tells_at(world, station);
    if (tells_at > world_now(world)) {
        wake(world, RANK_STATION_LOOK, index, tells_at);
        return;
    }
    station->told = true;
    station->told_start = world_now(world);
    struct event event = station_event(world, index, world_now(world));
    event.item_count = name_station_items(world, index);
    event.item = world->item_scratch;
    tell_began(world, &event);
}

/* ---- arms: blocked ---- */

static struct event blocked_event(const struct world *world, uint32_t index) {
    const struct placing *placing = &world->placing[index];
    struct event event =
        actor_event(EVENT_BLOCKED, ACTOR_ARM, index, placing->told_start, placing->since);
    event.track = world->scenario->arm[index].to;
    return event;
}

static uint32_t name_hand(struct world *world, const struct arm *arm) {
    const struct arm_item *item = world->arm_item + arm->first_item;
    uint32_t count = 0;
    for (uint32_t run = arm->runs_done; run < arm->run_count; run++)
        world->scratch[world->hand_run[arm->first_run + run].what] = 1;
    for (uint32_t run = arm->runs_done; run < arm->run_count; run++) {
        uint32_t what = world->hand_run[arm->first_run + run].what;
        if (world->scratch[what] == 0)
            continue;
        world->scratch[what] = 0;
        uint32_t at = count++; /* into the scenario's order */
        for (; at > 0 && world->item_scratch[at - 1] > item[what].item; at--)
            world->item_scratch[at] = world->item_scratch[at - 1];
        world->item_scratch[at] = item[what].item;
    }
    return count;
}

void watch_arm_blocked(struct world *world, uint32_t index) {
    struct arm *arm = &world->arm[index];
    world->placing[index].told_start = world_now(world);
    arm->waits |= ARM_BLOCKED_TOLD;
    struct event event = blocked_event(world, index);
    event.item_count = name_hand(world, arm);
    event.item = world->item_scratch;
    tell_began(world, &event);
}

void watch_arm_unblocked(struct world *world, uint32_t index) {
    world->arm[index].waits &= (uint8_t)~ARM_BLOCKED_TOLD;
    tell_ended(world, blocked_event(world, index), world_now(world));
}

static int64_t arm_tells_at(const struct world *world, const struct track *track, uint32_t arm) {
    const struct scenario_watch *watch = &world->scenario->watch;
    const struct placing *placing = &world->placing[arm];
    if (watch->blocked_after_ticks != NOT_GIVEN)
        return placing->since + watch->blocked_after_ticks;
    if (!is_loop(world, track->belt))
        return placing->since + watch->blocked_default_ticks;
    return revolution_from(world, track->belt, placing->since_step);
}

/* They stand in the list by how long they have waited, so the first untold is the next to be
 * told. */
static void look_at_blocked(struct world *world, uint32_t index) {
    struct track *track = &world->track[index];
    track->watches_blocked = false;
    while (track->first_unreported != NO_INDEX) {
        uint32_t arm = track->first_unreported;
        int64_t tells_at = arm_tells_at(world, track, arm);
        if (tells_at > world_now(world)) {
            wake(world, RANK_TRACK_LOOK, index, tells_at);
            track->watches_blocked = true;
            return;
        }
        track->first_unreported = world->placing[arm].next;
        watch_arm_blocked(world, arm);
    }
}

/* ---- lanes: congested, jam, deadlock ---- */

static struct event congested_event(const struct world *world, uint32_t index) {
    const struct track *track = &world->track[index];
    return track_event(world, EVENT_CONGESTED, index, track->congested_start, track->crowded_since);
}

static struct event jam_event(const struct world *world, uint32_t index) {
    const struct track *track = &world->track[index];
    return track_event(world, EVENT_JAM, index, track->jam_start, track->jam_since);
}

static struct event deadlock_event(const struct world *world, uint32_t index) {
    const struct track *track = &world->track[index];
    return track_event(world, EVENT_DEADLOCK, index, track->deadlock_start, track->deadlock_since);
}

static void look_at_crowding(struct world *world, uint32_t index) {
    struct track *track = &world->track[index];
    bool crowded = track->held_cells >= track->crowded_cells;
    if (crowded && !track->crowded) {
        track->crowded_since = world_now(world);
        track->crowded_step = belt_step(world, track->belt);
    } else if (!crowded && track->congested_open) {
        tell_ended(world, congested_event(world, index), world_now(world));
        track->congested_open = false;
    }
    track->crowded = crowded;
    if (!crowded || track->congested_open)
        return;
    int64_t tells_at = revolution_from(world, track->belt, track->crowded_step);
    if (tells_at > world_now(world)) {
        wake(world, RANK_TRACK_LOOK, index, tells_at);
        return;
    }
    track->congested_open = true;
    track->congested_start = world_now(world);
    struct event event = congested_event(world, index);
    tell_began(world, &event);
}

static void end_deadlock(struct world *world, uint32_t index) {
    struct track *track = &world->track[index];
    tell_ended(world, deadlock_event(world, index), world_now(world));
    track->deadlock_open = false;
    world->standstill.deadlocked_tracks--;
}

static void end_jam(struct world *world, uint32_t index) {
    struct track *track = &world->track[index];
    tell_ended(world, jam_event(world, index), world_now(world));
    track->jam_open = false;
    world->standstill.jammed_tracks--;
    if (track->deadlock_open)
        end_deadlock(world, index);
}

static void begin_jam(struct world *world, uint32_t index, int64_t from) {
    struct track *track = &world->track[index];
    track->jam_open = true;
    track->jam_from = from;
    track->jam_since = track->last_move == NOT_GIVEN ? 0 : track->last_move;
    track->jam_start = world_now(world);
    world->standstill.jammed_tracks++;
    struct event event = jam_event(world, index);
    tell_began(world, &event);
    watch_have_looked(world); /* it may stand still already */
}

static void look_at_jam(struct world *world, uint32_t index) {
    struct track *track = &world->track[index];
    bool placing = track->first_placing != NO_INDEX;
    bool moved_later = track->last_move >= track->placing_since;
    int64_t from = moved_later ? track->last_move : track->placing_since;
    int64_t from_step = moved_later ? track->last_move_step : track->placing_since_step;
    track->watches_jam = false;
    if (track->jam_open && (!placing || from != track->jam_from))
        end_jam(world, index);
    if (!placing || track->jam_open)
        return;
    int64_t tells_at = revolution_from(world, track->belt, from_step);
    if (tells_at < from + world->scenario->watch.jam_after_ticks)
        tells_at = from + world->scenario->watch.jam_after_ticks;
    if (tells_at <= world_now(world)) {
        begin_jam(world, index, from);
        return;
    }
    wake(world, RANK_TRACK_LOOK, index, tells_at);
    track->watches_jam = true;
}

void watch_track_look(struct world *world, uint32_t index) {
    look_at_blocked(world, index);
    if (!is_loop(world, world->track[index].belt))
        return;
    look_at_crowding(world, index);
    look_at_jam(world, index);
}

/* ---- loops: emptied ---- */

static struct event emptied_event(const struct world *world, uint32_t loop) {
    const struct belt *belt = &world->belt[loop];
    return actor_event(EVENT_EMPTIED, ACTOR_LOOP, loop, belt->emptied_start, belt->empty_tick);
}

void watch_loop_look(struct world *world, uint32_t loop) {
    struct belt *belt = &world->belt[loop];
    bool holds = belt->item_count > 0;
    if (holds && belt->emptied_open) {
        tell_ended(world, emptied_event(world, loop), world_now(world));
        belt->emptied_open = false;
    }
    if (!holds && belt->held_something) {
        belt->empty_tick = world_now(world);
        belt->empty_step = belt_step(world, loop);
    }
    belt->held_something = holds;
    if (holds || belt->emptied_open || belt->empty_tick == NOT_GIVEN)
        return;
    int64_t tells_at = revolution_from(world, loop, belt->empty_step);
    if (tells_at > world_now(world)) {
        wake(world, RANK_LOOP_LOOK, loop, tells_at);
        return;
    }
    belt->emptied_open = true;
    belt->emptied_start = world_now(world);
    struct event event = emptied_event(world, loop);
    tell_began(world, &event);
}

/* ---- the workshop: rest, clogged, deadlock ---- */

static struct event rest_event(const struct world *world, enum event_kind kind) {
    const struct standstill *stillness = &world->standstill;
    struct event event = event_of(kind, stillness->rest_start, stillness->rest_since);
    event.subject = SUBJECT_NONE;
    return event;
}

/* The items on loops, in the scenario's order; returns how many. */
static uint32_t name_items_on_loops(struct world *world) {
    uint32_t count = 0;
    for (uint32_t lane = 0; lane < world->scenario->lane_count; lane++) {
        const struct track *track = &world->track[lane];
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

static void begin_rest(struct world *world, int64_t since) {
    struct standstill *stillness = &world->standstill;
    stillness->rest_open = true;
    stillness->rest_since = since;
    stillness->rest_start = world_now(world);
    struct event event = rest_event(world, EVENT_REST);
    tell_began(world, &event);
    event = rest_event(world, EVENT_CLOGGED);
    event.item_count = name_items_on_loops(world);
    event.item = world->item_scratch;
    stillness->clogged_open = event.item_count > 0;
    if (stillness->clogged_open)
        tell_began(world, &event);
}

static void tell_rest_ended(struct world *world, int64_t end) {
    tell_ended(world, rest_event(world, EVENT_REST), end);
    if (world->standstill.clogged_open)
        tell_ended(world, rest_event(world, EVENT_CLOGGED), end);
}

static bool some_belt_runs(const struct world *world, uint32_t belt_count) {
    for (uint32_t i = 0; i < belt_count; i++)
        if (world->belt[i].clock.running)
            return true;
    return false;
}

static bool some_loop_runs(const struct world *world) {
    return some_belt_runs(world, world->scenario->loop_count);
}

static void look_again(struct world *world, int64_t tick) {
    int64_t next = world_now(world) + 1;
    wake(world, RANK_WORLD_LOOK, 0, tick > next ? tick : next);
}

static void look_at_rest(struct world *world) {
    struct standstill *stillness = &world->standstill;
    struct standstill_finding found = standstill_look(world, STANDSTILL_REST);
    bool rests = found.since != NOT_GIVEN && found.long_enough && some_loop_runs(world);
    if (stillness->rest_open && (!rests || found.since != stillness->rest_since)) {
        tell_rest_ended(world, world_now(world));
        stillness->rest_open = stillness->clogged_open = false;
    }
    if (rests && !stillness->rest_open)
        begin_rest(world, found.since);
    if (!rests && some_loop_runs(world))
        look_again(world, found.retry);
}

static void look_at_deadlock(struct world *world) {
    if (world->standstill.jammed_tracks == 0)
        return;
    struct standstill_finding found = standstill_look(world, STANDSTILL_DEADLOCK);
    bool dead = found.since != NOT_GIVEN && found.long_enough;
    for (uint32_t i = 0; i < world->scenario->lane_count; i++) {
        struct track *track = &world->track[i];
        if (track->deadlock_open && (!dead || found.since != track->deadlock_since))
            end_deadlock(world, i);
        if (!dead || !track->jam_open || track->deadlock_open)
            continue;
        track->deadlock_open = true;
        track->deadlock_since = found.since;
        track->deadlock_start = world_now(world);
        world->standstill.deadlocked_tracks++;
        struct event event = deadlock_event(world, i);
        tell_began(world, &event);
    }
    if (!dead)
        look_again(world, found.retry);
}

void watch_world_look(struct world *world) {
    struct standstill *stillness = &world->standstill;
    if (stillness->outside_tick == world_now(world))
        standstill_after_outside(world);
    int64_t earliest = standstill_earliest(world);
    if (earliest > world_now(world) && !stillness->rest_open && stillness->deadlocked_tracks == 0) {
        wake(world, RANK_WORLD_LOOK, 0, earliest);
        return;
    }
    look_at_rest(world);
    look_at_deadlock(world);
    world->looks_at_moves =
        stillness->rest_open || stillness->deadlocked_tracks > 0 ||
        (stillness->jammed_tracks > 0 && !some_belt_runs(world, world->belt_count));
}

/* ---- at the end of a run ---- */

static void tell_open_of_lane(struct world *world, uint32_t index) {
    const struct track *track = &world->track[index];
    if (track->congested_open)
        tell_ended(world, congested_event(world, index), world->tick);
    if (track->jam_open)
        tell_ended(world, jam_event(world, index), world->tick);
    if (track->deadlock_open)
        tell_ended(world, deadlock_event(world, index), world->tick);
}

void watch_tell_open(struct world *world) {
    const struct scenario *scenario = world->scenario;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        if (world->station[i].told)
            tell_ended(world, station_event(world, i, world->station[i].told_start), world->tick);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (world->arm[i].waits & ARM_BLOCKED_TOLD)
            tell_ended(world, blocked_event(world, i), world->tick);
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        tell_open_of_lane(world, i);
    if (world->standstill.rest_open)
        tell_rest_ended(world, world->tick);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        if (world->belt[i].emptied_open)
            tell_ended(world, emptied_event(world, i), world->tick);
}
