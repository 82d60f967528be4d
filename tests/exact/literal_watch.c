/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal_watch.c - the literal engine's checks for events in phase 6 (section 11). */
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "tests/exact/literal_state.h"

/* ---- how long something has held ---- */

/* Looks in this phase 6 whether it holds. `steps`: made so far by the belt that measures it. */
static void stretch_look(struct literal_stretch *stretch, bool holds, int64_t tick, int64_t steps) {
    if (!holds)
        stretch->from_tick = NOT_YET;
    else if (stretch->from_tick == NOT_YET)
        *stretch = (struct literal_stretch){tick, steps};
}

/* It holds, but is counted only from this phase 6 on. */
static void stretch_renew(struct literal_stretch *stretch, int64_t tick, int64_t steps) {
    if (stretch->from_tick != NOT_YET)
        *stretch = (struct literal_stretch){tick, steps};
}

/* Since the phase 6 in which it began at least `ticks` have passed. */
static bool stretch_lasted(const struct literal_stretch *stretch, int64_t tick, int64_t ticks) {
    return stretch->from_tick != NOT_YET && tick - stretch->from_tick >= ticks;
}

/* Since the phase 6 in which it began the loop has made a revolution. */
static bool stretch_revolved(const struct literal_stretch *stretch, int64_t steps, int64_t cells) {
    return stretch->from_tick != NOT_YET && steps - stretch->from_steps >= cells;
}

/* ---- reporting ---- */

static void spell_began(struct literal *literal, struct literal_spell *spell, struct event event) {
    event.start_tick = literal->tick;
    event.end_tick = NOT_GIVEN;
    event.incident = NO_INDEX;
    event.count = NOT_GIVEN;
    if (literal->listener.began != NULL)
        literal->listener.began(literal->listener.self, &event);
    spell->open = true;
    spell->event = event;
    spell->event.item = NULL; /* reported once only */
    spell->event.item_count = 0;
}

static void spell_ended(const struct literal *literal, const struct literal_spell *spell) {
    struct event event = spell->event;
    event.end_tick = literal->tick;
    event.item_count = 0; /* not reported again */
    if (literal->listener.ended != NULL)
        literal->listener.ended(literal->listener.self, &event);
}

/* Begins or ends an event when its condition is, or is no longer, met. `event`: what begins. */
static void spell_look(struct literal *literal, struct literal_spell *spell, bool met,
                       struct event event) {
    if (met && !spell->open) {
        spell_began(literal, spell, event);
    } else if (!met && spell->open) {
        spell_ended(literal, spell);
        spell->open = false;
    }
}

/* ---- stations and arms ---- */

/* Section 5: stopped, working, gated, blocked, starved, in that order of precedence; a station that
 * could start but acted before it could counts as gated. */
static enum station_state station_state(const struct literal *literal, uint32_t index) {
    const struct scenario_station *plan = &literal->scenario->station[index];
    if (literal_incident_stopped(literal, PART_STATION, index))
        return STATION_STOPPED;
    if (literal->station[index].working)
        return STATION_WORKING;
    if (!literal_store_gate_open(literal, plan->gate))
        return STATION_GATED;
    for (uint32_t i = 0; i < plan->makes_count; i++)
        if (literal_station_full(literal, index, i))
            return STATION_BLOCKED;
    for (uint32_t i = 0; i < plan->takes.count; i++)
        if (literal_station_short(literal, index, i))
            return STATION_STARVED;
    return STATION_GATED;
}

static void see_states(struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->arm_count; i++)
        literal->arm[i].seen =
            literal_incident_stopped(literal, PART_ARM, i) ? ARM_STOPPED : literal->arm[i].state;
    for (uint32_t i = 0; i < literal->scenario->station_count; i++)
        literal->station[i].seen = station_state(literal, i);
}

/* Marks the kinds that are meant; says how many, in the scenario's order. */
static uint32_t marked_items(const struct scenario *scenario, const bool *marked, uint32_t *item) {
    uint32_t count = 0;
    for (uint32_t kind = 0; kind < scenario->item_count; kind++)
        if (marked[kind])
            item[count++] = kind;
    return count;
}

