/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm.c - acting, and planning when to act next.
 *
 * A returning arm is not woken when it is back: what it does next is planned when it starts back,
 * from the tick at which it will be ready, and its due tick distinguishes returning from reaching.
 */
#include "model/engine/arm.h"

#include "model/engine/announce.h"
#include "model/engine/arm_items.h"
#include "model/engine/gate.h"
#include "model/engine/parts.h"
#include "model/engine/stock.h"
#include "model/engine/track.h"
#include "model/engine/wake.h"
#include "sim/require.h"

static uint32_t actor_of(const struct world *world, uint32_t arm) {
    return world_actor(world, RANK_ARM, arm);
}

/* ---- the books ---- */

void arm_end_return(struct arm *arm) {
    int64_t back = arm->due > arm->since ? arm->due : arm->since;
    arm->ticks[ARM_RETURNING] += back - arm->since;
    arm->since = back;
    arm->state = ARM_REACHING;
}

/* Books the time from `since` up to `tick` in what it has been doing. */
static void book_time(struct arm *arm, int64_t tick) {
    if (arm->stops == 0 && arm->state == ARM_RETURNING && arm->due < tick)
        arm_end_return(arm);
    arm->ticks[arm->stops != 0 ? ARM_STOPPED : arm->state] += tick - arm->since;
    arm->since = tick;
}

/* From a state that it was woken in: not stopped, nor returning past its due tick. */
static void enter(struct world *world, struct arm *arm, enum arm_state state) {
    arm->ticks[arm->state] += world_now(world) - arm->since;
    arm->since = world_now(world);
    arm->state = (uint8_t)state;
}

enum arm_state arm_state_at(const struct world *world, uint32_t index, int64_t tick) {
    const struct arm *arm = &world->arm[index].state;
    if (arm->stops != 0)
        return ARM_STOPPED;
    if (arm->state == ARM_RETURNING && arm->due <= tick)
        return ARM_REACHING;
    return (enum arm_state)arm->state;
}

struct arm_totals arm_totals_at(const struct world *world, uint32_t index, int64_t tick) {
    struct arm arm = world->arm[index].state;
    book_time(&arm, tick);
    struct arm_totals totals = {.swings = arm.swings, .moved = arm.moved};
    for (int i = 0; i < ARM_STATES; i++)
        totals.ticks[i] = arm.ticks[i];
    return totals;
}

static inline void count_move(struct world *world, uint32_t index, enum move_act act,
                              uint32_t item_slot, int64_t count) {
    world->progress.moves++;
    wake_checks_of_move(world);
    if (world->listener.moved != NULL)
        announce_move(world, index, act, item_slot, count);
}

/* ---- placing ---- */

static inline void start_return(struct world *world, struct arm *arm) {
    arm->run_count = arm->runs_done = 0;
    enter(world, arm, arm->back_ticks == 0 ? ARM_REACHING : ARM_RETURNING);
    arm->due = world_now(world) + arm->back_ticks;
}

static inline bool place_on_track(struct world *world, uint32_t index) {
    const struct arm_plan *plan = &world->arm[index].plan;
    struct arm *arm = &world->arm[index].state;
    struct hand_run *run = &world->hand_run[plan->first_run + arm->runs_done];
    const struct arm_item *item = &arm_items_of(world, plan)[run->item_slot];
    if (!track_put(world, plan->to, plan->to_cell, item->dest, item->first_taker))
        return false;
    count_move(world, index, MOVE_PLACE, run->item_slot, 1);
    if (--run->count == 0)
        arm->runs_done++;
    arm->held--;
    arm->moved++;
    return true;
}

static inline void place_kind(struct world *world, uint32_t index, uint32_t item_slot,
                              int64_t count) {
    const struct arm_plan *plan = &world->arm[index].plan;
    stock_keep_promise(world, arm_items_of(world, plan)[item_slot].dest, plan->to, count);
    count_move(world, index, MOVE_PLACE, item_slot, count);
}

/* The whole hand, kind by kind in the order in which they were first picked. */
static inline void place_in_stock(struct world *world, uint32_t index) {
    const struct arm_plan *plan = &world->arm[index].plan;
    struct arm *arm = &world->arm[index].state;
    const struct hand_run *run = world->hand_run + plan->first_run;
    if (arm->run_count == 1) {
        place_kind(world, index, run->item_slot, run->count);
    } else {
        for (uint32_t i = 0; i < arm->run_count; i++)
            world->scratch[run[i].item_slot] += run[i].count;
        for (uint32_t i = 0; i < arm->run_count; i++) {
            uint32_t count = world->scratch[run[i].item_slot];
            world->scratch[run[i].item_slot] = 0;
            if (count > 0)
                place_kind(world, index, run[i].item_slot, count);
        }
    }
    arm->moved += arm->held;
    arm->held = 0;
    if (plan->station != NO_INDEX)
        wake_station(world, plan->station);
}

