/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/deeds.h - what incidents and breakdowns have done that lasts: what stands because of them,
 * and which capacities and thresholds are theirs.
 *
 * A thing may be stopped by both at once; it stands from the first stop to the start after which
 * none is left. What was done before the listening began is not known. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/listener.h"
#include "model/scenario.h"

struct deed {
    int64_t tick;      /* NOT_GIVEN: nothing was done, or nobody saw it */
    uint32_t incident; /* index in scenario.incident; NO_INDEX: a breakdown, or nothing */
};
#define NO_DEED ((struct deed){NOT_GIVEN, NO_INDEX})

struct deeds {
    const struct scenario *scenario;
    struct stop_of_actor *stop; /* of each actor, kind after kind */
    uint32_t first[ACTOR_KINDS];
    struct deed *room; /* [chest] the last `set` of its capacity */
    struct deed *gate; /* [gate] the last `set` of a threshold */
};

void deeds_init(struct deeds *deeds, const struct scenario *scenario);
void deeds_free(struct deeds *deeds);
/* To be called by a listener with what happened. */
void deeds_happened(struct deeds *deeds, const struct event *event);

/* What has stopped an actor that stands, and since when it stands without a break. */
struct deed deeds_stop(const struct deeds *deeds, struct actor actor);
