/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_case.c - listens once, looks once. */
#include "tools/cause/cause_case.h"

#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/state/state.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/record/drive.h"
#include "tools/record/subject.h"

/* ---- the rows of events.csv ---- */

/* One row: enough to know its place, and what may be a case. */
struct row {
    int64_t start_tick, since_tick, end_tick;
    uint32_t rank; /* 0: an incident or breakdown; else by kind and subject */
    uint32_t sequence;
    uint32_t index;
    uint8_t kind;
    bool open, lasted;
};

/* A starvation that is watched by itself, because an earlier one of its station counts already. */
struct extra {
    uint32_t station;
    struct starvation *starvation;
};

struct finder {
    const struct scenario *scenario;
    struct world *world;
    struct starvation *starvation;
    struct extra *extra;
    uint32_t extra_count;
    struct row *row;
    uint32_t row_count, row_capacity;
    uint32_t first_rank[EVENT_KINDS]; /* of the subjects of each kind */
    uint32_t *open_row;               /* by rank */
    bool last;
};

static struct row *add_row(struct finder *finder, const struct event *event, uint32_t rank) {
    if (finder->row_count == finder->row_capacity) {
        finder->row_capacity = 2 * finder->row_capacity + 64;
        finder->row = require_more_memory(finder->row, finder->row_capacity, sizeof *finder->row);
    }
    struct row *row = &finder->row[finder->row_count];
    *row = (struct row){.start_tick = event->start_tick,
                        .since_tick = event->since_tick,
                        .end_tick = event->end_tick,
                        .rank = rank,
                        .lasted = true,
                        .sequence = finder->row_count++,
                        .kind = (uint8_t)event->kind};
    return row;
}

static void happened(void *self, const struct event *event) { add_row(self, event, 0); }

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
            finder->extra =
                require_more_memory(finder->extra, finder->extra_count + 1, sizeof *finder->extra);
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

static bool look_at_extra(void *self) {
    struct finder *finder = self;
    for (uint32_t i = 0; i < finder->extra_count; i++)
        starvation_look(finder->extra[i].starvation);
    return true;
}

/* ---- listening ---- */

static void began(void *self, const struct event *event) {
    struct finder *finder = self;
    uint32_t index = subject_index(finder->scenario, event);
    uint32_t rank = finder->first_rank[event->kind] + index;
    finder->open_row[rank] = finder->row_count;
    add_row(finder, event, rank)->index = index;
    if (event->kind == EVENT_STARVED)
        starved_began(finder, event);
}

static void ended(void *self, const struct event *event) {
    struct finder *finder = self;
    uint32_t index = subject_index(finder->scenario, event);
    uint32_t rank = finder->first_rank[event->kind] + index;
    bool seen = finder->open_row[rank] != NO_INDEX;
    struct row *row = seen ? &finder->row[finder->open_row[rank]] : add_row(finder, event, rank);
    finder->open_row[rank] = NO_INDEX;
    row->index = index;
    row->end_tick = event->end_tick;
    row->open = finder->last;
    if (event->kind == EVENT_STARVED)
        row->lasted = seen ? starved_ended(finder, event) : is_long(finder, event);
}

/* In the order of events.csv. */
static int row_order(const void *a, const void *b) {
    const struct row *x = a, *y = b;
    if (x->start_tick != y->start_tick)
        return x->start_tick < y->start_tick ? -1 : 1;
    if (x->rank != y->rank)
        return x->rank < y->rank ? -1 : 1;
    return (x->sequence > y->sequence) - (x->sequence < y->sequence);
}

static bool is_case(const struct row *row) {
    return row->kind == EVENT_JAM || row->kind == EVENT_DEADLOCK || row->kind == EVENT_CLOGGED ||
           row->kind == EVENT_STARVED;
}

static void take_row(struct cause_cases *cases, const struct row *row, uint64_t number) {
    if (cases->count == cases->capacity) {
        cases->capacity = 2 * cases->capacity + 8;
        cases->one = require_more_memory(cases->one, cases->capacity, sizeof *cases->one);
    }
    cases->one[cases->count++] = (struct cause_case){.kind = (enum event_kind)row->kind,
                                                     .index = row->index,
                                                     .row = number,
                                                     .start_tick = row->start_tick,
                                                     .since_tick = row->since_tick,
                                                     .end_tick = row->end_tick,
                                                     .open = row->open,
                                                     .lasted = row->lasted,
                                                     .turning_tick = NOT_GIVEN};
}

