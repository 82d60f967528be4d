/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/drawing.c - names that are free, and what is often asked of recipes. */
#include "model/design/drawing.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/design/spread_lanes.h"
#include "model/scenario/layout.h"
#include "sim/require.h"

/* ---- names ---- */

void drawing_name(struct drawing *drawing, char name[PLAN_NAME_BYTES], const char *format, ...) {
    char wanted[PLAN_NAME_BYTES - 8];
    va_list values;
    va_start(values, format);
    vsnprintf(wanted, sizeof wanted, format, values);
    va_end(values);
    wanted[60] = '\0'; /* with a number behind it still a name */
    snprintf(name, PLAN_NAME_BYTES, "%s", wanted);
    for (unsigned i = 2; names_find(&drawing->used, name) != NO_INDEX; i++)
        snprintf(name, PLAN_NAME_BYTES, "%s-%u", wanted, i);
    drawing->owned =
        require_more_memory(drawing->owned, drawing->owned_count + 1, sizeof *drawing->owned);
    drawing->owned[drawing->owned_count] = require_text(name);
    names_add(&drawing->used, drawing->owned[drawing->owned_count++], 0);
}

const char *drawing_item_name(const struct drawing *drawing, uint32_t item) {
    return drawing->scenario->item[item].name;
}

static void use_names(struct drawing *drawing) {
    const struct scenario *scenario = drawing->scenario;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        names_add(&drawing->used, scenario->station[i].name, 0);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        names_add(&drawing->used, scenario->supply[i].name, 0);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        names_add(&drawing->used, scenario->demand[i].name, 0);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        names_add(&drawing->used, scenario->loop[i].name, 0);
    for (uint32_t i = 0; i < scenario->line_count; i++)
        names_add(&drawing->used, scenario->line[i].name, 0);
    for (uint32_t i = 0; i < drawing->choice->chests_given; i++)
        names_add(&drawing->used, scenario->chest[i].name, 0);
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].name != NULL)
            names_add(&drawing->used, scenario->incident[i].name, 0);
}

/* ---- recipes and arms ---- */

double drawing_swing_s(const struct drawing *drawing, uint32_t kind) {
    return (double)drawing->may->arm[kind].swing_ticks /
           (double)drawing->scenario->ticks_per_second;
}

double drawing_takes(const struct drawing *drawing, uint32_t recipe, uint32_t item) {
    return (double)layout_batch_takes(drawing->scenario, recipe, item);
}

int64_t drawing_batch_made(const struct drawing *drawing, uint32_t recipe, uint32_t item) {
    const struct scenario_station *station = &drawing->scenario->station[recipe];
    int64_t made = 0;
    for (uint32_t i = 0; i < station->makes_count; i++)
        made += station->makes[i].item == item ? station->makes[i].count : 0;
    return made;
}

double drawing_most_made(const struct drawing *drawing, uint32_t item) {
    double all = 0;
    for (uint32_t s = 0; s < drawing->scenario->station_count; s++)
        all += drawing->need.copies[s] * design_need_makes(drawing->scenario, s, item);
    return all;
}

uint32_t drawing_longest_on(const struct drawing *drawing, const struct lane *lane) {
    uint32_t longest = 1;
    for (uint32_t f = 0; f < lane->flow_count; f++) {
        uint32_t length = drawing->scenario->item[lane->flow[f].item].length;
        longest = length > longest ? length : longest;
    }
    return longest;
}

/* ---- all of it ---- */

bool drawing_init(struct drawing *drawing, struct plan *plan, const struct plan_choice *choice,
                  char why[DESIGN_WHY_BYTES]) {
    const struct scenario *scenario = plan->scenario;
    *drawing = (struct drawing){.plan = plan,
                                .scenario = scenario,
                                .may = plan->may,
                                .choice = choice,
                                .first_station = plan_no_indices(scenario->station_count),
                                .bin = plan_no_indices(scenario->item_count),
                                .shelf = plan_no_indices(scenario->item_count)};
    struct spread_wish wish = {.feeder_margin = choice->feeder_margin,
                               .lanes_least = choice->lanes_least,
                               .lines_given = scenario->line_count,
                               .extra_taker = choice->extra_taker};
    if (!design_need_init(&drawing->need, scenario, plan->may, choice->extra_station, why) ||
        !spread_lanes(&drawing->lanes, &drawing->need, plan->may, &wish, why))
        return false;
    drawing->belt = plan_no_indices(drawing->lanes.lane_count);
    drawing->lane = plan_no_indices(drawing->lanes.lane_count);
    use_names(drawing);
    return true;
}

void drawing_free(struct drawing *drawing) {
    lanes_free(&drawing->lanes);
    design_need_free(&drawing->need);
    names_free(&drawing->used);
    for (uint32_t i = 0; i < drawing->owned_count; i++)
        free(drawing->owned[i]);
    free(drawing->owned);
    free(drawing->first_station);
    free(drawing->belt);
    free(drawing->lane);
    free(drawing->bin);
    free(drawing->shelf);
}
