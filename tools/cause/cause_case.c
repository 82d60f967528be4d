/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_case.c - repeats the run twice: once to find the cases, once to record how
 * things stood when each began. */
#include "tools/cause/cause_case.h"

#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/state/state.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/cause/orders.h"
#include "tools/record/drive.h"
#include "tools/record/event_rows.h"

/* ---- cases, as they are found ---- */

/* A starvation that is watched by itself, because an earlier one of its station counts already. */
struct extra {
    uint32_t station;
    struct starvation *starvation;
};

struct finder {
    struct cause_cases *cases;
    const struct scenario *scenario;
    struct world *world;
    struct starvation *starvation;
    struct extra *extra;
    uint32_t extra_count, extra_capacity;
    struct event_rows rows; /* of events.csv */
    uint32_t *open_case;    /* of each slot; NO_INDEX: none is open */
    struct orders orders;
    struct progress *progress;  /* NULL: nobody waits */
    struct course_watch *watch; /* NULL: the run does not begin before tick 0 */
    uint64_t moves_by_jam;      /* picks and places before the first jam */
    int64_t jam_tick;           /* NOT_GIVEN: there was none */
    bool is_warm;
    bool seen; /* events begin under our eyes, not before */
    bool last;
};

static void take_row(void *self, uint64_t number, const struct event *event, uint32_t slot) {
    struct finder *finder = self;
    struct cause_cases *cases = finder->cases;
    cases->rows = number;
    if (!event_kind_row(event->kind)->is_explained)
        return;
    cases->jam_case =
        array_with_room(cases->jam_case, cases->count, &cases->capacity, sizeof *cases->jam_case);
    finder->open_case[slot] = cases->count;
    cases->jam_case[cases->count++] =
        (struct cause_case){.kind = event->kind,
                            .index = slot - finder->rows.slots.first[event->kind],
                            .row = number,
                            .start_tick = event->start_tick,
                            .since_tick = event->since_tick,
                            .end_tick = event->end_tick,
                            .lasted = true,
                            .began_before = !finder->seen,
                            .turning_tick = NOT_GIVEN};
}

static void happened(void *self, const struct event *event) {
    struct finder *finder = self;
    event_rows_add(&finder->rows, event);
}

/* ---- starvations ---- */

static struct starvation **extra_of(struct finder *finder, uint32_t station) {
    for (uint32_t i = 0; i < finder->extra_count; i++)
        if (finder->extra[i].station == station)
            return &finder->extra[i].starvation;
    return NULL;
}

/* Whoever keeps an eye on the present starvation of a station: it tells only whether any lasted. */
static struct starvation *eye_of(struct finder *finder, uint32_t station) {
    struct starvation **extra = extra_of(finder, station);
    return extra != NULL ? *extra : finder->starvation;
}

static void starved_began(struct finder *finder, const struct event *event) {
    uint32_t station = event->actor.index;
    if (starvation_lasted(eye_of(finder, station), station)) {
        struct starvation **extra = extra_of(finder, station);
        if (extra == NULL) {
            finder->extra = array_with_room(finder->extra, finder->extra_count,
                                            &finder->extra_capacity, sizeof *finder->extra);
            finder->extra[finder->extra_count] = (struct extra){station, NULL};
            extra = &finder->extra[finder->extra_count++].starvation;
        }
        starvation_free(*extra);
        *extra = starvation_new(finder->scenario, finder->world);
    }
    starvation_began(eye_of(finder, station), event);
}

/* A starvation of which the beginning was not seen is judged by its length alone. */
static bool is_long(const struct finder *finder, const struct event *event) {
    int64_t left = finder->scenario->run_ticks - event->start_tick;
    return finder->last || 2 * (event->end_tick - event->start_tick) > left;
}

static bool starved_ended(struct finder *finder, const struct event *event) {
    struct starvation *eye = eye_of(finder, event->actor.index);
    starvation_ended(eye, event, finder->last);
    return starvation_lasted(eye, event->actor.index);
}