static void watch_starved(struct literal *literal, uint32_t index, uint32_t *item) {
    const struct scenario *scenario = literal->scenario;
    struct literal_stretch *stretch = &literal->watch.starved[index];
    const struct item_counts *takes = &scenario->station[index].takes;
    stretch_look(stretch, literal->station[index].seen == STATION_STARVED, literal->tick, 0);
    uint32_t count = 0;
    for (uint32_t i = 0; i < takes->count; i++)
        if (literal_station_short(literal, index, i))
            item[count++] = takes->entry[i].item;
    spell_look(literal, &literal->watch.starved_spell[index],
               stretch_lasted(stretch, literal->tick, scenario->watch.starved_after_ticks),
               (struct event){.kind = EVENT_STARVED,
                              .since_tick = stretch->from_tick,
                              .subject = SUBJECT_ACTOR,
                              .actor = {PART_STATION, index},
                              .item = item,
                              .item_count = count});
}

static int64_t blocked_ticks(const struct scenario *scenario) {
    return scenario->watch.blocked_after_ticks == NOT_GIVEN ? scenario->watch.blocked_default_ticks
                                                            : scenario->watch.blocked_after_ticks;
}

static void watch_blocked_station(struct literal *literal, uint32_t index, uint32_t *item) {
    const struct scenario *scenario = literal->scenario;
    struct literal_stretch *stretch = &literal->watch.blocked_station[index];
    stretch_look(stretch, literal->station[index].seen == STATION_BLOCKED, literal->tick, 0);
    bool *full = require_memory(scenario->item_count, sizeof *full);
    for (uint32_t i = 0; i < scenario->station[index].makes_count; i++)
        if (literal_station_full(literal, index, i))
            full[scenario->station[index].makes[i].item] = true;
    uint32_t count = marked_items(scenario, full, item);
    free(full);
    spell_look(literal, &literal->watch.blocked_station_spell[index],
               stretch_lasted(stretch, literal->tick, blocked_ticks(scenario)),
               (struct event){.kind = EVENT_BLOCKED,
                              .since_tick = stretch->from_tick,
                              .subject = SUBJECT_ACTOR,
                              .actor = {PART_STATION, index},
                              .item = item,
                              .item_count = count});
}

static int64_t loop_cells(const struct scenario *scenario, uint32_t loop) {
    return scenario->loop[loop].cell_count;
}

/* The loop onto which an arm places, NO_INDEX: not onto a loop. */
static uint32_t loop_of(const struct scenario *scenario, struct place to) {
    return to.kind == PLACE_LANE ? scenario->lane[to.index].loop : NO_INDEX;
}

/* An arm has been placing and has put nothing down. */
static void watch_blocked_arm(struct literal *literal, uint32_t index, uint32_t *item) {
    const struct scenario *scenario = literal->scenario;
    struct place to = scenario->arm[index].to;
    const struct literal_arm *arm = &literal->arm[index];
    struct literal_stretch *stretch = &literal->watch.blocked_arm[index];
    uint32_t loop = loop_of(scenario, to);
    int64_t steps = loop == NO_INDEX ? 0 : literal->belt[loop].steps;
    stretch_look(stretch, arm->seen == ARM_PLACING, literal->tick, steps);
    if (arm->last_put_tick == literal->tick)
        stretch_renew(stretch, literal->tick, steps);
    bool by_revolution = loop != NO_INDEX && scenario->watch.blocked_after_ticks == NOT_GIVEN;
    bool met = by_revolution ? stretch_revolved(stretch, steps, loop_cells(scenario, loop))
                             : stretch_lasted(stretch, literal->tick, blocked_ticks(scenario));
    uint32_t count = 0;
    for (uint32_t kind = 0; kind < scenario->item_count; kind++)
        if (literal_hand_count(literal, index, kind) > 0)
            item[count++] = kind;
    spell_look(literal, &literal->watch.blocked_arm_spell[index], met,
               (struct event){.kind = EVENT_BLOCKED,
                              .since_tick = stretch->from_tick,
                              .subject = SUBJECT_ACTOR,
                              .actor = {PART_ARM, index},
                              .track = to,
                              .item = item,
                              .item_count = count});
}

/* ---- lanes ---- */

static struct event lane_event(enum event_kind kind, uint32_t lane, int64_t since_tick) {
    return (struct event){.kind = kind,
                          .since_tick = since_tick,
                          .subject = SUBJECT_TRACK,
                          .track = {PLACE_LANE, lane, 0}};
}

/* Occupied share >= congested_at, in whole numbers: cells * denominator >= numerator * N. */
static bool is_congested(const struct literal *literal, uint32_t lane) {
    const struct ratio *at = &literal->scenario->watch.congested_at;
    const struct literal_track *track = &literal->track[lane];
    __extension__ unsigned __int128 held = (uint64_t)track->held_cells;
    __extension__ unsigned __int128 least = track->cell_count;
    return held * (uint64_t)at->denominator >= least * (uint64_t)at->numerator;
}

