/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/agenda.c - keeps these promises:
 *  1. An entry is in exactly one row when its due is still to come, else in none.
 *  2. Nothing is due up to `now`, nor before `position`, which is brought up to `now` only when it
 *     is asked for. Level 0 holds what was near enough when it was scheduled, and all that is due
 *     before near_end; a row there is one tick. A row of a coarser level is as many ticks as the
 *     whole level below it, and holds what is due too late for that.
 *  3. A row's bit is set when the row is not empty, the summary bit of a word when the word is not
 *     empty; both may stay longer, until somebody looks there. In the word of the row of `now`
 *     nobody is due in the rows before it, so that the word can be cleared when time leaves it. At
 *     the last row of the wheel somebody may be, a round later: from there agenda_far_tick goes on,
 *     which leaves the word as it is.
 *  4. In the current tick only bits after the cursor are set. */
#include "sim/agenda.h"

#include <stdlib.h>

#include "sim/require.h"

enum { ROW_BITS_LEAST = 10, ROW_BITS_MOST = 15, WORD_BITS = AGENDA_WORD_BITS };
/* Coarse wheels are for the few who wait long: one word of rows. */
enum { COARSE_BITS = 6, TICK_BITS = 62 };

/* The due of an actor that is not scheduled: before any tick. */
static const int64_t NONE = -1;

static uint32_t words_for(uint32_t bit_count) { return (bit_count + WORD_BITS - 1) / WORD_BITS; }

static uint32_t lowest_bit(uint64_t word) { return (uint32_t)__builtin_ctzll(word); }

static uint32_t row_bits_for(int64_t near_ticks) {
    uint32_t bits = ROW_BITS_LEAST;
    while (bits < ROW_BITS_MOST && (INT64_C(1) << bits) < near_ticks)
        bits++;
    return bits;
}

/* Rows of a level: how many bits of a tick are below it, its first row. */
static uint32_t shift_of(const struct agenda *agenda, uint32_t level) {
    return level == 0 ? 0 : agenda->row_bits + (level - 1) * COARSE_BITS;
}
static uint32_t first_row(const struct agenda *agenda, uint32_t level) {
    return level == 0 ? 0 : (1U << agenda->row_bits) + ((level - 1) << COARSE_BITS);
}

static enum agenda_size size_for(uint32_t actor_count) {
    if (actor_count <= WORD_BITS)
        return AGENDA_ONE_WORD;
    return words_for(actor_count) <= WORD_BITS ? AGENDA_ONE_SUMMARY : AGENDA_MANY;
}

void agenda_init(struct agenda *agenda, uint32_t actor_count, int64_t near_ticks) {
    require(actor_count < AGENDA_NOBODY / 2);
    uint32_t row_bits = row_bits_for(near_ticks);
    uint32_t levels = 1 + (TICK_BITS - row_bits + COARSE_BITS - 1) / COARSE_BITS;
    *agenda = (struct agenda){.size = size_for(actor_count),
                              .actor_count = actor_count,
                              .row_bits = row_bits,
                              .row_mask = (1U << row_bits) - 1,
                              .row_reach = (1U << row_bits) - WORD_BITS,
                              .level_count = levels,
                              .middle_count = words_for(words_for(actor_count)),
                              .now = -1,
                              .cursor = AGENDA_NOBODY};
    for (uint32_t i = 0; i < WORD_BITS; i++)
        agenda->bit[i] = agenda_bit(i);
    uint32_t rows = first_row(agenda, levels);
    agenda->link = require_memory((size_t)actor_count + rows, sizeof *agenda->link);
    agenda->due = require_memory(actor_count, sizeof *agenda->due);
    for (uint32_t i = 0; i < actor_count; i++)
        agenda->due[i] = NONE;
    for (uint32_t i = actor_count; i < actor_count + rows; i++)
        agenda->link[i].next = agenda->link[i].prev = i;
    agenda->row_used = require_memory(words_for(rows), sizeof(uint64_t));
    agenda->row_summary = require_memory(words_for(words_for(rows)), sizeof(uint64_t));
    agenda->bits[0] = require_memory(words_for(actor_count), sizeof(uint64_t));
    agenda->bits[1] = require_memory(agenda->middle_count, sizeof(uint64_t));
}

