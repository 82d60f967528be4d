/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_general.c - what the rules let an arm do in a tick, and planning when it acts
 * next. */
#include "model/engine/arm_general.h"

#include "model/engine/announce.h"
#include "model/engine/arm_books.h"
#include "model/engine/arm_items.h"
#include "model/engine/arm_wait.h"
#include "model/engine/stock.h"
#include "model/engine/track.h"
#include "model/engine/wake.h"

void arm_general_report_move(struct world *world, enum move_act act, const struct arm_item *item,
                             int64_t count) {
    uint32_t arm = world->agenda.cursor - world->first_actor[RANK_ARM];
    const struct arm_plan *plan = &world->arm[arm].plan;
    if (world->standstill_watch.checks_moves)
        wake_world_check(world);
    if (world->listener.moved != NULL)
        announce_move(world, arm, act, arm_item_at(world, plan, (uint32_t)(item - plan->item)),
                      count);
}

/* Its time in the state before is booked. */
static inline enum arm_state enter(struct arm *arm, enum arm_state state, int64_t now) {
    arm->state = (uint8_t)state;
    arm->since = now;
    return state;
}

/* ---- placing ---- */

static void empty(struct hand *hand) { hand->run_count = hand->runs_done = 0; }

/* It has been placing. */
static inline enum arm_state start_return(struct world *world, struct arm_record *self,
                                          int64_t now) {
    struct arm *arm = &self->state;
    const struct arm_shape *shape = self->plan.shape;
    int64_t back_ticks = shape->back_ticks;
    if (now != arm->since)
        arm_books_add(world, self, ARM_PLACING, now - arm->since);
    if (shape->swing_chance != NO_INDEX)
        arm_books_add(world, self, ARM_RETURNING, back_ticks);
    if (shape->gathers)
        empty(arm_hand(world, self));
    arm->due = now + back_ticks;
    if (back_ticks == 0)
        return enter(arm, ARM_REACHING, now);
    return enter(arm, ARM_RETURNING, now);
}

/* So many of what it holds. Its totals say by themselves that something has been put down once its
 * hand is empty. */
static inline void put_down(struct world *world, struct arm_record *self, uint32_t count) {
    struct arm *arm = &self->state;
    arm->held = (uint16_t)(arm->held - count);
    uint32_t counted = arm->held == 0;
    if (__builtin_expect(count != counted, 0))
        arm_books_add_moved(world, self, (int64_t)count - counted);
}

/* One item of the first run has been put down. */
static void end_run(struct world *world, struct arm_record *self) {
    struct hand *hand = arm_hand(world, self);
    if (--world->hand_run[hand->first_run + hand->runs_done].count == 0)
        hand->runs_done++;
}

static inline bool place_on_track(struct world *world, struct arm_record *self) {
    const struct arm_plan *plan = &self->plan;
    const struct arm_item *item =
        &plan->item[arm_run(world, self, arm_first_run(world, self)).item_slot];
    if (!track_put(world, plan->to, plan->to_cell, item->dest, item->first_taker))
        return false;
    arm_general_count_move(world, MOVE_PLACE, item, 1);
    if (plan->shape->gathers)
        end_run(world, self);
    put_down(world, self, 1);
    return true;
}

static inline void place_kind(struct world *world, const struct arm_plan *plan, uint32_t item_slot,
                              int64_t count) {
    const struct arm_item *item = &plan->item[item_slot];
    stock_keep_promise(world, item->dest, plan->to, count);
    arm_general_count_move(world, MOVE_PLACE, item, count);
}

/* Several runs of items; those of one kind together. */
static __attribute__((noinline)) void place_runs(struct world *world, const struct arm_plan *plan,
                                                 const struct hand *hand) {
    const struct hand_run *run = world->hand_run + hand->first_run;
    for (uint32_t i = 0; i < hand->run_count; i++)
        world->scratch[run[i].item_slot] += run[i].count;
    for (uint32_t i = 0; i < hand->run_count; i++) {
        uint32_t count = world->scratch[run[i].item_slot];
        world->scratch[run[i].item_slot] = 0;
        if (count > 0)
            place_kind(world, plan, run[i].item_slot, count);
    }
}

/* The whole hand, kind by kind in the order in which they were first picked. */
static inline void place_in_stock(struct world *world, struct arm_record *self) {
    const struct arm_plan *plan = &self->plan;
    struct arm *arm = &self->state;
    if (plan->shape->gathers)
        place_runs(world, plan, arm_hand(world, self));
    else
        place_kind(world, plan, arm->item_slot, arm->held);
    put_down(world, self, arm->held);
    if (plan->to_station != NO_INDEX)
        wake_station(world, plan->to_station);
}