static void watch_congested(struct literal *literal, uint32_t lane) {
    uint32_t loop = literal->scenario->lane[lane].loop;
    int64_t steps = literal->belt[loop].steps;
    struct literal_stretch *stretch = &literal->watch.congested[lane];
    stretch_look(stretch, is_congested(literal, lane), literal->tick, steps);
    spell_look(literal, &literal->watch.congested_spell[lane],
               stretch_revolved(stretch, steps, loop_cells(literal->scenario, loop)),
               lane_event(EVENT_CONGESTED, lane, stretch->from_tick));
}

static bool somebody_places_onto(const struct literal *literal, uint32_t lane) {
    for (uint32_t i = 0; i < literal->scenario->arm_count; i++) {
        struct place to = literal->scenario->arm[i].to;
        if (to.kind == PLACE_LANE && to.index == lane && literal->arm[i].seen == ARM_PLACING)
            return true;
    }
    return false;
}

/* s is the later of the first phase 6 since which in every one some arm was placing, and the last
 * move on the lane. */
static void watch_jam(struct literal *literal, uint32_t lane) {
    uint32_t loop = literal->scenario->lane[lane].loop;
    int64_t steps = literal->belt[loop].steps;
    const struct literal_track *track = &literal->track[lane];
    struct literal_stretch *stretch = &literal->watch.jam[lane];
    stretch_look(stretch, somebody_places_onto(literal, lane), literal->tick, steps);
    if (track->last_move_tick == literal->tick)
        stretch_renew(stretch, literal->tick, steps);
    bool met = stretch_revolved(stretch, steps, loop_cells(literal->scenario, loop)) &&
               stretch_lasted(stretch, literal->tick, literal->scenario->watch.jam_after_ticks);
    spell_look(
        literal, &literal->watch.jam_spell[lane], met,
        lane_event(EVENT_JAM, lane, track->last_move_tick == NOT_YET ? 0 : track->last_move_tick));
}

/* ---- standstills ---- */

static bool supply_to_come(const struct literal *literal, uint32_t index) {
    const struct scenario_stream *plan = &literal->scenario->supply[index];
    const struct literal_stream *supply = &literal->supply[index];
    return !literal_incident_stopped(literal, PART_SUPPLY, index) &&
           (supply->waiting > 0 || supply->due_tick != NOT_YET) &&
           literal_store_gate_open(literal, plan->gate) &&
           literal_store_accepts(literal, (struct place){PLACE_CHEST, plan->chest, 0}, plan->item);
}

static bool demand_to_come(const struct literal *literal, uint32_t index) {
    const struct scenario_stream *plan = &literal->scenario->demand[index];
    const struct literal_stream *demand = &literal->demand[index];
    return !literal_incident_stopped(literal, PART_DEMAND, index) &&
           (demand->waiting > 0 || demand->due_tick != NOT_YET) &&
           literal->chest[plan->chest].count[plan->item] > 0;
}

static bool anything_broken(const struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    const uint32_t count[PART_KINDS_THAT_ACT] = {
        [PART_ARM] = scenario->arm_count,       [PART_STATION] = scenario->station_count,
        [PART_LOOP] = scenario->loop_count,     [PART_LINE] = scenario->line_count,
        [PART_SUPPLY] = scenario->supply_count, [PART_DEMAND] = scenario->demand_count};
    for (int kind = 0; kind < PART_KINDS_THAT_ACT; kind++)
        for (uint32_t i = 0; i < count[kind]; i++)
            if (literal->halt[kind][i].broken)
                return true;
    return false;
}

static bool any_station_works(const struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->station_count; i++)
        if (literal->station[i].seen == STATION_WORKING)
            return true;
    return false;
}

/* An arm that is not stopped and is carrying, returning, or reaching with something in its hand. */
static bool any_arm_on_its_way(const struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->arm_count; i++) {
        const struct literal_arm *arm = &literal->arm[i];
        if (arm->seen == ARM_CARRYING || arm->seen == ARM_RETURNING ||
            (arm->seen == ARM_REACHING && arm->held > 0))
            return true;
    }
    return false;
}

static bool any_arm_places(const struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->arm_count; i++)
        if (literal->arm[i].seen == ARM_PLACING)
            return true;
    return false;
}

