/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/sweep/sweep_run.c - a world with a record beside it, and an eye on its products. */
#include "tools/sweep/sweep_run.h"

#include <stdlib.h>

#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/record/makings.h"
#include "tools/record/record.h"
#include "tools/soak/asking.h"

struct watch {
    const struct scenario *scenario;
    struct world *world;
    struct record record;
    struct listener passed_on; /* how the record listens */
    struct makings makings;
    struct asking asking;
    uint32_t open; /* jams, deadlocks and clogs */
    bool is_warm;
};

/* ---- listening ---- */

static void moved(void *self, const struct move *move) {
    (void)self;
    (void)move;
}

static void happened(void *self, const struct event *event) {
    struct watch *watch = self;
    asking_heard(&watch->asking, event);
    watch->passed_on.happened(watch->passed_on.self, event);
}

static bool is_bad(const struct event *event) {
    return event->kind == EVENT_JAM || event->kind == EVENT_DEADLOCK ||
           event->kind == EVENT_CLOGGED;
}

static void began(void *self, const struct event *event) {
    struct watch *watch = self;
    watch->open += is_bad(event);
    watch->passed_on.began(watch->passed_on.self, event);
}

static void ended(void *self, const struct event *event) {
    struct watch *watch = self;
    watch->open -= is_bad(event);
    watch->passed_on.ended(watch->passed_on.self, event);
}

static void arm_changed(void *self, uint32_t arm) {
    struct watch *watch = self;
    watch->passed_on.arm_changed(watch->passed_on.self, arm);
}

static bool look(void *self) {
    struct watch *watch = self;
    makings_look(&watch->makings);
    if (!watch->is_warm && world_tick(watch->world) >= watch->scenario->warm_up_ticks) {
        makings_warm(&watch->makings);
        watch->is_warm = true;
    }
    return true;
}

/* ---- what came of it ---- */

static bool is_missing(const struct watch *watch, struct making making) {
    int64_t tick = world_tick(watch->world);
    int64_t since = asking_since(&watch->asking, making.item, tick);
    making.usual = makings_mean_to_last(&making, watch->scenario->warm_up_ticks);
    return since != NOT_GIVEN && (making.times == 0 || makings_have_ended(&making, since, tick));
}

static bool is_stuck(const struct watch *watch) {
    bool stuck = watch->open > 0;
    for (uint32_t i = 0; i < watch->makings.count && !stuck; i++)
        stuck = is_missing(watch, watch->makings.making[i]);
    return stuck;
}

static double least_met(const struct watch *watch) {
    double least = 1;
    for (uint32_t i = 0; i < watch->scenario->item_count; i++) {
        struct item_totals totals = world_item_totals(watch->world, i);
        double met = (double)(totals.demanded - totals.owed - totals.lost);
        double share = totals.demanded > 0 ? met / (double)totals.demanded : 1;
        least = share < least ? share : least;
    }
    return least;
}

static void take_values(const struct watch *watch, const struct sweep_measures *measures,
                        double *value) {
    const struct measured_totals *window = &watch->record.window;
    *value++ = least_met(watch);
    for (uint32_t i = 0; i < measures->product_count; i++)
        *value++ = totals_made_per_minute(window, measures->product[i]);
    for (uint32_t i = 0; i < measures->track_count; i++) {
        struct place track = layout_track_as_place(watch->scenario, i);
        *value++ = totals_track_share(window, i);
        *value++ = (double)world_track_totals(watch->world, track).cells_most /
                   layout_track_cells(watch->scenario, i);
    }
}

static void conclude(struct watch *watch, const struct sweep_measures *measures,
                     struct sweep_result *result) {
    result->stuck = is_stuck(watch);
    take_values(watch, measures, result->value);
    record_end(&watch->record);
    result->jammed = watch->record.verdict.jams > 0;
    result->done = true;
}

bool sweep_run(const struct scenario *scenario, uint64_t seed,
               const struct sweep_measures *measures, struct sweep_result *result) {
    struct scenario own = *scenario; /* borrows all else */
    struct watch watch = {.scenario = &own};
    struct listener listener = {&watch, moved, happened, began, ended, arm_changed};
    struct record_onlooker onlooker = {&watch, look};
    struct progress progress;
    own.seed = seed;
    watch.world = world_new(&own);
    progress_init(&progress, own.run_ticks, own.ticks_per_second, false);
    makings_init(&watch.makings, &own, watch.world);
    asking_init(&watch.asking, &own);
    bool opened = record_open(&watch.record, &own, watch.world, NULL, false);
    require(opened);
    watch.passed_on = record_listener(&watch.record);
    world_listen(watch.world, &listener);
    bool whole = record_run_until(&watch.record, &progress, &onlooker, own.run_ticks);
    if (whole)
        conclude(&watch, measures, result);
    record_free(&watch.record);
    asking_free(&watch.asking);
    makings_free(&watch.makings);
    world_free(watch.world);
    return whole;
}

/* ---- measures ---- */

void sweep_measures_init(struct sweep_measures *measures, const struct scenario *scenario) {
    bool *product = require_memory(scenario->item_count, sizeof *product);
    layout_mark_products(scenario, product);
    *measures = (struct sweep_measures){
        .product = require_memory(scenario->item_count, sizeof *measures->product),
        .track_count = layout_track_count(scenario)};
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (product[i])
            measures->product[measures->product_count++] = i;
    measures->count = 1 + measures->product_count + 2 * measures->track_count;
    free(product);
}

void sweep_measures_free(struct sweep_measures *measures) {
    free(measures->product);
    *measures = (struct sweep_measures){0};
}
