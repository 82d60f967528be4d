/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal_station.c - batches of a station (section 5). */
#include "tests/exact/literal_state.h"

bool literal_station_short(const struct literal *literal, uint32_t station, uint32_t input) {
    return literal->station[station].input[input] <
           literal->scenario->station[station].takes.entry[input].count;
}

bool literal_station_full(const struct literal *literal, uint32_t station, uint32_t output) {
    const struct station_output *makes = &literal->scenario->station[station].makes[output];
    return literal->station[station].output[output] + makes->count > makes->room;
}

static bool can_start(const struct literal *literal, uint32_t index) {
    const struct scenario_station *plan = &literal->scenario->station[index];
    if (literal->station[index].working || literal_incident_stopped(literal, PART_STATION, index) ||
        !literal_store_gate_open(literal, plan->gate))
        return false;
    for (uint32_t i = 0; i < plan->takes.count; i++)
        if (literal_station_short(literal, index, i))
            return false;
    for (uint32_t i = 0; i < plan->makes_count; i++)
        if (literal_station_full(literal, index, i))
            return false;
    return true;
}

void literal_station_start_batch(struct literal *literal, uint32_t index) {
    const struct scenario_station *plan = &literal->scenario->station[index];
    struct literal_station *station = &literal->station[index];
    if (!can_start(literal, index))
        return;
    for (uint32_t i = 0; i < plan->takes.count; i++) {
        station->input[i] -= plan->takes.entry[i].count;
        literal->item[plan->takes.entry[i].item].consumed += plan->takes.entry[i].count;
        literal_store_latch(literal);
    }
    station->working = true;
    station->end_tick =
        literal->tick + span_draw(&plan->time, &station->time, literal->scenario->ticks_per_second);
    literal->last_move_tick = literal->tick;
}

static void make(struct literal *literal, uint32_t index, uint32_t output) {
    const struct station_output *makes = &literal->scenario->station[index].makes[output];
    struct literal_station *station = &literal->station[index];
    if (makes->has_chance && !random_hits(&station->output_chance[output], makes->chance))
        return;
    station->output[output] += makes->count;
    literal->item[makes->item].made += makes->count;
    literal_store_latch(literal);
}

void literal_station_end_batch(struct literal *literal, uint32_t index) {
    struct literal_station *station = &literal->station[index];
    if (!station->working || literal_incident_stopped(literal, PART_STATION, index) ||
        literal->tick < station->end_tick)
        return;
    station->working = false;
    station->totals.batches++;
    for (uint32_t i = 0; i < literal->scenario->station[index].makes_count; i++)
        make(literal, index, i);
    literal->last_move_tick = literal->tick;
}
