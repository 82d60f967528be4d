/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_arms.c - arms, their hands, and who is placing as rows of a state. */
#include "model/scenario/limits.h"
#include "model/state/state_table.h"

/* ---- arms ----
 * derived: waits (but those told below), looks, look_step, run_count, held, runs_done; fixed: all
 * that the struct calls so, out_ticks and back_ticks of a swing that is not random. Placing is told
 * with the arm, its order below. One that is back by now is told as reaching. */

_Static_assert(sizeof(struct arm_item) == 16, "all of struct arm_item is fixed");
_Static_assert(sizeof(struct placing) == 32, "struct placing is in struct arm_row");
_Static_assert(sizeof(struct arm) == 208, "struct arm is in struct arm_row");

struct arm_row {
    uint8_t state, stops;
    bool told;           /* its blocked event is open */
    uint32_t last_taken; /* the item; NO_INDEX: none so far */
    int64_t out_ticks, back_ticks, due, since, first_pick;
    int64_t swings, moved;
    int64_t reaching_ticks, carrying_ticks, placing_ticks, returning_ticks, stopped_ticks;
    int64_t placing_since, placing_since_step, told_start;
    struct stream_words swing, choice;
};

static const struct state_field arm_field[] = {
    FIELD(struct arm_row, STATE_BYTE, state),
    FIELD(struct arm_row, STATE_BYTE, stops),
    FIELD(struct arm_row, STATE_FLAG, told),
    FIELD(struct arm_row, STATE_WORD, last_taken),
    FIELD(struct arm_row, STATE_SPAN, out_ticks),
    FIELD(struct arm_row, STATE_SPAN, back_ticks),
    FIELD(struct arm_row, STATE_DUE, due),
    FIELD(struct arm_row, STATE_PAST, since),
    FIELD(struct arm_row, STATE_PAST, first_pick),
    FIELD(struct arm_row, STATE_AMOUNT, swings),
    FIELD(struct arm_row, STATE_AMOUNT, moved),
    FIELD(struct arm_row, STATE_AMOUNT, reaching_ticks),
    FIELD(struct arm_row, STATE_AMOUNT, carrying_ticks),
    FIELD(struct arm_row, STATE_AMOUNT, placing_ticks),
    FIELD(struct arm_row, STATE_AMOUNT, returning_ticks),
    FIELD(struct arm_row, STATE_AMOUNT, stopped_ticks),
    FIELD(struct arm_row, STATE_PAST, placing_since),
    FIELD(struct arm_row, STATE_PAST, placing_since_step),
    FIELD(struct arm_row, STATE_PAST, told_start),
    STREAM_FIELDS(struct arm_row, swing),
    STREAM_FIELDS(struct arm_row, choice)};

_Static_assert(sizeof(struct arm_row) <= STATE_ROW_BYTES, "the longest row");

static uint32_t arms(const struct world *world) { return world->scenario->arm_count; }

static void get_arm_placing(const struct world *world, uint32_t index, struct arm_row *row) {
    const struct placing *placing = &world->placing[index];
    uint8_t waits = world->arm[index].waits;
    row->told = waits & ARM_BLOCKED_TOLD;
    if (waits & (ARM_WAITS_TO_PLACE | ARM_BLOCKED_TOLD))
        row->placing_since = placing->since;
    if (waits & ARM_WAITS_TO_PLACE)
        row->placing_since_step = placing->since_step;
    if (waits & ARM_BLOCKED_TOLD)
        row->told_start = placing->told_start;
}

static void get_arm_times(const struct world *world, const struct arm *arm, struct arm_row *row) {
    int64_t returning = arm->ticks[ARM_RETURNING];
    row->state = arm->state;
    row->since = arm->since;
    if (arm->state == ARM_RETURNING && arm->stops == 0 && arm->due <= world->tick) {
        row->state = ARM_REACHING;
        row->since = arm->due > arm->since ? arm->due : arm->since;
        returning += row->since - arm->since;
    }
    if (row->state == ARM_CARRYING || row->state == ARM_RETURNING)
        row->due = arm->due;
    if (arm->held > 0)
        row->first_pick = arm->first_pick;
    row->reaching_ticks = arm->ticks[ARM_REACHING];
    row->carrying_ticks = arm->ticks[ARM_CARRYING];
    row->placing_ticks = arm->ticks[ARM_PLACING];
    row->returning_ticks = returning;
    row->stopped_ticks = arm->ticks[ARM_STOPPED];
}

