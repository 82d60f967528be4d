/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal.c - makes the literal engine, advances it tick by tick, and answers
 * questions about it. */
#include "tests/exact/literal.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "tests/exact/literal_state.h"

/* ---- before tick 0 ---- */

static void new_track(struct literal *literal, struct literal_track *track, uint32_t cell_count,
                      bool ring) {
    track->cell_count = cell_count;
    track->ring = ring;
    track->cell = require_memory(cell_count, sizeof *track->cell);
    for (uint32_t cell = 0; cell < cell_count; cell++)
        track->cell[cell].item = NO_INDEX;
    track->count = require_memory(literal->scenario->item_count, sizeof *track->count);
    track->last_move_tick = NOT_YET;
}

static void new_tracks(struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    literal->track_count = scenario->lane_count + scenario->line_count;
    literal->belt_count = scenario->loop_count + scenario->line_count;
    literal->track = require_memory(literal->track_count, sizeof *literal->track);
    literal->belt = require_memory(literal->belt_count, sizeof *literal->belt);
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        new_track(literal, &literal->track[i], scenario->loop[scenario->lane[i].loop].cell_count,
                  true);
    for (uint32_t i = 0; i < scenario->line_count; i++)
        new_track(literal, &literal->track[scenario->lane_count + i], scenario->line[i].cell_count,
                  false);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        literal->belt[i].rate = scenario->loop[i].rate;
    for (uint32_t i = 0; i < scenario->line_count; i++)
        literal->belt[scenario->loop_count + i].rate = scenario->line[i].rate;
}

static void new_chests(struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    literal->chest = require_memory(scenario->chest_count, sizeof *literal->chest);
    for (uint32_t i = 0; i < scenario->chest_count; i++) {
        const struct scenario_chest *plan = &scenario->chest[i];
        literal->chest[i].capacity = plan->capacity;
        literal->chest[i].count = require_memory(scenario->item_count, sizeof(int64_t));
        for (uint32_t k = 0; k < plan->start.count; k++)
            literal->chest[i].count[plan->start.entry[k].item] += plan->start.entry[k].count;
    }
}

/* One stream for each line of makes: "chance " and the item's name. */
static void start_output_chance(struct literal *literal, uint32_t index, uint32_t output) {
    const struct scenario *scenario = literal->scenario;
    const struct scenario_station *plan = &scenario->station[index];
    const char *item = scenario->item[plan->makes[output].item].name;
    size_t length = strlen("chance ") + strlen(item) + 1;
    char *purpose = require_memory(length, 1);
    strcpy(purpose, "chance ");
    strcat(purpose, item);
    random_start(&literal->station[index].output_chance[output], scenario->seed, plan->name,
                 purpose);
    free(purpose);
}

static void new_stations(struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    literal->station = require_memory(scenario->station_count, sizeof *literal->station);
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        const struct scenario_station *plan = &scenario->station[i];
        struct literal_station *station = &literal->station[i];
        station->input = require_memory(plan->takes.count, sizeof *station->input);
        station->output = require_memory(plan->makes_count, sizeof *station->output);
        station->output_chance = require_memory(plan->makes_count, sizeof *station->output_chance);
        random_start(&station->time, scenario->seed, plan->name, "time");
        for (uint32_t k = 0; k < plan->makes_count; k++)
            start_output_chance(literal, i, k);
    }
}

/* Section 4: every arm starts reaching, hand empty, at tick 0. */
static void new_arms(struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    literal->arm = require_memory(scenario->arm_count, sizeof *literal->arm);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct literal_arm *arm = &literal->arm[i];
        arm->state = ARM_REACHING;
        arm->hand = require_memory(scenario->arm[i].hand, sizeof *arm->hand);
        arm->last_put_tick = NOT_YET;
        random_start(&arm->swing, scenario->seed, scenario->arm[i].name, "swing");
        random_start(&arm->choice, scenario->seed, scenario->arm[i].name, "choice");
    }
}

