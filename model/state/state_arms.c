/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_arms.c - arms, their hands, and who is placing as rows of a state. */
#include <string.h>

#include "model/engine/arm_books.h"
#include "model/engine/arm_general.h"
#include "model/scenario/limits.h"
#include "model/state/state_table.h"

/* ---- arms ----
 * The runs of the hand follow below, as does the order of the arms that are placing. An arm whose
 * return is over is saved as reaching. */

_Static_assert(sizeof(struct arm) == 32, "struct arm is in arm_field");
_Static_assert(sizeof(struct arm_placing) == 40, "what is state in it is in arm_field");

/* Struct arm, with what its placing and its shape have of state, and its totals. */
struct saved_arm {
    uint8_t state, stops;
    bool blocked_open;
    uint32_t last_taken; /* the item; NO_INDEX: none so far */
    int64_t out_ticks, back_ticks;
    int64_t due, since, first_pick;
    int64_t swings, moved;
    int64_t ticks[ARM_STATES];
    int64_t placing_since, placing_since_step, blocked_start;
};

struct arm_row {
    struct saved_arm arm;
    struct stream_words swing, choice;
};

#define ARM_FIELD(kind, member) FIELD_OF(struct arm_row, arm, kind, member)
static const struct state_field arm_field[] = {ARM_FIELD(STATE_BYTE, state),
                                               ARM_FIELD(STATE_BYTE, stops),
                                               ARM_FIELD(STATE_FLAG, blocked_open),
                                               ARM_FIELD(STATE_WORD, last_taken),
                                               ARM_FIELD(STATE_SPAN, out_ticks),
                                               ARM_FIELD(STATE_SPAN, back_ticks),
                                               ARM_FIELD(STATE_DUE, due),
                                               ARM_FIELD(STATE_PAST, since),
                                               ARM_FIELD(STATE_PAST, first_pick),
                                               ARM_FIELD(STATE_AMOUNT, swings),
                                               ARM_FIELD(STATE_AMOUNT, moved),
                                               ARM_FIELD(STATE_AMOUNT, ticks[ARM_REACHING]),
                                               ARM_FIELD(STATE_AMOUNT, ticks[ARM_CARRYING]),
                                               ARM_FIELD(STATE_AMOUNT, ticks[ARM_PLACING]),
                                               ARM_FIELD(STATE_AMOUNT, ticks[ARM_RETURNING]),
                                               ARM_FIELD(STATE_AMOUNT, ticks[ARM_STOPPED]),
                                               ARM_FIELD(STATE_PAST, placing_since),
                                               ARM_FIELD(STATE_PAST, placing_since_step),
                                               ARM_FIELD(STATE_PAST, blocked_start),
                                               STREAM_FIELDS(struct arm_row, swing),
                                               STREAM_FIELDS(struct arm_row, choice)};

_Static_assert(sizeof(struct arm_row) <= STATE_ROW_BYTES, "the longest row");

static uint32_t arms(const struct world *world) { return world->scenario->arm_count; }

static struct saved_arm saved(const struct world *world, uint32_t index, const struct arm *arm) {
    const struct arm_plan *plan = &world->arm[index].plan;
    bool takes = !plan->shape->from_track && arm->item_slot < plan->shape->likely_count;
    struct saved_arm row = {.state = arm->state,
                            .stops = arm->stops,
                            .blocked_open = arm_is_blocked(world, index),
                            .last_taken =
                                takes ? arm_item_at(world, plan, arm->item_slot) : NO_INDEX,
                            .since = arm->since,
                            .swings = arm->swings,
                            .moved = arm_books_moved(world, index)};
    arm_books_ticks(world, index, arm, row.ticks);
    return row;
}

/* Times that matter no longer are saved as 0. */
static void add_times(const struct world *world, uint32_t index, const struct arm *arm,
                      struct saved_arm *row) {
    const struct arm_plan *plan = &world->arm[index].plan;
    bool listed = world->arm[index].wait.waits & ARM_WAITS_TO_PLACE;
    bool blocked = arm_is_blocked(world, index);
    if (arm->state == ARM_CARRYING || arm->state == ARM_RETURNING)
        row->due = arm->due;
    if (arm->held > 0 && plan->shape->gathers)
        row->first_pick = arm_hand(world, &world->arm[index])->first_pick;
    if (listed || blocked)
        row->placing_since = arm_placing_of(world, index)->since;
    if (listed)
        row->placing_since_step = arm_placing_of(world, index)->since_step;
    if (blocked)
        row->blocked_start = arm_placing_of(world, index)->blocked_start;
    if (plan->shape->swing_chance != NO_INDEX) {
        row->out_ticks = plan->shape->out_ticks;
        row->back_ticks = plan->shape->back_ticks;
    }
}

