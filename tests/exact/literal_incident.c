/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal_incident.c - incidents, breakdowns and repairs (section 9). */
#include <stdlib.h>

#include "sim/require.h"
#include "tests/exact/literal_state.h"

bool literal_incident_stopped(const struct literal *literal, enum part_kind kind, uint32_t index) {
    const struct literal_halt *halt = &literal->halt[kind][index];
    return halt->by_incident || halt->broken;
}

/* What may break, in the order in which breakdowns and repairs come (section 10, phase 2). */
static const enum part_kind breaking[] = {PART_ARM, PART_STATION, PART_LOOP, PART_LINE,
                                          PART_SUPPLY};
enum { BREAKING_KINDS = sizeof breaking / sizeof *breaking };

static uint32_t actors_of(const struct scenario *scenario, enum part_kind kind) {
    const uint32_t count[PART_KINDS_THAT_ACT] = {
        [PART_ARM] = scenario->arm_count,       [PART_STATION] = scenario->station_count,
        [PART_LOOP] = scenario->loop_count,     [PART_LINE] = scenario->line_count,
        [PART_SUPPLY] = scenario->supply_count, [PART_DEMAND] = scenario->demand_count};
    return count[kind];
}

static const struct breaks *breaks_of(const struct scenario *scenario, struct part actor) {
    switch (actor.kind) {
    case PART_ARM: return scenario->arm[actor.index].breaks;
    case PART_STATION: return scenario->station[actor.index].breaks;
    case PART_LOOP: return scenario->loop[actor.index].breaks;
    case PART_LINE: return scenario->line[actor.index].breaks;
    case PART_SUPPLY: return scenario->supply[actor.index].breaks;
    case PART_DEMAND:
    case PART_CHEST:
    case PART_LANE: break;
    }
    require(false);
}

static const char *name_of(const struct scenario *scenario, struct part actor) {
    switch (actor.kind) {
    case PART_ARM: return scenario->arm[actor.index].name;
    case PART_STATION: return scenario->station[actor.index].name;
    case PART_LOOP: return scenario->loop[actor.index].name;
    case PART_LINE: return scenario->line[actor.index].name;
    case PART_SUPPLY: return scenario->supply[actor.index].name;
    case PART_DEMAND: return scenario->demand[actor.index].name;
    case PART_CHEST:
    case PART_LANE: break;
    }
    require(false);
}

static void start_breaks(struct literal *literal, struct part actor) {
    const struct scenario *scenario = literal->scenario;
    const struct breaks *breaks = breaks_of(scenario, actor);
    struct literal_halt *halt = &literal->halt[actor.kind][actor.index];
    halt->turn_tick = NOT_YET;
    if (!breaks->present)
        return;
    random_start(&halt->after, scenario->seed, name_of(scenario, actor), "after");
    random_start(&halt->repair, scenario->seed, name_of(scenario, actor), "repair");
    halt->turn_tick = span_draw(&breaks->after, &halt->after, scenario->ticks_per_second);
}

static void start_incident(struct literal *literal, uint32_t index) {
    const struct scenario_incident *plan = &literal->scenario->incident[index];
    struct literal_incident *incident = &literal->incident[index];
    incident->due_tick = plan->at_tick;
    if (!plan->repeats)
        return;
    random_start(&incident->interval, literal->scenario->seed, plan->label, "interval");
    incident->due_tick = plan->first_tick;
    if (plan->first_tick == NOT_GIVEN)
        incident->due_tick =
            span_draw(&plan->every, &incident->interval, literal->scenario->ticks_per_second);
}

void literal_incident_start(struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->incident_count; i++)
        start_incident(literal, i);
    for (uint32_t k = 0; k < BREAKING_KINDS; k++)
        for (uint32_t i = 0; i < actors_of(literal->scenario, breaking[k]); i++)
            start_breaks(literal, (struct part){breaking[k], i});
}

static void tell(struct literal *literal, struct event event) {
    event.start_tick = event.end_tick = literal->tick;
    event.since_tick = NOT_GIVEN;
    if (literal->listener.happened != NULL)
        literal->listener.happened(literal->listener.self, &event);
}

/* ---- stop and start ---- */

/* A stopped batch keeps its remaining time. */
static void halted(struct literal *literal, struct part actor) {
    if (actor.kind != PART_STATION)
        return;
    struct literal_station *station = &literal->station[actor.index];
    station->left_ticks = station->end_tick - literal->tick;
}

/* The steps of a loop or line count anew from the start. */
static void resumed(struct literal *literal, struct part actor) {
    struct literal_station *station = literal->station + actor.index;
    if (actor.kind == PART_LOOP)
        literal->belt[actor.index].travelled = 0;
    else if (actor.kind == PART_LINE)
        literal->belt[literal->scenario->loop_count + actor.index].travelled = 0;
    else if (actor.kind == PART_STATION)
        station->end_tick = literal->tick + station->left_ticks;
}

/* Sets one of the two reasons to stand still; a thing runs when there is neither. */
static void set_halt(struct literal *literal, struct part actor, bool *reason, bool value) {
    bool before = literal_incident_stopped(literal, actor.kind, actor.index);
    *reason = value;
    bool after = literal_incident_stopped(literal, actor.kind, actor.index);
    if (!before && after)
        halted(literal, actor);
    else if (before && !after)
        resumed(literal, actor);
}

static void stop_or_start(struct literal *literal, uint32_t index) {
    const struct scenario_incident *plan = &literal->scenario->incident[index];
    bool stop = plan->kind == INCIDENT_STOP;
    set_halt(literal, plan->actor, &literal->halt[plan->actor.kind][plan->actor.index].by_incident,
             stop);
    tell(literal, (struct event){.kind = stop ? EVENT_STOP : EVENT_START,
                                 .subject = SUBJECT_ACTOR,
                                 .actor = plan->actor,
                                 .incident = index,
                                 .count = NOT_GIVEN});
}

