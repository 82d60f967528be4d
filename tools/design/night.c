/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/night.c - a world with a record beside it, for the verdict. */
#include "tools/design/night.h"

#include "model/engine/world.h"
#include "sim/require.h"
#include "tools/record/record.h"

/* The least share of the orders for any item that were met. */
static double least_met(const struct scenario *scenario, const struct world *world) {
    double least = 1;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        struct item_totals totals = world_item_totals(world, i);
        double met = (double)(totals.demanded - totals.owed - totals.lost);
        double share = totals.demanded > 0 ? met / (double)totals.demanded : 1;
        least = share < least ? share : least;
    }
    return least;
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
        *result = (struct night_result){
            .holds = jams == 0 && !clogged, .jams = jams, .met = least_met(&own, world)};
    }
    record_free(&record);
    world_free(world);
    return whole;
}
