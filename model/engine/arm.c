/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm.c - which acts an arm takes, and stopping and starting it. */
#include "model/engine/arm.h"

#include "model/engine/arm_books.h"
#include "model/engine/arm_general.h"
#include "model/engine/arm_plain.h"
#include "model/engine/wake.h"

/* `place_late`: of one that is placing. */
#define PLAIN(from, to, place_late)                                                                \
    {                                                                                              \
        arm_plain_pick_##from##_to_##to, arm_plain_place_##from##_to_##to, place_late,             \
            arm_plain_pick_##from##_to_##to                                                        \
    }

arm_act_function *const arm_act_table[ARM_ACTS][ARM_STOPPED] = {
    [ARM_ANY] = {arm_general_act, arm_general_act, arm_general_act, arm_general_act},
    [ARM_STOCK_TO_STOCK] = PLAIN(stock, stock, arm_general_act),
    [ARM_STOCK_TO_LANE] = PLAIN(stock, lane, arm_plain_place_late_from_stock),
    [ARM_LANE_TO_STOCK] = PLAIN(lane, stock, arm_general_act),
    [ARM_LANE_TO_LANE] = PLAIN(lane, lane, arm_plain_place_late_from_lane)};

void arm_choose_acts(struct world *world, uint32_t index) {
    struct arm_record *self = &world->arm[index];
    const struct arm_plan *plan = &self->plan;
    self->wait.acts = ARM_ANY;
    if (self->state.stops != 0 || self->wait.observers != 0 || self->state.held > 1 ||
        !arm_plain_is(world, self))
        return;
    if (plan->shape->from_track)
        self->wait.acts = plan->shape->to_track ? ARM_LANE_TO_LANE : ARM_LANE_TO_STOCK;
    else
        self->wait.acts = plan->shape->to_track ? ARM_STOCK_TO_LANE : ARM_STOCK_TO_STOCK;
}

/* Books the time from `since` up to `tick` in what it has been doing. */
static void book_time(struct world *world, struct arm_record *self, int64_t tick) {
    struct arm *arm = &self->state;
    if (arm->stops == 0 && arm->state == ARM_RETURNING && arm->due < tick)
        arm_general_end_return(arm);
    enum arm_state state = arm->stops != 0 ? ARM_STOPPED : (enum arm_state)arm->state;
    if (state != ARM_REACHING)
        arm_books_add(world, self, state, tick - arm->since - arm_books_ahead(arm));
    arm->since = tick;
}

void arm_set_stops(struct world *world, uint32_t index, uint8_t stops) {
    struct arm_record *self = &world->arm[index];
    struct arm *arm = &self->state;
    book_time(world, self, world_now(world));
    arm->stops = stops;
    if (arm->state != ARM_REACHING)
        arm_books_add(world, self, (enum arm_state)arm->state, arm_books_ahead(arm));
    arm_choose_acts(world, index);
    wake_at(world, RANK_ARM, index, world_now(world));
}

enum arm_state arm_state_at(const struct world *world, uint32_t index, int64_t tick) {
    return arm_state_of(&world->arm[index].state, tick);
}
