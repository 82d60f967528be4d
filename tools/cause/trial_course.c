/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/trial_course.c - listens to a world, and looks at its counts through the last half.
 */
#include "tools/cause/trial_course.h"

#include <stdio.h>
#include <stdlib.h>

#include "model/engine/world.h"
#include "sim/require.h"
#include "tools/record/drive.h"

/* ---- what dwindles, and how it is made to last ---- */

/* Stocks that lie in a chest at the start, are taken out by an arm, and that no supply and no
 * station renews: they run out sooner or later. */
struct stocks {
    struct stock {
        uint32_t chest, item;
        int64_t count;
    } * stock;
    uint32_t count;
};

/* Which items a supply brings or a station makes. */
static bool *list_renewed(const struct scenario *scenario) {
    bool *renewed = require_memory(scenario->item_count, sizeof *renewed);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        renewed[scenario->supply[i].item] = true;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++)
            renewed[scenario->station[i].makes[j].item] = true;
    return renewed;
}

static int64_t start_of(const struct scenario *scenario, uint32_t chest, uint32_t item) {
    const struct item_counts *start = &scenario->chest[chest].start;
    for (uint32_t i = 0; i < start->count; i++)
        if (start->entry[i].item == item)
            return start->entry[i].count;
    return 0;
}

static void add_stock(struct stocks *stocks, struct stock stock) {
    for (uint32_t i = 0; i < stocks->count; i++)
        if (stocks->stock[i].chest == stock.chest && stocks->stock[i].item == stock.item)
            return;
    stocks->stock = require_more_memory(stocks->stock, stocks->count + 1, sizeof *stocks->stock);
    stocks->stock[stocks->count++] = stock;
}

static struct stocks list_stocks(const struct scenario *scenario) {
    struct stocks stocks = {0};
    bool *renewed = list_renewed(scenario);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        for (uint32_t j = 0; j < arm->item_count && arm->from.kind == PLACE_CHEST; j++) {
            int64_t count = start_of(scenario, arm->from.index, arm->item[j]);
            if (count > 0 && !renewed[arm->item[j]])
                add_stock(&stocks, (struct stock){arm->from.index, arm->item[j], count});
        }
    }
    free(renewed);
    return stocks;
}

/* As much as the chest began with is in it again within a second of when half of it is gone. */
static void fill_again(struct scenario *scenario, struct stock stock) {
    int64_t batch = (stock.count + 1) / 2;
    uint32_t gate = scenario->gate_count++, supply = scenario->supply_count++;
    scenario->gate =
        require_more_memory(scenario->gate, scenario->gate_count, sizeof *scenario->gate);
    scenario->supply =
        require_more_memory(scenario->supply, scenario->supply_count, sizeof *scenario->supply);
    scenario->gate[gate] = (struct scenario_gate){.kind = GATE_BELOW,
                                                  .reads = READS_CHEST,
                                                  .subject = stock.chest,
                                                  .item = stock.item,
                                                  .threshold = stock.count - batch + 1,
                                                  .reopen_below = NOT_GIVEN,
                                                  .first_child = NO_INDEX,
                                                  .next_sibling = NO_INDEX};
    scenario->supply[supply] =
        (struct scenario_stream){.name = require_text(""),
                                 .chest = stock.chest,
                                 .item = stock.item,
                                 .every = {.kind = SPAN_FIXED,
                                           .ticks = scenario->ticks_per_second,
                                           .mean_ticks = scenario->ticks_per_second,
                                           .least_ticks = 1},
                                 .batch = batch,
                                 .first_tick = NOT_GIVEN,
                                 .until_tick = NO_LIMIT,
                                 .gate = gate,
                                 .breaks = &scenario_never_breaks};
}

static bool fill_all_again(struct scenario *scenario) {
    struct stocks stocks = list_stocks(scenario);
    for (uint32_t i = 0; i < stocks.count; i++)
        fill_again(scenario, stocks.stock[i]);
    free(stocks.stock);
    return stocks.count > 0;
}

static bool let_go_on(struct scenario_stream *stream, uint32_t count, int64_t ticks) {
    bool changed = false;
    for (uint32_t i = 0; i < count; i++)
        if (stream[i].until_tick <= ticks) {
            stream[i].until_tick = NO_LIMIT;
            changed = true;
        }
    return changed;
}

