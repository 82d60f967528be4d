/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/lane.h - one lane of a loop as bits that turn.
 *
 * The belt is rigid, so nothing in a lane ever moves. A slot is a place on the belt; the slot at
 * cell p after s steps is (s - p) mod N. The slot that comes to a cell next is the one after, so
 * looking upstream from an arm is looking up from its slot. An item with its head in slot q holds
 * the slots q, q+1, ... q+length-1 (its tail comes by later).
 *
 * Kinds are spread over LANE_CLASSES classes; a bit set for each class says where heads of its
 * kinds are, and one more which slots are held. A window of LANE_WINDOW slots goes round the end of
 * the lane. The exact kind is stored for each slot. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

enum { LANE_CLASSES = 8, LANE_SETS = LANE_CLASSES + 1, LANE_WINDOW = 64 };
#define LANE_EMPTY UINT32_MAX

struct lane {
    uint64_t *bits; /* [word][LANE_SETS]: heads of each class, then held slots */
    uint32_t *kind; /* [slot_count] of the item whose head is there, LANE_EMPTY */
    uint32_t slot_count;
    uint32_t word_count;
};

void lane_init(struct lane *lane, uint32_t cell_count);
void lane_free(struct lane *lane);

/* The slot at `cell` after `steps` steps. */
uint32_t lane_slot(const struct lane *lane, int64_t steps, uint32_t cell);

/* True when `length` slots from `slot` on are free; 1 <= length <= slot_count. */
bool lane_is_free(const struct lane *lane, uint32_t slot, uint32_t length);

/* Puts an item of kind `kind` with its head in `slot`; the slots must be free. */
void lane_put(struct lane *lane, uint32_t slot, uint32_t length, uint32_t kind);

/* Takes the item whose head is in `slot`; it must be there, and `length` long. */
void lane_take(struct lane *lane, uint32_t slot, uint32_t length);

/* Which of the LANE_WINDOW slots from `slot` on have heads of the classes in `classes` (a bit
 * each): bit i is slot + i. */
uint64_t lane_heads(const struct lane *lane, uint32_t slot, uint32_t classes);

/* How many steps until `length` free slots stand with their first at this place, looking from
 * `slot` (0: they do now), as far as it looks; else the number of places that it looked at, at
 * least 1. */
uint32_t lane_steps_to_room(const struct lane *lane, uint32_t slot, uint32_t length);

/* Stops the program when the bits contradict each other. */
void lane_audit(const struct lane *lane);