/* True when something was put down. */
__attribute__((always_inline)) static inline bool place(struct world *world, uint32_t index) {
    struct arm *arm = &world->arm[index].state;
    bool placed = true;
    if (world->arm[index].plan.to_track)
        placed = place_on_track(world, index);
    else
        place_in_stock(world, index);
    if (arm->held == 0)
        start_return(world, arm);
    return placed;
}

/* ---- picking ---- */

static void start_swing(struct world *world, uint32_t index) {
    uint32_t chance = world->arm[index].plan.swing_chance;
    struct arm *arm = &world->arm[index].state;
    arm->first_pick = world_now(world);
    if (chance == NO_INDEX)
        return;
    int64_t swing = span_draw(&world->scenario->arm[index].swing, &world->random[chance],
                              world->scenario->ticks_per_second);
    arm->out_ticks = (swing + 1) / 2;
    arm->back_ticks = swing - arm->out_ticks;
}

static inline void take_in_hand(struct world *world, uint32_t index, uint32_t item_slot,
                                uint32_t count) {
    const struct arm_plan *plan = &world->arm[index].plan;
    struct arm *arm = &world->arm[index].state;
    if (arm->held == 0)
        start_swing(world, index);
    struct hand_run *run = world->hand_run + plan->first_run;
    if (arm->run_count > 0 && run[arm->run_count - 1].item_slot == item_slot)
        run[arm->run_count - 1].count += count;
    else
        run[arm->run_count++] = (struct hand_run){.item_slot = item_slot, .count = count};
    arm->held += count;
    if (!plan->to_track)
        stock_promise(world, arm_items_of(world, plan)[item_slot].dest, plan->to, count);
    count_move(world, index, MOVE_PICK, item_slot, count);
}

/* True when the pick is complete. */
static bool pick_from_track(struct world *world, uint32_t index) {
    const struct arm_plan *plan = &world->arm[index].plan;
    const struct arm *arm = &world->arm[index].state;
    uint32_t spot = track_spot(world, plan->from, plan->from_cell);
    uint32_t kind = track_kind_at(world, plan->from, spot);
    if (kind != NO_INDEX && gate_is_open(world, plan->gate)) {
        uint32_t item_slot = arm_items_wanted_slot(world, plan, kind);
        if (item_slot != NO_INDEX) {
            track_take(world, plan->from, plan->from_cell, spot, kind, plan->first_feeder);
            take_in_hand(world, index, item_slot, 1);
        }
    }
    if (arm->held == 0)
        return false;
    return arm->held == plan->hand || world_now(world) >= arm->first_pick + plan->linger_ticks ||
           !arm_items_have_room(world, plan);
}

/* One kind, as much as hand, source and destination allow; true when something was picked. */
static bool pick_from_stock(struct world *world, uint32_t index) {
    const struct arm_plan *plan = &world->arm[index].plan;
    if (!gate_is_open(world, plan->gate))
        return false;
    int64_t count;
    uint32_t item_slot = arm_items_choose(world, index, &count);
    if (item_slot == NO_INDEX)
        return false;
    world->arm[index].state.last_taken = item_slot;
    if (count > plan->hand)
        count = plan->hand;
    stock_change_both(world, arm_items_of(world, plan)[item_slot].source, plan->from, -count);
    take_in_hand(world, index, item_slot, (uint32_t)count);
    if (plan->from_kind == PLACE_STATION)
        wake_station(world, world->scenario->arm[index].from.index);
    return true;
}

/* ---- planning ---- */

static void wait_for_more(struct world *world, uint32_t index, uint32_t tally) {
    stock_wait_for_more(world, stock_waiter_for_more_of_arm(index), tally);
    world->arm[index].wait.waits |= ARM_WAITS_FOR_MORE;
}

static void wait_for_room(struct world *world, uint32_t index) {
    struct arm_wait *wait = &world->arm[index].wait;
    if (wait->waits & ARM_WAITS_FOR_ROOM)
        return;
    stock_wait_for_room(world, stock_waiter_for_room_of_arm(index), world->arm[index].plan.to);
    wait->waits |= ARM_WAITS_FOR_ROOM;
}

