/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/progress.h - says on standard error how far a command is and what is left: on a
 * terminal by one line that is drawn anew, elsewhere, and on one that is `dumb`, by a line a
 * minute. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct progress {
    bool wanted;
    bool terminal; /* lines can be drawn anew */
    bool drawn;    /* there is a line to be erased */
    int64_t begun_ms, next_ms;
    int64_t last, ticks_per_second; /* of ticks that are simulated ... */
    const char *what;               /* ... or, where this is not NULL, of such things */
};

/* True where standard error is a terminal on which a line can be drawn anew. */
bool progress_can_draw(void);
/* Begins with the simulated time of a run; nothing is said in the first second. */
void progress_init(struct progress *progress, int64_t last_tick, int64_t ticks_per_second,
                   bool wanted);
/* Begins with `count` things to do, which `what` names: "runs". */
void progress_init_count(struct progress *progress, int64_t count, const char *what, bool wanted);
/* Begins with something of which nobody knows how much it is, for progress_say alone, which on a
 * terminal draws at once: the next thing to be said may be long in coming. */
void progress_init_open(struct progress *progress, bool wanted);
/* Draws the line again where it is time to: `done` ticks, or things, are over. */
void progress_show(struct progress *progress, int64_t done);
/* The same with a line of one's own. */
void progress_say(struct progress *progress, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Erases the line. */
void progress_end(struct progress *progress);
