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
#include <stdint.h>

/* No wake-up outstanding. */
#define AGENDA_NEVER INT64_MAX
#define AGENDA_NOBODY UINT32_MAX

enum { AGENDA_WORD_BITS = 64 };

/* Of an actor, or of a row of a wheel: a row is a ring of entries, in which it stands itself. */
struct agenda_entry {
    int64_t due; /* tick; in the past: it is in no row */
    uint32_t next, prev;
};

struct agenda {
    struct agenda_entry *entry; /* [actor_count], then one for each row, level by level */
    uint64_t *row_used;         /* a bit a row that may have an actor, level by level */
    uint64_t *row_summary;      /* a bit a word of row_used */
    uint64_t *bits[2];          /* actors of this tick; a bit a word of that set, to its end */
    uint32_t actor_count;
    uint32_t middle_count; /* words of bits[1] */
    uint32_t row_bits;     /* the nearest wheel has 1 << row_bits rows */
    uint32_t row_mask;     /* one less */
    uint32_t level_count;
    int64_t now;      /* the tick at work, -1 before the first */
    int64_t position; /* nothing outstanding is due before this tick */
    int64_t near_end; /* what is due before this tick, if anything, is in the nearest wheel */
    uint32_t cursor;  /* the actor at work; AGENDA_NOBODY between ticks */
};

/* An empty agenda before tick 0. `near_ticks`: most wake-ups are less than so many ticks ahead (a
 * matter of speed alone). Owns its memory; agenda_free gives it back. */
void agenda_init(struct agenda *agenda, uint32_t actor_count, int64_t near_ticks);
void agenda_free(struct agenda *agenda);

/* Forgets all wake-ups; `tick` is over. Between ticks only. */
void agenda_empty(struct agenda *agenda, int64_t tick);

/* Wakes `actor` at `tick`, or as soon as its turn comes when that is past, unless it is to be woken
 * before anyway; AGENDA_NEVER wakes no actor. */
void agenda_wake(struct agenda *agenda, uint32_t actor, int64_t tick);

/* True when a wake-up of the actor is outstanding. */
static inline bool agenda_is_scheduled(const struct agenda *agenda, uint32_t actor) {
    return agenda->entry[actor].due > agenda->now;
}

/* Puts an actor that is in no row into one. For agenda_schedule. */
static inline void agenda_schedule_in_row(struct agenda *agenda, uint32_t row, uint32_t actor,
                                          int64_t tick) {
    struct agenda_entry *entry = agenda->entry;
    uint32_t head = agenda->actor_count + row;
    uint32_t next = entry[head].next;
    entry[actor].due = tick;
    entry[actor].next = next;
    entry[next].prev = actor;
    entry[actor].prev = head;
    entry[head].next = actor;
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
    if (tick - agenda->position <= agenda->row_mask)
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

/* Goes on to the next tick in which somebody is due, and makes it `now`. False, and nothing changes
 * but bookkeeping, when there is none up to and including `limit`. */
bool agenda_turn(struct agenda *agenda, int64_t limit);

/* The actors of a tick come in order, word by word of their set, those who are woken meanwhile
 * among them: the first word in which somebody is left; the first after `word`, whose actors have
 * all acted; AGENDA_NOBODY when all have. And the next actor of such a word. */
static inline bool agenda_is_left(const struct agenda *agenda, uint32_t word) {
    return agenda->bits[0][word] != 0;
}

/* For the two below: `left` are the bits that count of the first word of words. */
static inline uint32_t agenda_word_from(struct agenda *agenda, uint32_t middle, uint64_t left) {
    while (left == 0) {
        agenda->bits[1][middle] = 0;
        if (++middle == agenda->middle_count)
            return agenda->cursor = AGENDA_NOBODY;
        left = agenda->bits[1][middle];
    }
    return middle * AGENDA_WORD_BITS + (uint32_t)__builtin_ctzll(left);
}

static inline uint32_t agenda_first_word(struct agenda *agenda) {
    return agenda_word_from(agenda, 0, agenda->bits[1][0]);
}

static inline uint32_t agenda_next_word(struct agenda *agenda, uint32_t word) {
    uint32_t middle = word / AGENDA_WORD_BITS;
    uint64_t after = ~UINT64_C(1) << (word % AGENDA_WORD_BITS);
    return agenda_word_from(agenda, middle, agenda->bits[1][middle] & after);
}

static inline uint32_t agenda_next(struct agenda *agenda, uint32_t word) {
    uint64_t left = agenda->bits[0][word];
    agenda->bits[0][word] = left & (left - 1);
    return agenda->cursor = word * AGENDA_WORD_BITS + (uint32_t)__builtin_ctzll(left);
}
