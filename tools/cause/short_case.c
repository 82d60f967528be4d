/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/short_case.c - counts orders, looks at who waits, then asks what limits. */
#include "tools/cause/short_case.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/cause/drops.h"
#include "model/cause/incident_log.h"
#include "model/scenario/layout.h"
#include "model/state/state.h"
#include "sim/require.h"
#include "tools/cause/orders.h"
#include "tools/record/drive.h"

/* Looks at a run, if it is long enough for them; starvations that are watched by themselves; looks
 * that it takes to know one. */
enum { LOOKS = 600, WINDOWS_MOST = 16, LOOKS_LEAST = 100 };

/* The time of a starvation. */
struct window {
    struct cause_case *starvation;
    struct activity activity;
    bool done;
};

/* A run that is being watched. */
struct watch {
    struct window window[WINDOWS_MOST];
    uint32_t window_count;
    struct short_cases *cases;
    struct world *world;
    struct drops drops;
    struct incident_log deeds;
    int64_t every;
    struct orders orders;
    bool is_warm;
    int64_t next_look;
    uint32_t stops;
};

static bool is_ordinary(const struct scenario_stream *demand) { return !demand->outlet; }

/* ---- watching ---- */

/* The demand of what a gate has most often waited for to fall, where that held back first;
 * NO_INDEX: there is none. */
static uint32_t demand_at_gate(const struct watch *watch, const struct activity *activity,
                               const struct roots *roots) {
    static const enum waits_kind gates[] = {[PART_ARM] = WAITS_ARM_GATE,
                                            [PART_STATION] = WAITS_STATION_GATE,
                                            [PART_SUPPLY] = WAITS_SUPPLY_GATE};
    const struct scenario *scenario = watch->cases->scenario;
    const struct waits *waits = &watch->cases->waits;
    if (roots->count == 0 || roots->root[0].kind != ROOT_LOW_THRESHOLD)
        return NO_INDEX;
    struct part subject = roots->root[0].subject;
    const struct activity_wait *wait =
        activity_gate_wait(activity, waits_vertex(waits, gates[subject.kind], subject.index));
    for (uint32_t i = 0; i < scenario->demand_count && wait != NULL; i++)
        if (wait->why == WAITS_FOR_FALL && is_ordinary(&scenario->demand[i]) &&
            wait->to == waits_vertex(waits, WAITS_CHEST, scenario->demand[i].chest) &&
            (wait->item == NO_INDEX || wait->item == scenario->demand[i].item))
            return i;
    return NO_INDEX;
}

/* Where as much comes as is asked for, a gate that holds back is right: the chest is full. */
static void blame_full_chest(const struct watch *watch, const struct activity *activity,
                             struct roots *roots) {
    uint32_t demand = demand_at_gate(watch, activity, roots);
    int64_t asked, met;
    if (demand == NO_INDEX)
        return;
    const struct scenario_stream *self = &watch->cases->scenario->demand[demand];
    orders_count(&watch->orders, watch->world, self->item, &asked, &met);
    if ((double)met < ORDERS_MET * (double)asked)
        return;
    roots->root[0].kind = ROOT_FULL_CHEST;
    roots->root[0].subject = (struct part){PART_CHEST, self->chest};
    roots->root[0].item = self->item;
}

/* A short starvation is explained by the whole run. */
static void explain_starvation(struct watch *watch, struct window *window) {
    bool known = window->activity.looks >= LOOKS_LEAST;
    waits_find_stuck(&watch->cases->waits);
    struct shortage_evidence evidence = {known ? &window->activity : &watch->cases->activity,
                                         &watch->cases->waits, watch->world, &watch->drops};
    struct shortage shortage = {0};
    struct cause_case *starvation = window->starvation;
    shortage_find_station(&shortage, &evidence, starvation->index);
    blame_full_chest(watch, evidence.activity, &shortage.roots);
    roots_find_deeds(&shortage.roots, watch->cases->scenario, &watch->deeds);
    starvation->roots.root = shortage.roots.root;
    starvation->roots.count = shortage.roots.count;
    starvation->roots.capacity = shortage.roots.capacity;
    shortage.roots.root = NULL;
    free(starvation->cures);
    starvation->cures = require_memory(starvation->roots.count, sizeof *starvation->cures);
    shortage_free(&shortage);
    window->done = true;
}

