/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_arms.c - arms, their hands, and who is placing as rows of a state. */
#include "model/engine/arm.h"
#include "model/scenario/limits.h"
#include "model/state/state_table.h"

/* ---- arms ----
 * The runs of the hand follow below, as does the order of the arms that are placing. An arm whose
 * return is over is saved as reaching. */

_Static_assert(sizeof(struct arm) == 144, "struct arm is in arm_field");

struct arm_row {
    struct arm arm; /* last_taken: the item; NO_INDEX: none so far */
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

/* Times that no longer matter are saved as 0. */
static void clear_times(const struct world *world, uint32_t index, struct arm *arm) {
    bool listed = world->arm[index].wait.waits & ARM_WAITS_TO_PLACE;
    if (arm->state != ARM_CARRYING && arm->state != ARM_RETURNING)
        arm->due = 0;
    if (arm->held == 0)
        arm->first_pick = 0;
    if (!listed && !arm->blocked_open)
        arm->placing_since = 0;
    if (!listed)
        arm->placing_since_step = 0;
    if (!arm->blocked_open)
        arm->blocked_start = 0;
    if (world->arm[index].plan.swing_chance == NO_INDEX)
        arm->out_ticks = arm->back_ticks = 0;
}

static void get_arm(const struct world *world, uint32_t index, struct state_cursor *cursor,
                    void *to) {
    (void)cursor;
    struct arm_row *row = to;
    const struct arm_plan *plan = &world->arm[index].plan;
    struct arm *arm = &row->arm;
    *arm = world->arm[index].state;
    arm->last_taken =
        arm->last_taken < plan->likely_count ? plan->item[arm->last_taken].item : NO_INDEX;
    if (arm->state == ARM_RETURNING && arm->stops == 0 && arm->due <= world->progress.tick)
        arm_end_return(arm);
    clear_times(world, index, arm);
    row->swing = state_words_of(world, plan->swing_chance);
    row->choice = state_words_of(world, plan->choice_chance);
}

/* Index of an item among the first `count` of an arm's; `count` when it is not there. */
static uint32_t what_of_item(const struct arm_plan *arm, uint32_t count, uint32_t item) {
    uint32_t item_slot = 0;
    while (item_slot < count && arm->item[item_slot].item != item)
        item_slot++;
    return item_slot;
}

static bool put_arm(struct state_filling *filling, uint32_t index, const void *from) {
    const struct arm_row *row = from;
    struct world *world = filling->world;
    const struct arm_plan *plan = &world->arm[index].plan;
    struct arm *arm = &world->arm[index].state, made = *arm;
    if (!state_stops_fit(row->arm.stops) || row->arm.state >= ARM_STOPPED ||
        row->arm.due == AGENDA_NEVER)
        return false;
    *arm = row->arm;
    arm->last_taken = what_of_item(plan, plan->likely_count, row->arm.last_taken);
    if (plan->swing_chance == NO_INDEX) {
        arm->out_ticks = made.out_ticks;
        arm->back_ticks = made.back_ticks;
    }
    if (arm->blocked_open && !plan->to_track)
        world->arm[index].wait.waits = ARM_WAITS_TO_PLACE;
    world->arm[index].wait.next = world->arm[index].wait.prev = NO_INDEX;
    return state_put_words(filling, plan->swing_chance, row->swing) &&
           state_put_words(filling, plan->choice_chance, row->choice);
}

/* ---- hands: runs of equal items, those already put down left out ---- */

_Static_assert(sizeof(struct hand_run) == 8, "struct hand_run is in struct run_row");

struct run_row {
    uint32_t item, count;
};

static const struct state_field run_field[] = {FIELD(struct run_row, STATE_WORD, item),
                                               FIELD(struct run_row, STATE_WORD, count)};

static uint32_t runs(const struct world *world, uint32_t arm) {
    return world->arm[arm].state.run_count - world->arm[arm].state.runs_done;
}

static void get_run(const struct world *world, uint32_t index, struct state_cursor *cursor,
                    void *row) {
    const struct arm_plan *plan = &world->arm[index].plan;
    const struct hand_run *run = &plan->run[world->arm[index].state.runs_done + cursor->index++];
    *(struct run_row *)row =
        (struct run_row){.item = plan->item[run->item_slot].item, .count = run->count};
}

/* Places for runs of an arm's hand. */
static uint32_t run_places(const struct arm_plan *arm) { return arm->from_track ? arm->hand : 1; }

static bool put_run(struct state_filling *filling, uint32_t index, const void *from) {
    const struct run_row *row = from;
    struct world *world = filling->world;
    const struct arm_plan *plan = &world->arm[index].plan;
    struct arm *arm = &world->arm[index].state;
    uint32_t item_slot = what_of_item(plan, plan->item_count, row->item);
    if (item_slot == plan->item_count || plan->item[item_slot].dest == NO_INDEX ||
        row->count == 0 || row->count > LIMIT_HAND || arm->run_count == run_places(plan))
        return false;
    plan->run[arm->run_count++] = (struct hand_run){.item_slot = item_slot, .count = row->count};
    arm->held += row->count;
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
         arm = world->arm[arm].wait.next)
        length++;
    return length;
}

static void get_queued(const struct world *world, uint32_t track, struct state_cursor *cursor,
                       void *row) {
    uint32_t arm =
        cursor->index == 0 ? world->track[track].load.first_placing : (uint32_t)cursor->cell;
    cursor->index++;
    cursor->cell = world->arm[arm].wait.next;
    ((struct queue_row *)row)->arm = arm;
}

static bool may_be_queued(const struct world *world, uint32_t index, uint32_t arm) {
    if (arm >= world->scenario->arm_count)
        return false;
    const struct arm_plan *plan = &world->arm[arm].plan;
    return plan->to_track && plan->to == index && world->arm[arm].state.state == ARM_PLACING &&
           world->arm[arm].state.stops == 0 && !(world->arm[arm].wait.waits & ARM_WAITS_TO_PLACE);
}

/* Those whose blocked event is open come first. */
static bool comes_after(const struct world *world, uint32_t before, uint32_t arm) {
    if (before == NO_INDEX)
        return true;
    const struct arm *self = &world->arm[arm].state, *other = &world->arm[before].state;
    return (other->blocked_open || !self->blocked_open) &&
           other->placing_since <= self->placing_since;
}

static bool put_queued(struct state_filling *filling, uint32_t index, const void *row) {
    struct world *world = filling->world;
    const struct track_plan *plan = &world->track[index].plan;
    struct track_load *load = &world->track[index].load;
    uint32_t arm = ((const struct queue_row *)row)->arm, before = load->last_placing;
    if (!may_be_queued(world, index, arm) || !comes_after(world, before, arm) ||
        world->arm[arm].state.placing_since_step > world->belt[plan->belt].position.step)
        return false;
    world->arm[arm].wait.prev = before;
    if (before == NO_INDEX)
        load->first_placing = arm;
    else
        world->arm[before].wait.next = arm;
    load->last_placing = arm;
    if (load->first_unreported == NO_INDEX && !world->arm[arm].state.blocked_open)
        load->first_unreported = arm;
    uint32_t rank = world->arm[arm].plan.feeder_rank;
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
