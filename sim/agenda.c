/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/agenda.c - keeps these promises:
 *  1. An entry hangs in exactly one row when its due is not AGENDA_NEVER, else in none.
 *  2. Level 0 holds what is due in [position, position + rows); a row there is one tick. A row of
 *     level l is a block of rows^l ticks, and holds what is due too late for the levels below.
 *  3. A row's bit is set exactly when the row is not empty; likewise for each summary.
 *  4. In the tick at work only bits behind the cursor are set. */
#include "sim/agenda.h"

#include <stdlib.h>

#include "sim/require.h"

enum { ROW_BITS_LEAST = 10, ROW_BITS_MOST = 13, TICK_BITS = 56, WORD_BITS = 64 };

/* In `prev` of the first entry of a row: this bit, and the row's number. */
#define FIRST_OF_ROW (UINT32_C(1) << 31)

static uint32_t words_for(uint32_t bit_count) { return (bit_count + WORD_BITS - 1) / WORD_BITS; }

static uint32_t lowest_bit(uint64_t word) { return (uint32_t)__builtin_ctzll(word); }

static uint32_t row_bits_for(int64_t near_ticks) {
    uint32_t bits = ROW_BITS_LEAST;
    while (bits < ROW_BITS_MOST && (INT64_C(1) << bits) < near_ticks)
        bits++;
    return bits;
}

void agenda_init(struct agenda *agenda, uint32_t actor_count, int64_t near_ticks) {
    require(actor_count < FIRST_OF_ROW);
    uint32_t row_bits = row_bits_for(near_ticks);
    uint32_t levels = (TICK_BITS + row_bits - 1) / row_bits;
    uint32_t rows = levels << row_bits;
    *agenda = (struct agenda){.actor_count = actor_count, .row_bits = row_bits, .row_mask = (1U << row_bits) - 1,
                              .level_count = levels, .now = -1, .block = -1, .cursor = AGENDA_NOBODY};
    agenda->entry = require_memory(actor_count, sizeof *agenda->entry);
    for (uint32_t i = 0; i < actor_count; i++)
        agenda->entry[i].due = AGENDA_NEVER;
    agenda->row = require_memory(rows, sizeof *agenda->row);
    for (uint32_t i = 0; i < rows; i++)
        agenda->row[i] = AGENDA_NOBODY;
    agenda->row_used = require_memory(words_for(rows), sizeof(uint64_t));
    agenda->row_summary = require_memory((size_t)levels * words_for(words_for(1U << row_bits)),
                                         sizeof(uint64_t));
    uint32_t bits = actor_count;
    for (int i = 0; i < 3; i++) {
        bits = words_for(bits);
        agenda->bits[i] = require_memory(bits, sizeof(uint64_t));
    }
}

void agenda_free(struct agenda *agenda) {
    free(agenda->entry);
    free(agenda->row);
    free(agenda->row_used);
    free(agenda->row_summary);
    for (int i = 0; i < 3; i++)
        free(agenda->bits[i]);
    *agenda = (struct agenda){0};
}

/* Words of row_used, and of row_summary, before those of a level. */
static uint32_t used_before(const struct agenda *agenda, uint32_t level) {
    return level << (agenda->row_bits - 6);
}

static uint32_t summary_words(const struct agenda *agenda) {
    return agenda->row_bits > 12 ? 2 : 1;
}

static void row_mark(struct agenda *agenda, uint32_t level, uint32_t row) {
    uint32_t word = row / WORD_BITS;
    agenda->row_used[used_before(agenda, level) + word] |= UINT64_C(1) << (row % WORD_BITS);
    agenda->row_summary[level * summary_words(agenda) + word / WORD_BITS] |=
        UINT64_C(1) << (word % WORD_BITS);
}

static void row_unmark(struct agenda *agenda, uint32_t level, uint32_t row) {
    uint32_t word = row / WORD_BITS;
    uint64_t *used = &agenda->row_used[used_before(agenda, level) + word];
    *used &= ~(UINT64_C(1) << (row % WORD_BITS));
    if (*used == 0)
        agenda->row_summary[level * summary_words(agenda) + word / WORD_BITS] &=
            ~(UINT64_C(1) << (word % WORD_BITS));
}

/* Puts an actor at the front of row number `row` among all; true when the row was empty. */
static bool link_first(struct agenda *agenda, uint32_t row, uint32_t actor, int64_t due) {
    uint32_t next = agenda->row[row];
    agenda->entry[actor] = (struct agenda_entry){.due = due, .next = next, .prev = FIRST_OF_ROW | row};
    agenda->row[row] = actor;
    if (next == AGENDA_NOBODY)
        return true;
    agenda->entry[next].prev = actor;
    return false;
}

static void hang_far(struct agenda *agenda, uint32_t actor, int64_t due) {
    uint32_t bits = agenda->row_bits, level = 1;
    int64_t rows = INT64_C(1) << bits;
    while ((due >> (level * bits)) - (agenda->position >> (level * bits)) >= rows)
        level++;
    require(level < agenda->level_count);
    uint32_t row = (uint32_t)((due >> (level * bits)) & (rows - 1));
    if (link_first(agenda, level << bits | row, actor, due))
        row_mark(agenda, level, row);
}

void agenda_hang(struct agenda *agenda, uint32_t actor, int64_t due) {
    if (due - agenda->position > agenda->row_mask) {
        hang_far(agenda, actor, due);
        return;
    }
    uint32_t row = (uint32_t)due & agenda->row_mask;
    if (!link_first(agenda, row, actor, due))
        return;
    uint32_t word = row / WORD_BITS;
    agenda->row_used[word] |= UINT64_C(1) << (row % WORD_BITS);
    agenda->row_summary[word / WORD_BITS] |= UINT64_C(1) << (word % WORD_BITS);
}