static void look_at_windows(struct watch *watch) {
    int64_t tick = world_tick(watch->world);
    for (uint32_t i = 0; i < watch->window_count; i++) {
        struct window *window = &watch->window[i];
        const struct cause_case *starvation = window->starvation;
        if (window->done || tick < starvation->since_tick)
            continue;
        activity_look(&window->activity, &watch->cases->waits, watch->world);
        if (tick >= starvation->end_tick && watch->cases->activity.looks > 1)
            explain_starvation(watch, window);
    }
}

static void look(struct watch *watch) {
    waits_glance(&watch->cases->waits, watch->world);
    if (watch->is_warm)
        activity_look(&watch->cases->activity, &watch->cases->waits, watch->world);
    drops_look(&watch->drops, watch->world);
    look_at_windows(watch);
}

static void warm_up_ended(void *self) {
    struct watch *watch = self;
    watch->is_warm = true;
    orders_begin(&watch->orders, watch->world);
}

static bool stop(void *self) {
    struct watch *watch = self;
    if (world_tick(watch->world) >= watch->next_look)
        look(watch);
    return true;
}

/* The first look is at the end of the warm-up, unless somebody starves before; the last one at the
 * end. */
static int64_t next_stop(void *self, int64_t tick) {
    struct watch *watch = self;
    const struct scenario *scenario = watch->cases->scenario;
    watch->next_look = activity_next_look(watch->stops++, tick, watch->every);
    if (!watch->is_warm && (watch->window_count == 0 || watch->next_look > scenario->warm_up_ticks))
        watch->next_look = tick < scenario->warm_up_ticks ? scenario->warm_up_ticks : tick + 1;
    if (watch->next_look > scenario->run_ticks)
        watch->next_look = scenario->run_ticks;
    return watch->next_look;
}

static void moved(void *self, const struct move *move) {
    struct watch *watch = self;
    activity_moved(&watch->cases->activity, move);
    for (uint32_t i = 0; i < watch->window_count; i++)
        activity_moved(&watch->window[i].activity, move);
}

static void happened(void *self, const struct event *event) {
    struct watch *watch = self;
    drops_happened(&watch->drops, event);
    incident_log_happened(&watch->deeds, event);
}

static void add_window(struct watch *watch, struct cause_case *self) {
    if (self->kind != EVENT_STARVED || self->roots.count > 0 || watch->window_count == WINDOWS_MOST)
        return;
    struct window *window = &watch->window[watch->window_count++];
    window->starvation = self;
    activity_init(&window->activity, &watch->cases->waits);
}

static void watch_init(struct watch *watch, struct short_cases *cases, const struct world *begin) {
    const struct scenario *scenario = cases->scenario;
    *watch = (struct watch){.cases = cases};
    watch->world = begin != NULL ? state_copy(begin, scenario) : world_new(scenario);
    require(watch->world != NULL);
    incident_log_init(&watch->deeds, scenario);
    watch->every = (scenario->run_ticks - world_tick(watch->world)) / LOOKS;
    orders_init(&watch->orders, scenario);
}

/* Looks at who does what, too. */
static void watch_who_waits(struct watch *watch, struct cause_cases *others) {
    struct short_cases *cases = watch->cases;
    struct listener listener = {.self = watch, .moved = moved, .happened = happened};
    waits_init(&cases->waits, cases->scenario);
    activity_init(&cases->activity, &cases->waits);
    for (uint32_t i = 0; others != NULL && i < others->count; i++)
        add_window(watch, &others->jam_case[i]);
    world_listen(watch->world, &listener);
}

