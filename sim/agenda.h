/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/agenda.h - what is due when, in the one order of time: by tick, and within a tick by actor.
 *
 * Actors are numbered 0 .. actor_count - 1 in the order in which they act within a tick. Each has
 * at most one wake-up outstanding, plus possibly one in the tick at work. An actor that is woken
 * for the tick at work acts in it when its turn is still to come, else in the next tick. Waking
 * somebody in vain is never wrong, only a waste.
 *
 * Wake-ups are kept in timing wheels (G. Varghese, T. Lauck, "Hashed and hierarchical timing
 * wheels", IEEE/ACM Transactions on Networking 5 (1997) 824-834): rows of one tick each for the
 * near future, coarser wheels above, from which rows trickle down as their time comes. The actors
 * of the tick at work are a set of bits with summaries above it, so that they come out in order
 * without sorting. Costs are constant in the number of actors and in the ticks between wake-ups. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* No wake-up outstanding. */
#define AGENDA_NEVER INT64_MAX
#define AGENDA_NOBODY UINT32_MAX

enum { AGENDA_WORD_BITS = 64 };

/* Of an actor, or of a row of a wheel: a row is a ring of entries, in which it stands itself. */
struct agenda_link {
    uint32_t next, prev;
};

/* How the actors of a tick are kept, which depends on how many actors there are: in one word; in
 * words, and a word with a bit for each of these; in words, and words with a bit for each. Who goes
 * through ticks asks once and passes it on as a constant, so that few actors take few steps. */
enum agenda_size { AGENDA_ONE_WORD, AGENDA_ONE_SUMMARY, AGENDA_MANY };

struct agenda {
    struct agenda_link *link; /* [actor_count], then one for each row, level by level */
    int64_t *due;             /* [actor_count] tick; in the past: the actor is in no row */
    uint64_t *row_used;       /* a bit a row that may have an actor, level by level */
    uint64_t *row_summary;    /* a bit a word of row_used */
    uint64_t *bits[2];        /* actors of this tick; a bit a word of that set */
    enum agenda_size size;
    uint32_t actor_count;
    uint32_t middle_count; /* words of bits[1] */
    uint32_t row_bits;     /* the nearest wheel has 1 << row_bits rows */
    uint32_t row_mask;     /* one less */
    uint32_t level_count;
    uint64_t row_reach; /* most ticks ahead for that: not round to the word of rows at hand */
    int64_t now;        /* the tick at work, -1 before the first */
    int64_t position;   /* nothing outstanding is due before this tick, nor up to now */
    int64_t near_end;   /* what is due before this tick, if anything, is in the nearest wheel */
    int64_t limit;      /* the last tick of this stretch; near_end is not beyond its end */
    uint32_t cursor;    /* the actor at work; AGENDA_NOBODY between stretches */
    uint64_t bit[AGENDA_WORD_BITS]; /* 1 << index: found in fewer steps than made */
};

/* An empty agenda before tick 0. `near_ticks`: most wake-ups are less than so many ticks ahead (a
 * matter of speed alone). Owns its memory; agenda_free gives it back. */
void agenda_init(struct agenda *agenda, uint32_t actor_count, int64_t near_ticks);
void agenda_free(struct agenda *agenda);

/* Forgets all wake-ups; `tick` is over. Between stretches only. */
void agenda_empty(struct agenda *agenda, int64_t tick);

/* Wakes `actor` at `tick`, or as soon as its turn comes when that is past, unless it is to be woken
 * before anyway; AGENDA_NEVER wakes no actor. */
void agenda_wake(struct agenda *agenda, uint32_t actor, int64_t tick);

/* True when a wake-up of the actor is outstanding. */
static inline bool agenda_is_scheduled(const struct agenda *agenda, uint32_t actor) {
    return agenda->due[actor] > agenda->now;
}

/* Puts an actor that is in no row into one. For agenda_schedule. */
static inline void agenda_schedule_in_row(struct agenda *agenda, uint32_t row, uint32_t actor,
                                          int64_t tick) {
    struct agenda_link *link = agenda->link;
    uint32_t head = agenda->actor_count + row;
    uint32_t next = link[head].next;
    agenda->due[actor] = tick;
    link[actor].next = next;
    link[next].prev = actor;
    link[actor].prev = head;
    link[head].next = actor;
    if (next != head)
        return;
    uint32_t word = row / AGENDA_WORD_BITS;
    if (agenda->row_used[word] == 0)
        agenda->row_summary[word / AGENDA_WORD_BITS] |= UINT64_C(1) << (word % AGENDA_WORD_BITS);
    agenda->row_used[word] |= UINT64_C(1) << (row % AGENDA_WORD_BITS);
}
void agenda_schedule_far(struct agenda *agenda, uint32_t actor, int64_t tick);

/* Schedules the wake-up of an actor that has none; tick > now. AGENDA_NEVER: leaves it at that. */
static inline void agenda_schedule(struct agenda *agenda, uint32_t actor, int64_t tick) {
    if ((uint64_t)tick - (uint64_t)agenda->now <= agenda->row_reach)
        agenda_schedule_in_row(agenda, (uint32_t)tick & agenda->row_mask, actor, tick);
    else
        agenda_schedule_far(agenda, actor, tick);
}

/* Takes away the wake-up of an actor that has one. */
void agenda_unschedule(struct agenda *agenda, uint32_t actor);

/* Makes `tick`, which is later than the tick at work (AGENDA_NEVER: none), the one outstanding
 * wake-up of `actor`; `tick` may be any. */
static inline void agenda_set_later(struct agenda *agenda, uint32_t actor, int64_t tick) {
    if (agenda_is_scheduled(agenda, actor))
        agenda_unschedule(agenda, actor);
    agenda_schedule(agenda, actor, tick);
}
void agenda_set(struct agenda *agenda, uint32_t actor, int64_t tick);

/* ---- from tick to tick ----
 *
 * A stretch of ticks begins with its last tick and ends when the caller has had enough; in between
 * agenda_turn goes from one tick in which somebody is due to the next. The actors of a tick come in
 * order, word by word of their set, those who are woken meanwhile among them. All of them must be
 * taken before the next turn; from a turn to the first of them nobody is woken. */

void agenda_begin(struct agenda *agenda, int64_t limit);
static inline void agenda_end(struct agenda *agenda) { agenda->cursor = AGENDA_NOBODY; }

/* For agenda_turn: the next tick of this stretch, which is in the word of rows at hand as a rule,
 * or in the one after. AGENDA_NEVER: there is none. */
int64_t agenda_far_tick(struct agenda *agenda);

static inline uint64_t agenda_bit(uint32_t number) {
    return UINT64_C(1) << (number % AGENDA_WORD_BITS);
}

static inline uint64_t *agenda_row_word(const struct agenda *agenda, int64_t tick) {
    return &agenda->row_used[((uint32_t)tick & agenda->row_mask) / AGENDA_WORD_BITS];
}

/* The bits of rows that have been taken stay until the word of rows is left, which takes fewer
 * steps than to clear each: that of the row of `now` is passed over. Before the first tick `now` is
 * -1, whose remainder would be negative, and nothing can be shifted by that. */
static inline int64_t agenda_next_tick(struct agenda *agenda) {
    int64_t tick = agenda->now;
    uint64_t *at_hand = agenda_row_word(agenda, tick);
    uint64_t soon = *at_hand >> ((uint64_t)tick % AGENDA_WORD_BITS) & ~UINT64_C(1);
    if (soon != 0) {
        tick += __builtin_ctzll(soon);
        if (tick < agenda->near_end)
            return tick;
        return agenda_far_tick(agenda);
    }
    tick = (tick | (AGENDA_WORD_BITS - 1)) + 1;
    soon = *agenda_row_word(agenda, tick);
    if (soon == 0 || (tick += __builtin_ctzll(soon)) >= agenda->near_end)
        return agenda_far_tick(agenda);
    *at_hand = 0;
    return tick;
}

/* Empties a row, and gives the first of those who were in it; each one's `next` leads on to the
 * row's own entry. */
static inline uint32_t agenda_take_row(struct agenda *agenda, uint32_t row) {
    uint32_t head = agenda->actor_count + row, first = agenda->link[head].next;
    agenda->link[head].next = head;
    return first;
}

static inline void agenda_clear_row_bit(struct agenda *agenda, uint32_t row) {
    agenda->row_used[row / AGENDA_WORD_BITS] &= ~agenda_bit(row);
}

/* Makes those who were in a row, of whom there is at least `first`, the actors of the tick. */
static inline void agenda_gather(struct agenda *agenda, uint32_t first, enum agenda_size size) {
    const struct agenda_link *link = agenda->link;
    const uint64_t *bit = agenda->bit;
    uint64_t *actors = agenda->bits[0], *words = agenda->bits[1], top = 0;
    size_t actor = first;
    do {
        size_t word = actor / AGENDA_WORD_BITS;
        if (size == AGENDA_ONE_WORD)
            top |= bit[actor];
        else
            actors[word] |= bit[actor % AGENDA_WORD_BITS];
        if (size == AGENDA_ONE_SUMMARY)
            top |= bit[word];
        else if (size == AGENDA_MANY)
            words[word / AGENDA_WORD_BITS] |= bit[word % AGENDA_WORD_BITS];
        actor = link[actor].next;
    } while (actor < agenda->actor_count);
    if (size == AGENDA_ONE_WORD)
        actors[0] = top;
    else if (size == AGENDA_ONE_SUMMARY)
        words[0] = top;
}

/* Goes on to the next tick in which somebody is due, and makes it `now`. False, and nothing changes
 * but bookkeeping, when there is none in this stretch. Where one actor is due alone, as often when
 * there is little to do, and the set is more than a word, it is its turn at once, and the set is
 * empty; else *alone is AGENDA_NOBODY. */
__attribute__((always_inline)) static inline bool
agenda_turn(struct agenda *agenda, enum agenda_size size, uint32_t *alone) {
    for (;;) {
        int64_t tick = agenda_next_tick(agenda);
        if (tick == AGENDA_NEVER)
            return false;
        uint32_t row = (uint32_t)tick & agenda->row_mask;
        uint32_t first = agenda_take_row(agenda, row);
        if (__builtin_expect(first < agenda->actor_count, 1)) {
            agenda->now = tick;
            bool is_alone = agenda->link[first].next >= agenda->actor_count;
            *alone = AGENDA_NOBODY;
            if (size != AGENDA_ONE_WORD && is_alone)
                *alone = agenda->cursor = first;
            else
                agenda_gather(agenda, first, size);
            return true;
        }
        agenda_clear_row_bit(agenda, row); /* all who were in it are due no more */
        agenda->near_end = 0;              /* on from the position */
    }
}

/* Where there is more than one word: the first in which actors are left, of a word `middle` of
 * words, AGENDA_NOBODY when there is none; and, when all actors of that one have been taken, past
 * it. */
static inline uint32_t agenda_word(const struct agenda *agenda, uint32_t middle) {
    uint64_t left = agenda->bits[1][middle];
    return left == 0 ? AGENDA_NOBODY : middle * AGENDA_WORD_BITS + (uint32_t)__builtin_ctzll(left);
}

static inline void agenda_pass_word(struct agenda *agenda, uint32_t middle) {
    agenda->bits[1][middle] &= agenda->bits[1][middle] - 1;
}

/* Takes the next actor of a word of the set, `left`, that is not 0 and whose first actor is
 * `first`: from now on it is its turn. */
static inline uint32_t agenda_take(struct agenda *agenda, uint64_t *left, uint32_t first) {
    uint64_t actors = *left;
    *left = actors & (actors - 1);
    return agenda->cursor = first + (uint32_t)__builtin_ctzll(actors);
}
