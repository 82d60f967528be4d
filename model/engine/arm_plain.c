/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_plain.c - each act once, compiled for each source and destination: what is not
 * done in every act is called, so that few registers are saved. */
#include "model/engine/arm_plain.h"

#include "model/engine/arm_books.h"
#include "model/engine/arm_general.h"
#include "model/engine/arm_items.h"
#include "model/engine/arm_wait.h"
#include "model/engine/stock.h"
#include "model/engine/track.h"
#include "model/engine/wake.h"

#define COMPILED_FOR_EACH __attribute__((always_inline)) static inline

/* A return of less than two ticks is over when the next act is planned, which arm_general.c plans
 * otherwise. */
bool arm_plain_is(const struct world *world, const struct arm_record *self) {
    const struct arm_plan *plan = &self->plan;
    const struct arm_shape *shape = plan->shape;
    bool to_line = plan->shape->to_track && world->track[plan->to].plan.is_line;
    return shape->hand == 1 && shape->swing_chance == NO_INDEX && shape->out_ticks >= 1 &&
           shape->back_ticks >= 2 && !plan->shape->from_line && !to_line;
}

/* ---- picking ---- */

COMPILED_FOR_EACH bool pick_from_lane(struct world *world, struct arm_record *self, bool to_lane) {
    const struct arm_plan *plan = &self->plan;
    const struct track_record *track = &world->track[plan->from];
    uint32_t spot = belt_slot_now(world, track->plan.belt, plan->from_cell);
    uint32_t kind = track->lane.kind[spot];
    if (kind == LANE_EMPTY || !*plan->gate)
        return false;
    uint32_t item_slot = arm_items_slot_of_kind(world, plan, kind);
    if (item_slot == NO_INDEX || !arm_items_item_has_room(world, plan, &plan->item[item_slot]) ||
        !(to_lane || stock_accepts(world, plan->to)))
        return false;
    track_take(world, plan->from, plan->from_cell, spot, kind, plan->first_feeder);
    self->state.item_slot = item_slot;
    return true;
}

/* The item slot to pick next from a chest or station; NO_INDEX: none. */
COMPILED_FOR_EACH uint32_t choose(struct world *world, const struct arm_record *self,
                                  bool to_lane) {
    const struct arm_plan *plan = &self->plan;
    int64_t count;
    if (!plan->shape->one_item)
        return arm_items_choose_of_several(world, self, &count);
    if (world->tally[plan->item->source].count == 0)
        return NO_INDEX;
    return to_lane || arm_items_takeable(world, plan, 0) > 0 ? 0 : NO_INDEX;
}

COMPILED_FOR_EACH bool pick_from_stock(struct world *world, struct arm_record *self, bool to_lane) {
    const struct arm_plan *plan = &self->plan;
    if (!*plan->gate)
        return false;
    uint32_t item_slot = choose(world, self, to_lane);
    if (item_slot == NO_INDEX)
        return false;
    self->state.item_slot = item_slot;
    stock_change_both(world, plan->item[item_slot].source, plan->from, -1);
    return true;
}

/* Puts the picked item, which is noted in item_slot, into the hand, and schedules its placing. */
COMPILED_FOR_EACH void start_carrying(struct world *world, struct arm_record *self, bool from_lane,
                                      bool to_lane) {
    const struct arm_plan *plan = &self->plan;
    struct arm *arm = &self->state;
    const struct arm_item *item = &plan->item[arm->item_slot];
    int64_t now = world_now(world);
    arm->held = 1;
    if (!to_lane)
        stock_promise(world, item->dest, plan->to, 1);
    arm_general_count_move(world, MOVE_PICK, item, 1);
    if (!from_lane && plan->from_station != NO_INDEX)
        wake_station(world, plan->from_station);
    arm->swings++;
    arm->state = ARM_CARRYING;
    arm->since = now;
    arm->due = now + plan->shape->out_ticks;
    agenda_set_later(&world->agenda, world->agenda.cursor, arm->due);
}

/* Plans its pick anew, where something on its lane changed while it is on its way back. */
static __attribute__((noinline)) void look_again(struct world *world, struct arm_record *self) {
    arm_wait_end(world, self);
    self->wait.looks = 0;
    arm_wait_at_lane(world, self, self->state.due);
}