bool course_make_go_on(struct scenario *scenario, int64_t ticks) {
    bool supplies = let_go_on(scenario->supply, scenario->supply_count, ticks);
    bool demands = let_go_on(scenario->demand, scenario->demand_count, ticks);
    bool stocks = fill_all_again(scenario);
    return supplies || demands || stocks;
}

/* ---- counts that may grow ---- */

enum { QUARTERS = 4, LOOKS_A_QUARTER = 16, LOOKS = QUARTERS * LOOKS_A_QUARTER, GROWTH_LEAST = 4 };

/* A kind of item in a place, and its counts through the last half. */
struct level {
    struct place place;
    uint32_t item;
    int64_t sum[QUARTERS], least[QUARTERS], most[QUARTERS];
};

struct course_watch {
    const struct scenario *scenario;
    struct world *world;
    struct starvation *starvation;
    struct course *course;
    _Atomic int64_t *earliest;
    int64_t *open_jam; /* [lane] start of one that lasts, NOT_GIVEN */
    int64_t demands_end;
    struct stocks stocks;
    struct level *level;
    uint32_t level_count, level_capacity;
    int looks;                 /* at the counts, so far */
    uint64_t ticks, acts_most; /* ticks with something to do, so far; with moves at most so many */
    bool is_warm;
    bool last;
};

static void add_level(struct course_watch *watch, struct place place, uint32_t item) {
    if (place.kind == PLACE_STATION)
        return;
    if (watch->level_count == watch->level_capacity) {
        watch->level_capacity = 2 * watch->level_capacity + 64;
        watch->level =
            require_more_memory(watch->level, watch->level_capacity, sizeof *watch->level);
    }
    place.cell = 0;
    watch->level[watch->level_count++] = (struct level){.place = place, .item = item};
}

static int level_order(const void *a, const void *b) {
    const struct level *x = a, *y = b;
    if (x->place.kind != y->place.kind)
        return x->place.kind < y->place.kind ? -1 : 1;
    if (x->place.index != y->place.index)
        return x->place.index < y->place.index ? -1 : 1;
    return (x->item > y->item) - (x->item < y->item);
}

/* What arms, supplies and drops may bring to a place, each once. */
static void list_levels(struct course_watch *watch) {
    const struct scenario *scenario = watch->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        for (uint32_t j = 0; j < scenario->arm[i].item_count; j++)
            add_level(watch, scenario->arm[i].to, scenario->arm[i].item[j]);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        add_level(watch, (struct place){PLACE_CHEST, scenario->supply[i].chest, 0},
                  scenario->supply[i].item);
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].kind == INCIDENT_DROP)
            add_level(watch, scenario->incident[i].track, scenario->incident[i].item);
    if (watch->level_count > 0)
        qsort(watch->level, watch->level_count, sizeof *watch->level, level_order);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < watch->level_count; i++)
        if (kept == 0 || level_order(&watch->level[kept - 1], &watch->level[i]) != 0)
            watch->level[kept++] = watch->level[i];
    watch->level_count = kept;
}

static int64_t count_at(const struct world *world, const struct level *level) {
    return level->place.kind == PLACE_CHEST
               ? world_chest_count(world, level->place.index, level->item)
               : world_track_count(world, level->place, level->item);
}

static void look_at_levels(struct course_watch *watch, int look) {
    int quarter = look / LOOKS_A_QUARTER;
    for (uint32_t i = 0; i < watch->level_count; i++) {
        struct level *level = &watch->level[i];
        int64_t count = count_at(watch->world, level);
        bool first = look % LOOKS_A_QUARTER == 0;
        level->sum[quarter] += count;
        if (first || count < level->least[quarter])
            level->least[quarter] = count;
        if (first || count > level->most[quarter])
            level->most[quarter] = count;
    }
}

/* It rises from quarter to quarter by nearly the same, and more than it goes up and down within
 * one: counts that only swing do neither for long. */
static bool rises(const struct level *level) {
    int64_t rise = level->sum[QUARTERS - 1] - level->sum[0], range = 0;
    for (int i = 0; i < QUARTERS; i++)
        if (level->most[i] - level->least[i] > range)
            range = level->most[i] - level->least[i];
    for (int i = 1; i < QUARTERS; i++)
        if (4 * (QUARTERS - 1) * (level->sum[i] - level->sum[i - 1]) < rise)
            return false;
    return rise >= LOOKS_A_QUARTER * GROWTH_LEAST && 2 * rise >= 3 * LOOKS_A_QUARTER * range;
}