/* When something that it wants comes to its cell, from `tick` on; or when to look again. */
static inline int64_t plan_look(struct world *world, uint32_t index, int64_t tick) {
    const struct arm_plan *plan = &world->arm[index].plan;
    struct arm_wait *wait = &world->arm[index].wait;
    bool all;
    uint32_t classes = arm_items_wanted_classes(world, plan, &all);
    if (!all)
        wait_for_room(world, index);
    if (classes == 0)
        return AGENDA_NEVER;
    uint32_t belt = plan->from_belt;
    int64_t step = belt_step_at(world, belt, tick);
    int64_t wanted_step;
    if (plan->from_kind == PLACE_LINE) {
        wanted_step = arm_items_step_on_line(world, index, step);
    } else {
        wanted_step = arm_items_step_on_lane(world, index, classes, step);
        if (wanted_step != BELT_CLOCK_NEVER)
            wanted_step = wake_step_in_window(world, belt, wanted_step);
    }
    wait->looks = (uint8_t)classes;
    wait->look_step = wanted_step;
    if (wanted_step <= step)
        return tick;
    return wanted_step == BELT_CLOCK_NEVER
               ? AGENDA_NEVER
               : belt_clock_tick_of(&world->belt[belt].state.clock, wanted_step);
}

/* `tick` when something can be taken from its chest or station now; else it waits. */
static inline int64_t plan_stock(struct world *world, uint32_t index, int64_t tick) {
    const struct arm_plan *plan = &world->arm[index].plan;
    const struct arm_item *item = arm_items_of(world, plan);
    bool some = false;
    for (uint32_t i = 0; i < plan->likely_count; i++) {
        if (arm_items_takeable(world, plan, i) > 0)
            return tick;
        some |= world->tally[item[i].source].count > 0;
    }
    uint32_t source = plan->likely_count == 1 ? item[0].source : plan->from;
    wait_for_more(world, index, source);
    if (some)
        wait_for_room(world, index);
    return AGENDA_NEVER;
}

/* What comes first: something to pick, from `tick` on, or the end of its lingering. */
__attribute__((always_inline)) static inline void plan_pick(struct world *world, uint32_t index,
                                                            int64_t tick) {
    const struct arm_plan *plan = &world->arm[index].plan;
    const struct arm *arm = &world->arm[index].state;
    int64_t next = AGENDA_NEVER;
    if (arm->held > 0) {
        next = arm->first_pick + plan->linger_ticks;
        if (!plan->to_track) /* it is done, too, when nothing more is accepted */
            wait_for_room(world, index);
    }
    if (gate_is_open(world, plan->gate)) {
        int64_t pick =
            plan->from_track ? plan_look(world, index, tick) : plan_stock(world, index, tick);
        if (pick < next)
            next = pick;
    } else {
        world->arm[index].wait.waits |= ARM_WAITS_FOR_GATE;
    }
    agenda_set_later(&world->agenda, actor_of(world, index), next);
}

static inline void plan(struct world *world, uint32_t index) {
    const struct arm_plan *fixed = &world->arm[index].plan;
    const struct arm *arm = &world->arm[index].state;
    int64_t next = world_now(world) + 1;
    bool away = arm->state == ARM_RETURNING && arm->due > next;
    if (arm->state == ARM_CARRYING || (away && !fixed->from_track))
        agenda_set_later(&world->agenda, actor_of(world, index), arm->due);
    else if (arm->state != ARM_PLACING)
        plan_pick(world, index, away ? arm->due : next);
    else if (fixed->to_track)
        wake_arm_when_room(world, index, next);
    else
        agenda_set_later(&world->agenda, actor_of(world, index), next);
}

/* ---- acting ---- */

static void stop_waiting(struct world *world, uint32_t index) {
    struct arm_wait *wait = &world->arm[index].wait;
    if (wait->waits & ARM_WAITS_FOR_MORE)
        stock_leave_list(world, stock_waiter_for_more_of_arm(index));
    if (wait->waits & ARM_WAITS_FOR_ROOM)
        stock_leave_list(world, stock_waiter_for_room_of_arm(index));
    wait->waits &= (uint8_t)~ARM_WAITS_FOR_PICK;
    wait->looks = 0;
}

