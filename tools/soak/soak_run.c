/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_run.c - runs as `run` does, sample by sample, and adds up while it goes. */
#include "tools/soak/soak_run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/record/drive.h"
#include "tools/record/record.h"
#include "tools/soak/disturb.h"

/* Items in all but chests, as far as arms and incidents change it; batches are the world's to tell.
 * Each counts from the tick in which it came. */
struct at_work {
    int64_t items, since_tick;
    double item_ticks; /* up to since_tick; exact below 2^53 */
};

struct jams {
    uint32_t open;       /* lanes that are jammed */
    int64_t since_tick;  /* from when at least one has been */
    int64_t ticks;       /* with at least one, after the warm-up, up to since_tick */
    int64_t first_tick;  /* least start of those that are over and count; NOT_GIVEN: none */
    int64_t first_since; /* from when it had lasted */
};

struct watch {
    const struct soak_measures *measures;
    const struct scenario *scenario;
    struct world *world;
    struct record record;
    struct listener passed_on; /* how the record listens */
    struct at_work at_work;
    struct jams jams;
    double item_ticks_warm; /* at the end of the warm-up */
    int64_t starved_warm;
    double *total; /* of each measure at the last end of a window */
    struct soak_result *result;
    bool until_jam, jammed;     /* the run is to stop at its first jam; it has come */
    _Atomic int64_t *simulated; /* ticks, as far as they have been added: */
    int64_t simulated_tick;
};

/* ---- items at work ---- */

static void add_items(struct at_work *at_work, int64_t tick, int64_t count) {
    at_work->item_ticks += (double)at_work->items * (double)(tick - at_work->since_tick);
    at_work->since_tick = tick;
    at_work->items += count;
}

static double item_ticks(const struct watch *watch) {
    const struct at_work *at_work = &watch->at_work;
    int64_t since = world_tick(watch->world) - at_work->since_tick;
    return at_work->item_ticks + (double)at_work->items * (double)since +
           world_batch_item_ticks(watch->world);
}

/* ---- listening ---- */

static void moved(void *self, const struct move *move) {
    struct watch *watch = self;
    if (move->place.kind == PLACE_CHEST)
        add_items(&watch->at_work, move->tick, move->act == MOVE_PICK ? move->count : -move->count);
}

static void happened(void *self, const struct event *event) {
    struct watch *watch = self;
    if (event->kind == EVENT_DROP)
        add_items(&watch->at_work, event->start_tick, event->count);
    if (event->kind == EVENT_CLEAR)
        add_items(&watch->at_work, event->start_tick, -event->count);
    watch->passed_on.happened(watch->passed_on.self, event);
}

static void began(void *self, const struct event *event) {
    struct watch *watch = self;
    if (event->kind == EVENT_JAM && watch->jams.open++ == 0)
        watch->jams.since_tick = event->start_tick;
    watch->passed_on.began(watch->passed_on.self, event);
}

static int64_t later(int64_t a, int64_t b) { return a > b ? a : b; }

static void jam_ended(struct watch *watch, const struct event *event) {
    struct jams *jams = &watch->jams;
    int64_t warm = watch->scenario->warm_up_ticks;
    bool counts = events_are_last(watch->record.events) || event->end_tick >= warm;
    if (counts && (jams->first_tick == NOT_GIVEN || event->start_tick < jams->first_tick)) {
        jams->first_tick = event->start_tick;
        jams->first_since = event->since_tick;
    }
    if (--jams->open == 0)
        jams->ticks += later(event->end_tick - later(jams->since_tick, warm), 0);
}

static void ended(void *self, const struct event *event) {
    struct watch *watch = self;
    if (event->kind == EVENT_JAM)
        jam_ended(watch, event);
    watch->passed_on.ended(watch->passed_on.self, event);
}

/* A jam that counts has come: one is over, or one lasts at the end of the warm-up or later. */
static bool has_jammed(const struct watch *watch) {
    return watch->jams.first_tick != NOT_GIVEN ||
           (watch->jams.open > 0 && world_tick(watch->world) >= watch->scenario->warm_up_ticks);
}

/* ---- sums ---- */

static int64_t starved_ticks(const struct watch *watch) {
    int64_t sum = 0;
    for (uint32_t i = 0; i < watch->scenario->station_count; i++)
        sum += world_station_totals(watch->world, i).ticks[STATION_STARVED];
    return sum;
}

static void warm_up_ended(void *self) {
    struct watch *watch = self;
    record_warm(&watch->record);
    watch->item_ticks_warm = item_ticks(watch);
    watch->starved_warm = starved_ticks(watch);
}

/* The running total whose growth over ticks is the measure. */
static double total_of(const struct watch *watch, uint32_t measure) {
    const struct soak_measures *measures = watch->measures;
    if (measure == 0)
        return item_ticks(watch);
    if (measure <= measures->product_count) {
        uint32_t item = measures->product[measure - 1];
        return (double)world_item_totals(watch->world, item).made * 60 *
               (double)watch->scenario->ticks_per_second;
    }
    uint32_t track = measure - 1 - measures->product_count;
    struct place place = layout_track_as_place(watch->scenario, track);
    return world_track_totals(watch->world, place).cell_ticks /
           layout_track_cells(watch->scenario, track);
}

static void end_window(struct watch *watch) {
    struct soak_result *result = watch->result;
    if (result->window_count == SOAK_WINDOWS_MAX)
        return;
    double *window = &result->series[(size_t)result->window_count * result->series_width];
    for (uint32_t i = 0; i < result->series_width; i++) {
        double total = total_of(watch, i);
        window[i] = (total - watch->total[i]) / (double)watch->measures->totals_ticks;
        watch->total[i] = total;
    }
    result->window_count++;
}