static void get_arm(const struct world *world, uint32_t index, struct state_cursor *cursor,
                    void *to) {
    (void)cursor;
    struct arm_row *row = to;
    const struct arm *arm = &world->arm[index];
    row->stops = arm->stops;
    row->last_taken = arm->last_taken < arm->likely_count
                          ? world->arm_item[arm->first_item + arm->last_taken].item
                          : NO_INDEX;
    if (arm->swing_chance != NO_INDEX) {
        row->out_ticks = arm->out_ticks;
        row->back_ticks = arm->back_ticks;
    }
    row->swings = (int64_t)arm->swings;
    row->moved = (int64_t)arm->moved;
    row->swing = state_words_of(world, arm->swing_chance);
    row->choice = state_words_of(world, arm->choice_chance);
    get_arm_times(world, arm, row);
    get_arm_placing(world, index, row);
}

/* Index of an item among the first `count` of an arm's; `count` when it is not there. */
static uint32_t what_of_item(const struct world *world, const struct arm *arm, uint32_t count,
                             uint32_t item) {
    uint32_t what = 0;
    while (what < count && world->arm_item[arm->first_item + what].item != item)
        what++;
    return what;
}

static void put_arm_times(struct arm *arm, const struct arm_row *row) {
    arm->due = row->due;
    arm->since = row->since;
    arm->first_pick = row->first_pick;
    arm->ticks[ARM_REACHING] = row->reaching_ticks;
    arm->ticks[ARM_CARRYING] = row->carrying_ticks;
    arm->ticks[ARM_PLACING] = row->placing_ticks;
    arm->ticks[ARM_RETURNING] = row->returning_ticks;
    arm->ticks[ARM_STOPPED] = row->stopped_ticks;
    if (arm->swing_chance == NO_INDEX)
        return;
    arm->out_ticks = row->out_ticks;
    arm->back_ticks = row->back_ticks;
}

static bool put_arm(struct state_filling *filling, uint32_t index, const void *from) {
    const struct arm_row *row = from;
    struct world *world = filling->world;
    struct arm *arm = &world->arm[index];
    if (!state_stops_fit(row->stops) || row->state >= ARM_STOPPED || row->due == AGENDA_NEVER)
        return false;
    arm->state = row->state;
    arm->stops = row->stops;
    arm->waits = row->told ? ARM_BLOCKED_TOLD : 0;
    arm->last_taken = what_of_item(world, arm, arm->likely_count, row->last_taken);
    arm->swings = (uint64_t)row->swings;
    arm->moved = (uint64_t)row->moved;
    put_arm_times(arm, row);
    world->placing[index] = (struct placing){.next = NO_INDEX,
                                             .prev = NO_INDEX,
                                             .since = row->placing_since,
                                             .since_step = row->placing_since_step,
                                             .told_start = row->told_start};
    return state_put_words(filling, arm->swing_chance, row->swing) &&
           state_put_words(filling, arm->choice_chance, row->choice);
}

/* ---- hands: runs of equal items, those already put down left out ---- */

_Static_assert(sizeof(struct hand_run) == 8, "struct hand_run is in struct run_row");

struct run_row {
    uint32_t item, count;
};

static const struct state_field run_field[] = {FIELD(struct run_row, STATE_WORD, item),
                                               FIELD(struct run_row, STATE_WORD, count)};

static uint32_t runs(const struct world *world, uint32_t arm) {
    return world->arm[arm].run_count - world->arm[arm].runs_done;
}