static void watch_free(struct watch *watch) {
    drops_free(&watch->drops);
    incident_log_free(&watch->deeds);
    for (uint32_t i = 0; i < watch->window_count; i++)
        activity_free(&watch->window[i].activity);
    orders_free(&watch->orders);
    world_free(watch->world);
}

static bool watch_run(struct watch *watch) {
    struct drive drive = {.scenario = watch->cases->scenario,
                          .world = watch->world,
                          .self = watch,
                          .warm_up_ended = warm_up_ended,
                          .stop = stop,
                          .next_stop = next_stop};
    return drive_until(&drive, watch->cases->scenario->run_ticks);
}

/* ---- what is short ---- */

/* The chest of an item's demand to which most is owed. */
static uint32_t shortest_chest(const struct watch *watch, uint32_t item) {
    const struct scenario *scenario = watch->cases->scenario;
    uint32_t chest = NO_INDEX;
    int64_t most = -1;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (scenario->demand[i].item == item && is_ordinary(&scenario->demand[i]) &&
            world_demand_owed(watch->world, i) > most) {
            most = world_demand_owed(watch->world, i);
            chest = scenario->demand[i].chest;
        }
    return chest;
}

static void add_case(struct watch *watch, uint32_t item) {
    struct short_cases *cases = watch->cases;
    struct short_case one = {.item = item};
    struct shortage_evidence evidence = {&cases->activity, &cases->waits, watch->world,
                                         &watch->drops};
    orders_count(&watch->orders, watch->world, item, &one.asked, &one.met);
    shortage_find_item(&one.shortage, &evidence, shortest_chest(watch, item), item,
                       short_case_factor(&one));
    roots_find_deeds(&one.shortage.roots, cases->scenario, &watch->deeds);
    one.proven = require_memory(one.shortage.roots.count, sizeof *one.proven);
    cases->short_case =
        require_more_memory(cases->short_case, cases->count + 1, sizeof *cases->short_case);
    cases->short_case[cases->count++] = one;
}

static void add_cases(struct watch *watch) {
    for (uint32_t i = 0; i < watch->cases->scenario->item_count; i++)
        if (orders_is_short(&watch->orders, watch->world, i))
            add_case(watch, i);
}

static bool has_unexplained(const struct cause_cases *others) {
    for (uint32_t i = 0; i < others->count; i++)
        if (others->jam_case[i].kind == EVENT_STARVED && others->jam_case[i].roots.count == 0)
            return true;
    return false;
}

bool short_cases_find(struct short_cases *cases, const struct scenario *scenario,
                      const struct world *begin, struct cause_cases *others) {
    struct watch watch;
    *cases = (struct short_cases){.scenario = scenario};
    if (others != NULL && !others->some_short && !has_unexplained(others))
        return true; /* most runs need no looks */
    watch_init(&watch, cases, begin);
    watch_who_waits(&watch, others);
    bool whole = watch_run(&watch);
    waits_find_stuck(&cases->waits);
    if (whole && cases->activity.looks > 1)
        add_cases(&watch);
    cases->moves = world_moves(watch.world);
    watch_free(&watch);
    return whole;
}

void short_cases_free(struct short_cases *cases) {
    for (uint32_t i = 0; i < cases->count; i++) {
        shortage_free(&cases->short_case[i].shortage);
        free(cases->short_case[i].proven);
    }
    free(cases->short_case);
    activity_free(&cases->activity);
    waits_free(&cases->waits);
    *cases = (struct short_cases){0};
}

double short_case_factor(const struct short_case *self) {
    return self->met > 0 ? (double)self->asked / (double)self->met : INFINITY;
}

const struct budget_product *short_cases_budget(const struct short_cases *cases, uint32_t item) {
    for (uint32_t i = 0; cases->budget != NULL && i < cases->budget->product_count; i++)
        if (cases->budget->product[i].item == item)
            return &cases->budget->product[i];
    return NULL;
}
