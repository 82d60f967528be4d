/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal_track.c - loops, lanes and lines, cell by cell (sections 2 and 8). */
#include <string.h>

#include "sim/require.h"
#include "tests/exact/literal_state.h"

struct literal_track *literal_track_at(const struct literal *literal, struct place place) {
    require(place.kind == PLACE_LANE || place.kind == PLACE_LINE);
    uint32_t offset = place.kind == PLACE_LANE ? 0 : literal->scenario->lane_count;
    return &literal->track[offset + place.index];
}

/* Section 2: step k at tick ceil(k * tps / rate), counted from where the steps last began. As the
 * rate is at most one cell a tick, a tick makes no more than one step. */
static bool belt_steps(struct literal_belt *belt, int64_t ticks_per_second) {
    __extension__ unsigned __int128 cell = (unsigned __int128)ticks_per_second;
    cell *= (uint64_t)belt->rate.denominator;
    belt->travelled += (uint64_t)belt->rate.numerator;
    if (belt->travelled < cell)
        return false;
    belt->travelled -= cell;
    belt->steps++;
    return true;
}

/* Section 2: what is on floor cell c goes to cell (c + 1) mod N. */
static void lane_step(struct literal_track *lane) {
    struct literal_cell last = lane->cell[lane->cell_count - 1];
    memmove(&lane->cell[1], &lane->cell[0], (lane->cell_count - 1) * sizeof *lane->cell);
    lane->cell[0] = last;
}

static uint32_t item_length(const struct literal *literal, uint32_t item) {
    return literal->scenario->item[item].length;
}

/* Section 8: from the head end down, each moves one cell if the cell before its head is free. */
static void line_step(struct literal *literal, struct literal_track *line) {
    for (uint32_t from = line->cell_count - 1; from-- > 0;) {
        struct literal_cell head = line->cell[from];
        if (!head.head || line->cell[from + 1].item != NO_INDEX)
            continue;
        line->cell[from].head = false;
        line->cell[from + 1] = head;
        uint32_t tail = from + 1 - item_length(literal, head.item);
        line->cell[tail] = (struct literal_cell){NO_INDEX, false};
        literal->last_move_tick = literal->tick;
    }
}

/* Section 10, phase 1. At tick 0 nothing has travelled yet. */
void literal_track_phase(struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    if (literal->tick == 0)
        return;
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        const struct scenario_loop *loop = &scenario->loop[i];
        if (literal_incident_stopped(literal, PART_LOOP, i) ||
            !belt_steps(&literal->belt[i], scenario->ticks_per_second))
            continue;
        for (uint32_t k = 0; k < loop->lane_count; k++)
            lane_step(&literal->track[loop->first_lane + k]);
    }
    for (uint32_t i = 0; i < scenario->line_count; i++)
        if (!literal_incident_stopped(literal, PART_LINE, i) &&
            belt_steps(&literal->belt[scenario->loop_count + i], scenario->ticks_per_second))
            line_step(literal, &literal->track[scenario->lane_count + i]);
}

/* Cell p, p-1, ... of an item whose head is at `cell`: index of the k-th; NO_INDEX: off a line. */
static uint32_t cell_behind(const struct literal_track *track, uint32_t cell, uint32_t k) {
    if (k <= cell)
        return cell - k;
    return track->ring ? cell + track->cell_count - k : NO_INDEX;
}

bool literal_track_fits(const struct literal *literal, const struct literal_track *track,
                        uint32_t cell, uint32_t item) {
    uint32_t length = item_length(literal, item);
    if (length > track->cell_count)
        return false;
    for (uint32_t k = 0; k < length; k++) {
        uint32_t at = cell_behind(track, cell, k);
        if (at == NO_INDEX || track->cell[at].item != NO_INDEX)
            return false;
    }
    return true;
}

static void track_changed(struct literal *literal, struct literal_track *track, uint32_t item,
                          int64_t change) {
    track->count[item] += change;
    track->held_cells += change * (int64_t)item_length(literal, item);
    track->last_move_tick = literal->last_move_tick = literal->tick;
    literal_store_latch(literal);
}

void literal_track_put(struct literal *literal, struct literal_track *track, uint32_t cell,
                       uint32_t item) {
    require(literal_track_fits(literal, track, cell, item));
    for (uint32_t k = 0; k < item_length(literal, item); k++)
        track->cell[cell_behind(track, cell, k)] = (struct literal_cell){item, k == 0};
    track_changed(literal, track, item, 1);
}

void literal_track_take(struct literal *literal, struct literal_track *track, uint32_t cell) {
    require(track->cell[cell].head);
    uint32_t item = track->cell[cell].item;
    for (uint32_t k = 0; k < item_length(literal, item); k++)
        track->cell[cell_behind(track, cell, k)] = (struct literal_cell){NO_INDEX, false};
    track_changed(literal, track, item, -1);
}
