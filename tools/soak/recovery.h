/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/recovery.h - how long after each disturbance it takes until every product that is
 * asked for has had its usual rate again: until it was made nine times within ten of its mean
 * intervals, counted from the end of the disturbance. The time is over when the next disturbance
 * begins, or the run ends. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/record/makings.h"
#include "tools/soak/asking.h"
#include "tools/soak/disturb.h"

struct recovery {
    const struct disturbances *list;
    struct makings *makings; /* with their usual intervals */
    const struct asking *asking;
    uint32_t next;  /* disturbance that begins or ends next, */
    bool has_begun; /* and which of the two */
    bool *missing;  /* of each product: its rate is waited for */
    uint32_t missing_count;
    bool waits;
    int64_t from_tick; /* end of the disturbance that it gets over */
    /* what came of it: */
    uint64_t count, never; /* disturbances that it got over, and did not */
    int64_t sum_ticks, most_ticks;
};

/* What it is given must outlive it. Freed with recovery_free. */
void recovery_init(struct recovery *recovery, const struct disturbances *list,
                   struct makings *makings, const struct asking *asking);
void recovery_free(struct recovery *recovery);
/* The next tick after `tick` in which a disturbance begins or ends; `last` when there is none. */
int64_t recovery_next_stop(const struct recovery *recovery, int64_t tick, int64_t last);
/* To be called when the world has executed such a tick, or any other. */
void recovery_stop(struct recovery *recovery, int64_t tick);
/* To be called when something was made in `tick`. */
void recovery_look(struct recovery *recovery, int64_t tick);
/* To be called at the end of the run. */
void recovery_end(struct recovery *recovery);
