/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/track.c - wakes only whom it concerns: what is put on a lane can bring forward only
 * arms that want it and stand within a window downstream (those further on look again before it
 * reaches them); what is taken off can bring forward only arms that are placing there. On a line,
 * where everything behind a gap begins to move, all who wait look again. */
#include "model/engine/track.h"

#include "model/engine/belt.h"
#include "model/engine/line.h"
#include "model/engine/stock.h"
#include "model/engine/wake.h"

uint32_t track_of_place(const struct world *world, struct place place) {
    require(place.kind == PLACE_LANE || place.kind == PLACE_LINE);
    return place.kind == PLACE_LANE ? place.index : world->scenario->lane_count + place.index;
}

static uint32_t line_of(const struct world *world, uint32_t track) {
    return track - world->scenario->lane_count;
}

uint32_t track_kind_of(const struct world *world, uint32_t index, uint32_t item) {
    const struct track *track = &world->track[index];
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

uint32_t track_kind_at(struct world *world, uint32_t index, uint32_t spot) {
    if (world->track[index].is_line)
        return line_kind_at(world, line_of(world, index), spot);
    return world->lane[index].kind[spot]; /* LANE_EMPTY is NO_INDEX */
}

/* Books the time for which the lane was filled as it is, before that changes. */
static inline void book_cells(struct world *world, struct track *track) {
    int64_t ticks = world_now(world) - track->cells_since;
    if (ticks == 0)
        return;
    track->cell_ticks += (wide_count)track->held_cells * (wide_count)ticks;
    if (track->held_cells > track->cells_most)
        track->cells_most = track->held_cells;
    track->cells_since = world_now(world);
}

static void tell_gates(struct world *world, const struct track *track,
                       const struct track_kind *kind, int64_t change) {
    const uint32_t read[] = {kind->tally, kind->loop_tally, track->tally, track->loop_tally};
    for (int i = 0; i < 4; i++)
        if (read[i] != NO_INDEX)
            stock_change(world, read[i], change);
}

static inline void count_move(struct world *world, uint32_t index, struct track_kind *kind,
                              int32_t change) {
    struct track *track = &world->track[index];
    struct belt *belt = &world->belt[track->belt];
    book_cells(world, track);
    kind->count += (uint32_t)change;
    track->item_count += (uint32_t)change;
    belt->item_count += (uint32_t)change;
    track->held_cells += (uint32_t)change * kind->length;
    track->last_move = world_now(world);
    track->last_move_step = belt->step; /* which has been asked for, to find the spot */
    if (kind->is_read)
        tell_gates(world, track, kind, change);
    if ((track->held_cells >= track->crowded_cells) != track->crowded || track->jam_open ||
        (belt->item_count > 0) != belt->held_something)
        wake_checks_of_track(world, index);
}

/* Index of the first of `count` arms, sorted by cell, at or behind `cell`, going round. */
static uint32_t first_from(const struct taker *arm, uint32_t count, uint32_t cell) {
    uint32_t low = 0, high = count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (arm[middle].cell < cell)
            low = middle + 1;
        else
            high = middle;
    }
    return low == count ? 0 : low;
}

uint32_t track_first_taker(const struct world *world, uint32_t index, uint32_t kind,
                           uint32_t cell) {
    const struct track_kind *self = &world->kind[world->track[index].first_kind + kind];
    return first_from(world->taker + self->first_taker, self->taker_count, cell);
}

/* The lowest cell that an item just taken at `cell` can have held on a lane. */
static uint32_t tail_cell(const struct world *world, uint32_t index, uint32_t cell) {
    const struct track *track = &world->track[index];
    return belt_distance(world, track->belt, (track->length_most - 1) % track->cell_count, cell);
}

uint32_t track_first_feeder(const struct world *world, uint32_t index, uint32_t cell) {
    const struct track *track = &world->track[index];
    return first_from(world->feeder + track->first_feeder, track->feeder_count,
                      tail_cell(world, index, cell));
}

/* Brings forward the takers of a kind that was just put at `cell`. */
static void tell_takers(struct world *world, uint32_t index, uint32_t kind, uint32_t cell,
                        uint32_t first) {
    const struct track_kind *self = &world->kind[world->track[index].first_kind + kind];
    const struct taker *taker = world->taker + self->first_taker;
    uint32_t belt = world->track[index].belt;
    for (uint32_t i = 0; i < self->taker_count; i++) {
        uint32_t distance = belt_distance(world, belt, cell, taker[first].cell);
        if (distance >= LANE_WINDOW)
            return;
        wake_arm_for_item(world, taker[first].arm, kind % LANE_CLASSES, distance);
        first = first + 1 == self->taker_count ? 0 : first + 1;
    }
}

