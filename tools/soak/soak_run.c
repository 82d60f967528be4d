/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_run.c - runs as `run` does, from sample to sample, and adds up the measures on
 * the way. */
#include "tools/soak/soak_run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/record/drive.h"
#include "tools/record/makings.h"
#include "tools/record/record.h"
#include "tools/soak/asking.h"
#include "tools/soak/calm.h"
#include "tools/soak/recovery.h"

/* There is at least so much time for disturbances, or the run is too short for them. */
enum { DISTURBED_SECONDS_LEAST = 600 };

/* Items in all but chests, as far as arms and incidents change it; batches are the world's to tell.
 * Each counts from the tick in which it came. */
struct at_work {
    int64_t items, since_tick;
    double item_ticks; /* up to since_tick; exact below 2^53 */
};

struct jams {
    uint32_t open;         /* lanes that are jammed */
    uint32_t open_for_bad; /* lanes that are deadlocked, and workshops (one at most) clogged */
    int64_t since_tick;    /* from when at least one has been jammed */
    int64_t ticks;         /* with at least one, after the warm-up, up to since_tick */
    int64_t first_tick;    /* least start of those that are over and count; NOT_GIVEN: none */
    int64_t first_since;   /* from when it had lasted */
    uint64_t ended;        /* those of them that ended by themselves */
    int64_t longest_ticks; /* of one of them, after the warm-up */
};

struct watch {
    const struct soak_measures *measures;
    const struct scenario *scenario;
    struct world *world;
    struct record record;
    struct listener passed_on; /* how the record listens */
    struct at_work at_work;
    struct jams jams;
    struct makings makings;
    struct asking asking;
    struct recovery recovery;
    double item_ticks_warm; /* at the end of the warm-up */
    int64_t starved_warm;
    double *total; /* of each measure at the last end of a window */
    struct soak_result *result;
    bool disturbed;             /* usual intervals are those without disturbances */
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
    asking_heard(&watch->asking, event);
    watch->passed_on.happened(watch->passed_on.self, event);
}

static bool lasts_for_ever(const struct event *event) {
    return event->kind == EVENT_DEADLOCK || event->kind == EVENT_CLOGGED;
}

static void began(void *self, const struct event *event) {
    struct watch *watch = self;
    watch->jams.open_for_bad += lasts_for_ever(event);
    if (event->kind == EVENT_JAM && watch->jams.open++ == 0)
        watch->jams.since_tick = event->start_tick;
    watch->passed_on.began(watch->passed_on.self, event);
}

static int64_t later(int64_t a, int64_t b) { return a > b ? a : b; }

static void jam_ended(struct watch *watch, const struct event *event) {
    struct jams *jams = &watch->jams;
    int64_t warm = watch->scenario->warm_up_ticks;
    bool last = events_are_last(watch->record.events);
    bool counts = last || event->end_tick >= warm;
    jams->ended += counts && !last;
    if (counts)
        jams->longest_ticks =
            later(jams->longest_ticks, event->end_tick - later(event->start_tick, warm));
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
    watch->jams.open_for_bad -= lasts_for_ever(event);
    watch->passed_on.ended(watch->passed_on.self, event);
}

static void arm_changed(void *self, uint32_t arm) {
    const struct watch *watch = self;
    watch->passed_on.arm_changed(watch->passed_on.self, arm);
}

/* A jam that counts has come: one is over, or one lasts at the end of the warm-up or later. */
static bool has_jammed(const struct watch *watch) {
    return watch->jams.first_tick != NOT_GIVEN ||
           (watch->jams.open > 0 && world_tick(watch->world) >= watch->scenario->warm_up_ticks);
}

/* ---- stuck ---- */

/* Without disturbances the usual interval is that up to the last making. */
static struct mean_interval usual_of(const struct watch *watch, const struct making *making) {
    if (watch->disturbed)
        return making->usual;
    return makings_mean_to_last(making, watch->scenario->warm_up_ticks);
}

/* Asked for, and never made, or not for ten of its mean intervals. */
static bool is_missing(const struct watch *watch, struct making making) {
    int64_t tick = world_tick(watch->world);
    int64_t since = asking_since(&watch->asking, making.item, tick);
    making.usual = usual_of(watch, &making);
    return since != NOT_GIVEN && (making.times == 0 || makings_have_ended(&making, since, tick));
}

