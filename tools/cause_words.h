/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause_words.h - how waits and roots are called, in the user's names. */
#pragma once

#include "model/cause_roots.h"
#include "model/waits.h"

enum { CAUSE_TEXT_BYTES = 512 };

/* The kinds of roots as data: "full_chest". */
const char *cause_root_word(enum root_kind kind);

/* Its place in a --set: "incidents.heap", "incidents.3". */
char *cause_incident_path(const struct scenario *scenario, uint32_t incident,
                          char text[CAUSE_TEXT_BYTES]);

/* Each writes into `text` and gives it back. */
/* "ring/outer", "bench", "bench.gate". */
char *cause_name(const struct waits *waits, uint32_t vertex, char text[CAUSE_TEXT_BYTES]);
char *cause_subject_name(const struct waits *waits, struct root_subject subject,
                         char text[CAUSE_TEXT_BYTES]);
/* What an edge waits for: "room for movement". */
char *cause_what(const struct waits *waits, const struct waits_edge *edge,
                 char text[CAUSE_TEXT_BYTES]);
/* The whole wait: "bench-taker waits for room for spring in bench". */
char *cause_sentence(const struct waits *waits, const struct waits_edge *edge,
                     char text[CAUSE_TEXT_BYTES]);
/* A root, without its time: "shelf is full, and ...". */
char *cause_root_sentence(const struct waits *waits, const struct root *root,
                          char text[CAUSE_TEXT_BYTES]);
/* What was done that is behind a root, without its time: "incidents.2 stopped it"; empty where
 * nothing is known. */
char *cause_deed_sentence(const struct scenario *scenario, const struct root *root,
                          char text[CAUSE_TEXT_BYTES]);