/* Its state after that; *placed is true when something was put down. */
__attribute__((always_inline)) static inline enum arm_state
place(struct world *world, struct arm_record *self, int64_t now, bool *placed) {
    *placed = true;
    if (self->plan.shape->to_track)
        *placed = place_on_track(world, self);
    else
        place_in_stock(world, self);
    return self->state.held == 0 ? start_return(world, self, now) : ARM_PLACING;
}

/* ---- picking ---- */

static __attribute__((noinline)) void draw_swing(struct world *world, struct arm_record *self) {
    uint32_t index = (uint32_t)(self - world->arm);
    struct arm_shape *shape = self->plan.shape;
    int64_t swing =
        span_draw(&world->scenario->arm[index].swing, &world->random[shape->swing_chance],
                  world->scenario->ticks_per_second);
    shape->out_ticks = (swing + 1) / 2;
    shape->back_ticks = swing - shape->out_ticks;
}

static inline void begin_hand(struct world *world, struct arm_record *self, uint32_t item_slot) {
    const struct arm_shape *shape = self->plan.shape;
    if (shape->swing_chance != NO_INDEX)
        draw_swing(world, self);
    if (shape->gathers)
        arm_hand(world, self)->first_pick = world_now(world);
    else
        self->state.item_slot = item_slot;
}

/* To the run at its end, or as the first of a new one. */
static void gather(struct world *world, struct arm_record *self, uint32_t item_slot,
                   uint32_t count) {
    struct hand *hand = arm_hand(world, self);
    struct hand_run *run = &world->hand_run[hand->first_run + hand->run_count];
    if (hand->run_count > 0 && run[-1].item_slot == item_slot) {
        run[-1].count += count;
    } else {
        *run = (struct hand_run){.item_slot = item_slot, .count = count};
        hand->run_count++;
    }
}

static inline void take_in_hand(struct world *world, struct arm_record *self, uint32_t item_slot,
                                uint32_t count) {
    const struct arm_plan *plan = &self->plan;
    if (self->state.held == 0)
        begin_hand(world, self, item_slot);
    if (plan->shape->gathers)
        gather(world, self, item_slot, count);
    self->state.held = (uint16_t)(self->state.held + count);
    if (!plan->shape->to_track)
        stock_promise(world, plan->item[item_slot].dest, plan->to, count);
    arm_general_count_move(world, MOVE_PICK, &plan->item[item_slot], count);
}

/* True when the pick is complete. */
static inline bool pick_from_track(struct world *world, struct arm_record *self, int64_t now) {
    const struct arm_plan *plan = &self->plan;
    const struct arm *arm = &self->state;
    uint32_t spot = track_spot(world, plan->from, plan->from_cell);
    uint32_t kind = track_kind_at(world, plan->from, spot);
    if (kind != NO_INDEX && *plan->gate) {
        uint32_t item_slot = arm_items_wanted_slot(world, plan, kind);
        if (item_slot != NO_INDEX) {
            track_take(world, plan->from, plan->from_cell, spot, kind, plan->first_feeder);
            take_in_hand(world, self, item_slot, 1);
        }
    }
    if (arm->held == 0)
        return false;
    return arm->held == plan->shape->hand || now >= arm_wait_lingers_until(world, self) ||
           !arm_items_have_room(world, plan);
}

/* One kind, as much as hand, source and destination allow; true when something was picked. */
static inline bool pick_from_stock(struct world *world, struct arm_record *self) {
    const struct arm_plan *plan = &self->plan;
    if (!*plan->gate)
        return false;
    int64_t count;
    uint32_t item_slot = arm_items_choose(world, self, &count);
    if (item_slot == NO_INDEX)
        return false;
    if (count > plan->shape->hand)
        count = plan->shape->hand;
    stock_change_both(world, plan->item[item_slot].source, plan->from, -count);
    take_in_hand(world, self, item_slot, (uint32_t)count);
    if (plan->from_station != NO_INDEX)
        wake_station(world, plan->from_station);
    return true;
}

/* ---- planning ---- */

static inline void plan(struct world *world, struct arm_record *self, enum arm_state state,
                        int64_t now) {
    const struct arm *arm = &self->state;
    int64_t next = now + 1;
    bool away = state == ARM_RETURNING && arm->due > next;
    if (state == ARM_CARRYING || (away && !self->plan.shape->from_track)) {
        next = arm->due;
    } else if (state != ARM_PLACING) {
        arm_wait_to_pick(world, self, away ? arm->due : next);
        return;
    } else if (self->plan.shape->to_track) {
        wake_arm_when_room(world, (uint32_t)(self - world->arm), next);
        return;
    }
    agenda_set_later(&world->agenda, world->agenda.cursor, next);
}

/* ---- acting ---- */