static bool is_stuck(const struct watch *watch) {
    bool stuck = watch->jams.open > 0 || watch->jams.open_for_bad > 0;
    for (uint32_t i = 0; i < watch->makings.count && !stuck; i++)
        stuck = is_missing(watch, watch->makings.making[i]);
    return stuck;
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
    makings_warm(&watch->makings);
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

/* The points that failed, a line each, in words: "made.movement at least 150", "no jam"; NULL:
 * none. */
static char *failed_points(const struct verdict *verdict) {
    char *text = NULL;
    size_t length = 0;
    for (uint32_t i = 0; i < verdict->point_count; i++) {
        const struct verdict_point *point = &verdict->point[i];
        bool yes = strcmp(point->expected, "yes") == 0, no = strcmp(point->expected, "no") == 0;
        if (point->holds)
            continue;
        size_t room = strlen(point->what) + strlen(point->expected) + sizeof "no  \n";
        text = require_more_memory(text, length + room, 1);
        length += (size_t)snprintf(text + length, room, "%s%s%s%s\n", no ? "no " : "", point->what,
                                   yes || no ? "" : " ", yes || no ? "" : point->expected);
    }
    return text;
}

static void take_recoveries(const struct recovery *recovery, struct soak_result *result) {
    result->recoveries = recovery->count;
    result->never = recovery->never;
    result->recovery_ticks = recovery->sum_ticks;
    result->longest_recovery_ticks = recovery->most_ticks;
}

static void take_jams(const struct jams *jams, struct soak_result *result) {
    result->jammed_ticks = jams->ticks;
    result->first_jam_tick = jams->first_tick;
    result->first_jam_since = jams->first_since;
    result->jams_ended = jams->ended;
    result->longest_jam_ticks = jams->longest_ticks;
}

static void conclude(struct watch *watch) {
    struct soak_result *result = watch->result;
    result->ticks = world_tick(watch->world);
    take_values(watch);
    result->starved_ticks =
        watch->record.window.open ? starved_ticks(watch) - watch->starved_warm : 0;
    result->stuck = is_stuck(watch);
    recovery_end(&watch->recovery);
    take_recoveries(&watch->recovery, result);
    record_end(&watch->record);
    result->jams = watch->record.verdict.jams;
    take_jams(&watch->jams, result);
    result->holds = watch->disturbed ? !result->stuck : watch->record.verdict.holds;
    result->failed = watch->disturbed ? NULL : failed_points(&watch->record.verdict);
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

static bool look(void *self) {
    struct watch *watch = self;
    if (makings_look(&watch->makings))
        recovery_look(&watch->recovery, world_tick(watch->world));
    return true;
}

static int64_t next_stop(void *self, int64_t tick) {
    struct watch *watch = self;
    return recovery_next_stop(&watch->recovery, tick, watch->scenario->run_ticks);
}

static bool stop(void *self) {
    struct watch *watch = self;
    int64_t tick = world_tick(watch->world);
    recovery_stop(&watch->recovery, tick);
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
                          .look = look,
                          .warm_up_ended = warm_up_ended,
                          .sample = sample,
                          .stop = stop,
                          .next_stop = next_stop};
    return drive_until(&drive, watch->scenario->run_ticks);
}

static void open_result(struct watch *watch, const struct soak_plan *plan, uint64_t run) {
    const struct soak_measures *measures = watch->measures;
    struct soak_result *result = watch->result;
    *result = (struct soak_result){.value = require_memory(measures->count, sizeof(double))};
    result->series_width = soak_measures_series_width(measures, plan->run_count, run);
    result->series =
        require_memory((size_t)result->series_width * SOAK_WINDOWS_MAX, sizeof *result->series);
    watch->total = require_memory(measures->count, sizeof *watch->total);
}

/* What a run is to be run with. */
struct course {
    struct scenario *scenario;
    struct mean_interval *usual; /* of each product, without disturbances; NULL: there are none */
    struct disturbances disturbances;
    int64_t quiet_from_tick;
};

static void open_watch(struct watch *watch, const struct soak_plan *plan, uint64_t run,
                       const struct course *course) {
    watch->jams.first_tick = NOT_GIVEN;
    watch->world = world_new(watch->scenario);
    makings_init(&watch->makings, watch->scenario, watch->world);
    require(course->usual != NULL || !watch->disturbed);
    for (uint32_t i = 0; i < watch->makings.count && watch->disturbed; i++)
        watch->makings.making[i].usual = course->usual[i];
    asking_init(&watch->asking, watch->scenario);
    recovery_init(&watch->recovery, &course->disturbances, &watch->makings, &watch->asking);
    bool opened = record_open(&watch->record, watch->scenario, watch->world, NULL, false);
    require(opened);
    watch->passed_on = record_listener(&watch->record);
    struct listener listener = {watch, moved, happened, began, ended, arm_changed};
    world_listen(watch->world, &listener);
    open_result(watch, plan, run);
    watch->result->quiet_from_tick = course->quiet_from_tick;
}

static void close_watch(struct watch *watch) {
    record_free(&watch->record);
    recovery_free(&watch->recovery);
    asking_free(&watch->asking);
    makings_free(&watch->makings);
    world_free(watch->world);
    free(watch->total);
}

/* Runs a world of it to its end, or its first jam. */
static bool run_course(const struct soak_plan *plan, const struct soak_measures *measures,
                       const struct course *course, uint64_t run, _Atomic int64_t *simulated,
                       struct soak_result *result) {
    struct watch watch = {.measures = measures,
                          .scenario = course->scenario,
                          .result = result,
                          .disturbed = plan->disturb,
                          .until_jam = plan->until_jam,
                          .simulated = simulated};
    open_watch(&watch, plan, run, course);
    bool whole = advance(&watch);
    if (whole)
        conclude(&watch);
    else
        soak_result_free(result);
    close_watch(&watch);
    return whole;
}

/* Whether a starvation lasted is measured against what was left of the run, which a run that ends
 * with its jam learns last. */
static bool must_run_again(const struct soak_plan *plan, const struct scenario *scenario,
                           const struct soak_result *result) {
    return plan->until_jam && !plan->disturb && scenario->expect.has_starved &&
           result->ticks < scenario->run_ticks;
}

/* ---- courses ---- */

/* The plan's scenario with the seed of the run; it borrows all else. */
static struct scenario *seeded(const struct soak_plan *plan, uint32_t variant, uint64_t run) {
    struct scenario *scenario = require_memory(1, sizeof *scenario);
    *scenario = *plan->scenario[variant];
    scenario->seed = soak_plan_seed(plan, run);
    return scenario;
}

/* Runs it without disturbances first, to know what is usual. False: a signal was noted. */
static bool find_usual(const struct soak_plan *plan, const struct soak_measures *measures,
                       uint32_t variant, uint64_t run, _Atomic int64_t *simulated,
                       struct course *course) {
    struct scenario *calm = seeded(plan, variant, run);
    course->usual = require_memory(measures->product_count, sizeof *course->usual);
    bool whole = calm_run(calm, course->usual, simulated);
    course->quiet_from_tick =
        calm->run_ticks - calm_margin_ticks(calm, course->usual, measures->product_count);
    free(calm);
    return whole;
}

static bool open_course(const struct soak_plan *plan, const struct soak_measures *measures,
                        uint32_t variant, uint64_t run, _Atomic int64_t *simulated,
                        struct course *course) {
    *course = (struct course){.scenario = NULL};
    if (!plan->disturb) {
        course->scenario = seeded(plan, variant, run);
        return true;
    }
    if (!find_usual(plan, measures, variant, run, simulated, course))
        return false;
    course->scenario = disturb_scenario(plan->scenario[variant], soak_plan_seed(plan, run),
                                        course->quiet_from_tick, &course->disturbances);
    return true;
}

static void close_course(const struct soak_plan *plan, struct course *course) {
    if (course->scenario != NULL)
        soak_run_scenario_free(plan, course->scenario);
    disturbances_free(&course->disturbances);
    free(course->usual);
}

bool soak_run(const struct soak_plan *plan, const struct soak_measures *measures, uint32_t variant,
              uint64_t run, _Atomic int64_t *simulated, struct soak_result *result) {
    struct course course;
    bool whole = open_course(plan, measures, variant, run, simulated, &course) &&
                 run_course(plan, measures, &course, run, simulated, result);
    if (whole && must_run_again(plan, course.scenario, result)) {
        course.scenario->run_ticks = result->ticks;
        soak_result_free(result);
        whole = run_course(plan, measures, &course, run, simulated, result);
    }
    close_course(plan, &course);
    return whole;
}

bool soak_run_least_ticks(const struct soak_plan *plan, const struct soak_measures *measures,
                          uint32_t variant, int64_t *least) {
    struct course course = {.scenario = NULL};
    const struct scenario *scenario = plan->scenario[variant];
    _Atomic int64_t simulated = 0;
    bool whole = find_usual(plan, measures, variant, 0, &simulated, &course);
    int64_t margin = scenario->run_ticks - course.quiet_from_tick;
    *least =
        scenario->warm_up_ticks + margin + DISTURBED_SECONDS_LEAST * scenario->ticks_per_second;
    close_course(plan, &course);
    return whole;
}

/* ---- scenarios ---- */

struct scenario *soak_run_scenario(const struct soak_plan *plan, uint64_t run,
                                   const struct soak_result *result) {
    struct disturbances list;
    if (!plan->disturb)
        return seeded(plan, 0, run);
    struct scenario *scenario = disturb_scenario(plan->scenario[0], soak_plan_seed(plan, run),
                                                 result->quiet_from_tick, &list);
    disturbances_free(&list);
    return scenario;
}

void soak_run_scenario_free(const struct soak_plan *plan, struct scenario *scenario) {
    if (plan->disturb)
        scenario_free(scenario);
    else
        free(scenario);
}