void agenda_empty(struct agenda *agenda, int64_t tick) {
    require(agenda->cursor == AGENDA_NOBODY);
    for (uint32_t actor = 0; actor < agenda->actor_count; actor++) {
        if (agenda_is_scheduled(agenda, actor))
            agenda_unschedule(agenda, actor);
        agenda->due[actor] = NONE;
    }
    agenda->now = tick;
    agenda->position = tick + 1;
}

void agenda_free(struct agenda *agenda) {
    free(agenda->link);
    free(agenda->due);
    free(agenda->row_used);
    free(agenda->row_summary);
    free(agenda->bits[0]);
    free(agenda->bits[1]);
    *agenda = (struct agenda){0};
}

/* agenda->position is after now. */
static void schedule_in_coarse_row(struct agenda *agenda, uint32_t actor, int64_t due) {
    uint32_t level = 1, shift = shift_of(agenda, 1);
    const int64_t rows = 1 << COARSE_BITS;
    for (; (due >> shift) - (agenda->position >> shift) >= rows; shift += COARSE_BITS)
        level++;
    require(level < agenda->level_count);
    uint32_t row = (uint32_t)((due >> shift) & (rows - 1));
    agenda_schedule_in_row(agenda, first_row(agenda, level) + row, actor, due);
}

/* Passes the rows up to `now`. */
static void bring_position_up(struct agenda *agenda) {
    if (agenda->position > agenda->now)
        return;
    agenda->position = agenda->now + 1;
    *agenda_row_word(agenda, agenda->now) &= ~UINT64_C(1) << (agenda->now % WORD_BITS);
}

/* What is due in the block of rows that the position is in comes into the nearest wheel. */
static void schedule_by_block(struct agenda *agenda, uint32_t actor, int64_t tick) {
    if (tick >> agenda->row_bits == agenda->position >> agenda->row_bits)
        agenda_schedule_in_row(agenda, (uint32_t)tick & agenda->row_mask, actor, tick);
    else
        schedule_in_coarse_row(agenda, actor, tick);
}

void agenda_schedule_far(struct agenda *agenda, uint32_t actor, int64_t tick) {
    if (tick == AGENDA_NEVER)
        return;
    bring_position_up(agenda);
    schedule_by_block(agenda, actor, tick);
}

void agenda_unschedule(struct agenda *agenda, uint32_t actor) {
    struct agenda_link link = agenda->link[actor];
    agenda->due[actor] = NONE;
    agenda->link[link.next].prev = link.prev;
    agenda->link[link.prev].next = link.next;
}

static inline void join_tick(struct agenda *agenda, uint32_t actor) {
    uint32_t word = actor / WORD_BITS;
    agenda->bits[0][word] |= agenda_bit(actor);
    agenda->bits[1][word / WORD_BITS] |= agenda_bit(word);
}

/* False between stretches: nobody comes after nobody. */
static bool turn_to_come(const struct agenda *agenda, uint32_t actor) {
    return actor > agenda->cursor;
}

void agenda_wake(struct agenda *agenda, uint32_t actor, int64_t tick) {
    if (tick <= agenda->now) {
        if (turn_to_come(agenda, actor)) {
            join_tick(agenda, actor);
            return;
        }
        tick = agenda->now + 1;
    }
    if (agenda_is_scheduled(agenda, actor)) {
        if (tick >= agenda->due[actor])
            return;
        agenda_unschedule(agenda, actor);
    }
    agenda_schedule(agenda, actor, tick);
}

void agenda_set(struct agenda *agenda, uint32_t actor, int64_t tick) {
    if (agenda_is_scheduled(agenda, actor))
        agenda_unschedule(agenda, actor);
    agenda_wake(agenda, actor, tick);
}

/* The first word of row_used from `from` on that is not empty, `end` when none before it is. */
static uint32_t next_used(struct agenda *agenda, uint32_t from, uint32_t end) {
    while (from < end) {
        uint64_t *summary = &agenda->row_summary[from / WORD_BITS];
        uint64_t left = *summary & ~UINT64_C(0) << (from % WORD_BITS);
        from -= from % WORD_BITS;
        from += left != 0 ? lowest_bit(left) : WORD_BITS;
        if (left == 0 || from >= end)
            continue;
        if (agenda->row_used[from] != 0)
            return from;
        *summary &= ~agenda_bit(from);
    }
    return end;
}

/* How many rows after `from` (itself included, going round) the first used row of a level is; the
 * number of rows when there is none. */
