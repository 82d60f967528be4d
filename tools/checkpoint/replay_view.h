/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/replay_view.h - a stretch of a run as text that a person can follow: a line for
 * each thing that happens, and at times a picture: lanes as strips of cells, wrapped at 80 columns,
 * with a letter for each item, the arms that put above and those that pick below, then stations and
 * chests. */
#pragma once

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "model/engine/listener.h"
#include "model/engine/world.h"

struct replay_view {
    const struct scenario *scenario;
    const struct world *world;
    struct listener next; /* who else listens, called first */
    FILE *out;
    char *letter;       /* [item_count] of each kind */
    bool wants_picture; /* something has begun in this tick that should be seen */
};

/* For who only wants the pieces below, printed to `out`, which is theirs to set: nobody listens.
 * What is given must outlive it. Freed with replay_view_drop. */
void replay_view_init(struct replay_view *view, const struct scenario *scenario,
                      const struct world *world);
void replay_view_drop(struct replay_view *view);

/* Begins to listen to a world, and passes on what is reported to `next`. Its scenario and the file
 * must outlive it. Freed with replay_view_free, which leaves the world with nobody listening. */
void replay_view_open(struct replay_view *view, const struct scenario *scenario,
                      struct world *world, struct listener next, FILE *out);
void replay_view_free(struct replay_view *view, struct world *world);

/* Prints what the letters mean; the picture as it is after the world's last tick, under a time. */
void replay_view_legend(const struct replay_view *view);
void replay_view_picture(const struct replay_view *view, const char *when, int64_t tick);
/* Its pieces: lanes and lines as strips; stations and chests, with what lies in them. */
void replay_view_tracks(const struct replay_view *view);
void replay_view_stocks(const struct replay_view *view);
/* An event after a time and a mark, without an end of line. */
void replay_view_event(const struct replay_view *view, const char *mark, const struct event *event,
                       int64_t tick);
/* To be called after each tick: prints the picture if something in it asks for one. */
void replay_view_look(struct replay_view *view);
