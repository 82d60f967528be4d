/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_row.h - what the files that tell rows have in common. */
#pragma once

#include <stddef.h>

#include "model/engine/belt_clock.h"
#include "model/state/state_table.h"

#define FIELD(row, kind, member)                                                                   \
    { #member, kind, offsetof(row, member) }
#define FIELDS(list) .field = list, .field_count = sizeof list / sizeof *list
#define GROUP(list)                                                                                \
    { list, sizeof list / sizeof *list }

/* The last tick executed, as steps and durations count: before tick 0 nothing has passed. */
static inline int64_t state_passed(const struct world *world) {
    return world->tick > 0 ? world->tick : 0;
}

/* A draw stream, told with whom it is of. */
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

/* The rows of each file, in the order in which they are put back: a part may ask for what stands
 * before it. */
extern const struct state_group state_belts, state_stocks, state_arms, state_outside;