/* Where it puts everything down at once it is blocked only if that takes no time at all. */
static void update_blocked_at_stock(struct world *world, uint32_t index) {
    const struct arm *arm = &world->arm[index].state;
    struct arm_wait *wait = &world->arm[index].wait;
    bool placing = arm->state == ARM_PLACING && arm->stops == 0;
    bool blocked_open = arm_is_blocked(world, index);
    if (placing && !blocked_open) {
        arm_placing_of(world, index)->since = world_now(world);
        wait->waits |= ARM_WAITS_TO_PLACE;
        announce_arm(world, index);
    } else if (!placing && blocked_open) {
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
    if (placing && arm_is_blocked(world, index) && world->scenario->watch.blocked_after_ticks == 0)
        return; /* blocked for no time at all, before and after: it goes on being so */
    if (listed) {
        if (arm_is_blocked(world, index))
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
    if (world->arm[index].plan.shape->to_track)
        update_blocked_on_track(world, index, placed);
    else if (world->scenario->watch.blocked_after_ticks == 0)
        update_blocked_at_stock(world, index);
}

/* Its state after that; *placed becomes true when something was put down. */
static inline enum arm_state pick(struct world *world, struct arm_record *self, int64_t now,
                                  bool *placed) {
    struct arm *arm = &self->state;
    bool complete = self->plan.shape->from_track ? pick_from_track(world, self, now)
                                                 : pick_from_stock(world, self);
    if (!complete)
        return ARM_REACHING;
    const struct arm_shape *shape = self->plan.shape;
    int64_t out_ticks = shape->out_ticks;
    if (shape->swing_chance != NO_INDEX)
        arm_books_add(world, self, ARM_CARRYING, out_ticks);
    arm->swings++;
    arm->due = now + out_ticks;
    if (out_ticks != 0)
        return enter(arm, ARM_CARRYING, now);
    enter(arm, ARM_PLACING, now);
    return *placed ? ARM_PLACING : place(world, self, now, placed);
}

/* It was stopped earlier in this tick, and not started again. */
static __attribute__((noinline)) void suspend(struct world *world, struct arm_record *self) {
    arm_wait_end(world, self);
    self->wait.looks = 0;
    update_blocked_list(world, (uint32_t)(self - world->arm), false);
    agenda_set(&world->agenda, world->agenda.cursor, AGENDA_NEVER);
}

/* It has entered another state in this tick, or was stopped or started. */
static inline void announce_change(const struct world *world, const struct arm_record *self) {
    if (__builtin_expect(self->wait.observers != 0, 0) && self->state.since == world_now(world))
        wake_observers_of_arm(world, (uint32_t)(self - world->arm));
}

/* What the rules let it do in this tick. */
static inline void act(struct world *world, struct arm_record *self) {
    struct arm *arm = &self->state;
    int64_t now = world_now(world);
    if (self->wait.waits & ARM_WAITS_FOR_PICK)
        arm_wait_end(world, self);
    self->wait.looks = 0;
    enum arm_state state = (enum arm_state)arm->state;
    bool placed = false;
    if (state == ARM_CARRYING && now >= arm->due) {
        state = enter(arm, ARM_PLACING, now);
    } else if (state == ARM_RETURNING && now >= arm->due) {
        arm_general_end_return(arm);
        state = ARM_REACHING;
    }
    if (state == ARM_PLACING)
        state = place(world, self, now, &placed);
    if (state == ARM_REACHING)
        state = pick(world, self, now, &placed);
    if (state == ARM_PLACING || self->wait.waits & ARM_WAITS_TO_PLACE)
        update_blocked_list(world, (uint32_t)(self - world->arm), placed);
    plan(world, self, state, now);
}

void arm_general_act(struct world *world, struct arm_record *self) {
    if (self->state.stops != 0)
        suspend(world, self);
    else
        act(world, self);
    announce_change(world, self);
}

void arm_general_leave_placing(struct world *world, struct arm_record *self) {
    uint32_t index = (uint32_t)(self - world->arm);
    if ((self->wait.waits & ARM_WAITS_TO_PLACE) == 0)
        return; /* it was stopped while it was placing */
    if (arm_is_blocked(world, index)) {
        update_blocked_on_track(world, index, true);
        return;
    }
    self->wait.waits &= (uint8_t)~ARM_WAITS_TO_PLACE;
    track_leave_placing(world, self->plan.to, index);
}

void arm_general_find_no_room(struct world *world, struct arm_record *self) {
    uint32_t index = (uint32_t)(self - world->arm);
    enter(&self->state, ARM_PLACING, world_now(world));
    self->wait.waits |= ARM_WAITS_TO_PLACE;
    track_join_placing(world, self->plan.to, index);
    wake_arm_when_room(world, index, world_now(world) + 1);
}