static void new_gates(struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    literal->gate = require_memory(scenario->gate_count, sizeof *literal->gate);
    for (uint32_t i = 0; i < scenario->gate_count; i++) {
        literal->gate[i].threshold = scenario->gate[i].threshold;
        literal->gate[i].reopen_below = scenario->gate[i].reopen_below;
    }
    literal_store_latch(literal);
}

struct literal *literal_new(const struct scenario *scenario) {
    struct literal *literal = require_memory(1, sizeof *literal);
    literal->scenario = scenario;
    literal->tick = literal->last_move_tick = NOT_YET;
    literal->item = require_memory(scenario->item_count, sizeof *literal->item);
    literal->supply = require_memory(scenario->supply_count, sizeof *literal->supply);
    literal->demand = require_memory(scenario->demand_count, sizeof *literal->demand);
    literal->incident = require_memory(scenario->incident_count, sizeof *literal->incident);
    const uint32_t actors[PART_KINDS_THAT_ACT] = {
        [PART_ARM] = scenario->arm_count,       [PART_STATION] = scenario->station_count,
        [PART_LOOP] = scenario->loop_count,     [PART_LINE] = scenario->line_count,
        [PART_SUPPLY] = scenario->supply_count, [PART_DEMAND] = scenario->demand_count};
    for (int kind = 0; kind < PART_KINDS_THAT_ACT; kind++)
        literal->halt[kind] = require_memory(actors[kind], sizeof *literal->halt[kind]);
    new_tracks(literal);
    new_chests(literal);
    new_stations(literal);
    new_arms(literal);
    new_gates(literal);
    literal_stream_start(literal);
    literal_incident_start(literal);
    literal_watch_start(literal);
    return literal;
}

void literal_free(struct literal *literal) {
    if (literal == NULL)
        return;
    const struct scenario *scenario = literal->scenario;
    literal_watch_free(literal);
    for (uint32_t i = 0; i < literal->track_count; i++) {
        free(literal->track[i].cell);
        free(literal->track[i].count);
    }
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        free(literal->chest[i].count);
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        free(literal->station[i].input);
        free(literal->station[i].output);
        free(literal->station[i].output_chance);
    }
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        free(literal->arm[i].hand);
    for (int kind = 0; kind < PART_KINDS_THAT_ACT; kind++)
        free(literal->halt[kind]);
    free(literal->track);
    free(literal->belt);
    free(literal->chest);
    free(literal->station);
    free(literal->arm);
    free(literal->gate);
    free(literal->item);
    free(literal->supply);
    free(literal->demand);
    free(literal->incident);
    free(literal);
}

void literal_listen(struct literal *literal, const struct listener *listener) {
    literal->listener = listener == NULL ? (struct listener){0} : *listener;
}

/* ---- ticks ---- */

/* Section 13: the state seen in phase 6 of a tick holds from it to the next. */
static void count_tick_before(struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->arm_count; i++)
        literal->arm[i].totals.ticks[literal->arm[i].seen]++;
    for (uint32_t i = 0; i < literal->scenario->station_count; i++)
        literal->station[i].totals.ticks[literal->station[i].seen]++;
    for (uint32_t i = 0; i < literal->track_count; i++)
        literal->track[i].cell_ticks += (double)literal->track[i].held_cells;
}

static void see_most(struct literal *literal) {
    for (uint32_t i = 0; i < literal->track_count; i++)
        if (literal->track[i].held_cells > literal->track[i].cells_most)
            literal->track[i].cells_most = literal->track[i].held_cells;
}