/* Called at each sample. */
static bool look_at_extra(void *self) {
    struct finder *finder = self;
    for (uint32_t i = 0; i < finder->extra_count; i++)
        starvation_look(finder->extra[i].starvation);
    if (finder->progress != NULL)
        progress_show(finder->progress, world_tick(finder->world));
    return true;
}

/* ---- orders, and moments that are kept ---- */

static void warm_up_ended(void *self) {
    struct finder *finder = self;
    finder->is_warm = true;
    orders_begin(&finder->orders, finder->world);
    if (finder->watch != NULL)
        course_watch_warm_up_ended(finder->watch);
}

static bool keep_moment(void *self) {
    struct finder *finder = self;
    ladder_keep(&finder->cases->ladder, finder->world);
    return true;
}

/* Orders are counted from the end of the warm-up, or from the beginning. */
static int64_t next_moment(void *self, int64_t tick) {
    const struct finder *finder = self;
    int64_t next = ladder_next(&finder->cases->ladder);
    return finder->is_warm || next <= tick ? next : tick + 1;
}

/* ---- listening ---- */

static void began(void *self, const struct event *event) {
    struct finder *finder = self;
    event_rows_add(&finder->rows, event);
    if (finder->watch != NULL)
        course_watch_began(finder->watch, event);
    if (event->kind == EVENT_STARVED)
        starved_began(finder, event);
    if (event->kind == EVENT_JAM && finder->jam_tick == NOT_GIVEN) {
        finder->jam_tick = event->start_tick;
        finder->moves_by_jam = world_moves(finder->world);
    }
}

/* The open case that an event ends; NULL: none that is explained. */
static struct cause_case *case_of(struct finder *finder, const struct event *event) {
    uint32_t slot = event_slots_of(&finder->rows.slots, event);
    if (!event_kind_row(event->kind)->is_explained)
        return NULL;
    if (finder->open_case[slot] == NO_INDEX)
        event_rows_flush(&finder->rows);
    require(finder->open_case[slot] != NO_INDEX);
    struct cause_case *self = &finder->cases->jam_case[finder->open_case[slot]];
    finder->open_case[slot] = NO_INDEX;
    return self;
}

static void ended(void *self, const struct event *event) {
    struct finder *finder = self;
    struct cause_case *found = case_of(finder, event);
    if (finder->watch != NULL)
        course_watch_ended(finder->watch, event);
    if (found == NULL)
        return;
    found->end_tick = event->end_tick;
    found->open = finder->last;
    if (event->kind == EVENT_STARVED)
        found->lasted = found->began_before ? is_long(finder, event) : starved_ended(finder, event);
}

static void arm_changed(void *self, uint32_t arm) {
    struct finder *finder = self;
    starvation_arm_changed(finder->starvation, arm);
    for (uint32_t i = 0; i < finder->extra_count; i++)
        starvation_arm_changed(finder->extra[i].starvation, arm);
}

/* What lasts already where the run begins. */
static void lasts(void *self, const struct event *event) {
    struct finder *finder = self;
    event_rows_add_open(&finder->rows, event);
}

static void list_lasting(struct finder *finder) {
    struct listener listener = {.self = finder, .ended = lasts};
    world_listen(finder->world, &listener);
    world_report_open(finder->world);
    event_rows_flush(&finder->rows);
    finder->seen = true;
}

/* A new world where the run begins. */
static struct world *first_world(const struct cause_cases *cases) {
    if (cases->begin == NULL)
        return world_new(cases->scenario);
    struct world *world = state_copy(cases->begin, cases->scenario);
    require(world != NULL);
    return world;
}

/* Adds what a world has made since the run began. */
static void spend(struct cause_cases *cases, const struct world *world) {
    cases->spent += world_moves(world) - (cases->begin != NULL ? world_moves(cases->begin) : 0);
}

/* Moments of the whole run where it begins with one that the scenario comes to by itself; else only
 * those from there on. */