static void take_rows(struct cause_cases *cases, struct finder *finder) {
    if (finder->row_count > 0)
        qsort(finder->row, finder->row_count, sizeof *finder->row, row_order);
    for (uint32_t i = 0; i < finder->row_count; i++)
        if (is_case(&finder->row[i]))
            take_row(cases, &finder->row[i], (uint64_t)i + 1);
    cases->rows = finder->row_count;
}

/* A new world where the run begins. */
static struct world *first_world(const struct cause_cases *cases) {
    if (cases->begin == NULL)
        return world_new(cases->scenario);
    struct world *world = state_copy(cases->begin, cases->scenario);
    require(world != NULL);
    return world;
}

static void finder_init(struct finder *finder, const struct cause_cases *cases) {
    const struct scenario *scenario = cases->scenario;
    uint32_t ranks = 1;
    *finder = (struct finder){.scenario = scenario, .world = first_world(cases)};
    for (int kind = 0; kind < EVENT_KINDS; kind++) {
        finder->first_rank[kind] = ranks;
        ranks += subject_count(scenario, (enum event_kind)kind);
    }
    finder->open_row = require_memory(ranks, sizeof *finder->open_row);
    for (uint32_t i = 0; i < ranks; i++)
        finder->open_row[i] = NO_INDEX;
    finder->starvation = starvation_new(scenario, finder->world);
}

static void finder_free(struct finder *finder) {
    for (uint32_t i = 0; i < finder->extra_count; i++)
        starvation_free(finder->extra[i].starvation);
    free(finder->extra);
    starvation_free(finder->starvation);
    free(finder->row);
    free(finder->open_row);
    world_free(finder->world);
}

bool cause_cases_find(struct cause_cases *cases, const struct scenario *scenario,
                      const struct world *begin) {
    struct finder finder;
    *cases = (struct cause_cases){.scenario = scenario, .begin = begin};
    finder_init(&finder, cases);
    struct listener listener = {&finder, NULL, happened, began, ended};
    world_listen(finder.world, &listener);
    struct drive drive = {.scenario = scenario,
                          .world = finder.world,
                          .starvation = finder.starvation,
                          .self = &finder,
                          .look = look_at_extra};
    drive_until(&drive, scenario->run_ticks);
    finder.last = true;
    world_tell_open(finder.world);
    take_rows(cases, &finder);
    finder_free(&finder);
    return interrupt_signal() == 0;
}

/* ---- choosing ---- */

static void case_free(struct cause_case *self) {
    waits_free(&self->waits);
    roots_free(&self->roots);
    free(self->around);
    free(self->held.entry);
    free(self->cures);
}

void cause_cases_free(struct cause_cases *cases) {
    for (uint32_t i = 0; i < cases->count; i++)
        case_free(&cases->one[i]);
    free(cases->one);
    *cases = (struct cause_cases){0};
}

static void keep(struct cause_cases *cases, bool (*wanted)(const struct cause_case *, int64_t),
                 int64_t which) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < cases->count; i++)
        if (wanted(&cases->one[i], which))
            cases->one[kept++] = cases->one[i];
        else
            case_free(&cases->one[i]);
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
    uint32_t vertex = cause_case_vertex(self), vertices = waits_vertices(waits);
    self->around = require_memory(vertices, sizeof *self->around);
    waits_mark_around(waits, vertex, self->around);
    if (self->kind != EVENT_STARVED)
        look_at_lane(self, scenario, world);
    roots_find(&self->roots, waits, world, &past->drops, vertex);
    roots_find_deeds(&self->roots, scenario, &past->deeds);
    self->cures = require_memory(self->roots.count, sizeof *self->cures);
}

/* ---- to the tick ---- */

