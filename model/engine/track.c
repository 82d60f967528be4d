/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/track.c - wakes only those whom a change concerns: what is put on a lane can bring
 * forward only arms that want it and stand within a window downstream (those further on look again
 * before it reaches them); what is taken off can bring forward only arms that are placing there. On
 * a line, where everything upstream of a gap begins to move, all who wait are woken. */
#include "model/engine/track.h"

#include "model/engine/belt.h"
#include "model/engine/line.h"
#include "model/engine/stock.h"
#include "model/engine/wake.h"

uint32_t track_of_place(const struct world *world, struct place place) {
    require(place.kind == PLACE_LANE || place.kind == PLACE_LINE);
    require(place.index <
            (place.kind == PLACE_LANE ? world->scenario->lane_count : world->scenario->line_count));
    return place.kind == PLACE_LANE ? place.index : world->scenario->lane_count + place.index;
}

static uint32_t line_of(const struct world *world, uint32_t track) {
    return track - world->scenario->lane_count;
}

uint32_t track_kind_of(const struct world *world, uint32_t index, uint32_t item) {
    const struct track_plan *track = &world->track[index].plan;
    uint32_t low = 0, high = track->kind_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (world->kind[track->first_kind + middle].item < item)
            low = middle + 1;
        else
            high = middle;
    }
    return low < track->kind_count && world->kind[track->first_kind + low].item == item ? low
                                                                                        : NO_INDEX;
}

/* The number of a kind within its track. */
static uint32_t number_of(const struct world *world, const struct track_record *track,
                          const struct track_kind *kind) {
    return (uint32_t)(kind - world->kind) - track->plan.first_kind;
}

uint32_t track_kind_at(struct world *world, uint32_t index, uint32_t spot) {
    if (world->track[index].plan.is_line)
        return line_kind_at(world, line_of(world, index), spot);
    return world->track[index].lane.kind[spot]; /* LANE_EMPTY is NO_INDEX */
}

static void count_for_gates(struct world *world, const struct track_plan *track,
                            const struct track_kind *kind, int64_t change) {
    const struct kind_reads *reads = &world->kind_reads[kind - world->kind];
    const uint32_t read[] = {reads->tally, reads->loop_tally, track->tally, track->loop_tally};
    for (int i = 0; i < 4; i++)
        if (read[i] != NO_INDEX)
            stock_change(world, read[i], change);
}

/* Counts one item more (change 1) or less (-1) that is `length` cells long, in the tick at work,
 * when the belt has made `step` steps. True when that concerns gates or checks:
 * count_for_others() is to follow. */
static inline bool count_move(struct track_record *record, struct track_kind *kind, int32_t change,
                              uint32_t length, int64_t now, int64_t step) {
    struct track *track = &record->state;
    struct track_load *load = &record->load;
    if (load->held_cells > track->cells_most && track->last_move < now)
        track->cells_most = load->held_cells;
    if (change > 0)
        track->cell_ticks -= (wide_count)(uint64_t)now * length;
    else
        track->cell_ticks += (wide_count)(uint64_t)now * length;
    kind->count += (uint32_t)change;
    load->item_count += (uint32_t)change;
    load->held_cells += (uint32_t)change * length;
    track->last_move = now;
    track->last_move_step = step;
    return kind->is_read || load->held_cells - load->quiet_from > load->quiet_span;
}

static __attribute__((noinline)) void count_for_others(struct world *world,
                                                       const struct track_record *track,
                                                       const struct track_kind *kind,
                                                       int32_t change) {
    if (kind->is_read)
        count_for_gates(world, &track->plan, kind, change);
    if (track->load.held_cells - track->load.quiet_from > track->load.quiet_span)
        wake_checks_of_track(world, (uint32_t)(track - world->track));
}

struct quiet {
    uint32_t from, span;
};

static struct quiet quiet_range_of(const struct world *world, uint32_t index) {
    const struct track_plan *plan = &world->track[index].plan;
    const struct track *track = &world->track[index].state;
    bool empty = world->track[index].load.held_cells == 0;
    if (plan->is_line)
        return (struct quiet){0, UINT32_MAX}; /* no check looks at what is on it */
    uint32_t from = empty ? 0 : 1, end = empty ? 1 : plan->crowded_cells;
    if (track->crowded) {
        from = plan->crowded_cells;
        end = UINT32_MAX;
    }
    if (track->jam_open || from >= end)
        return (struct quiet){UINT32_MAX, 0}; /* so many are never held */
    return (struct quiet){from, end - 1 - from};
}

