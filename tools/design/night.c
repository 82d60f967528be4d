/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/night.c - a world with a record beside it, for the verdict. */
#include "tools/design/night.h"

#include <stdlib.h>

#include "model/engine/world.h"
#include "sim/require.h"
#include "tools/record/record.h"

/* The share of its orders that was met, of each item; the least of them in `least`. */
static double *shares_met(const struct scenario *scenario, const struct world *world,
                          double *least) {
    double *share = require_memory(scenario->item_count, sizeof *share);
    *least = 1;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        struct item_totals totals = world_item_totals(world, i);
        double met = (double)(totals.demanded - totals.owed - totals.lost);
        share[i] = totals.demanded > 0 ? met / (double)totals.demanded : 1;
        *least = share[i] < *least ? share[i] : *least;
    }
    return share;
}

bool night_run(const struct scenario *scenario, uint64_t seed, int64_t ticks,
               struct night_result *result) {
    struct scenario own = *scenario; /* borrows all else */
    own.seed = seed;
    own.run_ticks = ticks;
    struct world *world = world_new(&own);
    struct record record;
    struct progress progress;
    progress_init(&progress, ticks, own.ticks_per_second, false);
    bool opened = record_open(&record, &own, world, NULL, false);
    require(opened);
    bool whole = record_run_until(&record, &progress, NULL, ticks);
    if (whole) {
        record_end(&record);
        uint64_t jams = record.verdict.jams + record.verdict.deadlocks;
        bool clogged = events_tally(record.events, EVENT_CLOGGED, 0)->open;
        *result = (struct night_result){.holds = jams == 0 && !clogged, .jams = jams};
        result->met_of = shares_met(&own, world, &result->met);
    }
    record_free(&record);
    world_free(world);
    return whole;
}

void night_free(struct night_result *result) {
    free(result->met_of);
    *result = (struct night_result){0};
}