static void get_run(const struct world *world, uint32_t index, struct state_cursor *cursor,
                    void *row) {
    const struct arm *arm = &world->arm[index];
    const struct hand_run *run =
        &world->hand_run[arm->first_run + arm->runs_done + cursor->index++];
    *(struct run_row *)row = (struct run_row){
        .item = world->arm_item[arm->first_item + run->what].item, .count = run->count};
}

/* Places for runs of an arm's hand. */
static uint32_t run_places(const struct arm *arm) {
    return arm->from_kind == PLACE_LANE || arm->from_kind == PLACE_LINE ? arm->hand : 1;
}

static bool put_run(struct state_filling *filling, uint32_t index, const void *from) {
    const struct run_row *row = from;
    struct world *world = filling->world;
    struct arm *arm = &world->arm[index];
    uint32_t what = what_of_item(world, arm, arm->item_count, row->item);
    if (what == arm->item_count || world->arm_item[arm->first_item + what].dest == NO_INDEX ||
        row->count == 0 || row->count > LIMIT_HAND || arm->run_count == run_places(arm))
        return false;
    world->hand_run[arm->first_run + arm->run_count++] =
        (struct hand_run){.what = what, .count = row->count};
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
    for (uint32_t arm = world->track[track].first_placing; arm != NO_INDEX;
         arm = world->placing[arm].next)
        length++;
    return length;
}

static void get_queued(const struct world *world, uint32_t track, struct state_cursor *cursor,
                       void *row) {
    uint32_t arm = cursor->index == 0 ? world->track[track].first_placing : (uint32_t)cursor->cell;
    cursor->index++;
    cursor->cell = world->placing[arm].next;
    ((struct queue_row *)row)->arm = arm;
}

static bool may_be_queued(const struct world *world, uint32_t index, uint32_t arm) {
    if (arm >= world->scenario->arm_count)
        return false;
    const struct arm *self = &world->arm[arm];
    return (self->to_kind == PLACE_LANE || self->to_kind == PLACE_LINE) && self->to == index &&
           self->state == ARM_PLACING && self->stops == 0 && !(self->waits & ARM_WAITS_TO_PLACE);
}

/* Those of whom it was told that they are blocked stand first. */
static bool stands_behind(const struct world *world, uint32_t before, uint32_t arm) {
    if (before == NO_INDEX)
        return true;
    bool told = world->arm[arm].waits & ARM_BLOCKED_TOLD;
    bool told_before = world->arm[before].waits & ARM_BLOCKED_TOLD;
    return (told_before || !told) && world->placing[before].since <= world->placing[arm].since;
}

static bool put_queued(struct state_filling *filling, uint32_t index, const void *row) {
    struct world *world = filling->world;
    struct track *track = &world->track[index];
    uint32_t arm = ((const struct queue_row *)row)->arm, before = track->last_placing;
    if (!may_be_queued(world, index, arm) || !stands_behind(world, before, arm) ||
        world->placing[arm].since_step > world->belt[track->belt].step)
        return false;
    world->placing[arm].prev = before;
    if (before == NO_INDEX)
        track->first_placing = arm;
    else
        world->placing[before].next = arm;
    track->last_placing = arm;
    if (track->first_unreported == NO_INDEX && !(world->arm[arm].waits & ARM_BLOCKED_TOLD))
        track->first_unreported = arm;
    uint32_t rank = world->arm[arm].feeder_rank;
    world->waiting[track->first_waiting_word + rank / 64] |= UINT64_C(1) << (rank % 64);
    world->arm[arm].waits |= ARM_WAITS_TO_PLACE;
    return true;
}

/* ---- in this order ---- */

static const struct state_part part[] = {
    {"arm", NULL, false, arms, NULL, get_arm, put_arm, FIELDS(arm_field)},
    {"arm", "hand", false, arms, runs, get_run, put_run, FIELDS(run_field)},
    {"track", "placing", false, tracks, queue_length, get_queued, put_queued, FIELDS(queue_field)},
};
const struct state_group state_arms = GROUP(part);