static void break_or_repair(struct literal *literal, struct part actor) {
    const struct breaks *breaks = breaks_of(literal->scenario, actor);
    struct literal_halt *halt = &literal->halt[actor.kind][actor.index];
    if (halt->turn_tick != literal->tick)
        return;
    bool stop = !halt->broken;
    set_halt(literal, actor, &halt->broken, stop);
    halt->turn_tick +=
        stop ? span_draw(&breaks->repair, &halt->repair, literal->scenario->ticks_per_second)
             : span_draw(&breaks->after, &halt->after, literal->scenario->ticks_per_second);
    tell(literal, (struct event){.kind = stop ? EVENT_STOP : EVENT_START,
                                 .subject = SUBJECT_ACTOR,
                                 .actor = actor,
                                 .incident = NO_INDEX,
                                 .count = NOT_GIVEN});
}

/* ---- drop and clear ---- */

/* Head cells 0, 1, ... N-1 are tried once each. */
static void drop(struct literal *literal, uint32_t index) {
    const struct scenario_incident *plan = &literal->scenario->incident[index];
    struct literal_track *track = literal_track_at(literal, plan->track);
    int64_t appeared = 0;
    for (uint32_t cell = 0; cell < track->cell_count && appeared < plan->count; cell++)
        if (literal_track_fits(literal, track, cell, plan->item)) {
            literal_track_put(literal, track, cell, plan->item);
            appeared++;
        }
    literal->item[plan->item].dropped += appeared;
    tell(literal, (struct event){.kind = EVENT_DROP,
                                 .subject = SUBJECT_TRACK,
                                 .track = plan->track,
                                 .incident = index,
                                 .item = &plan->item,
                                 .item_count = 1,
                                 .count = appeared,
                                 .short_count = plan->count - appeared});
}

static void clear(struct literal *literal, uint32_t index) {
    const struct scenario_incident *plan = &literal->scenario->incident[index];
    struct literal_track *track = literal_track_at(literal, plan->track);
    uint32_t kinds = literal->scenario->item_count, named = 0;
    int64_t *went = require_memory(kinds, sizeof *went), total = 0;
    uint32_t *item = require_memory(kinds, sizeof *item);
    for (uint32_t cell = 0; cell < track->cell_count; cell++) {
        struct literal_cell there = track->cell[cell];
        if (!there.head || (plan->item != NO_INDEX && there.item != plan->item))
            continue;
        literal_track_take(literal, track, cell);
        literal->item[there.item].cleared++;
        went[there.item]++;
        total++;
    }
    for (uint32_t kind = 0; kind < kinds; kind++)
        if (went[kind] > 0)
            item[named++] = kind;
    tell(literal, (struct event){.kind = EVENT_CLEAR,
                                 .subject = SUBJECT_TRACK,
                                 .track = plan->track,
                                 .incident = index,
                                 .item = item,
                                 .item_count = named,
                                 .count = total});
    free(item);
    free(went);
}

/* ---- set ---- */

static void set_capacity(struct literal *literal, uint32_t index) {
    const struct scenario_incident *plan = &literal->scenario->incident[index];
    literal->chest[plan->chest].capacity = plan->value;
    tell(literal, (struct event){.kind = EVENT_SET,
                                 .subject = SUBJECT_CHEST,
                                 .chest = plan->chest,
                                 .incident = index,
                                 .count = NOT_GIVEN,
                                 .value = plan->value});
}

/* A latch is brought up to date at once when a threshold changes (section 6). */
static void set_gate(struct literal *literal, uint32_t index) {
    const struct scenario_incident *plan = &literal->scenario->incident[index];
    if (plan->kind == INCIDENT_SET_REOPEN)
        literal->gate[plan->gate].reopen_below = plan->value;
    else
        literal->gate[plan->gate].threshold = plan->value;
    if (plan->reopen_value != NOT_GIVEN)
        literal->gate[plan->gate].reopen_below = plan->reopen_value;
    literal_store_latch(literal);
    tell(literal, (struct event){.kind = EVENT_SET,
                                 .subject = SUBJECT_GATE,
                                 .actor = plan->actor,
                                 .incident = index,
                                 .count = NOT_GIVEN,
                                 .value = plan->value});
}

static void occur(struct literal *literal, uint32_t index) {
    switch (literal->scenario->incident[index].kind) {
    case INCIDENT_DROP: drop(literal, index); break;
    case INCIDENT_CLEAR: clear(literal, index); break;
    case INCIDENT_STOP:
    case INCIDENT_START: stop_or_start(literal, index); break;
    case INCIDENT_SET_CAPACITY: set_capacity(literal, index); break;
    case INCIDENT_SET_BELOW:
    case INCIDENT_SET_AT_LEAST:
    case INCIDENT_SET_REOPEN: set_gate(literal, index); break;
    }
}

/* Section 10, phase 2. */
void literal_incident_phase(struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->incident_count; i++) {
        const struct scenario_incident *plan = &literal->scenario->incident[i];
        struct literal_incident *incident = &literal->incident[i];
        if (incident->due_tick != literal->tick)
            continue;
        occur(literal, i);
        incident->due_tick = NOT_YET;
        if (plan->repeats)
            incident->due_tick = literal->tick + span_draw(&plan->every, &incident->interval,
                                                           literal->scenario->ticks_per_second);
    }
    for (uint32_t k = 0; k < BREAKING_KINDS; k++)
        for (uint32_t i = 0; i < actors_of(literal->scenario, breaking[k]); i++)
            break_or_repair(literal, (struct part){breaking[k], i});
}
