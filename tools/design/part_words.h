/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/part_words.h - what a budget says of a part, in words. The sheet of a design and the
 * comments in its text have them from here alone, so that they never differ from each other, nor
 * from `loopwright budget`. */
#pragma once

#include <stdio.h>

#include "model/budget/budget.h"

/* "10 batches a minute are needed, and it can make 15: busy 67 %" */
void part_words_station(const struct budget *budget, uint32_t station, FILE *out);
/* "10 a minute are needed, and it can carry 75: busy 13 %" */
void part_words_arm(const struct budget *budget, uint32_t arm, FILE *out);
/* "0.333 of 6 cells a second are needed on its fullest stretch, 3 % of it covered"; a track is a
 * lane or a line, numbered as in model/scenario/layout.h. */
void part_words_track(const struct budget *budget, uint32_t track, FILE *out);
/* What comes by supplies and goes by demands: "deliveries of 24 gear every 120 s"; nothing where
 * neither is. */
void part_words_chest(const struct budget *budget, uint32_t chest, FILE *out);

/* Any part, by its section and name ("stations", "bench"), of a loop each of its lanes; nothing for
 * what is none of these. */
void part_words(const struct budget *budget, const char *section, const char *name, FILE *out);
