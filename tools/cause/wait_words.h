/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/wait_words.h - how waits and roots are named and described in text, with the names
 * of the scenario. */
#pragma once

#include "model/cause/roots.h"
#include "model/cause/waits.h"

enum { WAIT_WORDS_BYTES = 512 };

/* The kinds of roots as data: "full_chest". */
const char *wait_words_root_word(enum root_kind kind);

/* Its place in a --set: "incidents.heap", "incidents.3". */
char *wait_words_incident_path(const struct scenario *scenario, uint32_t incident,
                               char text[WAIT_WORDS_BYTES]);

/* Each writes into `text` and gives it back. */
/* "ring/outer", "bench", "bench.gate". */
char *wait_words_name(const struct waits *waits, uint32_t vertex, char text[WAIT_WORDS_BYTES]);
/* What an edge waits for: "room for movement". */
char *wait_words_what(const struct waits *waits, const struct waits_edge *edge,
                      char text[WAIT_WORDS_BYTES]);
/* The whole wait: "bench-taker waits for room for spring in bench". */
char *wait_words_sentence(const struct waits *waits, const struct waits_edge *edge,
                          char text[WAIT_WORDS_BYTES]);
/* A root, without its time: "shelf is full, and ...". */
char *wait_words_root_sentence(const struct waits *waits, const struct root *root,
                               char text[WAIT_WORDS_BYTES]);
/* What was done that led to a root, without its time: "incidents.2 stopped it"; empty where
 * nothing is known. */
char *wait_words_deed_sentence(const struct scenario *scenario, const struct root *root,
                               char text[WAIT_WORDS_BYTES]);
