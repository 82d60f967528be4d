/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/live_view.h - a run as it goes, on a terminal: lanes as strips of cells, the
 * last events, stations and chests, drawn anew some times a second at a chosen pace. */
#pragma once

#include <stdbool.h>
#include <stdint.h>
#include <termios.h>

#include "model/engine/listener.h"
#include "tools/checkpoint/replay_view.h"

enum { LIVE_EVENTS = 6 };

struct live_view {
    struct replay_view picture; /* draws, but does not listen */
    struct listener next;       /* who else listens, called first */
    char *event[LIVE_EVENTS];   /* the last lines, newest last; NULL: fewer than that */
    int64_t pace_ticks;         /* simulated in a second */
    int64_t begun_ms, drawn_ms; /* of a clock that only goes on */
    struct termios before;      /* what the terminal was set to */
};

/* True where standard output and standard input are a terminal on which this can be drawn. */
bool live_view_is_possible(void);
/* Takes over the terminal and draws the world before its first tick; listens to it from now on, and
 * passes on what is reported to `next`. `pace_ticks`: at least 1. All that is given must outlive
 * it. Ended with live_view_close. */
void live_view_open(struct live_view *view, const struct scenario *scenario, struct world *world,
                    struct listener next, int64_t pace_ticks);
/* To be called after each tick: waits until it is due, and draws. The key q raises SIGINT. False: a
 * signal was noted (tools/base/interrupt.h). */
bool live_view_look(struct live_view *view);
/* Gives the terminal back as it was, and leaves the world to `next`. */
void live_view_close(struct live_view *view, struct world *world);
