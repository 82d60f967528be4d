/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_table.c - the groups of the table, and what all rows share. Of each part of a
 * world its file says which fields are state, as a row; how a row is told, and how it is put back.
 * What a comment there calls derived is made anew by state_finish; what it calls fixed comes with
 * the scenario.
 *
 * A field added to a struct of model/engine/parts.h breaks an assertion: then it gets a place in
 * the row, or in the comment, and the assertion the new size. A new row field is a new
 * STATE_FORMAT. */
#include "model/state/state_table.h"

#include "model/state/state_row.h"

/* Of struct world, what no file of rows names is fixed: first_actor, kind, taker, feeder, picker,
 * arm_item, kind_map, first_of_chest, chest_item, chest_total, shape, and counts. */
_Static_assert(sizeof(struct world) == 640, "all of struct world is in a row, or named here");

const struct state_group *const state_table[STATE_GROUPS] = {&state_belts, &state_stocks,
                                                             &state_arms, &state_outside};

/* ---- draw streams ---- */

_Static_assert(sizeof(struct random_stream) == 24,
               "struct random_stream is in struct stream_words");

/* Smaller words would get stuck at 0. */
enum { FIRST_LEAST = 2, SECOND_LEAST = 8, THIRD_LEAST = 16 };

struct stream_words state_words_of(const struct world *world, uint32_t chance) {
    if (chance == NO_INDEX)
        return (struct stream_words){0};
    const unsigned long *word = world->random[chance].word;
    return (struct stream_words){true, (uint32_t)word[0], (uint32_t)word[1], (uint32_t)word[2]};
}

bool state_put_words(struct state_filling *filling, uint32_t chance, struct stream_words words) {
    if (!words.random || chance == NO_INDEX || filling->other_seed)
        return true;
    unsigned long *word = filling->world->random[chance].word;
    word[0] = words.first;
    word[1] = words.second;
    word[2] = words.third;
    return words.first >= FIRST_LEAST && words.second >= SECOND_LEAST && words.third >= THIRD_LEAST;
}