static void begin_ladder(struct cause_cases *cases, const struct world *begin) {
    struct world *world = world_new(cases->scenario);
    ladder_begin(&cases->ladder, world, cases->scenario->run_ticks);
    while (ladder_next(&cases->ladder) <= world_tick(begin)) {
        world_advance(world, ladder_next(&cases->ladder));
        ladder_keep(&cases->ladder, world);
    }
    world_advance(world, world_tick(begin));
    if (state_hash(world) != state_hash(begin)) {
        ladder_free(&cases->ladder);
        ladder_begin(&cases->ladder, begin, cases->scenario->run_ticks);
    }
    world_free(world);
}

static void finder_init(struct finder *finder, struct cause_cases *cases) {
    const struct scenario *scenario = cases->scenario;
    *finder = (struct finder){
        .cases = cases, .scenario = scenario, .world = first_world(cases), .jam_tick = NOT_GIVEN};
    event_rows_init(&finder->rows, scenario, (struct event_rows_sink){finder, take_row});
    uint32_t slots = event_slots_count(&finder->rows.slots);
    finder->open_case = require_memory(slots, sizeof *finder->open_case);
    for (uint32_t i = 0; i < slots; i++)
        finder->open_case[i] = NO_INDEX;
    finder->starvation = starvation_new(scenario, finder->world);
    orders_init(&finder->orders, scenario);
    if (cases->begin == NULL) {
        ladder_begin(&cases->ladder, finder->world, scenario->run_ticks);
        finder->watch =
            course_watch_new(&cases->course, scenario, finder->world, finder->starvation);
    } else {
        begin_ladder(cases, finder->world);
    }
}

static void finder_free(struct finder *finder) {
    if (finder->watch != NULL)
        course_watch_finish(finder->watch);
    for (uint32_t i = 0; i < finder->extra_count; i++)
        starvation_free(finder->extra[i].starvation);
    free(finder->extra);
    starvation_free(finder->starvation);
    event_rows_free(&finder->rows);
    orders_free(&finder->orders);
    free(finder->open_case);
    world_free(finder->world);
}

static uint64_t moves_expected(const struct finder *finder) {
    uint64_t moves = world_moves(finder->world);
    if (finder->jam_tick <= 0)
        return moves;
    double rate = (double)finder->moves_by_jam / (double)finder->jam_tick;
    double expected = rate * (double)finder->scenario->run_ticks;
    return expected > (double)moves ? (uint64_t)expected : moves;
}

bool cause_cases_find(struct cause_cases *cases, const struct scenario *scenario,
                      const struct world *begin, struct progress *progress) {
    struct finder finder;
    *cases = (struct cause_cases){.scenario = scenario, .begin = begin};
    finder_init(&finder, cases);
    finder.progress = progress;
    list_lasting(&finder);
    struct listener listener = {&finder, NULL, happened, began, ended, arm_changed};
    world_listen(finder.world, &listener);
    struct drive drive = {.scenario = scenario,
                          .world = finder.world,
                          .starvation = finder.starvation,
                          .self = &finder,
                          .look = look_at_extra,
                          .warm_up_ended = warm_up_ended,
                          .stop = keep_moment,
                          .next_stop = next_moment};
    drive_until(&drive, scenario->run_ticks);
    cases->some_short = orders_some_short(&finder.orders, finder.world);
    cases->moves = moves_expected(&finder);
    spend(cases, finder.world);
    finder.last = true;
    if (finder.watch != NULL)
        course_watch_run_ended(finder.watch);
    world_report_open(finder.world);
    event_rows_flush(&finder.rows);
    finder_free(&finder);
    return interrupt_signal() == 0;
}

/* ---- choosing ---- */

/* Forgets how things stood. */
static void forget_look(struct cause_case *self) {
    waits_free(&self->waits);
    roots_free(&self->roots);
    free(self->held.entry);
    free(self->cures);
    self->held = (struct item_counts){0};
    self->cures = NULL;
}

void cause_cases_free(struct cause_cases *cases) {
    for (uint32_t i = 0; i < cases->count; i++)
        forget_look(&cases->jam_case[i]);
    free(cases->jam_case);
    ladder_free(&cases->ladder);
    course_free(&cases->course);
    *cases = (struct cause_cases){0};
}