void track_find_quiet_range(struct world *world, uint32_t index) {
    struct quiet quiet = quiet_range_of(world, index);
    world->track[index].load.quiet_from = quiet.from;
    world->track[index].load.quiet_span = quiet.span;
}

/* Index of the first of `count` arms, sorted by cell, at or after `cell`; `count`: none. */
static uint32_t first_from(const struct arm_at_cell *arm, uint32_t count, uint32_t cell) {
    uint32_t low = 0, high = count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (arm[middle].cell < cell)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

uint32_t track_first_taker(const struct world *world, uint32_t index, uint32_t kind,
                           uint32_t cell) {
    const struct track_kind *self = &world->kind[world->track[index].plan.first_kind + kind];
    return first_from(world->taker + self->first_taker, track_kind_taker_count(self), cell);
}

/* The lowest cell that an item just taken at `cell` can have held on a lane. */
static uint32_t tail_cell(const struct world *world, uint32_t index, uint32_t cell) {
    const struct track_plan *track = &world->track[index].plan;
    return belt_distance(&world->belt[track->belt], (track->length_most - 1) % track->cell_count,
                         cell);
}

uint32_t track_first_feeder(const struct world *world, uint32_t index, uint32_t cell) {
    const struct track_plan *track = &world->track[index].plan;
    uint32_t first = first_from(world->feeder + track->first_feeder, track->feeder_count,
                                tail_cell(world, index, cell));
    return first == track->feeder_count ? 0 : first;
}

/* Brings forward the takers of a kind that was put at `cell`: those within a window. Takers further
 * on look again before it reaches them, but not while none of the kind is on the lane: the first
 * one that comes to it concerns all. */
static void wake_takers_of(struct world *world, const struct belt_record *belt,
                           const struct track_kind *kind, uint32_t class, uint32_t cell) {
    const struct arm_at_cell *start = world->taker + kind->first_taker;
    uint32_t count = track_kind_taker_count(kind);
    const struct arm_at_cell *end = start + count, *taker = start + first_from(start, count, cell);
    for (uint32_t left = count; left > 0; left--, taker++) {
        if (taker == end)
            taker = start;
        uint32_t distance = belt_distance(belt, cell, taker->cell);
        if (distance >= LANE_WINDOW) {
            if (kind->count > 1)
                return;
            distance = LANE_WINDOW;
        }
        wake_arm_for_item(world, taker->arm, belt, class, distance);
    }
}

/* Whether a taker from `taker` to `end`, who all stand from `cell` on, waits for something that
 * comes later than an item that is at `cell` with `step`. */
static inline bool some_wait_longer(const struct world *world, const struct arm_at_cell *taker,
                                    const struct arm_at_cell *end, uint32_t cell, int64_t step) {
    for (; taker != end; taker++) {
        uint32_t distance = taker->cell - cell;
        if (distance >= LANE_WINDOW)
            return false;
        if (step + distance < world->arm[taker->arm].wait.look_step)
            return true;
    }
    return false;
}

/* Whether wake_takers_of may wake somebody; cheaper than to look. */
static inline bool concerns_takers(const struct world *world, const struct belt_record *belt,
                                   const struct track_kind *kind, uint32_t cell,
                                   uint32_t first_taker) {
    if (kind->count == 1)
        return true;
    int64_t step = belt->position.step;
    const struct arm_at_cell *start = world->taker + kind->first_taker;
    const struct arm_at_cell *first = start + first_taker;
    const struct arm_at_cell *end = world->taker + kind[1].first_taker;
    return some_wait_longer(world, first, end, cell, step) ||
           some_wait_longer(world, start, first, cell - belt->plan.cell_count, step);
}

/* Wakes those whom an item concerns that was put on a lane, and counts it for others. */
static __attribute__((noinline)) bool follow_put(struct world *world,
                                                 const struct track_record *track,
                                                 const struct track_kind *kind, uint32_t cell) {
    uint32_t class = number_of(world, track, kind) % LANE_CLASSES;
    wake_takers_of(world, &world->belt[track->plan.belt], kind, class, cell);
    count_for_others(world, track, kind, 1);
    return true;
}

static __attribute__((noinline)) bool put_on_line(struct world *world, struct track_record *track,
                                                  uint32_t cell, struct track_kind *kind) {
    uint32_t index = (uint32_t)(track - world->track), line = line_of(world, index);
    if (kind->length > track->plan.cell_count || !line_is_free(world, line, cell, kind->length))
        return false;
    line_put(world, line, cell, number_of(world, track, kind));
    wake_track_arms(world, index);
    count_move(track, kind, 1, kind->length, world_now(world), belt_step(world, track->plan.belt));
    count_for_others(world, track, kind, 1);
    return true;
}

static __attribute__((noinline)) bool put_long(struct world *world, struct track_record *track,
                                               uint32_t cell, struct track_kind *kind) {
    uint32_t slot = belt_slot_now(world, track->plan.belt, cell);
    if (kind->length > track->plan.cell_count || !lane_is_free(&track->lane, slot, kind->length))
        return false;
    lane_put(&track->lane, slot, kind->length, number_of(world, track, kind));
    count_move(track, kind, 1, kind->length, world_now(world), belt_step(world, track->plan.belt));
    return follow_put(world, track, kind, cell);
}

/* Puts an item of several cells, or one onto a line; apart, so that track_put saves few registers.
 */
static bool put_otherwise(struct world *world, struct track_record *track, uint32_t cell,
                          struct track_kind *kind) {
    return track->plan.is_line ? put_on_line(world, track, cell, kind)
                               : put_long(world, track, cell, kind);
}

static __attribute__((noinline)) bool put_after_step(struct world *world,
                                                     const struct track_record *track,
                                                     uint32_t cell, uint32_t kind,
                                                     uint32_t first_taker) {
    belt_catch_up(world, track->plan.belt);
    return track_put(world, (uint32_t)(track - world->track), cell, kind, first_taker);
}

bool track_put(struct world *world, uint32_t index, uint32_t cell, uint32_t kind,
               uint32_t first_taker) {
    struct track_record *track = &world->track[index];
    struct track_kind *self = &world->kind[track->plan.first_kind + kind];
    const struct belt_record *belt = &world->belt[track->plan.belt];
    if (self->special)
        return put_otherwise(world, track, cell, self);
    if (belt_is_late(world, belt))
        return put_after_step(world, track, cell, kind, first_taker);
    uint32_t slot = belt_slot(belt, cell);
    if (!lane_is_free(&track->lane, slot, 1))
        return false;
    lane_put(&track->lane, slot, 1, kind);
    if (count_move(track, self, 1, 1, world_now(world), belt->position.step) ||
        concerns_takers(world, belt, self, cell, first_taker))
        return follow_put(world, track, self, cell);
    return true;
}

/* Up to so many cells from the freed tail on an arm that is placing may be concerned. */
static uint32_t reach_of(const struct track_plan *track) {
    return LANE_WINDOW + 2 * track->length_most;
}

/* The first feeder from `rank` on that may be waiting: one that is, or the first of the next word.
 */
static inline uint32_t next_waiting(const struct world *world, const struct track_plan *track,
                                    uint32_t rank) {
    uint64_t left = world->waiting[track->first_waiting_word + rank / 64] >> (rank % 64);
    return rank + (left != 0 ? (uint32_t)__builtin_ctzll(left) : 64 - rank % 64);
}

/* Lets the arms that are placing within a window downstream look again: from those over the freed
 * tail on to those that a run of free cells with the freed ones in it soon reaches. */
static void wake_feeders_of(struct world *world, uint32_t index, uint32_t cell, uint32_t rank) {
    const struct track_plan *track = &world->track[index].plan;
    const struct arm_at_cell *feeder = world->feeder + track->first_feeder;
    uint32_t start = tail_cell(world, index, cell);
    for (uint32_t seen = 0; seen < track->feeder_count;) {
        if (belt_distance(&world->belt[track->belt], start, feeder[rank].cell) >= reach_of(track))
            return;
        uint32_t next = next_waiting(world, track, rank);
        if (next == rank)
            wake_arm_for_room(world, feeder[next++].arm);
        if (next > track->feeder_count)
            next = track->feeder_count;
        seen += next - rank;
        rank = next == track->feeder_count ? 0 : next;
    }
}

/* Whether wake_feeders_of may wake somebody; cheaper than to look. */
static inline bool concerns_feeders(const struct world *world, const struct track_record *track,
                                    uint32_t cell, uint32_t rank) {
    const struct track_plan *plan = &track->plan;
    if (track->load.first_placing == NO_INDEX)
        return false;
    uint32_t next = next_waiting(world, plan, rank);
    if (next >= plan->feeder_count || plan->length_most > 1)
        return true;
    uint32_t there = world->feeder[plan->first_feeder + next].cell;
    return belt_distance(&world->belt[plan->belt], cell, there) < reach_of(plan);
}

/* Wakes those whom it concerns that an item was taken, and counts it for others. */
static __attribute__((noinline)) void follow_take(struct world *world,
                                                  const struct track_record *track,
                                                  const struct track_kind *kind, uint32_t cell,
                                                  uint32_t first_feeder) {
    uint32_t index = (uint32_t)(track - world->track);
    if (track->plan.is_line)
        wake_track_arms(world, index);
    else if (track->load.first_placing != NO_INDEX)
        wake_feeders_of(world, index, cell, first_feeder);
    count_for_others(world, track, kind, -1);
}

/* See put_otherwise. */
static __attribute__((noinline)) void take_otherwise(struct world *world,
                                                     struct track_record *track,
                                                     struct track_kind *kind, uint32_t cell,
                                                     uint32_t spot, uint32_t first_feeder) {
    uint32_t index = (uint32_t)(track - world->track);
    if (track->plan.is_line)
        line_take(world, line_of(world, index), cell);
    else
        lane_take(&world->track[index].lane, spot, kind->length);
    count_move(track, kind, -1, kind->length, world_now(world), belt_step(world, track->plan.belt));
    follow_take(world, track, kind, cell, first_feeder);
}

void track_take(struct world *world, uint32_t index, uint32_t cell, uint32_t spot, uint32_t kind,
                uint32_t first_feeder) {
    struct track_record *track = &world->track[index];
    struct track_kind *self = &world->kind[track->plan.first_kind + kind];
    if (self->special) {
        take_otherwise(world, track, self, cell, spot, first_feeder);
        return;
    }
    lane_take(&world->track[index].lane, spot, 1);
    /* The step has been asked for, to find the spot. */
    int64_t step = world->belt[track->plan.belt].position.step;
    if (count_move(track, self, -1, 1, world_now(world), step) ||
        concerns_feeders(world, track, cell, first_feeder))
        follow_take(world, track, self, cell, first_feeder);
}

int64_t track_drop(struct world *world, uint32_t index, uint32_t kind, int64_t count) {
    uint32_t cells = world->track[index].plan.cell_count;
    int64_t dropped = 0;
    for (uint32_t cell = 0; cell < cells && dropped < count; cell++)
        dropped += track_put(world, index, cell, kind, track_first_taker(world, index, kind, cell));
    return dropped;
}

int64_t track_clear(struct world *world, uint32_t index, uint32_t kind) {
    int64_t cleared = 0;
    uint32_t cells = world->track[index].plan.cell_count;
    for (uint32_t cell = 0; cell < cells; cell++) {
        uint32_t spot = track_spot(world, index, cell);
        uint32_t here = track_kind_at(world, index, spot);
        if (here == NO_INDEX || (kind != NO_INDEX && here != kind))
            continue;
        track_take(world, index, cell, spot, here, track_first_feeder(world, index, cell));
        cleared++;
    }
    return cleared;
}

/* Which of its feeders an arm is. */
static inline uint32_t rank_of(const struct world *world, const struct track_record *track,
                               uint32_t arm) {
    return world->arm[arm].plan.placing - track->plan.first_feeder;
}

/* The word in which the bit of a feeder is. */
static inline uint64_t *word_of(const struct world *world, const struct track_record *track,
                                uint32_t rank) {
    return &world->waiting[track->plan.first_waiting_word + rank / 64];
}

/* The first who is placing, since no other is; unless some other was until this tick. */
static inline void begin_placing(struct track_record *track, uint32_t arm, int64_t now,
                                 int64_t step) {
    track->load.first_placing = arm;
    if (track->load.placing_gap == now)
        return;
    track->state.placing_since = now;
    track->state.placing_since_step = step;
}

/* Its belt has been asked for its step: it has tried to place. */
__attribute__((noinline)) void track_join_placing(struct world *world, uint32_t index,
                                                  uint32_t arm) {
    struct track_record *track = &world->track[index];
    struct track_load *load = &track->load;
    struct arm_placing *self = arm_placing_of(world, arm);
    int64_t now = world_now(world), step = world->belt[track->plan.belt].position.step;
    uint32_t last = load->last_placing, rank = rank_of(world, track, arm);
    self->next = NO_INDEX;
    self->prev = last;
    self->since = now;
    self->since_step = step;
    *word_of(world, track, rank) |= UINT64_C(1) << (rank % 64);
    load->last_placing = arm;
    if (load->first_unreported == NO_INDEX)
        load->first_unreported = arm;
    if (last != NO_INDEX)
        arm_placing_of(world, last)->next = arm;
    else
        begin_placing(track, arm, now, step);
    wake_checks_of_placing(world, index);
}

__attribute__((noinline)) void track_leave_placing(struct world *world, uint32_t index,
                                                   uint32_t arm) {
    struct track_record *track = &world->track[index];
    struct track_load *load = &track->load;
    const struct arm_placing *self = arm_placing_of(world, arm);
    uint32_t next = self->next, prev = self->prev, rank = rank_of(world, track, arm);
    *word_of(world, track, rank) &= ~(UINT64_C(1) << (rank % 64));
    if (load->first_unreported == arm)
        load->first_unreported = next;
    if (next != NO_INDEX)
        arm_placing_of(world, next)->prev = prev;
    else
        load->last_placing = prev;
    if (prev != NO_INDEX) {
        arm_placing_of(world, prev)->next = next;
        return;
    }
    load->first_placing = next;
    if (next != NO_INDEX)
        return;
    load->placing_gap = world_now(world);
    wake_checks_of_no_placing(world, index);
}

/* ---- audit ---- */

/* How many of a kind lie on a track. */
static uint32_t items_of_kind(const struct world *world, uint32_t index, uint32_t kind) {
    uint32_t count = 0;
    if (world->track[index].plan.is_line) {
        uint32_t line = line_of(world, index);
        const struct line_item *item = world->line_item + world->line_plan[line].first_item;
        for (uint32_t i = 0; i < world->line[line].item_count; i++)
            count += item[i].kind == kind;
    } else {
        for (uint32_t slot = 0; slot < world->track[index].lane.slot_count; slot++)
            count += world->track[index].lane.kind[slot] == kind;
    }
    return count;
}

static void audit_items(const struct world *world, uint32_t index) {
    const struct track_plan *plan = &world->track[index].plan;
    uint32_t items = 0, cells = 0;
    for (uint32_t i = 0; i < plan->kind_count; i++) {
        const struct track_kind *kind = &world->kind[plan->first_kind + i];
        require(kind->count == items_of_kind(world, index, i));
        items += kind->count;
        cells += kind->count * kind->length;
    }
    require(items == world->track[index].load.item_count);
    require(cells == world->track[index].load.held_cells && cells <= plan->cell_count);
    struct quiet quiet = quiet_range_of(world, index);
    require(quiet.from == world->track[index].load.quiet_from);
    require(quiet.span == world->track[index].load.quiet_span);
}

static bool is_marked(const struct world *world, uint32_t index, uint32_t rank) {
    uint32_t word = world->track[index].plan.first_waiting_word + rank / 64;
    return world->waiting[word] >> (rank % 64) & 1;
}

/* Each arm that is placing onto it, and runs, is in the list. */
static void audit_feeders(const struct world *world, uint32_t index, uint32_t listed) {
    const struct track_plan *plan = &world->track[index].plan;
    for (uint32_t rank = 0; rank < plan->feeder_count; rank++) {
        const struct arm_record *arm = &world->arm[world->feeder[plan->first_feeder + rank].arm];
        bool placing = arm->state.state == ARM_PLACING && arm->state.stops == 0;
        require(placing == ((arm->wait.waits & ARM_WAITS_TO_PLACE) != 0));
        require(placing == is_marked(world, index, rank));
        listed -= placing;
    }
    require(listed == 0);
}

static void audit_list(const struct world *world, uint32_t index) {
    const struct track_load *load = &world->track[index].load;
    uint32_t before = NO_INDEX, first_unreported = NO_INDEX, listed = 0;
    for (uint32_t arm = load->first_placing; arm != NO_INDEX;
         arm = arm_placing_of(world, arm)->next) {
        const struct arm_placing *placing = arm_placing_of(world, arm);
        require(placing->prev == before && world->arm[arm].plan.to == index);
        require(before == NO_INDEX || arm_placing_of(world, before)->since <= placing->since);
        if (first_unreported == NO_INDEX && !arm_placing_is_blocked(placing))
            first_unreported = arm;
        require(first_unreported == NO_INDEX || !arm_placing_is_blocked(placing));
        before = arm;
        listed++;
    }
    require(load->last_placing == before && load->first_unreported == first_unreported);
    audit_feeders(world, index, listed);
}

void track_audit(const struct world *world, uint32_t index) {
    if (world->track[index].plan.is_line)
        line_audit(world, line_of(world, index));
    else
        lane_audit(&world->track[index].lane);
    audit_items(world, index);
    audit_list(world, index);
}