static const char *name_of(const struct scenario *scenario, struct place place) {
    switch (place.kind) {
    case PLACE_CHEST: return scenario->chest[place.index].name;
    case PLACE_STATION: return scenario->station[place.index].name;
    case PLACE_LANE: return scenario->lane[place.index].full_name;
    case PLACE_LINE: return scenario->line[place.index].name;
    }
    return "";
}

static void find_growth(struct course_watch *watch) {
    const struct scenario *scenario = watch->scenario;
    int64_t half = scenario->run_ticks / 2;
    double minutes =
        (double)half * (QUARTERS - 1) / QUARTERS / (60 * (double)scenario->ticks_per_second);
    struct course *course = watch->course;
    for (uint32_t i = 0; i < watch->level_count; i++) {
        const struct level *level = &watch->level[i];
        if (!rises(level) || minutes <= 0)
            continue;
        course->growth =
            require_more_memory(course->growth, course->growth_count + 1, sizeof *course->growth);
        course->growth[course->growth_count++] = (struct course_growth){
            level->place, require_text(name_of(scenario, level->place)), level->item,
            (double)(level->sum[QUARTERS - 1] - level->sum[0]) / LOOKS_A_QUARTER / minutes};
    }
}

/* ---- listening ---- */

static void note_first(int64_t *first, int64_t tick) {
    if (*first == NOT_GIVEN || tick < *first)
        *first = tick;
}

static void note_jam(struct course_watch *watch, int64_t tick) {
    note_first(&watch->course->first_jam, tick);
    if (watch->earliest == NULL)
        return;
    int64_t earliest = atomic_load(watch->earliest);
    while (tick < earliest && !atomic_compare_exchange_weak(watch->earliest, &earliest, tick))
        continue;
}

/* Whether a stock that nothing renews is used up now. */
static bool has_run_out(const struct course_watch *watch) {
    for (uint32_t i = 0; i < watch->stocks.count; i++)
        if (world_chest_count(watch->world, watch->stocks.stock[i].chest,
                              watch->stocks.stock[i].item) == 0)
            return true;
    return false;
}

void course_watch_began(struct course_watch *watch, const struct event *event) {
    if (event->kind == EVENT_JAM) {
        note_first(&watch->course->any_jam, event->start_tick);
        watch->open_jam[event->track.index] = event->start_tick;
        if (event->start_tick >= watch->scenario->warm_up_ticks)
            note_jam(watch, event->start_tick);
    }
    if (event->kind == EVENT_CLOGGED) {
        note_first(&watch->course->any_clog, event->start_tick);
        watch->course->blamed_clog = event->start_tick > watch->demands_end || has_run_out(watch)
                                         ? NOT_GIVEN
                                         : event->start_tick;
    }
}

void course_watch_ended(struct course_watch *watch, const struct event *event) {
    if (event->kind == EVENT_JAM) {
        watch->open_jam[event->track.index] = NOT_GIVEN;
        if (watch->last || event->end_tick >= watch->scenario->warm_up_ticks)
            note_jam(watch, event->start_tick);
    }
    if (event->kind == EVENT_CLOGGED && watch->last)
        watch->course->open_clog = event->start_tick;
    else if (event->kind == EVENT_CLOGGED)
        watch->course->blamed_clog = NOT_GIVEN;
}

static void began(void *self, const struct event *event) {
    struct course_watch *watch = self;
    course_watch_began(watch, event);
    if (event->kind == EVENT_STARVED && watch->starvation != NULL)
        starvation_began(watch->starvation, event);
}

static void ended(void *self, const struct event *event) {
    struct course_watch *watch = self;
    course_watch_ended(watch, event);
    if (event->kind == EVENT_STARVED && watch->starvation != NULL)
        starvation_ended(watch->starvation, event, watch->last);
}

static void arm_changed(void *self, uint32_t arm) {
    const struct course_watch *watch = self;
    starvation_arm_changed(watch->starvation, arm);
}

/* ---- the run ---- */