/* The ends of the stretches in which a wait began that was seen only at the look after. */
static uint32_t list_rough(const struct cause_cases *cases, int64_t **list) {
    uint32_t count = 0, capacity = 0;
    *list = NULL;
    for (uint32_t i = 0; i < cases->count; i++) {
        const struct cause_case *self = &cases->one[i];
        for (uint32_t j = 0; j < self->waits.edge_count; j++) {
            const struct waits_edge *edge = &self->waits.edge[j];
            if (!edge->rough || !self->around[edge->from])
                continue;
            if (count == capacity) {
                capacity = 2 * capacity + 64;
                *list = require_more_memory(*list, capacity, sizeof **list);
            }
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
    edge->rough = false;
}

static void date_edges(struct cause_cases *cases, const struct waits *exact) {
    for (uint32_t i = 0; i < cases->count; i++)
        for (uint32_t j = 0; j < cases->one[i].waits.edge_count; j++) {
            struct waits_edge *edge = &cases->one[i].waits.edge[j];
            if (edge->rough && edge->since == exact->tick)
                date_edge(edge, exact);
        }
}

/* Looks in each tick of a stretch in which something happens. */
static void look_closely(struct world *world, struct waits *waits, int64_t from, int64_t to) {
    world_advance(world, from);
    waits_forget(waits);
    waits_look(waits, world);
    while (world_step(world, to))
        waits_look(waits, world);
    waits_look(waits, world);
}

static void date_roots(struct cause_case *self) {
    for (uint32_t i = 0; i < self->roots.count; i++)
        if (self->roots.root[i].edge != NO_INDEX)
            self->roots.root[i].since = self->waits.edge[self->roots.root[i].edge].since;
}

/* Runs once more, and dates to the tick what was seen from look to look. */
static void date_cases(struct cause_cases *cases, int64_t every) {
    int64_t *rough;
    uint32_t count = list_rough(cases, &rough);
    struct world *world = first_world(cases);
    struct waits waits;
    waits_init(&waits, cases->scenario);
    if (count > 0)
        qsort(rough, count, sizeof *rough, tick_order);
    for (uint32_t i = 0; i < count && interrupt_signal() == 0; i++) {
        if (i > 0 && rough[i] == rough[i - 1])
            continue;
        look_closely(world, &waits, rough[i] - every, rough[i]);
        date_edges(cases, &waits);
    }
    for (uint32_t i = 0; i < cases->count; i++)
        date_roots(&cases->one[i]);
    free(rough);
    waits_free(&waits);
    world_free(world);
}

static void past_happened(void *self, const struct event *event) {
    struct past *past = self;
    drops_happened(&past->drops, event);
    incident_log_happened(&past->deeds, event);
}

enum { LOOKS_MOST = 50000 };

/* A run in which looks are taken. */
struct look {
    struct cause_cases *cases;
    struct world *world;
    struct waits waits;
    struct past past;
    int64_t every, next; /* from look to look; the next one */
    uint32_t done;       /* cases */
};

static int64_t next_look(void *self, int64_t tick) {
    const struct look *look = self;
    int64_t start = look->cases->one[look->done].start_tick;
    return start > tick && start < look->next ? start : look->next;
}

/* False: all cases have been looked at. */
static bool take_look(void *self) {
    struct look *look = self;
    struct cause_cases *cases = look->cases;
    int64_t tick = world_tick(look->world);
    if (tick < look->next && cases->one[look->done].start_tick > tick)
        return true; /* the loop stops for other reasons, too */
    waits_look(&look->waits, look->world);
    drops_look(&look->past.drops, look->world);
    for (; look->done < cases->count && cases->one[look->done].start_tick <= tick; look->done++)
        look_at_case(&cases->one[look->done], cases->scenario, look->world, &look->waits,
                     &look->past);
    if (tick == look->next)
        look->next += look->every;
    return look->done < cases->count;
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

/* Looks once a second, or so seldom that a long run is not held up, and as each case begins. */
bool cause_cases_look(struct cause_cases *cases) {
    const struct scenario *scenario = cases->scenario;
    struct look look = {
        .cases = cases, .world = first_world(cases), .every = scenario->ticks_per_second};
    if (scenario->run_ticks / LOOKS_MOST > look.every)
        look.every = scenario->run_ticks / LOOKS_MOST;
    waits_init(&look.waits, scenario);
    incident_log_init(&look.past.deeds, scenario);
    struct listener listener = {.self = &look.past, .happened = past_happened};
    world_listen(look.world, &listener);
    look.next = world_tick(look.world) < 0 ? 0 : world_tick(look.world);
    look_at_all(&look);
    world_free(look.world);
    waits_free(&look.waits);
    drops_free(&look.past.drops);
    incident_log_free(&look.past.deeds);
    date_cases(cases, look.every);
    return interrupt_signal() == 0;
}