static void get_arm(const struct world *world, uint32_t index, struct state_cursor *cursor,
                    void *to) {
    (void)cursor;
    struct arm_row *row = to;
    const struct arm_plan *plan = &world->arm[index].plan;
    struct arm arm = world->arm[index].state;
    if (arm.state == ARM_RETURNING && arm.stops == 0 && arm.due <= world->progress.tick)
        arm_general_end_return(&arm);
    row->arm = saved(world, index, &arm);
    add_times(world, index, &arm, &row->arm);
    row->swing = state_words_of(world, plan->shape->swing_chance);
    row->choice = state_words_of(world, plan->shape->choice_chance);
}

/* Index of an item among the first `count` of an arm's; `count` when it is not there. */
static uint32_t what_of_item(const struct world *world, const struct arm_plan *arm, uint32_t count,
                             uint32_t item) {
    uint32_t item_slot = 0;
    while (item_slot < count && arm_item_at(world, arm, item_slot) != item)
        item_slot++;
    return item_slot;
}

static void put_state(struct world *world, struct arm_record *self, const struct saved_arm *row) {
    const struct arm_plan *plan = &self->plan;
    bool under_way = row->state == ARM_CARRYING || row->state == ARM_RETURNING;
    self->state.state = row->state;
    self->state.stops = row->stops;
    self->state.due = under_way ? row->due : 0;
    self->state.since = row->since;
    self->state.swings = row->swings;
    if (plan->shape->gathers)
        arm_hand(world, self)->first_pick = row->first_pick;
    else
        self->state.item_slot =
            what_of_item(world, plan, plan->shape->likely_count, row->last_taken);
}

/* One that is stopped will start again; one that places at a chest or station has done so for some
 * time. */
static void put_totals(struct world *world, uint32_t index, const struct saved_arm *row) {
    struct arm_totals totals = {.swings = row->swings, .moved = row->moved};
    memcpy(totals.ticks, row->ticks, sizeof totals.ticks);
    arm_books_set(world, index, &totals);
    if (row->stops != 0 || row->state == ARM_PLACING)
        arm_books_make(world);
}

static void put_placing(struct world *world, uint32_t index, const struct saved_arm *row) {
    struct arm_placing *placing = arm_placing_of(world, index);
    placing->since = row->placing_since;
    placing->since_step = row->placing_since_step;
    placing->blocked_start = row->blocked_open ? row->blocked_start : NOT_GIVEN;
    if (row->blocked_open && !world->arm[index].plan.shape->to_track)
        world->arm[index].wait.waits = ARM_WAITS_TO_PLACE;
}

/* One that is blocked at a chest or station is watched there. */
static bool put_arm(struct state_filling *filling, uint32_t index, const void *from) {
    const struct arm_row *row = from;
    struct world *world = filling->world;
    const struct arm_plan *plan = &world->arm[index].plan;
    if (!state_stops_fit(row->arm.stops) || row->arm.state >= ARM_STOPPED ||
        row->arm.due == AGENDA_NEVER || (row->arm.blocked_open && plan->placing == NO_INDEX))
        return false;
    put_state(world, &world->arm[index], &row->arm);
    if (plan->placing != NO_INDEX)
        put_placing(world, index, &row->arm);
    if (plan->shape->swing_chance != NO_INDEX) {
        plan->shape->out_ticks = row->arm.out_ticks;
        plan->shape->back_ticks = row->arm.back_ticks;
    }
    put_totals(world, index, &row->arm);
    return state_put_words(filling, plan->shape->swing_chance, row->swing) &&
           state_put_words(filling, plan->shape->choice_chance, row->choice);
}

/* ---- hands: runs of equal items, those already put down left out ---- */

_Static_assert(sizeof(struct hand_run) == 8, "struct hand_run is in struct run_row");

struct run_row {
    uint32_t item, count;
};

static const struct state_field run_field[] = {FIELD(struct run_row, STATE_WORD, item),
                                               FIELD(struct run_row, STATE_WORD, count)};

static uint32_t runs(const struct world *world, uint32_t arm) {
    return arm_end_run(world, &world->arm[arm]) - arm_first_run(world, &world->arm[arm]);
}

static void get_run(const struct world *world, uint32_t index, struct state_cursor *cursor,
                    void *row) {
    const struct arm_record *arm = &world->arm[index];
    struct hand_run run = arm_run(world, arm, arm_first_run(world, arm) + cursor->index++);
    *(struct run_row *)row =
        (struct run_row){.item = arm_item_at(world, &arm->plan, run.item_slot), .count = run.count};
}