bool track_put(struct world *world, uint32_t index, uint32_t cell, uint32_t kind,
               uint32_t first_taker) {
    const struct track *track = &world->track[index];
    struct track_kind *self = &world->kind[track->first_kind + kind];
    if (self->length > track->cell_count)
        return false;
    if (track->is_line) {
        if (!line_is_free(world, line_of(world, index), cell, self->length))
            return false;
        line_put(world, line_of(world, index), cell, kind);
        wake_track_arms(world, index);
    } else {
        uint32_t slot = track_spot(world, index, cell);
        if (!lane_is_free(&world->lane[index], slot, self->length))
            return false;
        lane_put(&world->lane[index], slot, self->length, kind);
        tell_takers(world, index, kind, cell, first_taker);
    }
    count_move(world, index, self, 1);
    return true;
}

/* Lets the arms that are placing within a window downstream look again: from those over the freed
 * tail on to those that a run of free cells with the freed ones in it soon reaches. */
static void tell_feeders(struct world *world, uint32_t index, uint32_t cell, uint32_t rank) {
    const struct track *track = &world->track[index];
    const struct taker *feeder = world->feeder + track->first_feeder;
    const uint64_t *waiting = world->waiting + track->first_waiting_word;
    uint32_t start = tail_cell(world, index, cell);
    uint32_t reach = LANE_WINDOW + 2 * track->length_most;
    for (uint32_t seen = 0; seen < track->feeder_count;) {
        if (belt_distance(world, track->belt, start, feeder[rank].cell) >= reach)
            return;
        uint64_t left = waiting[rank / 64] >> (rank % 64);
        uint32_t skip = left != 0 ? (uint32_t)__builtin_ctzll(left) : 64 - rank % 64;
        if (skip == 0) {
            wake_arm_for_room(world, feeder[rank].arm);
            skip = 1;
        }
        if (rank + skip >= track->feeder_count)
            skip = track->feeder_count - rank;
        seen += skip;
        rank = rank + skip == track->feeder_count ? 0 : rank + skip;
    }
}

void track_take(struct world *world, uint32_t index, uint32_t cell, uint32_t spot, uint32_t kind,
                uint32_t first_feeder) {
    const struct track *track = &world->track[index];
    struct track_kind *self = &world->kind[track->first_kind + kind];
    if (track->is_line) {
        line_take(world, line_of(world, index), cell);
        wake_track_arms(world, index);
    } else {
        lane_take(&world->lane[index], spot, self->length);
        if (track->first_placing != NO_INDEX)
            tell_feeders(world, index, cell, first_feeder);
    }
    count_move(world, index, self, -1);
}

int64_t track_drop(struct world *world, uint32_t index, uint32_t kind, int64_t count) {
    uint32_t cells = world->track[index].cell_count;
    int64_t dropped = 0;
    for (uint32_t cell = 0; cell < cells && dropped < count; cell++)
        dropped += track_put(world, index, cell, kind, track_first_taker(world, index, kind, cell));
    return dropped;
}

int64_t track_clear(struct world *world, uint32_t index, uint32_t kind) {
    int64_t cleared = 0;
    uint32_t cells = world->track[index].cell_count;
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

void track_join_placing(struct world *world, uint32_t index, uint32_t arm) {
    struct track *track = &world->track[index];
    struct placing *self = &world->placing[arm];
    int64_t now = world_now(world);
    *self = (struct placing){.next = NO_INDEX,
                             .prev = track->last_placing,
                             .since = now,
                             .since_step = belt_step(world, track->belt)};
    if (track->last_placing != NO_INDEX)
        world->placing[track->last_placing].next = arm;
    track->last_placing = arm;
    if (track->first_unreported == NO_INDEX)
        track->first_unreported = arm;
    uint32_t rank = world->arm[arm].feeder_rank;
    world->waiting[track->first_waiting_word + rank / 64] |= UINT64_C(1) << (rank % 64);
    if (track->first_placing == NO_INDEX) {
        track->first_placing = arm;
        if (track->placing_gap != now) { /* else somebody else was placing until this tick */
            track->placing_since = now;
            track->placing_since_step = self->since_step;
        }
    }
    wake_checks_of_placing(world, index);
}

void track_leave_placing(struct world *world, uint32_t index, uint32_t arm) {
    struct track *track = &world->track[index];
    const struct placing *self = &world->placing[arm];
    if (self->prev != NO_INDEX)
        world->placing[self->prev].next = self->next;
    else
        track->first_placing = self->next;
    if (self->next != NO_INDEX)
        world->placing[self->next].prev = self->prev;
    else
        track->last_placing = self->prev;
    if (track->first_unreported == arm)
        track->first_unreported = self->next;
    uint32_t rank = world->arm[arm].feeder_rank;
    world->waiting[track->first_waiting_word + rank / 64] &= ~(UINT64_C(1) << (rank % 64));
    if (track->first_placing == NO_INDEX) {
        track->placing_gap = world_now(world);
        wake_checks_of_no_placing(world, index);
    }
}
