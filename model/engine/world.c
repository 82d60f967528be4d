/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/world.c - executes ticks, and answers queries. */
#include "model/engine/world.h"

#include <stdlib.h>

#include "model/engine/announce.h"
#include "model/engine/arm.h"
#include "model/engine/arm_books.h"
#include "model/engine/belt.h"
#include "model/engine/build.h"
#include "model/engine/gate.h"
#include "model/engine/incident.h"
#include "model/engine/item_books.h"
#include "model/engine/line.h"
#include "model/engine/parts.h"
#include "model/engine/standstill.h"
#include "model/engine/station.h"
#include "model/engine/stock.h"
#include "model/engine/stream.h"
#include "model/engine/track.h"
#include "model/engine/wake.h"
#include "model/engine/watch.h"
#include "sim/require.h"

struct world *world_new(const struct scenario *scenario) {
    struct world *world = require_memory(1, sizeof *world);
    world->scenario = scenario;
    build_world(world);
    return world;
}

void world_free(struct world *world) {
    if (world == NULL)
        return;
    build_free(world);
    free(world);
}

void world_listen(struct world *world, const struct listener *listener) {
    world->listener = listener == NULL ? (struct listener){0} : *listener;
    wake_find_whom_moves_concern(world);
}

struct listener world_listener(const struct world *world) {
    return world->listener;
}

void world_observe_arm(struct world *world, uint32_t arm) {
    require(world->arm[arm].wait.observers < UINT16_MAX);
    world->arm[arm].wait.observers++;
    arm_choose_acts(world, arm);
}

void world_ignore_arm(struct world *world, uint32_t arm) {
    require(world->arm[arm].wait.observers > 0);
    world->arm[arm].wait.observers--;
    arm_choose_acts(world, arm);
}

static void check_world(struct world *world, uint32_t index) {
    (void)index; /* there is one */
    watch_check_world(world);
}

/* What an actor of each rank does; a table, so that each saves no more registers than it uses. */
static void (*const act[RANKS])(struct world *world, uint32_t index) = {
    [RANK_INCIDENT] = incident_act,           [RANK_BREAKDOWN] = incident_break,
    [RANK_SUPPLY] = stream_supply_act,        [RANK_DEMAND] = stream_demand_act,
    [RANK_BATCH_END] = station_end_batch,     [RANK_ARM] = arm_act,
    [RANK_BATCH_START] = station_start_batch, [RANK_STATION_CHECK] = watch_check_station,
    [RANK_TRACK_CHECK] = watch_check_track,   [RANK_LOOP_CHECK] = watch_check_loop,
    [RANK_WORLD_CHECK] = check_world};

static inline uint32_t rank_of(const struct world *world, uint32_t actor) {
    uint32_t rank = world->group_rank[actor / ACTOR_GROUP];
    while (__builtin_expect(actor >= world->first_actor[rank + 1], 0))
        rank++;
    return rank;
}

static inline void act_by_rank(struct world *world, uint32_t actor) {
    uint32_t rank = rank_of(world, actor);
    act[rank](world, actor - world->first_actor[rank]);
}

static inline void act_of_actor(struct world *world, uint32_t actor) {
    uint32_t arm = actor - world->first_actor[RANK_ARM];
    if (arm < world->arm_count)
        arm_act(world, arm);
    else
        act_by_rank(world, actor);
}

/* Of a word of actors in which some are left, and whose first is `first`. */
static inline void act_of_word(struct world *world, uint64_t *left, uint32_t first) {
    do
        act_of_actor(world, agenda_take(&world->agenda, left, first));
    while (*left != 0);
}

static inline void execute_tick(struct world *world, enum agenda_size size) {
    struct agenda *agenda = &world->agenda;
    if (size == AGENDA_ONE_WORD) {
        act_of_word(world, agenda->bits[0], 0);
        return;
    }
    uint32_t count = size == AGENDA_ONE_SUMMARY ? 1 : agenda->middle_count, word;
    for (uint32_t middle = 0; middle < count; middle++)
        while ((word = agenda_word(agenda, middle)) != AGENDA_NOBODY) {
            act_of_word(world, &agenda->bits[0][word], word * AGENDA_WORD_BITS);
            agenda_pass_word(agenda, middle);
        }
}

/* Executes ticks of a stretch up to a pause: true. False: there are no more. Compiled for each size
 * of an agenda. */
