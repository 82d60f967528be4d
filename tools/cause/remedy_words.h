/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_words.h - changes that were tried, in sentences. Each of these continues a
 * line or writes whole ones, as it says. */
#pragma once

#include <stdio.h>

#include "tools/cause/cause_trial.h"

/* A whole line: the changes as they can be pasted, "  --set arms.taker.hand=2". */
void remedy_words_change(const struct trial *trial, FILE *out);
/* Continues: through what it came, " in 12 h", " in 8 nights of 12 h". */
void remedy_words_proof(const struct trial_book *book, const struct trial *trial, FILE *out);
/* Continues with what the run made and met: "; 9.8 movement a minute, 100 % of what is asked for";
 * where a proof met another share: "; in 12 h 40 %". */
void remedy_words_rates(const struct trial_book *book, const struct trial *trial, FILE *out);
/* Whole lines, or none: which counts go on growing, what runs out. */
void remedy_words_growth(const struct trial_book *book, const struct trial *trial, FILE *out);
