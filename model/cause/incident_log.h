/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/incident_log.h - the lasting effects of incidents and breakdowns: what is stopped
 * because of them, and which capacities and thresholds they have set.
 *
 * An element may be stopped by both at once; it stays stopped from the first stop until both
 * have ended. What was done before the log began to listen is not known. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/listener.h"
#include "model/scenario/scenario.h"

struct lasting_effect {
    int64_t tick;      /* NOT_GIVEN: nothing was done, or nobody saw it */
    uint32_t incident; /* index in scenario.incident; NO_INDEX: a breakdown, or nothing */
};
#define NO_EFFECT ((struct lasting_effect){NOT_GIVEN, NO_INDEX})

struct incident_log {
    const struct scenario *scenario;
    struct stop_of_actor *stop; /* of each actor, kind after kind */
    uint32_t first[PART_KINDS_THAT_ACT];
    struct lasting_effect *room; /* [chest] the last `set` of its capacity */
    struct lasting_effect *gate; /* [gate] the last `set` of a threshold */
};

void incident_log_init(struct incident_log *deeds, const struct scenario *scenario);
void incident_log_free(struct incident_log *deeds);
/* To be called by a listener with what happened. */
void incident_log_happened(struct incident_log *deeds, const struct event *event);

/* What has stopped an actor that stands, and since when it stands without a break. */
struct lasting_effect incident_log_stop(const struct incident_log *deeds, struct part actor);