__attribute__((always_inline)) static inline bool run_to_pause(struct world *world,
                                                               enum agenda_size size) {
    uint32_t alone;
    while (agenda_turn(&world->agenda, size, &alone)) {
        if (alone != AGENDA_NOBODY)
            act_of_actor(world, alone);
        execute_tick(world, size); /* of all, or of those whom that one has woken */
        world->progress.tick = world_now(world);
        if (world->pauses)
            return true;
    }
    return false;
}

static bool run_of_size(struct world *world) {
    switch (world->agenda.size) {
    case AGENDA_ONE_WORD: return run_to_pause(world, AGENDA_ONE_WORD);
    case AGENDA_ONE_SUMMARY: return run_to_pause(world, AGENDA_ONE_SUMMARY);
    case AGENDA_MANY: break;
    }
    return run_to_pause(world, AGENDA_MANY);
}

bool world_run(struct world *world, int64_t limit) {
    const struct require_context context = {.tick = &world->agenda.now, .what = "in a tick"};
    require_context_set(&context);
    agenda_begin(&world->agenda, limit);
    bool due = run_of_size(world);
    agenda_end(&world->agenda);
    require_context_set(NULL);
    if (due)
        world->pauses = false;
    else if (limit > world->progress.tick)
        world->progress.tick = limit;
    return due;
}

void world_pause(struct world *world) { world->pauses = true; }

bool world_step(struct world *world, int64_t limit) {
    world_pause(world);
    return world_run(world, limit);
}

void world_advance(struct world *world, int64_t tick) {
    while (world_run(world, tick))
        continue;
}

int64_t world_tick(const struct world *world) { return world->progress.tick; }

void world_report_open(struct world *world) { announce_all_open(world); }

uint64_t world_batches(const struct world *world) { return world->batches; }

uint64_t world_moves(const struct world *world) { return (uint64_t)world->progress.moves; }

/* ---- what is where ---- */

int64_t world_stock_count(const struct world *world, uint32_t stock) {
    return stock == NO_INDEX ? 0 : world->tally[stock].count;
}

uint32_t world_chest_stock(const struct world *world, uint32_t chest, uint32_t item) {
    require(chest < world->scenario->chest_count);
    return item == NO_INDEX ? world->chest_total[chest] : stock_tally_of_chest(world, chest, item);
}

uint32_t world_input_stock(const struct world *world, uint32_t station, uint32_t input) {
    require(station < world->scenario->station_count);
    require(input < world->scenario->station[station].takes.count);
    return stock_first_input(world, station) + input;
}

uint32_t world_output_stock(const struct world *world, uint32_t station, uint32_t output) {
    require(station < world->scenario->station_count);
    require(output < world->scenario->station[station].makes_count);
    return stock_first_output(world, station) + output;
}

int64_t world_chest_count(const struct world *world, uint32_t chest, uint32_t item) {
    return world_stock_count(world, world_chest_stock(world, chest, item));
}

int64_t world_input_count(const struct world *world, uint32_t station, uint32_t input) {
    return world_stock_count(world, world_input_stock(world, station, input));
}

int64_t world_output_count(const struct world *world, uint32_t station, uint32_t output) {
    return world_stock_count(world, world_output_stock(world, station, output));
}

int64_t world_hand_count(const struct world *world, uint32_t index, uint32_t item) {
    require(index < world->scenario->arm_count);
    const struct arm_record *arm = &world->arm[index];
    if (item == NO_INDEX)
        return arm->state.held;
    int64_t count = 0;
    for (uint32_t run = arm_first_run(world, arm); run < arm_end_run(world, arm); run++) {
        struct hand_run held = arm_run(world, arm, run);
        if (arm_item_at(world, &arm->plan, held.item_slot) == item)
            count += held.count;
    }
    return count;
}

uint32_t world_track_kind(const struct world *world, struct place place, uint32_t item) {
    uint32_t track = track_of_place(world, place), kind = track_kind_of(world, track, item);
    return kind == NO_INDEX ? NO_INDEX : world->track[track].plan.first_kind + kind;
}

int64_t world_kind_count(const struct world *world, uint32_t kind) {
    return kind == NO_INDEX ? 0 : world->kind[kind].count;
}

