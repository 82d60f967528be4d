/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal_arm.c - what an arm does in a tick (section 4). */
#include <string.h>

#include "sim/require.h"
#include "tests/exact/literal_state.h"

static bool is_track(struct place place) {
    return place.kind == PLACE_LANE || place.kind == PLACE_LINE;
}

static void tell_move(struct literal *literal, uint32_t arm, enum move_act act, uint32_t item,
                      int64_t count) {
    const struct scenario_arm *plan = &literal->scenario->arm[arm];
    struct move move = {.tick = literal->tick,
                        .arm = arm,
                        .act = act,
                        .item = item,
                        .count = count,
                        .place = act == MOVE_PICK ? plan->from : plan->to};
    literal->moves++;
    if (literal->listener.moved != NULL)
        literal->listener.moved(literal->listener.self, &move);
}

/* Takes `count` items of a kind that the arm holds out of its hand, the first picked first. */
static void leave_hand(struct literal_arm *arm, uint32_t item, int64_t count) {
    uint32_t kept = 0;
    for (uint32_t k = 0; k < arm->held; k++) {
        if (arm->hand[k] == item && count > 0)
            count--;
        else
            arm->hand[kept++] = arm->hand[k];
    }
    arm->held = kept;
}

static void put_down(struct literal *literal, uint32_t index, uint32_t item, int64_t count) {
    struct literal_arm *arm = &literal->arm[index];
    arm->totals.moved += count;
    arm->last_put_tick = literal->tick;
    tell_move(literal, index, MOVE_PLACE, item, count);
}

/* Onto a loop or line: one item, the first picked, only if its cells are free. */
static bool place_on_track(struct literal *literal, uint32_t index) {
    struct place to = literal->scenario->arm[index].to;
    struct literal_arm *arm = &literal->arm[index];
    struct literal_track *track = literal_track_at(literal, to);
    uint32_t item = arm->hand[0];
    if (!literal_track_fits(literal, track, to.cell, item))
        return false;
    leave_hand(arm, item, 1);
    literal_track_put(literal, track, to.cell, item);
    put_down(literal, index, item, 1);
    return true;
}

/* Into a chest or station: the whole hand, kind by kind in the order of their first picks. */
static void place_in_store(struct literal *literal, uint32_t index) {
    struct place to = literal->scenario->arm[index].to;
    struct literal_arm *arm = &literal->arm[index];
    while (arm->held > 0) {
        uint32_t item = arm->hand[0];
        int64_t count = literal_hand_count(literal, index, item);
        leave_hand(arm, item, count);
        literal_store_put(literal, to, item, count);
        put_down(literal, index, item, count);
    }
}

/* Rule 2; true when something was put down. */
static bool place(struct literal *literal, uint32_t index) {
    struct literal_arm *arm = &literal->arm[index];
    bool placed = true;
    if (is_track(literal->scenario->arm[index].to))
        placed = place_on_track(literal, index);
    else
        place_in_store(literal, index);
    if (arm->held == 0) {
        arm->due_tick = literal->tick + arm->back_ticks;
        arm->state = arm->back_ticks == 0 ? ARM_REACHING : ARM_RETURNING;
    }
    return placed;
}

/* Into the hand. The first pick of a swing draws its length: half of it out, rounded up. */
static void take_up(struct literal *literal, uint32_t index, uint32_t item, int64_t count) {
    const struct scenario_arm *plan = &literal->scenario->arm[index];
    struct literal_arm *arm = &literal->arm[index];
    if (arm->held == 0) {
        int64_t swing = span_draw(&plan->swing, &arm->swing, literal->scenario->ticks_per_second);
        arm->out_ticks = swing - swing / 2;
        arm->back_ticks = swing / 2;
        arm->first_tick = literal->tick;
    }
    require(count <= (int64_t)(plan->hand - arm->held));
    for (int64_t k = 0; k < count; k++)
        arm->hand[arm->held++] = item;
    tell_move(literal, index, MOVE_PICK, item, count);
}

/* One kind that a chest or station has and the destination accepts; NO_INDEX: none. */
static bool kind_can_be_taken(const struct literal *literal, uint32_t index, uint32_t kind) {
    const struct scenario_arm *plan = &literal->scenario->arm[index];
    return literal_store_count(literal, plan->from, plan->item[kind]) > 0 &&
           literal_store_accepts(literal, plan->to, plan->item[kind]);
}

