/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/turning_point.h - the last moment at which a lane could still have been saved by
 * stopping its feeders. The run is repeated with all arms that place on the lane stopped from
 * some second on; the lane counts as saved when it is empty ten minutes after the end of the
 * run. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/cause/ladder.h"
#include "model/engine/world.h"

/* What is known of a lane: stopping in time saves it at `good`, not at `bad`. Starts unknown. */
struct turning_lane {
    int64_t good, bad; /* NOT_GIVEN: not known yet */
    bool lost;         /* it does not empty even if nothing is ever put on */
    uint32_t left;     /* the item of which most is left when it is not saved at `bad` */
};

struct turning {
    const struct scenario *scenario;
    const struct ladder *ladder; /* moments of the run */
    struct turning_lane *lane;   /* what has been found out of each lane */
    uint32_t left;  /* the item of which most lay on a lane that was last found not to empty */
    uint64_t moves; /* picks and places that it has taken */
};

/* The run of a scenario of which `ladder` has moments; both must outlive it. Freed with
 * turning_free. */
void turning_init(struct turning *turning, const struct scenario *scenario,
                  const struct ladder *ladder);
void turning_free(struct turning *turning);

/* Whether the lane is empty ten minutes after the end when all arms that place on it stop for good
 * at `tick`, as the first incident of that tick. */
bool turning_empties(struct turning *turning, uint32_t lane, int64_t tick);

/* The last whole second, as a tick, at which it is; looked for between the beginning of the run and
 * `start_tick`. NOT_GIVEN where it is not at the beginning, or still is at start_tick. */
int64_t turning_point(struct turning *turning, uint32_t lane, int64_t start_tick);
/* The item of which most would be left on the lane if its feeders stopped a second later; only
 * where there is a turning point. */
uint32_t turning_item_left(const struct turning *turning, uint32_t lane);