int64_t world_track_count(const struct world *world, struct place place, uint32_t item) {
    if (item == NO_INDEX)
        return world->track[track_of_place(world, place)].load.item_count;
    return world_kind_count(world, world_track_kind(world, place, item));
}

int64_t world_track_cells(const struct world *world, struct place place) {
    return world->track[track_of_place(world, place)].load.held_cells;
}

uint32_t world_track_item(const struct world *world, struct place place, uint32_t cell) {
    uint32_t index = track_of_place(world, place);
    const struct track_plan *track = &world->track[index].plan;
    require(cell < track->cell_count);
    int64_t step = belt_clock_step_at(&world->belt[track->belt].state.clock, world->progress.tick);
    uint32_t kind;
    if (track->is_line)
        kind = line_kind_at_step(world, index - world->scenario->lane_count, cell, step);
    else
        kind = world->track[index].lane.kind[lane_slot(&world->track[index].lane, step, cell)];
    return kind == NO_INDEX ? NO_INDEX : world->kind[track->first_kind + kind].item;
}

struct belt_clock world_belt_clock(const struct world *world, uint32_t belt) {
    require(belt < world->scenario->loop_count + world->scenario->line_count);
    return world->belt[belt].state.clock;
}

/* ---- totals ---- */

enum arm_state world_arm_state(const struct world *world, uint32_t arm) {
    require(arm < world->scenario->arm_count);
    return arm_state_at(world, arm, world->progress.tick);
}

enum station_state world_station_state(const struct world *world, uint32_t station) {
    require(station < world->scenario->station_count);
    return (enum station_state)world->station[station].state;
}

bool world_gate_open(const struct world *world, uint32_t gate) {
    require(gate < world->scenario->gate_count || gate == NO_INDEX);
    return gate_is_open(world, gate);
}

struct arm_totals world_arm_totals(const struct world *world, uint32_t arm) {
    require(arm < world->scenario->arm_count);
    return arm_books_totals_at(world, arm, world->progress.tick);
}

bool world_arms_are_plain(const struct world *world) { return world->arm_books == NULL; }

struct arm_totals world_plain_arm_totals(const struct world *world, uint32_t arm) {
    return arm_books_plain_totals(world, arm);
}

struct station_totals world_station_totals(const struct world *world, uint32_t station) {
    require(station < world->scenario->station_count);
    return station_totals_at(world, station, world->progress.tick);
}

struct item_totals world_item_totals(const struct world *world, uint32_t item) {
    require(item < world->scenario->item_count);
    return item_books_totals(world, item);
}

struct track_totals world_track_totals(const struct world *world, struct place place) {
    const struct track *track = &world->track[track_of_place(world, place)].state;
    const struct track_load *load = &world->track[track_of_place(world, place)].load;
    wide_count sum =
        track->cell_ticks + (wide_count)world->progress.tick * (wide_count)load->held_cells;
    int64_t most = load->held_cells > track->cells_most ? load->held_cells : track->cells_most;
    return (struct track_totals){.cell_ticks = (double)sum, .cells_most = most};
}

double world_batch_item_ticks(const struct world *world) {
    int64_t made = 0, used = 0;
    wide_count tick = (wide_count)world->progress.tick;
    for (uint32_t i = 0; i < world->scenario->item_count; i++) {
        made += world->item[i].made;
        used += world->item[i].consumed;
    }
    wide_count more = (wide_count)made * tick + world->progress.used_ticks;
    wide_count less = (wide_count)used * tick + world->progress.made_ticks;
    return more >= less ? (double)(more - less) : -(double)(less - more);
}

void world_forget_most(struct world *world) {
    for (uint32_t i = 0; i < world->track_count; i++)
        world->track[i].state.cells_most = 0;
}

int64_t world_supply_held(const struct world *world, uint32_t supply) {
    require(supply < world->scenario->supply_count);
    return stream_held(world, supply);
}

int64_t world_demand_owed(const struct world *world, uint32_t demand) {
    require(demand < world->scenario->demand_count);
    return stream_owed(world, demand);
}

bool world_help_comes(const struct world *world) { return standstill_help_comes(world); }

int64_t world_still_since(struct world *world) {
    if (world_now(world) < world->progress.tick || standstill_earliest(world) > world_now(world))
        return NOT_GIVEN;
    struct standstill_finding found = standstill_find(world, STANDSTILL_DEADLOCK);
    return found.long_enough ? found.since : NOT_GIVEN;
}
