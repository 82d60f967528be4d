/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/ladder.h - the states of a run at some moments on its way, evenly spaced, from which
 * stretches of it are repeated, as it was or with a change. */
#pragma once

#include <stdint.h>

#include "model/engine/world.h"
#include "sim/bytes.h"

/* Moments that are kept. */
enum { LADDER_RUNGS = 32 };

struct ladder {
    struct bytes rung[LADDER_RUNGS + 1]; /* states */
    int64_t tick[LADDER_RUNGS + 1];      /* the last one executed by each of them, ascending */
    uint32_t count;
    int64_t every; /* ticks from rung to rung */
};

/* Keeps the first moment: the world as it is before the run. */
void ladder_begin(struct ladder *ladder, const struct world *world, int64_t end_tick);
void ladder_free(struct ladder *ladder);

/* The tick at which the world is to be kept next. */
int64_t ladder_next(const struct ladder *ladder);
/* Keeps the world, if it is at that tick; to be called on the way. */
void ladder_keep(struct ladder *ladder, const struct world *world);

/* A new world of a scenario in the last state kept that is not after `tick`, or in the first one;
 * NULL: the scenario has other parts than that of the run (state.h). Freed with world_free. */
struct world *ladder_world(const struct ladder *ladder, const struct scenario *scenario,
                           int64_t tick);
/* The tick of that state. */
int64_t ladder_tick(const struct ladder *ladder, int64_t tick);
