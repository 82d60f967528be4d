/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/watch.c - conditions are compared as phase 6 sees them: what changes and changes
 * back within a tick has not changed. A check is scheduled no later than the first tick in which it
 * has something to report. */
#include "model/engine/watch.h"

#include "model/engine/announce.h"
#include "model/engine/belt.h"
#include "model/engine/parts.h"
#include "model/engine/standstill.h"
#include "model/engine/station.h"
#include "model/engine/track.h"
#include "model/engine/wake.h"

/* The tick in which a belt has made one revolution since it had made `step` steps. */
static int64_t revolution_from(const struct world *world, uint32_t belt, int64_t step) {
    return belt_clock_tick_of(&world->belt[belt].state.clock,
                              step + world->belt[belt].plan.cell_count);
}

void watch_outside(struct world *world) {
    if (world->standstill.outside_tick == world_now(world))
        return;
    standstill_before_outside(world);
    wake_world_check(world);
}

/* ---- stations: starved, blocked ---- */

static bool is_watched(enum station_state state) {
    return state == STATION_STARVED || state == STATION_BLOCKED;
}

static int64_t station_event_due(const struct world *world, const struct station *station) {
    const struct scenario_watch *watch = &world->scenario->watch;
    if (station->state == STATION_STARVED)
        return station->since + watch->starved_after_ticks;
    bool given = watch->blocked_after_ticks != NOT_GIVEN;
    return station->since + (given ? watch->blocked_after_ticks : watch->blocked_default_ticks);
}

void watch_check_station(struct world *world, uint32_t index) {
    struct station *station = &world->station[index];
    enum station_state state = station_state_now(world, index);
    if (state != station->state) {
        if (station->event_open)
            announce_station_over(world, index);
        station_enter(world, index, state);
    }
    if (!is_watched(state) || station->event_open)
        return;
    int64_t due = station_event_due(world, station);
    if (due > world_now(world)) {
        wake_at(world, RANK_STATION_CHECK, index, due);
        return;
    }
    announce_station(world, index);
}

/* ---- arms: blocked ---- */

static int64_t blocked_due(const struct world *world, uint32_t belt, uint32_t index) {
    const struct scenario_watch *watch = &world->scenario->watch;
    const struct arm_placing *placing = arm_placing_of(world, index);
    if (watch->blocked_after_ticks != NOT_GIVEN)
        return placing->since + watch->blocked_after_ticks;
    if (!belt_is_loop(world, belt))
        return placing->since + watch->blocked_default_ticks;
    return revolution_from(world, belt, placing->since_step);
}

/* The list is in the order of waiting times, so that the first unreported arm is the next to
 * report. */
static void check_blocked(struct world *world, uint32_t index) {
    struct track_load *load = &world->track[index].load;
    load->awaits_blocked = false;
    while (load->first_unreported != NO_INDEX) {
        uint32_t arm = load->first_unreported;
        int64_t due = blocked_due(world, world->track[index].plan.belt, arm);
        if (due > world_now(world)) {
            wake_at(world, RANK_TRACK_CHECK, index, due);
            load->awaits_blocked = true;
            return;
        }
        load->first_unreported = arm_placing_of(world, arm)->next;
        announce_arm(world, arm);
    }
}

/* ---- lanes: congested, jam, deadlock ---- */

static void check_crowding(struct world *world, uint32_t index) {
    const struct track_plan *plan = &world->track[index].plan;
    struct track *track = &world->track[index].state;
    bool crowded = world->track[index].load.held_cells >= plan->crowded_cells;
    if (crowded && !track->crowded) {
        track->crowded_since = world_now(world);
        track->crowded_step = belt_step(world, plan->belt);
    } else if (!crowded && track->congested_open) {
        announce_congested_over(world, index);
    }
    track->crowded = crowded;
    if (!crowded || track->congested_open)
        return;
    int64_t due = revolution_from(world, plan->belt, track->crowded_step);
    if (due > world_now(world)) {
        wake_at(world, RANK_TRACK_CHECK, index, due);
        return;
    }
    announce_congested(world, index);
}