/* Conditions 3 to 7 of a deadlock. */
static bool at_a_standstill(const struct literal *literal) {
    if (any_arm_on_its_way(literal) || any_station_works(literal) || anything_broken(literal))
        return false;
    for (uint32_t i = 0; i < literal->scenario->supply_count; i++)
        if (supply_to_come(literal, i))
            return false;
    for (uint32_t i = 0; i < literal->scenario->demand_count; i++)
        if (demand_to_come(literal, i))
            return false;
    return true;
}

static void standstill_look(const struct literal *literal, struct literal_standstill *standstill,
                            bool holds) {
    bool begins = standstill->from_tick == NOT_YET || literal->last_move_tick == literal->tick;
    if (!holds) {
        standstill->from_tick = NOT_YET;
    } else if (begins) {
        standstill->from_tick = literal->tick;
        for (uint32_t i = 0; i < literal->belt_count; i++)
            standstill->from_steps[i] = literal->belt[i].steps;
    }
}

/* One revolution of every loop, and one step of every line, that is not stopped. */
static bool standstill_lasted(const struct literal *literal,
                              const struct literal_standstill *standstill) {
    const struct scenario *scenario = literal->scenario;
    /* Where every belt is stopped, one quiet tick is enough, but that one must be. */
    if (standstill->from_tick == NOT_YET || literal->last_move_tick == literal->tick)
        return false;
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        if (!literal_incident_stopped(literal, PART_LOOP, i) &&
            literal->belt[i].steps - standstill->from_steps[i] < loop_cells(scenario, i))
            return false;
    for (uint32_t i = 0; i < scenario->line_count; i++) {
        uint32_t belt = scenario->loop_count + i;
        if (!literal_incident_stopped(literal, PART_LINE, i) &&
            literal->belt[belt].steps == standstill->from_steps[belt])
            return false;
    }
    return true;
}

static void watch_deadlock(struct literal *literal) {
    struct literal_standstill *standstill = &literal->watch.deadlock;
    standstill_look(literal, standstill, at_a_standstill(literal));
    bool lasted = standstill_lasted(literal, standstill);
    for (uint32_t lane = 0; lane < literal->scenario->lane_count; lane++)
        spell_look(literal, &literal->watch.deadlock_spell[lane],
                   lasted && literal->watch.jam_spell[lane].open,
                   lane_event(EVENT_DEADLOCK, lane, standstill->from_tick));
}

static bool any_loop_runs(const struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->loop_count; i++)
        if (!literal_incident_stopped(literal, PART_LOOP, i))
            return true;
    return false;
}

static uint32_t items_on_loops(const struct literal *literal, uint32_t *item) {
    uint32_t count = 0;
    for (uint32_t kind = 0; kind < literal->scenario->item_count; kind++) {
        int64_t there = 0;
        for (uint32_t lane = 0; lane < literal->scenario->lane_count; lane++)
            there += literal->track[lane].count[kind];
        if (there > 0)
            item[count++] = kind;
    }
    return count;
}

static void watch_rest(struct literal *literal, uint32_t *item) {
    struct literal_standstill *standstill = &literal->watch.rest;
    struct literal_spell *clogged = literal->watch.clogged_spell;
    standstill_look(literal, standstill,
                    !any_arm_on_its_way(literal) && !any_arm_places(literal) &&
                        !any_station_works(literal));
    bool met = standstill_lasted(literal, standstill) && any_loop_runs(literal);
    bool begins = met && !literal->watch.rest_spell->open;
    struct event event = {.since_tick = standstill->from_tick, .subject = SUBJECT_NONE};
    event.kind = EVENT_REST;
    spell_look(literal, literal->watch.rest_spell, met, event);
    event.kind = EVENT_CLOGGED;
    event.item = item;
    event.item_count = items_on_loops(literal, item);
    spell_look(literal, clogged, met && (clogged->open || (begins && event.item_count > 0)), event);
}

/* A loop that held an item has held none for one revolution. */
static void watch_emptied(struct literal *literal, uint32_t loop) {
    const struct scenario_loop *plan = &literal->scenario->loop[loop];
    struct literal_stretch *stretch = &literal->watch.empty[loop];
    int64_t steps = literal->belt[loop].steps, held = 0;
    for (uint32_t k = 0; k < plan->lane_count; k++)
        held += literal->track[plan->first_lane + k].held_cells;
    if (held > 0)
        stretch->from_tick = NOT_YET;
    else if (literal->watch.held_before[loop])
        *stretch = (struct literal_stretch){literal->tick, steps};
    literal->watch.held_before[loop] = held > 0;
    spell_look(literal, &literal->watch.emptied_spell[loop],
               stretch_revolved(stretch, steps, plan->cell_count),
               (struct event){.kind = EVENT_EMPTIED,
                              .since_tick = stretch->from_tick,
                              .subject = SUBJECT_ACTOR,
                              .actor = {PART_LOOP, loop}});
}