static void count_items(const struct course_watch *watch, int sign) {
    for (uint32_t i = 0; i < watch->scenario->item_count; i++) {
        struct item_totals totals = world_item_totals(watch->world, i);
        watch->course->made[i] += sign * totals.made;
        watch->course->asked[i] += sign * totals.demanded;
        watch->course->met[i] += sign * (totals.demanded - totals.lost);
        watch->course->taken[i] += sign * totals.met;
    }
}

/* What is owed at the end was asked for last: orders get what they asked for in their order. */
static void take_off_owed(const struct course_watch *watch) {
    for (uint32_t i = 0; i < watch->scenario->item_count; i++) {
        int64_t met = watch->course->met[i] - world_item_totals(watch->world, i).owed;
        watch->course->met[i] = met > 0 ? met : 0;
    }
}

/* A jam that lasts counts from now on. */
void course_watch_warm_up_ended(struct course_watch *watch) {
    count_items(watch, -1);
    for (uint32_t i = 0; i < watch->scenario->lane_count; i++)
        if (watch->open_jam[i] != NOT_GIVEN)
            note_jam(watch, watch->open_jam[i]);
}

static void end_warm_up(void *self) { course_watch_warm_up_ended(self); }

/* The tick of a look at the counts: the last half, in equal steps. */
static int64_t look_tick(const struct scenario *scenario, int look) {
    return scenario->run_ticks - scenario->run_ticks / 2 / LOOKS * (LOOKS - 1 - look);
}

/* At least so often it is seen whether another run has failed earlier. */
enum { STRETCHES = 1000 };

static int64_t next_stop(void *self, int64_t tick) {
    const struct course_watch *watch = self;
    int64_t next = tick + watch->scenario->run_ticks / STRETCHES + 1;
    int64_t look = watch->looks < LOOKS ? look_tick(watch->scenario, watch->looks) : next;
    return look > tick && look < next ? look : next;
}

static bool stop(void *self) {
    struct course_watch *watch = self;
    int64_t tick = world_tick(watch->world);
    while (watch->looks < LOOKS && tick >= look_tick(watch->scenario, watch->looks))
        look_at_levels(watch, watch->looks++);
    return watch->earliest == NULL || tick <= atomic_load(watch->earliest);
}

static bool is_too_dear(const struct course_watch *watch) {
    return watch->ticks + world_moves(watch->world) > watch->acts_most;
}

static bool count_tick(void *self) {
    struct course_watch *watch = self;
    watch->ticks++;
    return !is_too_dear(watch);
}

static void go_through(struct course_watch *watch) {
    struct drive drive = {.scenario = watch->scenario,
                          .world = watch->world,
                          .starvation = watch->starvation,
                          .is_warm = watch->is_warm,
                          .self = watch,
                          .look = count_tick,
                          .warm_up_ended = end_warm_up,
                          .stop = stop,
                          .next_stop = next_stop};
    bool goes_on = drive_until(&drive, watch->scenario->run_ticks);
    watch->course->end_tick = world_tick(watch->world);
    watch->course->whole =
        watch->course->end_tick >= watch->scenario->run_ticks || (goes_on && is_too_dear(watch));
}

static int64_t end_of_demands(const struct scenario *scenario) {
    int64_t end = scenario_has_orders(scenario) ? 0 : NO_LIMIT;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!scenario->demand[i].outlet && scenario->demand[i].until_tick > end)
            end = scenario->demand[i].until_tick;
    return end;
}

static void note_starvations(struct course_watch *watch) {
    for (uint32_t i = 0; i < watch->scenario->station_count; i++) {
        watch->course->starved[i] = starvation_lasted(watch->starvation, i);
        watch->course->some_starved |= watch->course->starved[i];
    }
}

/* A rest at the end from which the next order or delivery wakes the workshop, as it has before. */
static bool is_passing(const struct course_watch *watch) {
    int64_t ticks = watch->course->end_tick;
    return watch->course->blamed_clog != NOT_GIVEN && world_help_comes(watch->world) &&
           ticks - watch->course->blamed_clog < ticks / 10;
}

static void watch_init(struct course_watch *watch, struct course *course,
                       const struct scenario *scenario, struct world *world,
                       _Atomic int64_t *earliest) {
    *watch = (struct course_watch){.scenario = scenario,
                                   .world = world,
                                   .course = course,
                                   .earliest = earliest,
                                   .stocks = list_stocks(scenario),
                                   .demands_end = end_of_demands(scenario)};
    watch->open_jam = require_memory(scenario->lane_count, sizeof *watch->open_jam);
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        watch->open_jam[i] = NOT_GIVEN;
}

