/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/chance.c - all that draws: spans, breaks, choices, chances of outputs. */
#include "model/scenario/chance.h"

static bool is_drawn(const struct span *span) { return span->kind != SPAN_FIXED; }

static bool breaks(const struct breaks *breaks) { return breaks->present; }

static bool stations_draw(const struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        const struct scenario_station *station = &scenario->station[i];
        if (is_drawn(&station->time) || breaks(&station->breaks))
            return true;
        for (uint32_t j = 0; j < station->makes_count; j++)
            if (station->makes[j].has_chance)
                return true;
    }
    return false;
}

static bool arms_draw(const struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (is_drawn(&arm->swing) || breaks(&arm->breaks) || arm->choose == CHOOSE_RANDOM)
            return true;
    }
    return false;
}

static bool belts_draw(const struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        if (breaks(&scenario->loop[i].breaks))
            return true;
    for (uint32_t i = 0; i < scenario->line_count; i++)
        if (breaks(&scenario->line[i].breaks))
            return true;
    return false;
}

static bool outside_draws(const struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (is_drawn(&scenario->supply[i].every) || breaks(&scenario->supply[i].breaks))
            return true;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (is_drawn(&scenario->demand[i].every))
            return true;
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].repeats && is_drawn(&scenario->incident[i].every))
            return true;
    return false;
}

bool chance_is_drawn(const struct scenario *scenario) {
    return stations_draw(scenario) || arms_draw(scenario) || belts_draw(scenario) ||
           outside_draws(scenario);
}
