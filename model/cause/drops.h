/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/drops.h - which items incidents have dropped onto lanes and lines, and how many of
 * them may still lie there. */
#pragma once

#include <stdint.h>

#include "model/engine/listener.h"
#include "model/engine/world.h"

struct drops {
    struct drop *drop; /* in the order of time */
    uint32_t count, capacity;
};

/* Starts as {0}. */
void drops_free(struct drops *drops);
/* To be called by a listener with what happened; and between ticks, from time to time. */
void drops_happened(struct drops *drops, const struct event *event);
void drops_look(struct drops *drops, const struct world *world);

/* The tick of the first drop of an item on a lane or line that has never left it since: at every
 * look at least half of what fell lay there. NOT_GIVEN: there is none. */
int64_t drops_lasting(const struct drops *drops, struct place track, uint32_t item);
