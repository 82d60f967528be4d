/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/summary_text.h - the summary of a run for somebody to read in ten seconds: the
 * verdict in words, then products, lanes, feeders, chests, what stood still, what is left, where
 * the files are. */
#pragma once

#include <stdio.h>

#include "tools/record/summary.h"

/* Prints the verdict: a line, then what did not come true. */
void summary_text_verdict(const struct outcome *outcome, FILE *out);
/* Prints the summary. `path`: the directory of the run, NULL when no files were written. */
void summary_text_print(const struct outcome *outcome, const char *path, FILE *out);
