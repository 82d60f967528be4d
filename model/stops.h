/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/stops.h - since when things stand that incidents or breakdowns have stopped.
 *
 * A thing may be stopped for both reasons at once; it stands from the first stop to the start after
 * which none is left. A stop from before the listening began has no date. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/listener.h"
#include "model/scenario.h"

struct stops {
    struct stop_of_actor *of; /* of each actor, kind after kind */
    uint32_t first[ACTOR_KINDS];
};

void stops_init(struct stops *stops, const struct scenario *scenario);
void stops_free(struct stops *stops);
/* To be called by a listener with what happened. */
void stops_happened(struct stops *stops, const struct event *event);
/* The tick since which the actor stands without a break; NOT_GIVEN: it runs, or nobody saw it stop.
 */
int64_t stops_since(const struct stops *stops, struct actor actor);
