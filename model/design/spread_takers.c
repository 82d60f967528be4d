/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_takers.c - the fewest, of equal numbers those of the smaller hand. */
#include "model/design/spread_takers.h"

#include <math.h>

#include "model/design/arm_rates.h"
#include "model/scenario/layout.h"

/* A taker should be busy for no more than this share of the time. */
static const double taker_share = 0.75;

/* Items a second that come to one station of a group. */
static double inflow(const struct spread *spread, const struct lane *lane,
                     const struct lane_group *group) {
    double all = 0;
    for (uint32_t k = 0; k < group->flow_count; k++) {
        const struct lane_flow *flow = &lane->flow[group->flow[k]];
        double share =
            flow->rate /
            fmax(spread->need->bought[flow->item] + spread->need->made[flow->item], 1e-12);
        all += fmin(share, 1) * spread->need->batches[group->recipe] *
               (double)layout_batch_takes(spread->scenario, group->recipe, flow->item);
    }
    return all / spread->need->copies[group->recipe];
}

static double feeds_of_item(const struct lane *lane, uint32_t item) {
    double feeds = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++)
        feeds += lane->flow[f].item == item ? lane->flow[f].feeds : 0;
    return feeds;
}

static bool group_takes(const struct lane *lane, const struct lane_group *group, uint32_t item) {
    for (uint32_t k = 0; k < group->flow_count; k++)
        if (lane->flow[group->flow[k]].item == item)
            return true;
    return false;
}

/* Stations that take an item off the lane. */
static uint32_t takers_of_item(const struct spread *spread, const struct lane *lane,
                               uint32_t item) {
    uint32_t stations = 0;
    for (uint32_t g = 0; g < lane->group_count; g++)
        if (group_takes(lane, &lane->group[g], item))
            stations += spread->need->copies[lane->group[g].recipe];
    return stations;
}

/* The fewest takers of a kind at each station of a group: fast enough, and faster than the feeders
 * of each kind. */
static uint32_t least_takers(const struct spread *spread, const struct lane *lane,
                             const struct lane_group *group, uint32_t kind) {
    double length = 1, peak = arm_rates_peak(spread->lanes, kind);
    for (uint32_t k = 0; k < group->flow_count; k++)
        length = fmax(length, spread_length(spread, lane->flow[group->flow[k]].item));
    double steady = arm_rates_steady(spread->lanes, kind, lane->rate, length);
    double count = ceil(inflow(spread, lane, group) / (taker_share * steady) - DESIGN_HAIR);
    for (uint32_t k = 0; k < group->flow_count && !lane->is_line; k++) {
        uint32_t item = lane->flow[group->flow[k]].item;
        double others = takers_of_item(spread, lane, item);
        count = fmax(count, floor(feeds_of_item(lane, item) * (1 + 1e-3) / (others * peak)) + 1);
    }
    return (uint32_t)fmax(count, 1);
}

void spread_takers(struct spread *spread, struct lane *lane) {
    const struct may *may = spread->lanes->may;
    for (uint32_t g = 0; g < lane->group_count; g++) {
        struct lane_group *group = &lane->group[g];
        group->takers = UINT32_MAX;
        for (uint32_t k = 0; k < may->arm_count; k++) {
            uint32_t count = least_takers(spread, lane, group, k);
            bool smaller = may->arm[k].hand < may->arm[group->kind].hand;
            if (count > group->takers || (count == group->takers && !smaller))
                continue;
            group->takers = count;
            group->kind = k;
        }
        group->takers += spread->wish->extra_taker[group->recipe];
    }
}
