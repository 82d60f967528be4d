/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/stops.c - one record for each actor, two reasons in each. */
#include "model/stops.h"

#include <stdlib.h>

#include "sim/require.h"

struct stop_of_actor {
    bool by_incident, by_breakdown;
    int64_t since;
};

void stops_init(struct stops *stops, const struct scenario *scenario) {
    const uint32_t count[ACTOR_KINDS] = {[ACTOR_ARM] = scenario->arm_count,
                                         [ACTOR_STATION] = scenario->station_count,
                                         [ACTOR_LOOP] = scenario->loop_count,
                                         [ACTOR_LINE] = scenario->line_count,
                                         [ACTOR_SUPPLY] = scenario->supply_count,
                                         [ACTOR_DEMAND] = scenario->demand_count};
    uint32_t all = 0;
    for (int kind = 0; kind < ACTOR_KINDS; kind++) {
        stops->first[kind] = all;
        all += count[kind];
    }
    stops->of = require_memory(all, sizeof *stops->of);
}

void stops_free(struct stops *stops) {
    free(stops->of);
    *stops = (struct stops){0};
}

void stops_happened(struct stops *stops, const struct event *event) {
    if (event->kind != EVENT_STOP && event->kind != EVENT_START)
        return;
    struct stop_of_actor *self = &stops->of[stops->first[event->actor.kind] + event->actor.index];
    if (!self->by_incident && !self->by_breakdown)
        self->since = event->start_tick;
    if (event->incident != NO_INDEX)
        self->by_incident = event->kind == EVENT_STOP;
    else
        self->by_breakdown = event->kind == EVENT_STOP;
}

int64_t stops_since(const struct stops *stops, struct actor actor) {
    const struct stop_of_actor *self = &stops->of[stops->first[actor.kind] + actor.index];
    return self->by_incident || self->by_breakdown ? self->since : NOT_GIVEN;
}
