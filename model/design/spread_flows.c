/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_flows.c - from bins, from shelves, from stations. */
#include "model/design/spread_flows.h"

#include <math.h>
#include <stdlib.h>

#include "model/design/arm_rates.h"
#include "model/scenario/layout.h"
#include "sim/require.h"

/* ---- feeders ---- */

/* What all feeders of a flow can put on; those of stations no more than these make. */
static double feeds_of(const struct spread *spread, const struct lane *lane,
                       const struct lane_flow *flow, uint32_t kind, uint32_t feeders) {
    double one =
        arm_rates_greatest(spread->lanes, kind, lane->rate, spread_length(spread, flow->item));
    if (flow->source != SOURCE_STATIONS)
        return feeders * one;
    double made = design_need_makes(spread->scenario, flow->recipe, flow->item);
    return spread->need->copies[flow->recipe] * feeders * fmin(one, made);
}

/* The fewest arms that put on what is needed with some margin; of equal numbers the slowest. */
static bool choose_feeders(const struct spread *spread, const struct lane *lane,
                           struct lane_flow *flow, double margin) {
    double length = spread_length(spread, flow->item), best_feeds = INFINITY;
    double copies = flow->source == SOURCE_STATIONS ? spread->need->copies[flow->recipe] : 1;
    uint32_t best = UINT32_MAX;
    for (uint32_t k = 0; k < spread->lanes->may->arm_count; k++) {
        double steady = arm_rates_steady(spread->lanes, k, lane->rate, length);
        double count = fmax(ceil(margin * flow->rate / copies / steady - DESIGN_HAIR), 1);
        double feeds = feeds_of(spread, lane, flow, k, (uint32_t)fmin(count, 1e6));
        if (feeds * length > lane->rate * (1 + DESIGN_HAIR) || count > best ||
            (count == best && feeds >= best_feeds))
            continue;
        best = (uint32_t)count;
        best_feeds = feeds;
        flow->kind = k;
        flow->feeders = best;
        flow->feeds = feeds;
    }
    return best != UINT32_MAX;
}

static bool set_feeders(const struct spread *spread, const struct lane *lane,
                        struct lane_flow *flow) {
    return choose_feeders(spread, lane, flow, spread->wish->feeder_margin) ||
           choose_feeders(spread, lane, flow, 1.1) || choose_feeders(spread, lane, flow, 1.02);
}

/* ---- flows of a lane ---- */

/* Items a second of a kind that the recipes of a lane use of it there. */
static double used_on(const struct spread *spread, uint32_t index, uint32_t item,
                      uint32_t *last_recipe) {
    const struct lane *lane = &spread->lanes->lane[index];
    double used = 0;
    for (uint32_t r = 0; r < lane->recipe_count; r++) {
        if (!spread_rides(spread, lane->recipe[r], item, index))
            continue;
        used += spread->need->batches[lane->recipe[r]] *
                (double)layout_batch_takes(spread->scenario, lane->recipe[r], item) /
                spread->ways[item];
        *last_recipe = r;
    }
    return used;
}

static bool add_flow(struct spread *spread, uint32_t index, struct lane_flow flow) {
    struct lane *lane = &spread->lanes->lane[index];
    if (flow.rate <= 0)
        return true;
    lane->flow = require_more_memory(lane->flow, lane->flow_count + 1, sizeof *lane->flow);
    if (!set_feeders(spread, lane, &flow))
        return false;
    lane->flow[lane->flow_count++] = flow;
    return true;
}

/* What comes from stations comes from each recipe that makes it, the rest from the bin. */
static bool add_flows_of(struct spread *spread, uint32_t index, uint32_t item) {
    const struct design_need *need = spread->need;
    struct lane_flow flow = {.item = item, .recipe = NO_INDEX};
    double used = used_on(spread, index, item, &flow.last_recipe);
    if (used <= 0)
        return true;
    if (spread->lanes->shelved[item]) {
        flow.source = SOURCE_SHELF;
        flow.rate = used;
        return add_flow(spread, index, flow);
    }
    double share = used / need->used[item];
    for (uint32_t s = 0; s < spread->scenario->station_count; s++) {
        struct lane_flow own = flow;
        own.source = SOURCE_STATIONS;
        own.recipe = s;
        own.rate = need->batches[s] > 0 ? share * need->batches[s] /
                                              (design_need_station_rate(spread->scenario, s)) *
                                              design_need_makes(spread->scenario, s, item)
                                        : 0;
        if (!add_flow(spread, index, own))
            return false;
    }
    flow.source = SOURCE_BIN;
    flow.rate = share * need->bought[item];
    return add_flow(spread, index, flow);
}

bool spread_flows(struct spread *spread, uint32_t index) {
    struct lane *lane = &spread->lanes->lane[index];
    free(lane->flow);
    lane->flow = NULL;
    lane->flow_count = 0;
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        if (!add_flows_of(spread, index, i))
            return false;
    return true;
}