static void watch_free(struct course_watch *watch) {
    free(watch->open_jam);
    free(watch->stocks.stock);
    free(watch->level);
}

static void course_init(struct course *course, const struct scenario *scenario) {
    *course = (struct course){.first_jam = NOT_GIVEN,
                              .any_jam = NOT_GIVEN,
                              .any_clog = NOT_GIVEN,
                              .open_clog = NOT_GIVEN,
                              .blamed_clog = NOT_GIVEN};
    course->made = require_memory(scenario->item_count, sizeof *course->made);
    course->asked = require_memory(scenario->item_count, sizeof *course->asked);
    course->met = require_memory(scenario->item_count, sizeof *course->met);
    course->taken = require_memory(scenario->item_count, sizeof *course->taken);
    course->starved = require_memory(scenario->station_count, sizeof *course->starved);
}

/* What is known at the end of a run that came so far. */
static void note_end(struct course_watch *watch) {
    watch->course->ran_out = has_run_out(watch);
    if (is_passing(watch))
        watch->course->blamed_clog = NOT_GIVEN;
    if (watch->starvation != NULL)
        note_starvations(watch);
    count_items(watch, 1);
    take_off_owed(watch);
    if (watch->looks == LOOKS)
        find_growth(watch);
}

static void run_watched(struct course_watch *watch) {
    struct listener listener = {
        .self = watch, .began = began, .ended = ended, .arm_changed = arm_changed};
    uint64_t before = world_moves(watch->world);
    if (watch->starvation == NULL)
        listener.arm_changed = NULL;
    world_listen(watch->world, &listener);
    go_through(watch);
    watch->last = true;
    watch->course->moves = world_moves(watch->world) - before;
    if (watch->course->whole) {
        world_report_open(watch->world);
        note_end(watch);
    }
}

void course_run(struct course *course, const struct scenario *scenario, _Atomic int64_t *earliest,
                uint64_t acts_most) {
    struct course_watch watch;
    course_init(course, scenario);
    watch_init(&watch, course, scenario, world_new(scenario), earliest);
    watch.acts_most = acts_most;
    watch.starvation = starvation_new(scenario, watch.world);
    list_levels(&watch);
    run_watched(&watch);
    starvation_free(watch.starvation);
    world_free(watch.world);
    watch_free(&watch);
}

void course_try(struct course *course, const struct scenario *scenario, struct world *world) {
    struct course_watch watch;
    _Atomic int64_t earliest = INT64_MAX;
    course_init(course, scenario);
    watch_init(&watch, course, scenario, world, &earliest);
    watch.looks = LOOKS;
    watch.acts_most = UINT64_MAX;
    if (world_tick(world) >= scenario->warm_up_ticks) {
        watch.is_warm = true;
        count_items(&watch, -1);
    }
    run_watched(&watch);
    starvation_free(watch.starvation);
    world_free(watch.world);
    watch_free(&watch);
}

struct course_watch *course_watch_new(struct course *course, const struct scenario *scenario,
                                      struct world *world, struct starvation *starvation) {
    struct course_watch *watch = require_memory(1, sizeof *watch);
    _Atomic int64_t *nobody_else = NULL;
    course_init(course, scenario);
    watch_init(watch, course, scenario, world, nobody_else);
    watch->starvation = starvation;
    return watch;
}

void course_watch_run_ended(struct course_watch *watch) { watch->last = true; }

void course_watch_finish(struct course_watch *watch) {
    watch->course->moves = world_moves(watch->world);
    watch->course->end_tick = world_tick(watch->world);
    watch->course->whole = true;
    note_end(watch);
    watch_free(watch);
    free(watch);
}

void course_growth_free(struct course_growth *growth, uint32_t count) {
    for (uint32_t i = 0; i < count; i++)
        free(growth[i].name);
    free(growth);
}

void course_free(struct course *course) {
    free(course->starved);
    free(course->made);
    free(course->asked);
    free(course->met);
    free(course->taken);
    course_growth_free(course->growth, course->growth_count);
    *course = (struct course){0};
}
