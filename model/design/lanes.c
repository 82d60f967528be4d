/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/lanes.c - adds lanes, and takes them away. */
#include "model/design/lanes.h"

#include <math.h>
#include <stdlib.h>

#include "sim/require.h"

double lanes_greatest_rate(const struct may_rates *rates) {
    const struct may_rate *rate = rates->rate;
    double most = 0;
    for (uint32_t i = 0; i < rates->count; i++)
        most = fmax(most, (double)rate[i].rate.numerator / (double)rate[i].rate.denominator);
    return most;
}

uint32_t lanes_add(struct lanes *lanes, bool is_line) {
    const struct may *may = lanes->may;
    lanes->lane = require_more_memory(lanes->lane, lanes->lane_count + 1, sizeof *lanes->lane);
    lanes->lane[lanes->lane_count] = (struct lane){
        .is_line = is_line,
        .rate = lanes_greatest_rate(is_line ? &may->line_rates : &may->loop_rates),
        .recipe = require_memory(lanes->need->scenario->station_count, sizeof(uint32_t))};
    return lanes->lane_count++;
}

void lanes_free_groups(struct lane *lane) {
    for (uint32_t g = 0; g < lane->group_count; g++)
        free(lane->group[g].flow);
    free(lane->group);
    lane->group = NULL;
    lane->group_count = 0;
}

static void free_lane(struct lane *lane) {
    lanes_free_groups(lane);
    free(lane->recipe);
    free(lane->flow);
}

void lanes_drop(struct lanes *lanes, uint32_t kept) {
    while (lanes->lane_count > kept)
        free_lane(&lanes->lane[--lanes->lane_count]);
}

void lanes_drop_empty(struct lanes *lanes) {
    uint32_t kept = 0;
    for (uint32_t k = 0; k < lanes->lane_count; k++) {
        if (lanes->lane[k].flow_count > 0)
            lanes->lane[kept++] = lanes->lane[k];
        else
            free_lane(&lanes->lane[k]);
    }
    lanes->lane_count = kept;
}

void lanes_free(struct lanes *lanes) {
    lanes_drop(lanes, 0);
    free(lanes->lane);
    free(lanes->direct);
    free(lanes->shelved);
    free(lanes->carrier);
    *lanes = (struct lanes){0};
}
