/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/scenario.c - gives a scenario back, and looks up what incidents call an actor. */
#include "model/scenario/scenario.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

const struct breaks scenario_never_breaks = {.present = false};

void scenario_breaks_free(const struct breaks *breaks) {
    if (breaks != &scenario_never_breaks)
        free((void *)(uintptr_t)breaks);
}

static void free_floor(struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->item_count; i++)
        free(scenario->item[i].name);
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        free(scenario->loop[i].name);
        scenario_breaks_free(scenario->loop[i].breaks);
    }
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        free(scenario->lane[i].name);
        free(scenario->lane[i].full_name);
    }
    for (uint32_t i = 0; i < scenario->line_count; i++) {
        free(scenario->line[i].name);
        scenario_breaks_free(scenario->line[i].breaks);
    }
    for (uint32_t i = 0; i < scenario->chest_count; i++) {
        free(scenario->chest[i].name);
        free(scenario->chest[i].start.entry);
        free(scenario->chest[i].limits.entry);
    }
}

static void free_stations_and_arms(struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        free(scenario->station[i].name);
        free(scenario->station[i].takes.entry);
        free(scenario->station[i].makes);
        scenario_breaks_free(scenario->station[i].breaks);
    }
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        free(scenario->arm[i].name);
        scenario_breaks_free(scenario->arm[i].breaks);
        if (!scenario->arm[i].borrows_items)
            free(scenario->arm[i].item);
    }
}

static void free_outside(struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->supply_count; i++) {
        free(scenario->supply[i].name);
        scenario_breaks_free(scenario->supply[i].breaks);
    }
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        free(scenario->demand[i].name);
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        free(scenario->incident[i].name);
        free(scenario->incident[i].label);
    }
    free(scenario->expect.starved);
    free(scenario->expect.made);
    free(scenario->expect.demand_met);
    free(scenario->expect.on_lane);
}

void scenario_free(struct scenario *scenario) {
    if (scenario == NULL)
        return;
    free_floor(scenario);
    free_stations_and_arms(scenario);
    free_outside(scenario);
    void *const list[] = {scenario->title, scenario->text,   scenario->item,   scenario->loop,
                          scenario->lane,  scenario->line,   scenario->chest,  scenario->station,
                          scenario->arm,   scenario->supply, scenario->demand, scenario->incident,
                          scenario->gate,  scenario};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++)
        free(list[i]);
}

const char *scenario_part_name(const struct scenario *scenario, struct part part) {
    switch (part.kind) {
    case PART_ARM: return scenario->arm[part.index].name;
    case PART_STATION: return scenario->station[part.index].name;
    case PART_LOOP: return scenario->loop[part.index].name;
    case PART_LINE: return scenario->line[part.index].name;
    case PART_SUPPLY: return scenario->supply[part.index].name;
    case PART_DEMAND: return scenario->demand[part.index].name;
    case PART_CHEST: return scenario->chest[part.index].name;
    case PART_LANE: return scenario->lane[part.index].full_name;
    }
    require(false);
    return NULL;
}

bool scenario_has_orders(const struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!scenario->demand[i].outlet)
            return true;
    return false;
}

const struct breaks *scenario_part_breaks(const struct scenario *scenario, struct part part) {
    switch (part.kind) {
    case PART_ARM: return scenario->arm[part.index].breaks;
    case PART_STATION: return scenario->station[part.index].breaks;
    case PART_LOOP: return scenario->loop[part.index].breaks;
    case PART_LINE: return scenario->line[part.index].breaks;
    case PART_SUPPLY: return scenario->supply[part.index].breaks;
    case PART_DEMAND:
    case PART_CHEST:
    case PART_LANE: break;
    }
    require(false);
    return NULL;
}

static bool breaks_by_chance(const struct breaks *breaks) {
    return breaks->present && (span_is_random(&breaks->after) || span_is_random(&breaks->repair));
}

static bool makes_by_chance(const struct scenario_station *station) {
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].has_chance && station->makes[i].chance > 0 &&
            station->makes[i].chance < 1)
            return true;
    return false;
}

static bool works_by_chance(const struct scenario *scenario) {
    bool chance = false;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        chance = chance || span_is_random(&scenario->station[i].time) ||
                 makes_by_chance(&scenario->station[i]) ||
                 breaks_by_chance(scenario->station[i].breaks);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        chance = chance || span_is_random(&scenario->arm[i].swing) ||
                 (scenario->arm[i].choose == CHOOSE_RANDOM && scenario->arm[i].item_count > 1) ||
                 breaks_by_chance(scenario->arm[i].breaks);
    return chance;
}

bool scenario_has_chance(const struct scenario *scenario) {
    bool chance = works_by_chance(scenario);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        chance = chance || breaks_by_chance(scenario->loop[i].breaks);
    for (uint32_t i = 0; i < scenario->line_count; i++)
        chance = chance || breaks_by_chance(scenario->line[i].breaks);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        chance = chance || span_is_random(&scenario->supply[i].every) ||
                 breaks_by_chance(scenario->supply[i].breaks);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        chance = chance || span_is_random(&scenario->demand[i].every);
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        chance = chance ||
                 (scenario->incident[i].repeats && span_is_random(&scenario->incident[i].every));
    return chance;
}

bool scenario_has_name(const struct scenario *scenario, const char *name) {
#define NAMED_SO(list, list_count)                                                                 \
    for (uint32_t i = 0; i < scenario->list_count; i++)                                            \
        if (scenario->list[i].name != NULL && strcmp(scenario->list[i].name, name) == 0)           \
    return true
    NAMED_SO(loop, loop_count);
    NAMED_SO(line, line_count);
    NAMED_SO(chest, chest_count);
    NAMED_SO(station, station_count);
    NAMED_SO(arm, arm_count);
    NAMED_SO(supply, supply_count);
    NAMED_SO(demand, demand_count);
    NAMED_SO(incident, incident_count);
#undef NAMED_SO
    return false;
}
