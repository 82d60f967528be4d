/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/progress.h - one line on a terminal that says how far a command is; nothing elsewhere.
 */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct progress {
    bool shown; /* standard error is a terminal, and progress is wanted */
    bool drawn; /* there is a line to be erased */
    int64_t begun_ms, next_ms;
    int64_t last_tick, ticks_per_second;
};

/* Begins; nothing is drawn in the first second. */
void progress_init(struct progress *progress, int64_t last_tick, int64_t ticks_per_second,
                   bool wanted);
/* Draws the line again, at most ten times a second. */
void progress_show(struct progress *progress, int64_t tick);
/* Erases the line. */
void progress_end(struct progress *progress);
