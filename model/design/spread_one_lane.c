/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_one_lane.c - recipes that share kinds stand side by side. */
#include "model/design/spread_one_lane.h"

#include "model/design/spread_flows.h"
#include "model/design/spread_groups.h"
#include "model/design/spread_takers.h"
#include "model/scenario/layout.h"

static void count_arms(const struct spread *spread, struct lane *lane) {
    lane->arms = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++)
        lane->arms += lane->flow[f].feeders * (lane->flow[f].source == SOURCE_STATIONS
                                                   ? spread->need->copies[lane->flow[f].recipe]
                                                   : 1);
    for (uint32_t g = 0; g < lane->group_count; g++)
        lane->arms += lane->group[g].takers * spread->need->copies[lane->group[g].recipe];
}

static uint32_t shared_inputs(const struct spread *spread, uint32_t one, uint32_t other) {
    uint32_t shared = 0;
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        shared += (double)layout_batch_takes(spread->scenario, one, i) > 0 &&
                  (double)layout_batch_takes(spread->scenario, other, i) > 0;
    return shared;
}

/* Each recipe after the one that shares most with it; the first stays first. */
static void order_recipes(const struct spread *spread, struct lane *lane) {
    for (uint32_t at = 1; at < lane->recipe_count; at++) {
        uint32_t best = at, most = shared_inputs(spread, lane->recipe[at - 1], lane->recipe[at]);
        for (uint32_t k = at + 1; k < lane->recipe_count; k++) {
            uint32_t shared = shared_inputs(spread, lane->recipe[at - 1], lane->recipe[k]);
            best = shared > most ? k : best;
            most = shared > most ? shared : most;
        }
        uint32_t taken = lane->recipe[best];
        for (uint32_t k = best; k > at; k--)
            lane->recipe[k] = lane->recipe[k - 1];
        lane->recipe[at] = taken;
    }
}

/* A cell for each arm; what is put onto a line lies upstream of where, so that there the first arm
 * stands as far from the begin as the longest item is long. */
static uint32_t cells_needed(const struct spread *spread, const struct lane *lane) {
    uint32_t longest = 1;
    for (uint32_t f = 0; f < lane->flow_count; f++) {
        uint32_t length = spread->scenario->item[lane->flow[f].item].length;
        longest = length > longest ? length : longest;
    }
    if (lane->is_line)
        return lane->arms + longest - 1;
    return lane->arms > longest ? lane->arms : longest;
}

bool spread_one_lane(struct spread *spread, uint32_t index) {
    struct lane *lane = &spread->lanes->lane[index];
    order_recipes(spread, lane);
    if (!spread_flows(spread, index) || !spread_groups(spread, index))
        return false;
    spread_takers(spread, lane);
    count_arms(spread, lane);
    const struct may *may = spread->lanes->may;
    int64_t most = lane->is_line ? may->line_cells_most : may->loop_cells_most;
    return cells_needed(spread, lane) <= most;
}
