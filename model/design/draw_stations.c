/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_stations.c - how busy each one is says why there are so many. */
#include "model/design/draw_stations.h"

#include <math.h>
#include <stdio.h>

#include "sim/require.h"

static void add_station(struct drawing *drawing, uint32_t recipe, uint32_t number) {
    struct plan *plan = drawing->plan;
    const char *name = drawing->scenario->station[recipe].name;
    plan->station =
        require_more_memory(plan->station, plan->station_count + 1, sizeof *plan->station);
    struct plan_station *station = &plan->station[plan->station_count++];
    *station = (struct plan_station){
        .recipe = recipe, .ahead = NOT_GIVEN, .chest = NO_INDEX, .item = NO_INDEX};
    if (drawing->need.copies[recipe] > 1)
        drawing_name(drawing, station->name, "%s-%u", name, number + 1);
    else
        snprintf(station->name, sizeof station->name, "%s", name);
    double rate = design_need_station_rate(drawing->scenario, recipe);
    station->busy = drawing->need.batches[recipe] / rate / drawing->need.copies[recipe];
    double least = fmax(ceil(drawing->need.batches[recipe] / rate - DESIGN_HAIR), 1);
    if (drawing->need.copies[recipe] > least &&
        drawing->need.batches[recipe] / rate / least > DESIGN_BUSY_MOST)
        plan_say_also(station->why, "%.0f would have no time left to catch up after a stop", least);
    if (drawing->choice->extra_station[recipe] > 0)
        plan_say_also(station->why, "trials wanted %u more than the rules do",
                      drawing->choice->extra_station[recipe]);
}

void draw_stations(struct drawing *drawing) {
    for (uint32_t s = 0; s < drawing->scenario->station_count; s++) {
        drawing->first_station[s] = drawing->plan->station_count;
        for (uint32_t i = 0; i < drawing->need.copies[s]; i++)
            add_station(drawing, s, i);
    }
}