/* Where it puts everything down at once it is blocked only if that takes no time at all. */
static void update_blocked_at_stock(struct world *world, uint32_t index) {
    struct arm *arm = &world->arm[index].state;
    struct arm_wait *wait = &world->arm[index].wait;
    bool placing = arm->state == ARM_PLACING && arm->stops == 0;
    if (placing && !arm->blocked_open) {
        arm->placing_since = world_now(world);
        wait->waits |= ARM_WAITS_TO_PLACE;
        announce_arm(world, index);
    } else if (!placing && arm->blocked_open) {
        announce_arm_over(world, index);
        wait->waits &= (uint8_t)~ARM_WAITS_TO_PLACE;
    }
}

/* Keeps the list of those placing onto its track: who has put something down begins anew. */
static void update_blocked_on_track(struct world *world, uint32_t index, bool placed) {
    const struct arm *arm = &world->arm[index].state;
    struct arm_wait *wait = &world->arm[index].wait;
    uint32_t track = world->arm[index].plan.to;
    bool placing = arm->state == ARM_PLACING && arm->stops == 0;
    bool listed = wait->waits & ARM_WAITS_TO_PLACE;
    if (placing == listed && !(placing && placed))
        return;
    if (placing && arm->blocked_open && world->scenario->watch.blocked_after_ticks == 0)
        return; /* blocked for no time at all, before and after: it goes on being so */
    if (listed) {
        if (arm->blocked_open)
            announce_arm_over(world, index);
        track_leave_placing(world, track, index);
        wait->waits &= (uint8_t)~ARM_WAITS_TO_PLACE;
    }
    if (placing) {
        track_join_placing(world, track, index);
        wait->waits |= ARM_WAITS_TO_PLACE;
    }
}

/* Once its state is what it is after this act; only an arm that was placing before, or is now, can
 * be in the list or have its event open. */
static inline void update_blocked_list(struct world *world, uint32_t index, bool placed) {
    if (world->arm[index].plan.to_track)
        update_blocked_on_track(world, index, placed);
    else if (world->scenario->watch.blocked_after_ticks == 0)
        update_blocked_at_stock(world, index);
}

static void pick_completed(struct world *world, uint32_t index, bool *placed) {
    struct arm *arm = &world->arm[index].state;
    arm->swings++;
    arm->due = world_now(world) + arm->out_ticks;
    enter(world, arm, arm->out_ticks == 0 ? ARM_PLACING : ARM_CARRYING);
    if (arm->state == ARM_PLACING && !*placed)
        *placed = place(world, index);
}

/* It was stopped earlier in this tick, and not started again. */
static void suspend(struct world *world, uint32_t index) {
    stop_waiting(world, index);
    update_blocked_list(world, index, false);
    agenda_set(&world->agenda, actor_of(world, index), AGENDA_NEVER);
}

/* It has entered another state in this tick, or was stopped or started. */
static inline void announce_change(const struct world *world, uint32_t index) {
    const struct arm_record *arm = &world->arm[index];
    if (__builtin_expect(arm->wait.observers != 0, 0) && arm->state.since == world_now(world))
        wake_observers_of_arm(world, index);
}

void arm_act(struct world *world, uint32_t index) {
    struct arm *arm = &world->arm[index].state;
    struct arm_wait *wait = &world->arm[index].wait;
    if (arm->stops != 0) {
        suspend(world, index);
        announce_change(world, index);
        return;
    }
    if (wait->waits & ARM_WAITS_FOR_PICK)
        stop_waiting(world, index);
    wait->looks = 0;
    if (arm->state == ARM_CARRYING && world_now(world) >= arm->due)
        enter(world, arm, ARM_PLACING);
    else if (arm->state == ARM_RETURNING && world_now(world) >= arm->due)
        arm_end_return(arm);
    bool placed = arm->state == ARM_PLACING && place(world, index);
    if (arm->state == ARM_REACHING) {
        bool complete = world->arm[index].plan.from_track ? pick_from_track(world, index)
                                                          : pick_from_stock(world, index);
        if (complete)
            pick_completed(world, index, &placed);
    }
    if (arm->state == ARM_PLACING || wait->waits & ARM_WAITS_TO_PLACE)
        update_blocked_list(world, index, placed);
    plan(world, index);
    announce_change(world, index);
}

void arm_set_stops(struct world *world, uint32_t index, uint8_t stops) {
    struct arm *arm = &world->arm[index].state;
    book_time(arm, world_now(world));
    arm->stops = stops;
    agenda_wake(&world->agenda, actor_of(world, index), world_now(world));
}
