/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_row.c - draw streams as fields of a row. */
#include "model/state/state_row.h"

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