static void check_jam(struct world *world, uint32_t index) {
    const struct track *track = &world->track[index].state;
    struct track_load *load = &world->track[index].load;
    bool placing = load->first_placing != NO_INDEX;
    bool moved_later = track->last_move >= track->placing_since;
    int64_t from = moved_later ? track->last_move : track->placing_since;
    int64_t from_step = moved_later ? track->last_move_step : track->placing_since_step;
    load->awaits_jam = false;
    if (track->jam_open && (!placing || from != track->jam_from))
        announce_jam_over(world, index);
    if (!placing || track->jam_open)
        return;
    int64_t due = revolution_from(world, world->track[index].plan.belt, from_step);
    if (due < from + world->scenario->watch.jam_after_ticks)
        due = from + world->scenario->watch.jam_after_ticks;
    if (due <= world_now(world)) {
        announce_jam(world, index, from);
        wake_world_check(world); /* it may stand still already */
        return;
    }
    wake_at(world, RANK_TRACK_CHECK, index, due);
    load->awaits_jam = true;
}

void watch_check_track(struct world *world, uint32_t index) {
    check_blocked(world, index);
    if (!belt_is_loop(world, world->track[index].plan.belt))
        return;
    check_crowding(world, index);
    check_jam(world, index);
    track_find_quiet_range(world, index);
}

/* ---- loops: emptied ---- */

static bool holds_something(const struct world *world, uint32_t loop) {
    const struct belt_plan *plan = &world->belt[loop].plan;
    for (uint32_t i = 0; i < plan->track_count; i++)
        if (world->track[plan->first_track + i].load.item_count > 0)
            return true;
    return false;
}

void watch_check_loop(struct world *world, uint32_t loop) {
    struct belt *belt = &world->belt[loop].state;
    bool holds = holds_something(world, loop);
    if (holds && belt->emptied_open)
        announce_emptied_over(world, loop);
    if (!holds && belt->held_something) {
        belt->empty_tick = world_now(world);
        belt->empty_step = belt_step(world, loop);
    }
    belt->held_something = holds;
    if (holds || belt->emptied_open || belt->empty_tick == NOT_GIVEN)
        return;
    int64_t due = revolution_from(world, loop, belt->empty_step);
    if (due > world_now(world)) {
        wake_at(world, RANK_LOOP_CHECK, loop, due);
        return;
    }
    announce_emptied(world, loop);
}

/* ---- the workshop: rest, clogged, deadlock ---- */

static bool some_belt_runs(const struct world *world, uint32_t belt_count) {
    for (uint32_t i = 0; i < belt_count; i++)
        if (world->belt[i].state.clock.running)
            return true;
    return false;
}

static bool some_loop_runs(const struct world *world) {
    return some_belt_runs(world, world->scenario->loop_count);
}

static void check_again(struct world *world, int64_t tick) {
    int64_t next = world_now(world) + 1;
    wake_at(world, RANK_WORLD_CHECK, 0, tick > next ? tick : next);
}

static void check_rest(struct world *world) {
    const struct standstill *standstill = &world->standstill;
    struct standstill_finding found = standstill_find(world, STANDSTILL_REST);
    bool rests = found.since != NOT_GIVEN && found.long_enough && some_loop_runs(world);
    if (standstill->rest_open && (!rests || found.since != standstill->rest_since))
        announce_rest_over(world);
    if (rests && !standstill->rest_open)
        announce_rest(world, found.since);
    if (!rests && some_loop_runs(world))
        check_again(world, found.retry);
}

static void check_deadlock(struct world *world) {
    if (world->standstill_watch.jammed_tracks == 0)
        return;
    struct standstill_finding found = standstill_find(world, STANDSTILL_DEADLOCK);
    bool dead = found.since != NOT_GIVEN && found.long_enough;
    for (uint32_t i = 0; i < world->scenario->lane_count; i++) {
        const struct track *track = &world->track[i].state;
        if (track->deadlock_open && (!dead || found.since != track->deadlock_since))
            announce_deadlock_over(world, i);
        if (dead && track->jam_open && !track->deadlock_open)
            announce_deadlock(world, i, found.since);
    }
    if (!dead)
        check_again(world, found.retry);
}

void watch_check_world(struct world *world) {
    const struct standstill *standstill = &world->standstill;
    struct standstill_watch *watch = &world->standstill_watch;
    if (standstill->outside_tick == world_now(world))
        standstill_after_outside(world);
    int64_t earliest = standstill_earliest(world);
    if (earliest > world_now(world) && !standstill->rest_open && watch->deadlocked_tracks == 0) {
        wake_at(world, RANK_WORLD_CHECK, 0, earliest);
        return;
    }
    check_rest(world);
    check_deadlock(world);
    watch->checks_moves = standstill->rest_open || watch->deadlocked_tracks > 0 ||
                          (watch->jammed_tracks > 0 && !some_belt_runs(world, world->belt_count));
    wake_find_whom_moves_concern(world);
}