/* Section 10. */
static void execute_tick(struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    /* 1 loops, then lines */
    literal_track_phase(literal);
    /* 2 incidents, then breakdowns and repairs */
    literal_incident_phase(literal);
    /* 3 supplies, then demands */
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        literal_stream_deliver(literal, i);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        literal_stream_demand(literal, i);
    /* 4 stations whose batch ends */
    for (uint32_t i = 0; i < scenario->station_count; i++)
        literal_station_end_batch(literal, i);
    /* 5 arms act, then stations start batches */
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        literal_arm_act(literal, i);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        literal_station_start_batch(literal, i);
    /* 6 watchers look */
    literal_watch_phase(literal);
    see_most(literal);
}

void literal_advance(struct literal *literal, int64_t tick) {
    while (literal->tick < tick) {
        if (literal->tick != NOT_YET)
            count_tick_before(literal);
        literal->tick++;
        execute_tick(literal);
    }
}

int64_t literal_tick(const struct literal *literal) { return literal->tick; }

void literal_report_open(struct literal *literal) { literal_watch_report_open(literal); }

uint64_t literal_moves(const struct literal *literal) { return literal->moves; }

/* ---- answers ---- */

int64_t literal_chest_count(const struct literal *literal, uint32_t chest, uint32_t item) {
    return literal->chest[chest].count[item];
}

int64_t literal_input_count(const struct literal *literal, uint32_t station, uint32_t input) {
    return literal->station[station].input[input];
}

int64_t literal_output_count(const struct literal *literal, uint32_t station, uint32_t output) {
    return literal->station[station].output[output];
}

int64_t literal_hand_count(const struct literal *literal, uint32_t arm, uint32_t item) {
    int64_t count = 0;
    for (uint32_t k = 0; k < literal->arm[arm].held; k++)
        count += literal->arm[arm].hand[k] == item;
    return count;
}

int64_t literal_track_count(const struct literal *literal, struct place track, uint32_t item) {
    const struct literal_track *on = literal_track_at(literal, track);
    if (item != NO_INDEX)
        return on->count[item];
    int64_t count = 0;
    for (uint32_t kind = 0; kind < literal->scenario->item_count; kind++)
        count += on->count[kind];
    return count;
}

int64_t literal_track_cells(const struct literal *literal, struct place track) {
    return literal_track_at(literal, track)->held_cells;
}

uint32_t literal_track_item(const struct literal *literal, struct place track, uint32_t cell) {
    struct literal_cell there = literal_track_at(literal, track)->cell[cell];
    return there.head ? there.item : NO_INDEX;
}

enum arm_state literal_arm_state(const struct literal *literal, uint32_t arm) {
    return literal->arm[arm].seen;
}

enum station_state literal_station_state(const struct literal *literal, uint32_t station) {
    return literal->station[station].seen;
}

bool literal_gate_open(const struct literal *literal, uint32_t gate) {
    return literal_store_gate_open(literal, gate);
}

struct arm_totals literal_arm_totals(const struct literal *literal, uint32_t arm) {
    return literal->arm[arm].totals;
}

struct station_totals literal_station_totals(const struct literal *literal, uint32_t station) {
    return literal->station[station].totals;
}

struct item_totals literal_item_totals(const struct literal *literal, uint32_t item) {
    struct item_totals totals = literal->item[item];
    for (uint32_t i = 0; i < literal->scenario->demand_count; i++)
        if (literal->scenario->demand[i].item == item)
            totals.owed += literal->demand[i].waiting;
    return totals;
}

struct track_totals literal_track_totals(const struct literal *literal, struct place track) {
    const struct literal_track *on = literal_track_at(literal, track);
    return (struct track_totals){on->cell_ticks, on->cells_most};
}

void literal_forget_most(struct literal *literal) {
    for (uint32_t i = 0; i < literal->track_count; i++)
        literal->track[i].cells_most = literal->track[i].held_cells;
}

int64_t literal_supply_held(const struct literal *literal, uint32_t supply) {
    return literal->supply[supply].waiting;
}

int64_t literal_demand_owed(const struct literal *literal, uint32_t demand) {
    return literal->demand[demand].waiting;
}
