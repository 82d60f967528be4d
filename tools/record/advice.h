/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/advice.h - the last line of a summary: which command says more about what went wrong
 * in a run. */
#pragma once

#include <stdio.h>

#include "tools/record/summary.h"

/* Prints a line about the gravest thing that was seen in a finished run, and the command that
 * explains it; nothing where all went well. `explained`: the directory of the run, or a capsule of
 * it, that `cause` takes; NULL: nothing was kept. */
void advice_print(const struct outcome *outcome, const char *explained, FILE *out);
