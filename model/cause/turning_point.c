/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/turning_point.c - repeats the run from the nearest copy of the world that was
 * kept, up to the tick before the stop, and goes on from there in a copy whose scenario has the
 * stop and no start that would undo it. */
#include "model/cause/turning_point.h"

#include <stdlib.h>

#include "model/state/state.h"
#include "sim/require.h"

enum { LOOKS = 16, GRACE_SECONDS = 600 };

void turning_init(struct turning *turning, const struct scenario *scenario,
                  const struct ladder *ladder) {
    *turning = (struct turning){.scenario = scenario, .ladder = ladder};
    turning->lane = require_memory(scenario->lane_count, sizeof *turning->lane);
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        turning->lane[i] = (struct turning_lane){NOT_GIVEN, NOT_GIVEN, false, NO_INDEX};
}

void turning_free(struct turning *turning) {
    free(turning->lane);
    *turning = (struct turning){0};
}

static bool places_on(const struct scenario *scenario, uint32_t arm, uint32_t lane) {
    struct place to = scenario->arm[arm].to;
    return to.kind == PLACE_LANE && to.index == lane;
}

/* True of an incident that would start again what is to be stopped for good. */
static bool undoes(const struct scenario *scenario, const struct scenario_incident *incident,
                   uint32_t lane) {
    return incident->kind == INCIDENT_START && incident->actor.kind == PART_ARM &&
           places_on(scenario, incident->actor.index, lane);
}

static char stop_label[] = "stop for good";

/* The scenario with the stop as its first incidents. Only its list of incidents is its own. */
static struct scenario stopped_at(const struct scenario *scenario, uint32_t lane, int64_t tick) {
    struct scenario changed = *scenario;
    changed.incident = require_memory((size_t)scenario->arm_count + scenario->incident_count,
                                      sizeof *changed.incident);
    changed.incident_count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (places_on(scenario, i, lane))
            changed.incident[changed.incident_count++] =
                (struct scenario_incident){.label = stop_label,
                                           .at_tick = tick,
                                           .first_tick = NOT_GIVEN,
                                           .kind = INCIDENT_STOP,
                                           .actor = {PART_ARM, i}};
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (!undoes(scenario, &scenario->incident[i], lane))
            changed.incident[changed.incident_count++] = scenario->incident[i];
    return changed;
}

/* The run as it was, up to the tick before. */
static struct world *world_before(struct turning *turning, int64_t tick) {
    struct world *world = ladder_world(turning->ladder, turning->scenario, tick - 1);
    require(world != NULL);
    turning->moves -= world_moves(world);
    world_advance(world, tick - 1);
    return world;
}

static bool may_be_dropped_on(const struct scenario *scenario, uint32_t lane) {
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_DROP && incident->track.kind == PLACE_LANE &&
            incident->track.index == lane)
            return true;
    }
    return false;
}

/* Whether the lane holds nothing at the end. Nobody places on it any more, so that it stays empty
 * once it is, unless something may be dropped there. */
static bool ends_empty(struct world *world, const struct scenario *scenario, uint32_t lane) {
    const struct place place = {PLACE_LANE, lane, 0};
    int64_t end = scenario->run_ticks + GRACE_SECONDS * scenario->ticks_per_second;
    bool drops = may_be_dropped_on(scenario, lane);
    for (int64_t left = end - world_tick(world); left > 0; left = end - world_tick(world)) {
        world_advance(world, world_tick(world) + (left + LOOKS - 1) / LOOKS);
        if (!drops && world_track_cells(world, place) == 0)
            return true;
    }
    return world_track_cells(world, place) == 0;
}

static uint32_t most_of(const struct world *world, const struct scenario *scenario, uint32_t lane) {
    const struct place place = {PLACE_LANE, lane, 0};
    uint32_t most = 0;
    for (uint32_t i = 1; i < scenario->item_count; i++)
        if (world_track_count(world, place, i) > world_track_count(world, place, most))
            most = i;
    return most;
}

bool turning_empties(struct turning *turning, uint32_t lane, int64_t tick) {
    const struct scenario *scenario = turning->scenario;
    struct scenario changed = stopped_at(scenario, lane, tick);
    struct world *before = world_before(turning, tick);
    struct world *world = state_copy(before, &changed);
    require(world != NULL);
    world_free(before);
    world_advance(world, tick); /* in which they stop */
    bool empty = ends_empty(world, scenario, lane);
    if (!empty)
        turning->left = most_of(world, scenario, lane);
    turning->moves += world_moves(world);
    world_free(world);
    free(changed.incident);
    return empty;
}

static void note_bad(const struct turning *turning, uint32_t lane, int64_t tick) {
    turning->lane[lane].bad = tick;
    turning->lane[lane].left = turning->left;
}

/* Seconds are tried between what is known already, so that many jams of a lane cost little more
 * than one. */
static void narrow(struct turning *turning, uint32_t lane) {
    struct turning_lane *known = &turning->lane[lane];
    int64_t second = turning->scenario->ticks_per_second;
    while (known->bad - known->good > second) {
        int64_t middle = (known->good + (known->bad - known->good) / 2) / second * second;
        middle += middle <= known->good ? second : 0;
        if (turning_empties(turning, lane, middle))
            known->good = middle;
        else
            note_bad(turning, lane, middle);
    }
}

int64_t turning_point(struct turning *turning, uint32_t lane, int64_t start_tick) {
    struct turning_lane *known = &turning->lane[lane];
    int64_t first = ladder_tick(turning->ladder, 0) + 1;
    if (start_tick <= first)
        return NOT_GIVEN;
    if (known->good == NOT_GIVEN && !known->lost) {
        known->lost = !turning_empties(turning, lane, first);
        known->good = first;
    }
    if (known->lost || (known->bad == NOT_GIVEN && turning_empties(turning, lane, start_tick)))
        return NOT_GIVEN;
    if (known->bad == NOT_GIVEN)
        note_bad(turning, lane, start_tick);
    narrow(turning, lane);
    return known->good;
}

uint32_t turning_item_left(const struct turning *turning, uint32_t lane) {
    return turning->lane[lane].left;
}
