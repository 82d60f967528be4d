/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/agenda.c - keeps these promises:
 *  1. An entry is in exactly one row when its due is still to come, else in none.
 *  2. Level 0 holds what is due in [position, position + rows); a row there is one tick. A row of
 *     level l is a block of rows^l ticks, and holds what is due too late for the levels below.
 *  3. A row's bit is set exactly when the row is not empty.
 *  4. In the current tick only bits after the cursor are set.
 * 5. The summary bit of a word is set when the word is not empty; it may stay longer, until
 *    somebody
 *     looks there. */
#include "sim/agenda.h"

#include <stdlib.h>

#include "sim/require.h"

enum { ROW_BITS_LEAST = 10, ROW_BITS_MOST = 13, TICK_BITS = 56, WORD_BITS = AGENDA_WORD_BITS };

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

void agenda_init(struct agenda *agenda, uint32_t actor_count, int64_t near_ticks) {
    require(actor_count < AGENDA_FIRST_OF_ROW);
    uint32_t row_bits = row_bits_for(near_ticks);
    uint32_t levels = (TICK_BITS + row_bits - 1) / row_bits;
    uint32_t rows = levels << row_bits;
    *agenda = (struct agenda){.actor_count = actor_count,
                              .row_bits = row_bits,
                              .row_mask = (1U << row_bits) - 1,
                              .level_count = levels,
                              .middle_count = words_for(words_for(actor_count)),
                              .now = -1,
                              .block = -1,
                              .cursor = AGENDA_NOBODY};
    agenda->entry = require_memory(actor_count, sizeof *agenda->entry);
    for (uint32_t i = 0; i < actor_count; i++)
        agenda->entry[i].due = NONE;
    agenda->row = require_memory(rows, sizeof *agenda->row);
    for (uint32_t i = 0; i < rows; i++)
        agenda->row[i] = AGENDA_NOBODY;
    agenda->row_used = require_memory(words_for(rows), sizeof(uint64_t));
    agenda->row_summary = require_memory(words_for(words_for(rows)), sizeof(uint64_t));
    agenda->bits[0] = require_memory(words_for(actor_count), sizeof(uint64_t));
    agenda->bits[1] = require_memory(agenda->middle_count, sizeof(uint64_t));
}

void agenda_empty(struct agenda *agenda, int64_t tick) {
    require(agenda->cursor == AGENDA_NOBODY);
    for (uint32_t actor = 0; actor < agenda->actor_count; actor++) {
        agenda_move(agenda, actor, AGENDA_NEVER);
        agenda->entry[actor].due = NONE;
    }
    agenda->now = tick;
    agenda->position = tick + 1;
    agenda->block = -1;
}

void agenda_free(struct agenda *agenda) {
    free(agenda->entry);
    free(agenda->row);
    free(agenda->row_used);
    free(agenda->row_summary);
    free(agenda->bits[0]);
    free(agenda->bits[1]);
    *agenda = (struct agenda){0};
}

static uint64_t bit_of(uint32_t number) { return UINT64_C(1) << (number % WORD_BITS); }

static void empty_row(struct agenda *agenda, uint32_t row) {
    agenda->row[row] = AGENDA_NOBODY;
    agenda->row_used[row / WORD_BITS] &= ~bit_of(row);
}

void agenda_schedule_far(struct agenda *agenda, uint32_t actor, int64_t due) {
    uint32_t bits = agenda->row_bits, level = 1;
    int64_t rows = INT64_C(1) << bits;
    while ((due >> (level * bits)) - (agenda->position >> (level * bits)) >= rows)
        level++;
    require(level < agenda->level_count);
    uint32_t row = (uint32_t)((due >> (level * bits)) & (rows - 1));
    agenda_schedule_in_row(agenda, level << bits | row, actor, due);
}

static void unschedule(struct agenda *agenda, uint32_t actor) {
    struct agenda_entry *entry = &agenda->entry[actor];
    entry->due = NONE;
    if (entry->next != AGENDA_NOBODY)
        agenda->entry[entry->next].prev = entry->prev;
    if ((entry->prev & AGENDA_FIRST_OF_ROW) == 0) {
        agenda->entry[entry->prev].next = entry->next;
        return;
    }
    uint32_t row = entry->prev & ~AGENDA_FIRST_OF_ROW;
    if (entry->next == AGENDA_NOBODY)
        empty_row(agenda, row);
    else
        agenda->row[row] = entry->next;
}

static inline void join_tick(struct agenda *agenda, uint32_t actor) {
    uint32_t word = actor / WORD_BITS;
    agenda->bits[0][word] |= bit_of(actor);
    agenda->bits[1][word / WORD_BITS] |= bit_of(word);
}

static bool turn_to_come(const struct agenda *agenda, uint32_t actor) {
    return agenda->cursor != AGENDA_NOBODY && actor > agenda->cursor;
}

