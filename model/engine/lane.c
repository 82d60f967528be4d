/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/lane.c - keeps these promises:
 *  1. No set has a bit from slot_count on.
 *  2. kind[q] is not LANE_EMPTY exactly where the head set of its class has bit q.
 *  3. The held set has exactly the bits of the items whose heads there are. */
#include "model/engine/lane.h"

#include <stdlib.h>

#include "sim/require.h"

__extension__ typedef unsigned __int128 two_words;

enum { WORD_BITS = 64, HELD = LANE_CLASSES };

void lane_init(struct lane *lane, uint32_t cell_count) {
    require(cell_count > 0);
    uint32_t words = (cell_count + WORD_BITS - 1) / WORD_BITS + 1; /* a window reads two */
    *lane = (struct lane){.slot_count = cell_count, .word_count = words};
    lane->bits = require_memory((size_t)words * LANE_SETS, sizeof *lane->bits);
    lane->kind = require_memory(cell_count, sizeof *lane->kind);
    for (uint32_t i = 0; i < cell_count; i++)
        lane->kind[i] = LANE_EMPTY;
}

void lane_free(struct lane *lane) {
    free(lane->bits);
    free(lane->kind);
    *lane = (struct lane){0};
}

uint32_t lane_slot(const struct lane *lane, int64_t steps, uint32_t cell) {
    uint32_t turned = (uint32_t)(steps % lane->slot_count);
    return turned >= cell ? turned - cell : turned + lane->slot_count - cell;
}

/* The words of all sets in which the bit of a slot is; those with the next one follow. */
static inline const uint64_t *words_at(const struct lane *lane, uint32_t slot) {
    return lane->bits + (size_t)(slot / WORD_BITS) * LANE_SETS;
}

/* LANE_WINDOW bits from that of a slot on: one instruction on many machines. */
static inline uint64_t bits_from(uint64_t word, uint64_t next, uint32_t slot) {
    return (uint64_t)(((two_words)next << WORD_BITS | word) >> (slot % WORD_BITS));
}

/* Whether the window from a slot on goes round the end of the lane. */
static inline bool goes_round(const struct lane *lane, uint32_t slot) {
    return lane->slot_count - slot < LANE_WINDOW;
}

/* What of such a window comes after the end: from the start on, once more if the lane is short. */
static uint64_t window_after_end(const struct lane *lane, uint32_t set, uint32_t slot) {
    uint64_t found = 0;
    for (uint32_t count = lane->slot_count - slot; count < LANE_WINDOW; count += lane->slot_count)
        found |= lane->bits[set] << count;
    return found;
}

static inline uint64_t held_window(const struct lane *lane, uint32_t slot) {
    const uint64_t *word = words_at(lane, slot) + HELD;
    uint64_t found = bits_from(word[0], word[LANE_SETS], slot);
    return goes_round(lane, slot) ? found | window_after_end(lane, HELD, slot) : found;
}

static bool has_bit(const struct lane *lane, uint32_t set, uint32_t bit) {
    return words_at(lane, bit)[set] >> (bit % WORD_BITS) & 1;
}

static uint32_t slot_after(const struct lane *lane, uint32_t slot, uint32_t count) {
    uint32_t after = slot + count;
    return after >= lane->slot_count ? after - lane->slot_count : after;
}

/* Free slots from `slot` on, counted up to `most` (<= slot_count). */
static uint32_t free_run(const struct lane *lane, uint32_t slot, uint32_t most) {
    uint32_t run = 0;
    while (run < most) {
        uint64_t held = held_window(lane, slot_after(lane, slot, run));
        if (held != 0) {
            run += (uint32_t)__builtin_ctzll(held);
            break;
        }
        run += WORD_BITS;
    }
    return run < most ? run : most;
}

bool lane_is_free(const struct lane *lane, uint32_t slot, uint32_t length) {
    if (length == 1)
        return !has_bit(lane, HELD, slot);
    return free_run(lane, slot, length) == length;
}

static inline void flip(struct lane *lane, uint32_t set, uint32_t slot) {
    lane->bits[(size_t)(slot / WORD_BITS) * LANE_SETS + set] ^= UINT64_C(1) << (slot % WORD_BITS);
}

static inline void flip_item(struct lane *lane, uint32_t slot, uint32_t length, uint32_t kind) {
    flip(lane, kind % LANE_CLASSES, slot);
    flip(lane, HELD, slot);
    for (uint32_t i = 1; i < length; i++)
        flip(lane, HELD, slot_after(lane, slot, i));
}

void lane_put(struct lane *lane, uint32_t slot, uint32_t length, uint32_t kind) {
    require(lane->kind[slot] == LANE_EMPTY);
    lane->kind[slot] = kind;
    flip_item(lane, slot, length, kind);
}

void lane_take(struct lane *lane, uint32_t slot, uint32_t length) {
    require(lane->kind[slot] != LANE_EMPTY);
    flip_item(lane, slot, length, lane->kind[slot]);
    lane->kind[slot] = LANE_EMPTY;
}

uint64_t lane_heads(const struct lane *lane, uint32_t slot, uint32_t classes) {
    const uint64_t *word = words_at(lane, slot);
    uint64_t first = 0, next = 0, found;
    for (uint32_t left = classes; left != 0; left &= left - 1) {
        first |= word[__builtin_ctz(left)];
        next |= word[LANE_SETS + __builtin_ctz(left)];
    }
    found = bits_from(first, next, slot);
    for (uint32_t left = goes_round(lane, slot) ? classes : 0; left != 0; left &= left - 1)
        found |= window_after_end(lane, (uint32_t)__builtin_ctz(left), slot);
    return found;
}

/* Bit i of the answer: the `length` bits of `open` from i on are all set. */
static uint64_t runs_of(uint64_t open, uint32_t length) {
    for (uint32_t have = 1; have < length;) {
        uint32_t more = have < length - have ? have : length - have;
        open &= open >> more;
        have += more;
    }
    return open;
}

static uint32_t steps_to_long_room(const struct lane *lane, uint32_t slot, uint32_t length) {
    uint32_t steps = 0;
    while (steps < lane->slot_count) {
        uint32_t run = free_run(lane, slot_after(lane, slot, steps), length);
        if (run == length)
            return steps;
        steps += run + 1;
    }
    return lane->slot_count;
}

uint32_t lane_steps_to_room(const struct lane *lane, uint32_t slot, uint32_t length) {
    if (length > WORD_BITS / 2)
        return steps_to_long_room(lane, slot, length);
    uint64_t room = runs_of(~held_window(lane, slot), length);
    uint32_t looked = LANE_WINDOW - length + 1;
    return room != 0 ? (uint32_t)__builtin_ctzll(room) : looked;
}

void lane_audit(const struct lane *lane) {
    for (uint32_t slot = 0; slot < lane->slot_count; slot++) {
        uint32_t kind = lane->kind[slot];
        for (uint32_t class = 0; class < LANE_CLASSES; class ++)
            require(has_bit(lane, class, slot) ==
                    (kind != LANE_EMPTY && kind % LANE_CLASSES == class));
        require(kind == LANE_EMPTY || has_bit(lane, HELD, slot));
    }
    for (uint32_t slot = lane->slot_count; slot < lane->word_count * WORD_BITS; slot++)
        for (uint32_t set = 0; set < LANE_SETS; set++)
            require(!has_bit(lane, set, slot));
}
