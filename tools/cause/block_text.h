/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/block_text.h - parts of a scenario that are written with a line for each key, as in
 *
 *     - name: feeder
 *       from: bin        # where gears come
 *       gate:
 *         chest: tray
 *         below: 4
 *
 * found and changed in its text. What is written in another way is left alone: whoever calls this
 * reads the result again. Private to this room. */
#pragma once

#include <stdbool.h>

#include "tools/cause/text_span.h"

/* A key and its value within such a map. */
struct block_pair {
    struct text_span lines; /* all lines of both */
    struct text_span value; /* what stands after the colon, or the lines of a map below it */
    size_t colon;           /* the byte after it */
};

/* The part of a name in a section, from its first key on; false: there is none. */
bool block_text_find(const char *text, struct text_span section, const char *name,
                     struct text_span *part);
/* A key of a map; false: it has none of that name. */
bool block_text_pair(const char *text, struct text_span map, const char *key,
                     struct block_pair *pair);

/* Each returns the text with the change; the old one is given back. */
char *block_text_set(char *text, const struct block_pair *pair, const char *value);
char *block_text_add(char *text, struct text_span map, const char *key, const char *value);
char *block_text_take_away(char *text, const struct block_pair *pair);
char *block_text_remove(char *text, struct text_span section, struct text_span part);
/* Whether a section is a list with a line for each part, in whichever way these are written; adds
 * one to it at its end, a flow map. */
bool block_text_has_parts(const char *text, struct text_span section);
char *block_text_add_part(char *text, struct text_span section, const char *part);