COMPILED_FOR_EACH void pick(struct world *world, struct arm_record *self, bool from_lane,
                            bool to_lane) {
    struct arm *arm = &self->state;
    int64_t now = world_now(world);
    if (now < arm->due) { /* it is on its way back: the due of one that reaches is past */
        if (from_lane)
            look_again(world, self);
        else
            arm_general_act(world, self);
        return;
    }
    if (self->wait.waits != 0)
        arm_wait_end(world, self);
    if (from_lane)
        self->wait.looks = 0;
    if (from_lane ? pick_from_lane(world, self, to_lane) : pick_from_stock(world, self, to_lane)) {
        start_carrying(world, self, from_lane, to_lane);
        return;
    }
    if (arm->state == ARM_RETURNING)
        arm_general_end_return(arm);
    if (from_lane)
        arm_wait_at_lane(world, self, now + 1);
    else
        arm_wait_at_stock(world, self, now + 1);
}

/* ---- placing ---- */

/* Makes an arm that has put down its item one that returns. */
COMPILED_FOR_EACH void start_return(struct world *world, struct arm_record *self) {
    struct arm *arm = &self->state;
    int64_t now = world_now(world);
    arm->held = 0;
    arm->state = ARM_RETURNING;
    arm->since = now;
    arm->due = now + self->plan.shape->back_ticks;
}

COMPILED_FOR_EACH void plan_return(struct world *world, struct arm_record *self, bool from_lane) {
    if (from_lane)
        arm_wait_at_lane(world, self, self->state.due);
    else
        agenda_set_later(&world->agenda, world->agenda.cursor, self->state.due);
}

COMPILED_FOR_EACH void place(struct world *world, struct arm_record *self, bool from_lane,
                             bool to_lane) {
    const struct arm_plan *plan = &self->plan;
    const struct arm_item *item = &plan->item[self->state.item_slot];
    if (world_now(world) < self->state.due) {
        arm_general_act(world, self);
        return;
    }
    if (!to_lane) {
        stock_keep_promise(world, item->dest, plan->to, 1);
    } else if (!track_put(world, plan->to, plan->to_cell, item->dest, item->first_taker)) {
        arm_general_find_no_room(world, self);
        return;
    }
    arm_general_count_move(world, MOVE_PLACE, item, 1);
    if (!to_lane && plan->to_station != NO_INDEX)
        wake_station(world, plan->to_station);
    start_return(world, self);
    plan_return(world, self, from_lane);
}

/* Places what found no cell when the arm came to its place. */
COMPILED_FOR_EACH void place_late(struct world *world, struct arm_record *self, bool from_lane) {
    const struct arm_plan *plan = &self->plan;
    const struct arm_item *item = &plan->item[self->state.item_slot];
    if (!track_put(world, plan->to, plan->to_cell, item->dest, item->first_taker)) {
        arm_general_act(world, self);
        return;
    }
    arm_general_count_move(world, MOVE_PLACE, item, 1);
    arm_books_add(world, self, ARM_PLACING, world_now(world) - self->state.since);
    start_return(world, self);
    arm_general_leave_placing(world, self);
    plan_return(world, self, from_lane);
}

/* ---- for each source and destination ---- */

void arm_plain_pick_stock_to_stock(struct world *world, struct arm_record *self) {
    pick(world, self, false, false);
}

void arm_plain_place_late_from_stock(struct world *world, struct arm_record *self) {
    place_late(world, self, false);
}

void arm_plain_place_late_from_lane(struct world *world, struct arm_record *self) {
    place_late(world, self, true);
}

void arm_plain_place_stock_to_stock(struct world *world, struct arm_record *self) {
    place(world, self, false, false);
}

void arm_plain_pick_stock_to_lane(struct world *world, struct arm_record *self) {
    pick(world, self, false, true);
}

void arm_plain_place_stock_to_lane(struct world *world, struct arm_record *self) {
    place(world, self, false, true);
}

void arm_plain_pick_lane_to_stock(struct world *world, struct arm_record *self) {
    pick(world, self, true, false);
}

void arm_plain_place_lane_to_stock(struct world *world, struct arm_record *self) {
    place(world, self, true, false);
}

void arm_plain_pick_lane_to_lane(struct world *world, struct arm_record *self) {
    pick(world, self, true, true);
}

void arm_plain_place_lane_to_lane(struct world *world, struct arm_record *self) {
    place(world, self, true, true);
}