static void take_values(struct watch *watch) {
    const struct soak_measures *measures = watch->measures;
    const struct measured_totals *window = &watch->record.window;
    double *value = watch->result->value, ticks = (double)totals_ticks(window);
    value[0] = ticks > 0 ? (item_ticks(watch) - watch->item_ticks_warm) / ticks : (double)NAN;
    for (uint32_t i = 0; i < measures->product_count; i++)
        value[soak_measure_of_product(i)] = totals_made_per_minute(window, measures->product[i]);
    for (uint32_t i = 0; i < measures->track_count; i++)
        value[soak_measure_of_track(measures, i)] = totals_track_share(window, i);
}

static void conclude(struct watch *watch) {
    struct soak_result *result = watch->result;
    result->ticks = world_tick(watch->world);
    take_values(watch);
    result->starved_ticks =
        watch->record.window.open ? starved_ticks(watch) - watch->starved_warm : 0;
    record_end(&watch->record);
    result->holds = watch->record.verdict.holds;
    result->jams = watch->record.verdict.jams;
    result->jammed_ticks = watch->jams.ticks;
    result->first_jam_tick = watch->jams.first_tick;
    result->first_jam_since = watch->jams.first_since;
    result->done = true;
}

/* ---- the way through ---- */

static void sample(void *self) {
    struct watch *watch = self;
    int64_t tick = world_tick(watch->world);
    record_sample(&watch->record);
    if (tick > 0 && tick % watch->measures->totals_ticks == 0 && watch->result->series_width > 0)
        end_window(watch);
    watch->jammed = watch->until_jam && has_jammed(watch);
}

static bool stop(void *self) {
    struct watch *watch = self;
    int64_t tick = world_tick(watch->world);
    *watch->simulated += tick - watch->simulated_tick;
    watch->simulated_tick = tick;
    return !watch->jammed;
}

/* False: a signal was noted. */
static bool advance(struct watch *watch) {
    struct drive drive = {.scenario = watch->scenario,
                          .world = watch->world,
                          .starvation = watch->record.starvation,
                          .self = watch,
                          .warm_up_ended = warm_up_ended,
                          .sample = sample,
                          .stop = stop};
    return drive_until(&drive, watch->scenario->run_ticks);
}

static void open_result(struct watch *watch, const struct soak_plan *plan, uint64_t run) {
    const struct soak_measures *measures = watch->measures;
    struct soak_result *result = watch->result;
    *result = (struct soak_result){.value = require_memory(measures->count, sizeof(double))};
    if (plan->run_count == 1)
        result->series_width = measures->count;
    else if (run < SOAK_SERIES_RUNS)
        result->series_width = 1;
    result->series =
        require_memory((size_t)result->series_width * SOAK_WINDOWS_MAX, sizeof *result->series);
    watch->total = require_memory(measures->count, sizeof *watch->total);
}

/* Runs a world of `scenario` to its end, or its first jam. */
static bool run_scenario(const struct soak_plan *plan, const struct soak_measures *measures,
                         const struct scenario *scenario, uint64_t run, _Atomic int64_t *simulated,
                         struct soak_result *result) {
    struct watch watch = {.measures = measures,
                          .scenario = scenario,
                          .result = result,
                          .until_jam = plan->until_jam,
                          .simulated = simulated};
    watch.jams.first_tick = NOT_GIVEN;
    watch.world = world_new(scenario);
    bool opened = record_open(&watch.record, scenario, watch.world, NULL, false);
    require(opened);
    watch.passed_on = record_listener(&watch.record);
    struct listener listener = {&watch, moved, happened, began, ended};
    world_listen(watch.world, &listener);
    open_result(&watch, plan, run);
    bool whole = advance(&watch);
    if (whole)
        conclude(&watch);
    else
        soak_result_free(result);
    record_free(&watch.record);
    world_free(watch.world);
    free(watch.total);
    return whole;
}

/* Whether a starvation lasted is measured against what was left of the run, which a run that ends
 * with its jam learns last. */
static bool must_run_again(const struct soak_plan *plan, const struct scenario *scenario,
                           const struct soak_result *result) {
    return plan->until_jam && scenario->expect.has_starved && result->ticks < scenario->run_ticks;
}

bool soak_run(const struct soak_plan *plan, const struct soak_measures *measures, uint32_t variant,
              uint64_t run, _Atomic int64_t *simulated, struct soak_result *result) {
    struct scenario *scenario = soak_run_scenario(plan, variant, run);
    bool whole = run_scenario(plan, measures, scenario, run, simulated, result);
    if (whole && must_run_again(plan, scenario, result)) {
        scenario->run_ticks = result->ticks;
        soak_result_free(result);
        whole = run_scenario(plan, measures, scenario, run, simulated, result);
    }
    soak_run_scenario_free(plan, scenario);
    return whole;
}

/* ---- scenarios ---- */

struct scenario *soak_run_scenario(const struct soak_plan *plan, uint32_t variant, uint64_t run) {
    uint64_t seed = soak_plan_seed(plan, run);
    if (plan->disturb)
        return disturb_scenario(plan->scenario[variant], seed);
    struct scenario *scenario = require_memory(1, sizeof *scenario);
    *scenario = *plan->scenario[variant];
    scenario->seed = seed;
    return scenario;
}

void soak_run_scenario_free(const struct soak_plan *plan, struct scenario *scenario) {
    if (plan->disturb)
        scenario_free(scenario);
    else
        free(scenario);
}
