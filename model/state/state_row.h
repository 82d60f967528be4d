/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_row.h - what a part of a world is as rows of fields: the types with which the
 * files model/state/state_*.c describe their parts, and what they have in common. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "model/engine/parts.h"

/* How a field is stored, and what it may be. */
enum state_kind {
    STATE_FLAG,   /* bool */
    STATE_BYTE,   /* uint8_t */
    STATE_WORD,   /* uint32_t; an index, NO_INDEX */
    STATE_PAST,   /* int64_t: a tick or step up to the last one executed, or NOT_GIVEN */
    STATE_DUE,    /* int64_t: a tick; AGENDA_NEVER */
    STATE_SPAN,   /* int64_t: ticks of a duration */
    STATE_AMOUNT, /* int64_t: a count or total */
    STATE_VALUE,  /* int64_t: a threshold or capacity; NOT_GIVEN, NO_LIMIT */
    STATE_KEY,    /* 64 bits: anything; only compared */
    STATE_WIDE    /* wide_count */
};

struct state_field {
    const char *name;
    enum state_kind kind;
    size_t offset; /* in the row */
};

/* Greater ticks and amounts come in no run; up to these nothing overflows. */
#define STATE_TICK_MOST (INT64_C(1) << 55)
#define STATE_AMOUNT_MOST (INT64_C(1) << 60)

/* Most bytes of a row in memory. */
enum { STATE_ROW_BYTES = 256 };

/* The position of a walk through the rows of one owner; all 0 before the first. */
struct state_cursor {
    uint32_t index;
    int64_t cell;
};

/* A world that is being filled: made from its scenario, still before its first tick. */
struct state_filling {
    struct world *world;
    int64_t tick;    /* the last one executed, from the first row on */
    bool other_seed; /* draw streams stay as they are made */
    uint32_t hint;   /* where a part that is looked up by name was found last, plus one */
    uint8_t *gate;   /* [gate_count] 0: nothing is known of it, 1: it was shut, 2: it was open */
};

struct state_part {
    const char *name;
    const char *rows_name; /* NULL: an owner has one row, called as the part */
    bool keyed;            /* rows name their owner: another number of owners is no fault */
    uint32_t (*owners)(const struct world *world);
    uint32_t (*rows)(const struct world *world, uint32_t owner); /* NULL: one */
    /* Fills all fields of the next row of an owner. */
    void (*get)(const struct world *world, uint32_t owner, struct state_cursor *cursor, void *row);
    /* Puts a row back, whose fields are within what their kinds say. False: it cannot be. */
    bool (*put)(struct state_filling *filling, uint32_t owner, const void *row);
    const struct state_field *field;
    uint32_t field_count;
};

/* Parts whose rows stand in one file. */
struct state_group {
    const struct state_part *part;
    uint32_t count;
};

#define FIELD(row, kind, member)                                                                   \
    { #member, kind, offsetof(row, member) }
/* The same of a struct within the row, called by its own name alone. */
#define FIELD_OF(row, part, kind, member)                                                          \
    { #member, kind, offsetof(row, part.member) }
#define FIELDS(list) .field = list, .field_count = sizeof list / sizeof *list
#define GROUP(list)                                                                                \
    { list, sizeof list / sizeof *list }

/* The last tick executed, as steps and durations count: before tick 0 nothing has passed. */
static inline int64_t state_passed(const struct world *world) {
    return world->progress.tick > 0 ? world->progress.tick : 0;
}

/* The state of a draw stream, saved with its owner. */
struct stream_words {
    bool random; /* it draws at all */
    uint32_t first, second, third;
};

#define STREAM_FIELDS(row, member)                                                                 \
    FIELD(row, STATE_FLAG, member.random), FIELD(row, STATE_WORD, member.first),                   \
        FIELD(row, STATE_WORD, member.second), FIELD(row, STATE_WORD, member.third)

/* The words of a stream of world.random; NO_INDEX: there is none. */
struct stream_words state_words_of(const struct world *world, uint32_t chance);

/* Lets a stream go on where it was, if it was there and is there. False: no stream comes to there.
 */
bool state_put_words(struct state_filling *filling, uint32_t chance, struct stream_words words);

/* True when `stops` is a set of reasons why something is stopped. */
static inline bool state_stops_fit(uint8_t stops) {
    return stops <= (STOPPED_BY_INCIDENT | STOPPED_BY_BREAKDOWN);
}