__attribute__((always_inline)) static inline uint32_t rows_ahead(struct agenda *agenda,
                                                                 uint32_t level, uint32_t from) {
    uint32_t rows = level == 0 ? 1U << agenda->row_bits : 1U << COARSE_BITS;
    uint32_t words = rows / WORD_BITS, first = first_row(agenda, level) / WORD_BITS;
    uint32_t here = first + from / WORD_BITS, word = here;
    uint64_t left = agenda->row_used[here] & ~UINT64_C(0) << (from % WORD_BITS);
    if (left == 0) {
        word = next_used(agenda, here + 1, first + words);
        if (word == first + words && (word = next_used(agenda, first, here + 1)) > here)
            return rows;
        left = agenda->row_used[word];
    }
    return ((word - first) * WORD_BITS + lowest_bit(left) - from) & (rows - 1);
}

/* The start of the first used block of a coarse level, AGENDA_NEVER when it is empty. */
static int64_t block_start(const struct agenda *agenda, uint32_t level) {
    uint32_t shift = shift_of(agenda, level), first = first_row(agenda, level);
    uint64_t used = agenda->row_used[first / WORD_BITS];
    if (used == 0)
        return AGENDA_NEVER;
    int64_t here = agenda->position >> shift;
    uint32_t turn = (uint32_t)here % WORD_BITS;
    uint64_t ahead = used >> turn | used << (WORD_BITS - turn) % WORD_BITS;
    return (here + lowest_bit(ahead)) << shift;
}

static void trickle(struct agenda *agenda, uint32_t level, int64_t start) {
    uint32_t row = (uint32_t)(start >> shift_of(agenda, level)) & ((1U << COARSE_BITS) - 1);
    if (agenda->position < start)
        agenda->position = start;
    row += first_row(agenda, level);
    uint32_t actor = agenda_take_row(agenda, row);
    agenda_clear_row_bit(agenda, row);
    while (actor < agenda->actor_count) {
        uint32_t next = agenda->link[actor].next;
        schedule_by_block(agenda, actor, agenda->due[actor]);
        actor = next;
    }
}

/* Empties the first coarse row that starts at or before `tick`; false when there is none. */
static bool trickle_before(struct agenda *agenda, int64_t tick) {
    int64_t first = AGENDA_NEVER;
    uint32_t first_level = 0;
    for (uint32_t level = agenda->level_count - 1; level > 0; level--) {
        int64_t start = block_start(agenda, level);
        if (start < first) {
            first = start;
            first_level = level;
        }
    }
    if (first == AGENDA_NEVER || first > tick || first > agenda->limit)
        return false;
    trickle(agenda, first_level, first);
    return true;
}

static int64_t near_tick(struct agenda *agenda) {
    uint32_t row = (uint32_t)agenda->position & agenda->row_mask;
    uint64_t soon = agenda->row_used[row / WORD_BITS] >> (row % WORD_BITS);
    if (soon != 0)
        return agenda->position + lowest_bit(soon);
    uint32_t ahead = rows_ahead(agenda, 0, row);
    return ahead > agenda->row_mask ? AGENDA_NEVER : agenda->position + ahead;
}

void agenda_begin(struct agenda *agenda, int64_t limit) {
    require(agenda->cursor == AGENDA_NOBODY);
    agenda->limit = limit;
    agenda->near_end = 0; /* it may be beyond the limit, or beyond a row that has become empty */
}

static int64_t near_end_after(const struct agenda *agenda, int64_t tick) {
    int64_t end = ((tick >> agenda->row_bits) + 1) << agenda->row_bits;
    return agenda->limit < end ? agenda->limit + 1 : end;
}

/* The first tick in which the nearest wheel shows somebody, from `tick` on, up to which it shows
 * nobody; coarse wheels are emptied into it as far as need be. */
static __attribute__((noinline)) int64_t tick_after_near_end(struct agenda *agenda, int64_t tick) {
    do {
        if (trickle_before(agenda, tick)) {
            tick = near_tick(agenda);
            continue;
        }
        if (tick > agenda->limit || tick == AGENDA_NEVER)
            return AGENDA_NEVER;
        agenda->near_end = near_end_after(agenda, tick);
    } while (tick >= agenda->near_end);
    return tick;
}

int64_t agenda_far_tick(struct agenda *agenda) {
    bring_position_up(agenda);
    int64_t tick = near_tick(agenda);
    return tick < agenda->near_end ? tick : tick_after_near_end(agenda, tick);
}