/* Whether there is room for one more run in an arm's hand. */
static bool takes_run(const struct world *world, const struct arm_record *arm) {
    return arm->plan.shape->gathers ? arm_hand(world, arm)->run_count < arm->plan.shape->hand
                                    : arm->state.held == 0;
}

static void add_run(struct world *world, struct hand *hand, struct hand_run run) {
    world->hand_run[hand->first_run + hand->run_count++] = run;
}

static bool put_run(struct state_filling *filling, uint32_t index, const void *from) {
    const struct run_row *row = from;
    struct world *world = filling->world;
    const struct arm_plan *plan = &world->arm[index].plan;
    struct arm *arm = &world->arm[index].state;
    uint32_t item_slot = what_of_item(world, plan, plan->shape->item_count, row->item);
    if (item_slot == plan->shape->item_count || plan->item[item_slot].dest == NO_INDEX ||
        row->count == 0 || row->count > LIMIT_HAND - arm->held ||
        !takes_run(world, &world->arm[index]))
        return false;
    struct hand_run run = {.item_slot = item_slot, .count = row->count};
    if (plan->shape->gathers)
        add_run(world, arm_hand(world, &world->arm[index]), run);
    else
        arm->item_slot = item_slot;
    arm->held = (uint16_t)(arm->held + row->count);
    if (arm->held > 1)
        arm_books_make(world); /* more than its hand takes, if what holds it has changed */
    return true;
}

/* ---- who is placing onto each track, the longest waiting first ---- */

static uint32_t tracks(const struct world *world) { return world->track_count; }

struct queue_row {
    uint32_t arm;
};

static const struct state_field queue_field[] = {FIELD(struct queue_row, STATE_WORD, arm)};

static uint32_t queue_length(const struct world *world, uint32_t track) {
    uint32_t length = 0;
    for (uint32_t arm = world->track[track].load.first_placing; arm != NO_INDEX;
         arm = arm_placing_of(world, arm)->next)
        length++;
    return length;
}

static void get_queued(const struct world *world, uint32_t track, struct state_cursor *cursor,
                       void *row) {
    uint32_t arm =
        cursor->index == 0 ? world->track[track].load.first_placing : (uint32_t)cursor->cell;
    cursor->index++;
    cursor->cell = arm_placing_of(world, arm)->next;
    ((struct queue_row *)row)->arm = arm;
}

static bool may_be_queued(const struct world *world, uint32_t index, uint32_t arm) {
    if (arm >= world->scenario->arm_count)
        return false;
    const struct arm_plan *plan = &world->arm[arm].plan;
    return plan->shape->to_track && plan->to == index &&
           world->arm[arm].state.state == ARM_PLACING && world->arm[arm].state.stops == 0 &&
           !(world->arm[arm].wait.waits & ARM_WAITS_TO_PLACE);
}

/* Those whose blocked event is open come first. */
static bool comes_after(const struct world *world, uint32_t before, uint32_t arm) {
    if (before == NO_INDEX)
        return true;
    const struct arm_placing *self = arm_placing_of(world, arm);
    const struct arm_placing *other = arm_placing_of(world, before);
    return (arm_placing_is_blocked(other) || !arm_placing_is_blocked(self)) &&
           other->since <= self->since;
}

static bool put_queued(struct state_filling *filling, uint32_t index, const void *row) {
    struct world *world = filling->world;
    const struct track_plan *plan = &world->track[index].plan;
    struct track_load *load = &world->track[index].load;
    uint32_t arm = ((const struct queue_row *)row)->arm, before = load->last_placing;
    if (!may_be_queued(world, index, arm) || !comes_after(world, before, arm) ||
        arm_placing_of(world, arm)->since_step > world->belt[plan->belt].position.step)
        return false;
    struct arm_placing *placing = arm_placing_of(world, arm);
    placing->prev = before;
    if (before == NO_INDEX)
        load->first_placing = arm;
    else
        arm_placing_of(world, before)->next = arm;
    load->last_placing = arm;
    if (load->first_unreported == NO_INDEX && !arm_placing_is_blocked(placing))
        load->first_unreported = arm;
    uint32_t rank = world->arm[arm].plan.placing - plan->first_feeder;
    world->waiting[plan->first_waiting_word + rank / 64] |= UINT64_C(1) << (rank % 64);
    world->arm[arm].wait.waits |= ARM_WAITS_TO_PLACE;
    return true;
}

/* ---- in this order ---- */

static const struct state_part part[] = {
    {"arm", NULL, false, arms, NULL, get_arm, put_arm, FIELDS(arm_field)},
    {"arm", "hand", false, arms, runs, get_run, put_run, FIELDS(run_field)},
    {"track", "placing", false, tracks, queue_length, get_queued, put_queued, FIELDS(queue_field)},
};
const struct state_group state_arms = GROUP(part);
