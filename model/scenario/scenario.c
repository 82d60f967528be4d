/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/scenario.c - gives a scenario back, and looks up what incidents call an actor. */
#include "model/scenario/scenario.h"

#include <stdlib.h>

#include "sim/require.h"

static void free_floor(struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->item_count; i++)
        free(scenario->item[i].name);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        free(scenario->loop[i].name);
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        free(scenario->lane[i].name);
        free(scenario->lane[i].full_name);
    }
    for (uint32_t i = 0; i < scenario->line_count; i++)
        free(scenario->line[i].name);
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
    }
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        free(scenario->arm[i].name);
        if (!scenario->arm[i].borrows_items)
            free(scenario->arm[i].item);
    }
}

static void free_outside(struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        free(scenario->supply[i].name);
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

const char *scenario_actor_name(const struct scenario *scenario, struct actor actor) {
    switch (actor.kind) {
    case ACTOR_ARM: return scenario->arm[actor.index].name;
    case ACTOR_STATION: return scenario->station[actor.index].name;
    case ACTOR_LOOP: return scenario->loop[actor.index].name;
    case ACTOR_LINE: return scenario->line[actor.index].name;
    case ACTOR_SUPPLY: return scenario->supply[actor.index].name;
    case ACTOR_DEMAND: return scenario->demand[actor.index].name;
    }
    require(false);
    return NULL;
}

const struct breaks *scenario_actor_breaks(const struct scenario *scenario, struct actor actor) {
    switch (actor.kind) {
    case ACTOR_ARM: return &scenario->arm[actor.index].breaks;
    case ACTOR_STATION: return &scenario->station[actor.index].breaks;
    case ACTOR_LOOP: return &scenario->loop[actor.index].breaks;
    case ACTOR_LINE: return &scenario->line[actor.index].breaks;
    case ACTOR_SUPPLY: return &scenario->supply[actor.index].breaks;
    case ACTOR_DEMAND: break;
    }
    require(false);
    return NULL;
}
