/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_wait.c - looks along a lane or line for what the arm wants, and puts it into the
 * lists of those who wait. */
#include "model/engine/arm_wait.h"

#include "model/engine/arm_items.h"
#include "model/engine/belt.h"
#include "model/engine/stock.h"

static void wait_for_more(struct world *world, struct arm_record *self, uint32_t tally) {
    stock_wait_for_more(world, stock_waiter_for_more_of_arm(world, self), tally);
    self->wait.waits |= ARM_WAITS_FOR_MORE;
}

static __attribute__((noinline)) void wait_for_room(struct world *world, struct arm_record *self) {
    if (self->wait.waits & ARM_WAITS_FOR_ROOM)
        return;
    stock_wait_for_room(world, stock_waiter_for_room_of_arm(world, self), self->plan.to);
    self->wait.waits |= ARM_WAITS_FOR_ROOM;
}

/* Of the arm at work. */
static inline void schedule(struct world *world, int64_t tick) {
    agenda_set_later(&world->agenda, world->agenda.cursor, tick);
}

static __attribute__((noinline)) void wait_for_gate(struct world *world, struct arm_record *self) {
    self->wait.waits |= ARM_WAITS_FOR_GATE;
    schedule(world, AGENDA_NEVER);
}

/* ---- at a track ---- */

/* Classes (a bit each, see lane.h) of the kinds on its track for which there is room; it waits for
 * room for the others. */
__attribute__((always_inline)) static inline uint32_t wanted_classes(struct world *world,
                                                                     struct arm_record *self) {
    const struct arm_plan *plan = &self->plan;
    uint32_t classes = self->wait.classes;
    bool all = arm_items_total_has_room(world, plan);
    if (!all) {
        classes = 0;
    } else if (plan->shape->bounded_room) {
        const struct arm_item *item = plan->item, *end = item + plan->shape->likely_count;
        for (classes = 0; item < end; item++) {
            bool has_room = arm_items_item_has_room(world, plan, item);
            all &= has_room;
            classes |= (uint32_t)has_room << item->source % LANE_CLASSES;
        }
    }
    if (!all)
        wait_for_room(world, self);
    return classes;
}

/* The classes for which an arm looks along its track from now on; 0: none, since its gate is shut
 * or there is room for nothing; then it waits, and is scheduled for no tick. */
__attribute__((always_inline)) static inline uint32_t classes_to_look_for(struct world *world,
                                                                          struct arm_record *self) {
    if (!*self->plan.gate) {
        wait_for_gate(world, self);
        return 0;
    }
    uint32_t classes = wanted_classes(world, self);
    self->wait.looks = (uint8_t)classes;
    if (classes == 0)
        schedule(world, AGENDA_NEVER);
    return classes;
}

/* Nothing that it wants comes to its cell: it is woken when that changes. */
static __attribute__((noinline)) void wait_for_item(struct world *world, struct arm_record *self) {
    self->wait.look_step = BELT_CLOCK_NEVER;
    schedule(world, AGENDA_NEVER);
}

/* What it wants comes to its cell with a step: schedules it for then, or for `tick`, by which so
 * many steps have been made, if that is later. */
__attribute__((always_inline)) static inline void
wait_for_step(struct world *world, struct arm_record *self, const struct belt_record *belt,
              int64_t wanted_step, int64_t step, int64_t tick) {
    self->wait.look_step = wanted_step;
    if (wanted_step > step)
        tick = belt_clock_tick_of(&belt->state.clock, wanted_step);
    schedule(world, tick);
}

void arm_wait_at_lane(struct world *world, struct arm_record *self, int64_t tick) {
    const struct arm_plan *plan = &self->plan;
    uint32_t classes = classes_to_look_for(world, self);
    if (classes == 0)
        return;
    uint32_t belt_index = world->track[plan->from].plan.belt;
    belt_step(world, belt_index);
    const struct belt_record *belt = &world->belt[belt_index];
    int64_t step = belt_step_at(belt, tick);
    uint32_t slot = belt_slot_at(belt, step, plan->from_cell);
    uint32_t ahead = arm_items_steps_on_lane(world, plan, classes, slot);
    if (ahead == LANE_WINDOW && !arm_items_lie_on_lane(world, plan)) {
        wait_for_item(world, self);
        return;
    }
    int64_t wanted_step = step + ahead, again = belt->position.step + LANE_WINDOW;
    if (wanted_step > again)
        wanted_step = again; /* a change further upstream does not wake it */
    wait_for_step(world, self, belt, wanted_step, step, tick);
}

static void wait_at_line(struct world *world, struct arm_record *self, int64_t tick) {
    const struct arm_plan *plan = &self->plan;
    uint32_t classes = classes_to_look_for(world, self);
    if (classes == 0)
        return;
    uint32_t belt_index = world->track[plan->from].plan.belt;
    belt_step(world, belt_index);
    const struct belt_record *belt = &world->belt[belt_index];
    int64_t step = belt_step_at(belt, tick);
    int64_t wanted_step = arm_items_step_on_line(world, plan, step);
    if (wanted_step == BELT_CLOCK_NEVER)
        wait_for_item(world, self);
    else
        wait_for_step(world, self, belt, wanted_step, step, tick);
}

/* ---- at a chest or station ---- */

/* Returns `tick` when something can be taken from its chest or station now; else puts the arm into
 * the lists of those who wait for it, and returns AGENDA_NEVER. */
static inline int64_t find_tick_at_stock(struct world *world, struct arm_record *self,
                                         int64_t tick) {
    const struct arm_plan *plan = &self->plan;
    bool some = false;
    uint32_t count = plan->shape->likely_count;
    for (uint32_t i = 0; i < count; i++) {
        if (arm_items_takeable(world, plan, i) > 0)
            return tick;
        some |= world->tally[plan->item[i].source].count > 0;
    }
    uint32_t source = count == 1 ? plan->item[0].source : plan->from;
    wait_for_more(world, self, source);
    if (some)
        wait_for_room(world, self);
    return AGENDA_NEVER;
}

void arm_wait_at_stock(struct world *world, struct arm_record *self, int64_t tick) {
    if (*self->plan.gate)
        schedule(world, find_tick_at_stock(world, self, tick));
    else
        wait_for_gate(world, self);
}

/* ---- wherever ---- */

void arm_wait_to_pick(struct world *world, struct arm_record *self, int64_t tick) {
    const struct arm_plan *plan = &self->plan;
    const struct arm *arm = &self->state;
    if (!plan->shape->from_track)
        arm_wait_at_stock(world, self, tick);
    else if (plan->shape->from_line)
        wait_at_line(world, self, tick);
    else
        arm_wait_at_lane(world, self, tick);
    if (arm->held == 0)
        return;
    agenda_wake(&world->agenda, world->agenda.cursor, arm_wait_lingers_until(world, self));
    if (!plan->shape->to_track) /* it is done, too, when nothing more is accepted */
        wait_for_room(world, self);
}

void arm_wait_end(struct world *world, struct arm_record *self) {
    if (self->wait.waits & ARM_WAITS_FOR_MORE)
        stock_leave_list(world, stock_waiter_for_more_of_arm(world, self));
    if (self->wait.waits & ARM_WAITS_FOR_ROOM)
        stock_leave_list(world, stock_waiter_for_room_of_arm(world, self));
    self->wait.waits &= (uint8_t)~ARM_WAITS_FOR_PICK;
}