static void keep(struct cause_cases *cases, bool (*wanted)(const struct cause_case *, int64_t),
                 int64_t which) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < cases->count; i++)
        if (wanted(&cases->jam_case[i], which))
            cases->jam_case[kept++] = cases->jam_case[i];
        else
            forget_look(&cases->jam_case[i]);
    cases->count = kept;
}

static bool is_row(const struct cause_case *self, int64_t row) { return (int64_t)self->row == row; }

static bool lasts_at(const struct cause_case *self, int64_t tick) {
    return self->start_tick <= tick && (tick < self->end_tick || self->open);
}

static bool counts(const struct cause_case *self, int64_t unused) {
    (void)unused;
    return self->lasted;
}

void cause_cases_keep_row(struct cause_cases *cases, uint64_t row) {
    keep(cases, is_row, (int64_t)row);
}

void cause_cases_keep_tick(struct cause_cases *cases, int64_t tick) { keep(cases, lasts_at, tick); }

void cause_cases_keep_lasting(struct cause_cases *cases) { keep(cases, counts, 0); }

/* ---- which cases belong together ---- */

static bool same_root(const struct cause_case *a, const struct cause_case *b) {
    if (a->roots.count == 0 || b->roots.count == 0)
        return a->roots.count == b->roots.count && a->index == b->index;
    return root_is_same(&a->roots.root[0], &b->roots.root[0]);
}

bool cause_case_is_alike(const struct cause_case *self, const struct cause_case *other) {
    return (self->kind == EVENT_STARVED) == (other->kind == EVENT_STARVED) &&
           same_root(self, other);
}

/* ---- which is reported first ---- */

int cause_case_turn(const struct cause_case *self) {
    return self->kind == EVENT_STARVED ? CAUSE_CASE_STARVED : self->kind == EVENT_CLOGGED;
}

const struct cause_case *cause_cases_first(const struct cause_cases *cases) {
    const struct cause_case *first = NULL;
    for (uint32_t i = 0; i < cases->count; i++)
        if (first == NULL || cause_case_turn(&cases->jam_case[i]) < cause_case_turn(first))
            first = &cases->jam_case[i];
    return first;
}

/* ---- looking ---- */

uint32_t cause_case_vertex(const struct cause_case *self) {
    return waits_vertex(&self->waits, self->kind == EVENT_STARVED ? WAITS_STATION : WAITS_TRACK,
                        self->index);
}

static uint32_t fullest_lane(const struct scenario *scenario, const struct world *world) {
    uint32_t fullest = 0;
    int64_t most = -1;
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        int64_t cells = world_track_cells(world, (struct place){PLACE_LANE, i, 0});
        if (cells > most) {
            most = cells;
            fullest = i;
        }
    }
    return fullest;
}

static void look_at_lane(struct cause_case *self, const struct scenario *scenario,
                         const struct world *world) {
    struct place lane = {PLACE_LANE, self->index, 0};
    self->cells_held = world_track_cells(world, lane);
    self->held.entry = require_memory(scenario->item_count, sizeof *self->held.entry);
    for (uint32_t item = 0; item < scenario->item_count; item++) {
        int64_t count = world_track_count(world, lane, item);
        if (count > 0)
            self->held.entry[self->held.count++] = (struct item_count){item, count};
    }
}

/* What incidents and breakdowns have done so far. */
struct past {
    struct drops drops;
    struct incident_log deeds;
};

static void look_at_case(struct cause_case *self, const struct scenario *scenario,
                         const struct world *world, const struct waits *waits,
                         const struct past *past) {
    if (self->kind == EVENT_CLOGGED)
        self->index = fullest_lane(scenario, world);
    waits_copy(&self->waits, waits);
    uint32_t vertex = cause_case_vertex(self);
    if (self->kind != EVENT_STARVED)
        look_at_lane(self, scenario, world);
    roots_find(&self->roots, waits, world, &past->drops, vertex);
    roots_find_deeds(&self->roots, scenario, &past->deeds);
    self->cures = require_memory(self->roots.count, sizeof *self->cures);
}

/* ---- to the tick ---- */

