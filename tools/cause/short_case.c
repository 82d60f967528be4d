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
#include "tools/base/interrupt.h"
#include "tools/record/drive.h"

/* Looks at a run, if it is long enough for them; starvations that are watched by themselves; looks
 * that it takes to know one. */
enum { LOOKS = 4000, WINDOWS_MOST = 16, LOOKS_LEAST = 100 };

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
    int64_t *demanded, *lost; /* [item] at the end of the warm-up */
    bool is_warm;
    bool looks;
    int64_t next_look;
    uint32_t stops;
};

/* ---- orders ---- */

static bool is_ordinary(const struct scenario_stream *demand) { return !demand->outlet; }

/* Owed of an item to all its demands. */
static int64_t owed(const struct world *world, const struct scenario *scenario, uint32_t item) {
    int64_t sum = 0;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (scenario->demand[i].item == item && is_ordinary(&scenario->demand[i]))
            sum += world_demand_owed(world, i);
    return sum;
}

static void note_orders(struct watch *watch) {
    const struct scenario *scenario = watch->cases->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        struct item_totals totals = world_item_totals(watch->world, i);
        watch->demanded[i] = totals.demanded;
        watch->lost[i] = totals.lost;
    }
}

/* Of what is owed at the end the orders of the warm-up are met first. */
static void count_orders(const struct watch *watch, uint32_t item, int64_t *asked, int64_t *met) {
    struct item_totals totals = world_item_totals(watch->world, item);
    int64_t open = owed(watch->world, watch->cases->scenario, item);
    *asked = totals.demanded - watch->demanded[item];
    open = open < *asked ? open : *asked;
    *met = *asked - open - (totals.lost - watch->lost[item]);
}

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
    count_orders(watch, self->item, &asked, &met);
    if ((double)met < SHORT_CASE_MET * (double)asked)
        return;
    roots->root[0].kind = ROOT_FULL_CHEST;
    roots->root[0].subject = (struct part){PART_CHEST, self->chest};
    roots->root[0].item = self->item;
}

/* A short starvation is explained by the whole run. */
static void explain_starvation(struct watch *watch, struct window *window) {
    bool known = window->activity.looks >= LOOKS_LEAST;
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
    waits_look(&watch->cases->waits, watch->world);
    if (watch->is_warm)
        activity_look(&watch->cases->activity, &watch->cases->waits, watch->world);
    drops_look(&watch->drops, watch->world);
    look_at_windows(watch);
}

static void warm_up_ended(void *self) {
    struct watch *watch = self;
    watch->is_warm = true;
    note_orders(watch);
}

static bool stop(void *self) {
    struct watch *watch = self;
    if (world_tick(watch->world) >= watch->next_look)
        look(watch);
    return true;
}

/* Orders are counted from the end of the warm-up, or from the beginning. */
static int64_t first_stop(void *self, int64_t tick) {
    const struct watch *watch = self;
    return watch->is_warm ? INT64_MAX : tick + 1;
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
    watch->demanded = require_memory(scenario->item_count, sizeof *watch->demanded);
    watch->lost = require_memory(scenario->item_count, sizeof *watch->lost);
}

/* Looks at who does what, too: else orders alone are counted. */
static void watch_who_waits(struct watch *watch, struct cause_cases *others) {
    struct short_cases *cases = watch->cases;
    struct listener listener = {.self = watch, .moved = moved, .happened = happened};
    waits_init(&cases->waits, cases->scenario);
    activity_init(&cases->activity, &cases->waits);
    for (uint32_t i = 0; others != NULL && i < others->count; i++)
        add_window(watch, &others->jam_case[i]);
    world_listen(watch->world, &listener);
    watch->looks = true;
}

static void watch_free(struct watch *watch) {
    drops_free(&watch->drops);
    incident_log_free(&watch->deeds);
    for (uint32_t i = 0; i < watch->window_count; i++)
        activity_free(&watch->window[i].activity);
    free(watch->demanded);
    free(watch->lost);
    world_free(watch->world);
}

static bool watch_run(struct watch *watch) {
    struct drive drive = {.scenario = watch->cases->scenario,
                          .world = watch->world,
                          .self = watch,
                          .warm_up_ended = warm_up_ended,
                          .stop = watch->looks ? stop : NULL,
                          .next_stop = watch->looks ? next_stop : first_stop};
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

static bool is_short(const struct watch *watch, uint32_t item, int64_t *asked, int64_t *met) {
    count_orders(watch, item, asked, met);
    return *asked > 0 && (double)*met < SHORT_CASE_MET * (double)*asked;
}

static void add_case(struct watch *watch, uint32_t item, int64_t asked, int64_t met) {
    struct short_cases *cases = watch->cases;
    struct short_case one = {.item = item, .asked = asked, .met = met};
    struct shortage_evidence evidence = {&cases->activity, &cases->waits, watch->world,
                                         &watch->drops};
    shortage_find_item(&one.shortage, &evidence, shortest_chest(watch, item), item,
                       short_case_factor(&one));
    roots_find_deeds(&one.shortage.roots, cases->scenario, &watch->deeds);
    one.proven = require_memory(one.shortage.roots.count, sizeof *one.proven);
    cases->short_case =
        require_more_memory(cases->short_case, cases->count + 1, sizeof *cases->short_case);
    cases->short_case[cases->count++] = one;
}

/* A product is made and demanded; where nothing that is demanded is made, all of it counts. */
static bool *mark_products(const struct scenario *scenario) {
    bool *product = require_memory(scenario->item_count, sizeof *product), some = false;
    layout_mark_products(scenario, product);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        some |= product[i];
    for (uint32_t i = 0; i < scenario->demand_count && !some; i++)
        product[scenario->demand[i].item] = is_ordinary(&scenario->demand[i]);
    return product;
}

/* How many products are short; `add`: they become cases. */
static uint32_t find_short(struct watch *watch, bool add) {
    const struct scenario *scenario = watch->cases->scenario;
    bool *product = mark_products(scenario);
    uint32_t count = 0;
    int64_t asked, met;
    for (uint32_t i = 0; i < scenario->item_count && scenario->demand_count > 0; i++) {
        if (!product[i] || !is_short(watch, i, &asked, &met))
            continue;
        count++;
        if (add)
            add_case(watch, i, asked, met);
    }
    free(product);
    return count;
}

static bool has_unexplained(const struct cause_cases *others) {
    for (uint32_t i = 0; others != NULL && i < others->count; i++)
        if (others->jam_case[i].kind == EVENT_STARVED && others->jam_case[i].roots.count == 0)
            return true;
    return false;
}

/* Most runs need no looks: they are had only where there is something to explain. */
static bool counts_alone(struct short_cases *cases, const struct world *begin,
                         const struct cause_cases *others, bool *enough) {
    struct watch watch;
    watch_init(&watch, cases, begin);
    bool whole = watch_run(&watch);
    *enough = whole && find_short(&watch, false) == 0 && !has_unexplained(others);
    watch_free(&watch);
    return whole;
}

bool short_cases_find(struct short_cases *cases, const struct scenario *scenario,
                      const struct world *begin, struct cause_cases *others) {
    struct watch watch;
    bool enough;
    *cases = (struct short_cases){.scenario = scenario};
    if (!counts_alone(cases, begin, others, &enough) || enough)
        return interrupt_signal() == 0;
    watch_init(&watch, cases, begin);
    watch_who_waits(&watch, others);
    bool whole = watch_run(&watch);
    if (whole && cases->activity.looks > 1 && find_short(&watch, true) > 0)
        cases->budget = budget_new(scenario);
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
    budget_free(cases->budget);
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