void agenda_wake(struct agenda *agenda, uint32_t actor, int64_t tick) {
    if (tick <= agenda->now) {
        if (turn_to_come(agenda, actor)) {
            join_tick(agenda, actor);
            return;
        }
        tick = agenda->now + 1;
    }
    if (tick == AGENDA_NEVER)
        return;
    if (agenda_is_scheduled(agenda, actor)) {
        if (tick >= agenda->entry[actor].due)
            return;
        unschedule(agenda, actor);
    }
    agenda_schedule(agenda, actor, tick);
}

void agenda_move(struct agenda *agenda, uint32_t actor, int64_t tick) {
    if (agenda_is_scheduled(agenda, actor))
        unschedule(agenda, actor);
    if (tick != AGENDA_NEVER)
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
        *summary &= ~bit_of(from);
    }
    return end;
}

/* How many rows after `from` (itself included, going round) the first used row of a level is; the
 * number of rows when there is none. */
static uint32_t rows_ahead(struct agenda *agenda, uint32_t level, uint32_t from) {
    uint32_t rows = 1U << agenda->row_bits, words = rows / WORD_BITS;
    uint32_t first = level * words, here = first + from / WORD_BITS, word = here;
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
static int64_t block_start(struct agenda *agenda, uint32_t level) {
    uint32_t shift = level * agenda->row_bits;
    uint32_t rows = 1U << agenda->row_bits;
    int64_t here = agenda->position >> shift;
    uint32_t ahead = rows_ahead(agenda, level, (uint32_t)here & (rows - 1));
    return ahead == rows ? AGENDA_NEVER : (here + ahead) << shift;
}

static void trickle(struct agenda *agenda, uint32_t level, int64_t start) {
    uint32_t rows = 1U << agenda->row_bits;
    uint32_t row = (uint32_t)(start >> (level * agenda->row_bits)) & (rows - 1);
    if (agenda->position < start)
        agenda->position = start;
    row += level << agenda->row_bits;
    uint32_t actor = agenda->row[row];
    empty_row(agenda, row);
    while (actor != AGENDA_NOBODY) {
        uint32_t next = agenda->entry[actor].next;
        agenda_schedule(agenda, actor, agenda->entry[actor].due);
        actor = next;
    }
}

/* Empties the first coarse row that starts at or before `tick`; false when there is none. */
static bool trickle_before(struct agenda *agenda, int64_t tick, int64_t limit) {
    int64_t first = AGENDA_NEVER;
    uint32_t first_level = 0;
    for (uint32_t level = agenda->level_count - 1; level > 0; level--) {
        int64_t start = block_start(agenda, level);
        if (start < first) {
            first = start;
            first_level = level;
        }
    }
    if (first == AGENDA_NEVER || first > tick || first > limit)
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

static inline void gather(struct agenda *agenda, int64_t tick) {
    uint32_t row = (uint32_t)tick & agenda->row_mask;
    uint32_t actor = agenda->row[row];
    empty_row(agenda, row);
    for (; actor != AGENDA_NOBODY; actor = agenda->entry[actor].next)
        join_tick(agenda, actor);
}

bool agenda_turn(struct agenda *agenda, int64_t limit) {
    require(agenda->cursor == AGENDA_NOBODY);
    int64_t tick = near_tick(agenda);
    while (tick >> agenda->row_bits != agenda->block) {
        if (trickle_before(agenda, tick, limit)) {
            tick = near_tick(agenda);
            continue;
        }
        if (tick > limit)
            return false;
        agenda->block = tick >> agenda->row_bits;
    }
    if (tick > limit)
        return false;
    gather(agenda, tick);
    agenda->now = tick;
    agenda->position = tick + 1;
    agenda->cursor = 0;
    return true;
}

/* The first word of this tick's actors after `word` that is not empty; AGENDA_NOBODY: none is. */
static uint32_t word_behind(struct agenda *agenda, uint32_t word) {
    uint32_t middle = word / WORD_BITS;
    agenda->bits[1][middle] &= ~bit_of(word);
    while (agenda->bits[1][middle] == 0)
        if (++middle == agenda->middle_count)
            return AGENDA_NOBODY;
    return middle * WORD_BITS + lowest_bit(agenda->bits[1][middle]);
}

uint32_t agenda_next(struct agenda *agenda) {
    uint32_t word = agenda->cursor / WORD_BITS;
    while (agenda->bits[0][word] == 0) {
        word = word_behind(agenda, word);
        if (word == AGENDA_NOBODY)
            return agenda->cursor = AGENDA_NOBODY;
    }
    uint64_t left = agenda->bits[0][word];
    agenda->bits[0][word] = left & (left - 1);
    return agenda->cursor = word * WORD_BITS + lowest_bit(left);
}