/* ---- all of it ---- */

static struct literal_stretch *new_stretches(uint32_t count) {
    struct literal_stretch *stretch = require_memory(count, sizeof *stretch);
    for (uint32_t i = 0; i < count; i++)
        stretch[i].from_tick = NOT_YET;
    return stretch;
}

static struct literal_standstill new_standstill(const struct literal *literal) {
    return (struct literal_standstill){NOT_YET,
                                       require_memory(literal->belt_count, sizeof(int64_t))};
}

void literal_watch_start(struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    literal->watch = (struct literal_watch){
        .starved = new_stretches(scenario->station_count),
        .blocked_station = new_stretches(scenario->station_count),
        .blocked_arm = new_stretches(scenario->arm_count),
        .congested = new_stretches(scenario->lane_count),
        .jam = new_stretches(scenario->lane_count),
        .empty = new_stretches(scenario->loop_count),
        .held_before = require_memory(scenario->loop_count, sizeof(bool)),
        .deadlock = new_standstill(literal),
        .rest = new_standstill(literal),
        .starved_spell = require_memory(scenario->station_count, sizeof(struct literal_spell)),
        .blocked_station_spell =
            require_memory(scenario->station_count, sizeof(struct literal_spell)),
        .blocked_arm_spell = require_memory(scenario->arm_count, sizeof(struct literal_spell)),
        .congested_spell = require_memory(scenario->lane_count, sizeof(struct literal_spell)),
        .jam_spell = require_memory(scenario->lane_count, sizeof(struct literal_spell)),
        .deadlock_spell = require_memory(scenario->lane_count, sizeof(struct literal_spell)),
        .emptied_spell = require_memory(scenario->loop_count, sizeof(struct literal_spell)),
        .rest_spell = require_memory(1, sizeof(struct literal_spell)),
        .clogged_spell = require_memory(1, sizeof(struct literal_spell))};
}

enum { SPELL_LISTS = 9 };
struct spell_list {
    struct literal_spell *spell;
    uint32_t count;
};

static void list_spells(const struct literal *literal, struct spell_list list[SPELL_LISTS]) {
    const struct scenario *scenario = literal->scenario;
    const struct literal_watch *watch = &literal->watch;
    const struct spell_list all[SPELL_LISTS] = {
        {watch->starved_spell, scenario->station_count},
        {watch->blocked_station_spell, scenario->station_count},
        {watch->blocked_arm_spell, scenario->arm_count},
        {watch->congested_spell, scenario->lane_count},
        {watch->jam_spell, scenario->lane_count},
        {watch->deadlock_spell, scenario->lane_count},
        {watch->rest_spell, 1},
        {watch->clogged_spell, 1},
        {watch->emptied_spell, scenario->loop_count}};
    memcpy(list, all, sizeof all);
}

void literal_watch_free(struct literal *literal) {
    struct literal_watch *watch = &literal->watch;
    struct spell_list list[SPELL_LISTS];
    list_spells(literal, list);
    for (int k = 0; k < SPELL_LISTS; k++)
        free(list[k].spell);
    free(watch->starved);
    free(watch->blocked_station);
    free(watch->blocked_arm);
    free(watch->congested);
    free(watch->jam);
    free(watch->empty);
    free(watch->held_before);
    free(watch->deadlock.from_steps);
    free(watch->rest.from_steps);
}

/* Section 10, phase 6. A deadlock looks at the jams, so it comes after them. */
void literal_watch_phase(struct literal *literal) {
    const struct scenario *scenario = literal->scenario;
    uint32_t *item = require_memory(scenario->item_count, sizeof *item);
    see_states(literal);
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        watch_starved(literal, i, item);
        watch_blocked_station(literal, i, item);
    }
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        watch_blocked_arm(literal, i, item);
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        watch_congested(literal, i);
        watch_jam(literal, i);
    }
    watch_deadlock(literal);
    watch_rest(literal, item);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        watch_emptied(literal, i);
    free(item);
}

void literal_watch_report_open(struct literal *literal) {
    struct spell_list list[SPELL_LISTS];
    list_spells(literal, list);
    for (int k = 0; k < SPELL_LISTS; k++)
        for (uint32_t i = 0; i < list[k].count; i++)
            if (list[k].spell[i].open)
                spell_ended(literal, &list[k].spell[i]);
}