static void unhang(struct agenda *agenda, uint32_t actor) {
    struct agenda_entry *entry = &agenda->entry[actor];
    entry->due = AGENDA_NEVER;
    if (entry->next != AGENDA_NOBODY)
        agenda->entry[entry->next].prev = entry->prev;
    if ((entry->prev & FIRST_OF_ROW) == 0) {
        agenda->entry[entry->prev].next = entry->next;
        return;
    }
    uint32_t row = entry->prev & ~FIRST_OF_ROW;
    agenda->row[row] = entry->next;
    if (entry->next == AGENDA_NOBODY)
        row_unmark(agenda, row >> agenda->row_bits, row & agenda->row_mask);
}

static inline void join_tick(struct agenda *agenda, uint32_t actor) {
    uint32_t word = actor / WORD_BITS, middle = word / WORD_BITS;
    uint64_t before = agenda->bits[0][word];
    agenda->bits[0][word] = before | UINT64_C(1) << (actor % WORD_BITS);
    if (before != 0)
        return;
    agenda->bits[1][middle] |= UINT64_C(1) << (word % WORD_BITS);
    agenda->bits[2][middle / WORD_BITS] |= UINT64_C(1) << (middle % WORD_BITS);
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
    if (tick >= agenda->entry[actor].due)
        return;
    if (agenda->entry[actor].due != AGENDA_NEVER)
        unhang(agenda, actor);
    agenda_hang(agenda, actor, tick);
}

void agenda_move(struct agenda *agenda, uint32_t actor, int64_t tick) {
    if (agenda->entry[actor].due == tick)
        return;
    if (agenda->entry[actor].due != AGENDA_NEVER)
        unhang(agenda, actor);
    if (tick != AGENDA_NEVER)
        agenda_wake(agenda, actor, tick);
}

/* How many rows after `from` (itself included, going round) the first used row of a level is; the
 * number of rows when there is none. */
static uint32_t rows_ahead(const struct agenda *agenda, uint32_t level, uint32_t from) {
    uint32_t rows = 1U << agenda->row_bits;
    const uint64_t *used = agenda->row_used + used_before(agenda, level);
    const uint64_t *summary = agenda->row_summary + (size_t)level * summary_words(agenda);
    uint32_t word = from / WORD_BITS;
    uint64_t here = used[word] >> (from % WORD_BITS);
    if (here != 0)
        return lowest_bit(here);
    for (uint32_t round = 0; round < 2; round++) { /* behind `from`, then from the start */
        uint32_t start = round == 0 ? word + 1 : 0;
        for (uint32_t s = start / WORD_BITS; s < summary_words(agenda); s++) {
            uint64_t left = summary[s];
            if (s == start / WORD_BITS)
                left &= ~UINT64_C(0) << (start % WORD_BITS);
            if (left == 0)
                continue;
            uint32_t found = s * WORD_BITS + lowest_bit(left);
            uint32_t row = found * WORD_BITS + lowest_bit(used[found]);
            return (row - from) & (rows - 1);
        }
    }
    return rows;
}

/* The start of the first used block of a coarse level, AGENDA_NEVER when it is empty. */
static int64_t block_start(const struct agenda *agenda, uint32_t level) {
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
    uint32_t *first = &agenda->row[(level << agenda->row_bits) + row];
    uint32_t actor = *first;
    *first = AGENDA_NOBODY;
    row_unmark(agenda, level, row);
    while (actor != AGENDA_NOBODY) {
        uint32_t next = agenda->entry[actor].next;
        agenda_hang(agenda, actor, agenda->entry[actor].due);
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

static int64_t near_tick(const struct agenda *agenda) {
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
    agenda->row[row] = AGENDA_NOBODY;
    row_unmark(agenda, 0, row);
    for (; actor != AGENDA_NOBODY; actor = agenda->entry[actor].next) {
        agenda->entry[actor].due = AGENDA_NEVER;
        join_tick(agenda, actor);
    }
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

/* The first word of this tick's actors, from the cursor's on, that is not empty; false: none. */
static bool next_word(const struct agenda *agenda, uint32_t *word) {
    *word = agenda->cursor / WORD_BITS;
    if (agenda->bits[0][*word] != 0)
        return true;
    uint32_t middle = *word / WORD_BITS;
    if (agenda->bits[1][middle] == 0) {
        uint32_t tops = words_for(words_for(words_for(agenda->actor_count)));
        uint32_t top = middle / WORD_BITS;
        while (top < tops && agenda->bits[2][top] == 0)
            top++;
        if (top == tops)
            return false;
        middle = top * WORD_BITS + lowest_bit(agenda->bits[2][top]);
    }
    *word = middle * WORD_BITS + lowest_bit(agenda->bits[1][middle]);
    return true;
}

uint32_t agenda_next(struct agenda *agenda) {
    uint32_t word;
    if (!next_word(agenda, &word))
        return agenda->cursor = AGENDA_NOBODY;
    uint32_t actor = word * WORD_BITS + lowest_bit(agenda->bits[0][word]);
    if ((agenda->bits[0][word] &= agenda->bits[0][word] - 1) == 0) {
        uint32_t middle = word / WORD_BITS;
        if ((agenda->bits[1][middle] &= agenda->bits[1][middle] - 1) == 0)
            agenda->bits[2][middle / WORD_BITS] &= agenda->bits[2][middle / WORD_BITS] - 1;
    }
    return agenda->cursor = actor;
}