static uint32_t choose_in_turn(const struct literal *literal, uint32_t index) {
    uint32_t kinds = literal->scenario->arm[index].item_count;
    for (uint32_t k = 0; k < kinds; k++) {
        uint32_t kind = (literal->arm[index].next_kind + k) % kinds;
        if (kind_can_be_taken(literal, index, kind))
            return kind;
    }
    return NO_INDEX;
}

static uint32_t choose_random(struct literal *literal, uint32_t index) {
    const struct scenario_arm *plan = &literal->scenario->arm[index];
    uint32_t able = 0;
    for (uint32_t kind = 0; kind < plan->item_count; kind++)
        able += kind_can_be_taken(literal, index, kind);
    if (able == 0)
        return NO_INDEX;
    uint32_t chosen = random_below(&literal->arm[index].choice, able);
    for (uint32_t kind = 0; kind < plan->item_count; kind++)
        if (kind_can_be_taken(literal, index, kind) && chosen-- == 0)
            return kind;
    require(false);
}

/* From a chest or a station's output: one kind, min(hand, count, what the destination accepts) at
 * once. How much the destination accepts is found by holding one more as long as it accepts one. */
static bool pick_from_store(struct literal *literal, uint32_t index) {
    const struct scenario_arm *plan = &literal->scenario->arm[index];
    struct literal_arm *arm = &literal->arm[index];
    uint32_t kind = plan->choose == CHOOSE_RANDOM ? choose_random(literal, index)
                                                  : choose_in_turn(literal, index);
    if (kind == NO_INDEX)
        return false;
    uint32_t item = plan->item[kind];
    int64_t there = literal_store_count(literal, plan->from, item);
    while (arm->held < plan->hand && arm->held < there &&
           literal_store_accepts(literal, plan->to, item))
        arm->hand[arm->held++] = item;
    int64_t count = arm->held;
    arm->held = 0;
    literal_store_take(literal, plan->from, item, count);
    take_up(literal, index, item, count);
    arm->next_kind = (kind + 1) % plan->item_count;
    return true;
}

static bool wants(const struct scenario_arm *plan, uint32_t item) {
    for (uint32_t k = 0; k < plan->item_count; k++)
        if (plan->item[k] == item)
            return true;
    return false;
}

static bool destination_accepts_any(const struct literal *literal,
                                    const struct scenario_arm *plan) {
    for (uint32_t k = 0; k < plan->item_count; k++)
        if (literal_store_accepts(literal, plan->to, plan->item[k]))
            return true;
    return false;
}

/* From a loop or line: only what stands at the arm's cell, one in a tick. True when complete. */
static bool pick_from_track(struct literal *literal, uint32_t index) {
    const struct scenario_arm *plan = &literal->scenario->arm[index];
    struct literal_arm *arm = &literal->arm[index];
    struct literal_track *track = literal_track_at(literal, plan->from);
    struct literal_cell there = track->cell[plan->from.cell];
    if (literal_store_gate_open(literal, plan->gate) && there.head && wants(plan, there.item) &&
        literal_store_accepts(literal, plan->to, there.item)) {
        literal_track_take(literal, track, plan->from.cell);
        take_up(literal, index, there.item, 1);
    }
    if (arm->held == plan->hand)
        return true;
    return arm->held > 0 && (!destination_accepts_any(literal, plan) ||
                             literal->tick - arm->first_tick >= plan->linger_ticks);
}

/* Rule 3: true when the pick is complete. */
static bool pick(struct literal *literal, uint32_t index) {
    const struct scenario_arm *plan = &literal->scenario->arm[index];
    if (is_track(plan->from))
        return pick_from_track(literal, index);
    return literal_store_gate_open(literal, plan->gate) && pick_from_store(literal, index);
}

void literal_arm_act(struct literal *literal, uint32_t index) {
    struct literal_arm *arm = &literal->arm[index];
    int64_t tick = literal->tick;
    if (literal_incident_stopped(literal, PART_ARM, index))
        return;
    if (arm->state == ARM_CARRYING && tick >= arm->due_tick)
        arm->state = ARM_PLACING;
    else if (arm->state == ARM_RETURNING && tick >= arm->due_tick)
        arm->state = ARM_REACHING;
    bool placed = false;
    if (arm->state == ARM_PLACING)
        placed = place(literal, index);
    if (arm->state != ARM_REACHING || !pick(literal, index))
        return;
    arm->totals.swings++;
    arm->due_tick = tick + arm->out_ticks;
    arm->state = arm->out_ticks == 0 ? ARM_PLACING : ARM_CARRYING;
    if (arm->state == ARM_PLACING && !placed)
        place(literal, index);
}