/* The ends of the stretches in which a wait began that was seen only at the look after. */
static uint32_t list_estimated(const struct cause_cases *cases, int64_t **list) {
    uint32_t count = 0, capacity = 0;
    *list = NULL;
    for (uint32_t i = 0; i < cases->count; i++) {
        const struct cause_case *self = &cases->jam_case[i];
        for (uint32_t j = 0; j < self->waits.edge_count; j++) {
            const struct waits_edge *edge = &self->waits.edge[j];
            if (!edge->since_is_estimated || !self->roots.walked[edge->from])
                continue;
            *list = array_with_room(*list, count, &capacity, sizeof **list);
            (*list)[count++] = edge->since;
        }
    }
    return count;
}

static int tick_order(const void *a, const void *b) {
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

static void date_edge(struct waits_edge *edge, const struct waits *exact) {
    for (uint32_t i = exact->first[edge->from]; i < exact->first[edge->from + 1]; i++) {
        const struct waits_edge *other = &exact->edge[i];
        if (other->to == edge->to && other->why == edge->why && other->item == edge->item)
            edge->since = other->since;
    }
    edge->since_is_estimated = false;
}

static void date_edges(struct cause_cases *cases, const struct waits *exact) {
    for (uint32_t i = 0; i < cases->count; i++)
        for (uint32_t j = 0; j < cases->jam_case[i].waits.edge_count; j++) {
            struct waits_edge *edge = &cases->jam_case[i].waits.edge[j];
            if (edge->since_is_estimated && edge->since == exact->tick)
                date_edge(edge, exact);
        }
}

/* Looks in each tick of a stretch in which something happens. */
static void look_closely(struct world *world, struct waits *waits, int64_t from, int64_t to) {
    world_advance(world, from);
    waits_forget(waits);
    waits_glance(waits, world);
    while (world_step(world, to))
        waits_glance(waits, world);
    waits_glance(waits, world);
}

static void date_roots(struct cause_case *self) {
    for (uint32_t i = 0; i < self->roots.count; i++)
        if (self->roots.root[i].edge != NO_INDEX)
            self->roots.root[i].since = self->waits.edge[self->roots.root[i].edge].since;
}

/* Runs once more, and dates to the tick what was seen from look to look. */
static void date_cases(struct cause_cases *cases, int64_t every) {
    int64_t *estimated;
    uint32_t count = list_estimated(cases, &estimated);
    struct world *world = first_world(cases);
    struct waits waits;
    waits_init(&waits, cases->scenario);
    if (count > 0)
        qsort(estimated, count, sizeof *estimated, tick_order);
    for (uint32_t i = 0; i < count && interrupt_signal() == 0; i++) {
        if (i > 0 && estimated[i] == estimated[i - 1])
            continue;
        look_closely(world, &waits, estimated[i] - every, estimated[i]);
        date_edges(cases, &waits);
    }
    for (uint32_t i = 0; i < cases->count; i++)
        date_roots(&cases->jam_case[i]);
    spend(cases, world);
    free(estimated);
    waits_free(&waits);
    world_free(world);
}

static void past_happened(void *self, const struct event *event) {
    struct past *past = self;
    drops_happened(&past->drops, event);
    incident_log_happened(&past->deeds, event);
}

/* Looks at a run; vertices that are looked at in all of them. */
enum { LOOKS_MOST = 50000, GLANCES_MOST = 4000000 };

/* A case is looked at as it begins, and again as it ends if nothing was found then. */
struct appointment {
    int64_t tick;
    uint32_t one; /* the case */
    bool again;
};

/* A run in which looks are taken. */
struct look {
    struct cause_cases *cases;
    struct world *world;
    struct waits waits;
    struct past past;
    int64_t every, next; /* from look to look; the next one */
    struct appointment *appointment;
    uint32_t count, done;
};

static int appointment_order(const void *a, const void *b) {
    const struct appointment *x = a, *y = b;
    if (x->tick != y->tick)
        return x->tick < y->tick ? -1 : 1;
    return (x->one > y->one) - (x->one < y->one);
}

static void make_appointments(struct look *look) {
    const struct cause_cases *cases = look->cases;
    look->appointment = require_memory(2 * (size_t)cases->count, sizeof *look->appointment);
    for (uint32_t i = 0; i < cases->count; i++) {
        const struct cause_case *self = &cases->jam_case[i];
        int64_t last = self->open ? cases->scenario->run_ticks : self->end_tick - 1;
        look->appointment[look->count++] = (struct appointment){self->start_tick, i, false};
        if (last > self->start_tick)
            look->appointment[look->count++] = (struct appointment){last, i, true};
    }
    if (look->count > 0)
        qsort(look->appointment, look->count, sizeof *look->appointment, appointment_order);
}

/* The next appointment that is to be kept; NULL: there is none any more. */
static const struct appointment *next_appointment(struct look *look) {
    for (; look->done < look->count; look->done++) {
        const struct appointment *next = &look->appointment[look->done];
        if (!next->again || look->cases->jam_case[next->one].roots.count == 0)
            return next;
    }
    return NULL;
}

static int64_t next_look(void *self, int64_t tick) {
    struct look *look = self;
    const struct appointment *next = next_appointment(look);
    return next != NULL && next->tick > tick && next->tick < look->next ? next->tick : look->next;
}

static void keep_appointment(struct look *look, const struct appointment *appointment) {
    struct cause_case *self = &look->cases->jam_case[appointment->one];
    if (appointment->again)
        forget_look(self);
    look_at_case(self, look->cases->scenario, look->world, &look->waits, &look->past);
}

/* False: all cases have been looked at. */
static bool take_look(void *self) {
    struct look *look = self;
    int64_t tick = world_tick(look->world);
    const struct appointment *next = next_appointment(look);
    if (next == NULL || (tick < look->next && next->tick > tick))
        return next != NULL; /* the loop stops for other reasons, too */
    waits_glance(&look->waits, look->world);
    if (next->tick <= tick)
        waits_find_stuck(&look->waits);
    drops_look(&look->past.drops, look->world);
    for (; next != NULL && next->tick <= tick; next = next_appointment(look)) {
        look->done++;
        keep_appointment(look, next);
    }
    if (tick == look->next)
        look->next += look->every;
    return next != NULL;
}

static void look_at_all(struct look *look) {
    const struct scenario *scenario = look->cases->scenario;
    struct drive drive = {.scenario = scenario,
                          .world = look->world,
                          .is_warm = true,
                          .self = look,
                          .stop = take_look,
                          .next_stop = next_look};
    if (look->cases->count > 0 && (world_tick(look->world) < 0 || take_look(look)))
        drive_until(&drive, scenario->run_ticks);
}

/* Looks once a second, or so seldom that a long run or a large workshop is not held up. */
static int64_t time_between_looks(const struct scenario *scenario, const struct waits *waits) {
    int64_t looks = GLANCES_MOST / (waits_vertices(waits) + 1) + 1;
    int64_t every = scenario->run_ticks / (looks < LOOKS_MOST ? looks : LOOKS_MOST);
    return every > scenario->ticks_per_second ? every : scenario->ticks_per_second;
}

/* As each case begins, too. */
bool cause_cases_look(struct cause_cases *cases, bool to_the_tick) {
    const struct scenario *scenario = cases->scenario;
    struct look look = {.cases = cases, .world = first_world(cases)};
    waits_init(&look.waits, scenario);
    look.every = time_between_looks(scenario, &look.waits);
    incident_log_init(&look.past.deeds, scenario);
    struct listener listener = {.self = &look.past, .happened = past_happened};
    world_listen(look.world, &listener);
    look.next = world_tick(look.world) < 0 ? 0 : world_tick(look.world);
    make_appointments(&look);
    look_at_all(&look);
    spend(cases, look.world);
    free(look.appointment);
    world_free(look.world);
    waits_free(&look.waits);
    drops_free(&look.past.drops);
    incident_log_free(&look.past.deeds);
    if (to_the_tick)
        date_cases(cases, look.every);
    return interrupt_signal() == 0;
}
