/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/lanes.c - tries one lane, then two, until all feeders fit side by side. */
#include "model/design/lanes.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/require.h"

/* A taker should be busy for no more than this share of the time, a mover for this. */
static const double taker_share = 0.75, mover_share = 0.9;
static const double hair = 1e-6;
enum { LINES_MOST = 8 }; /* over which an item is split */

/* What is worked out on the way. */
struct spread {
    struct lanes *lanes;
    const struct scenario *scenario;
    const struct design_need *need;
    const struct lanes_wish *wish;
    uint32_t *lane_of; /* [recipe * items + item] the first lane of an input; NO_INDEX: none */
    uint32_t *ways;    /* [item] lanes over which it is split evenly */
    char *why;
};

/* ---- arms ---- */

static double swing_s(const struct may *may, double tps, uint32_t kind) {
    return (double)may->arm[kind].swing_ticks / tps;
}

static double tps_of(const struct lanes *lanes) {
    return (double)lanes->need->scenario->ticks_per_second;
}

double lanes_arm_peak(const struct lanes *lanes, uint32_t kind) {
    return lanes->may->arm[kind].hand / swing_s(lanes->may, tps_of(lanes), kind);
}

double lanes_arm_steady(const struct lanes *lanes, uint32_t kind, double rate, double length) {
    double hand = lanes->may->arm[kind].hand;
    return hand / (swing_s(lanes->may, tps_of(lanes), kind) + (hand - 1) * length / rate);
}

/* What it can put on at best, as the rule of the trade counts it. */
static double greatest(const struct lanes *lanes, uint32_t kind, double rate, double length) {
    double hand = lanes->may->arm[kind].hand;
    return hand / fmax(swing_s(lanes->may, tps_of(lanes), kind), hand * length / rate);
}

uint32_t lanes_mover(const struct may *may, double ticks_per_second, double items,
                     uint32_t *count) {
    uint32_t best = 0;
    double best_count = INFINITY, best_rate = INFINITY;
    for (uint32_t k = 0; k < may->arm_count; k++) {
        double rate = may->arm[k].hand / swing_s(may, ticks_per_second, k);
        double needed = fmax(ceil(items / (mover_share * rate) - hair), 1);
        if (needed > best_count || (needed == best_count && rate >= best_rate))
            continue;
        best = k;
        best_count = needed;
        best_rate = rate;
    }
    *count = (uint32_t)best_count;
    return best;
}

/* ---- feeders ---- */

static double length_of(const struct spread *spread, uint32_t item) {
    return spread->scenario->item[item].length;
}

/* What all feeders of a flow can put on; those of stations no more than these make. */
static double feeds_of(const struct spread *spread, const struct lane *lane,
                       const struct lane_flow *flow, uint32_t kind, uint32_t feeders) {
    double one = greatest(spread->lanes, kind, lane->rate, length_of(spread, flow->item));
    if (flow->source != SOURCE_STATIONS)
        return feeders * one;
    double made = design_need_makes(spread->scenario, flow->recipe, flow->item);
    return spread->need->copies[flow->recipe] * feeders * fmin(one, made);
}

/* The fewest arms that put on what is needed with some margin; of equal numbers the slowest. */
static bool choose_feeders(const struct spread *spread, const struct lane *lane,
                           struct lane_flow *flow, double margin) {
    double length = length_of(spread, flow->item), best_feeds = INFINITY;
    double copies = flow->source == SOURCE_STATIONS ? spread->need->copies[flow->recipe] : 1;
    uint32_t best = UINT32_MAX;
    for (uint32_t k = 0; k < spread->lanes->may->arm_count; k++) {
        double steady = lanes_arm_steady(spread->lanes, k, lane->rate, length);
        double count = fmax(ceil(margin * flow->rate / copies / steady - hair), 1);
        double feeds = feeds_of(spread, lane, flow, k, (uint32_t)fmin(count, 1e6));
        if (feeds * length > lane->rate * (1 + hair) || count > best ||
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

static bool rides(const struct spread *spread, uint32_t recipe, uint32_t item, uint32_t lane) {
    uint32_t first = spread->lane_of[(size_t)recipe * spread->scenario->item_count + item];
    return first != NO_INDEX && lane >= first && lane < first + spread->ways[item];
}

/* Items a second of a kind that the recipes of a lane use of it there. */
static double used_on(const struct spread *spread, uint32_t index, uint32_t item,
                      uint32_t *last_recipe) {
    const struct lane *lane = &spread->lanes->lane[index];
    double used = 0;
    for (uint32_t r = 0; r < lane->recipe_count; r++) {
        if (!rides(spread, lane->recipe[r], item, index))
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

static bool set_flows(struct spread *spread, uint32_t index) {
    struct lane *lane = &spread->lanes->lane[index];
    free(lane->flow);
    lane->flow = NULL;
    lane->flow_count = 0;
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        if (!add_flows_of(spread, index, i))
            return false;
    return true;
}

/* ---- groups of a lane ---- */

static void free_groups(struct lane *lane) {
    for (uint32_t g = 0; g < lane->group_count; g++)
        free(lane->group[g].flow);
    free(lane->group);
    lane->group = NULL;
    lane->group_count = 0;
}

static struct lane_group *new_group(struct lane *lane, uint32_t recipe) {
    lane->group = require_more_memory(lane->group, lane->group_count + 1, sizeof *lane->group);
    struct lane_group *group = &lane->group[lane->group_count++];
    *group = (struct lane_group){.recipe = recipe,
                                 .flow = require_memory(lane->flow_count, sizeof *group->flow)};
    return group;
}

/* Cells a second that a flow's feeders can put on. */
static double load_of(const struct spread *spread, const struct lane *lane, uint32_t flow) {
    return lane->flow[flow].feeds * length_of(spread, lane->flow[flow].item);
}

/* Adds the flows of a recipe that do not ride yet, as many as fit beside `*riding` cells a second;
 * those that leave here first. */
static void add_new_flows(const struct spread *spread, uint32_t index, uint32_t at,
                          struct lane_group *group, bool *on, bool *served, double *riding) {
    struct lane *lane = &spread->lanes->lane[index];
    for (int later = 0; later < 2; later++)
        for (uint32_t f = 0; f < lane->flow_count; f++) {
            bool leaves = lane->flow[f].last_recipe == at;
            if (on[f] || served[f] || leaves == (later == 1) ||
                !rides(spread, group->recipe, lane->flow[f].item, index) ||
                *riding + load_of(spread, lane, f) > lane->rate * (1 + hair))
                continue;
            group->flow[group->flow_count++] = f;
            on[f] = served[f] = true;
            *riding += load_of(spread, lane, f);
        }
    group->new_count = group->flow_count;
}

static void add_riding_flows(const struct spread *spread, uint32_t index, struct lane_group *group,
                             const bool *on, bool *served) {
    const struct lane *lane = &spread->lanes->lane[index];
    for (uint32_t f = 0; f < lane->flow_count; f++) {
        if (!on[f] || served[f] || !rides(spread, group->recipe, lane->flow[f].item, index))
            continue;
        group->flow[group->flow_count++] = f;
        served[f] = true;
    }
}

static uint32_t left_to_serve(const struct spread *spread, uint32_t index, uint32_t recipe,
                              const bool *served) {
    const struct lane *lane = &spread->lanes->lane[index];
    uint32_t left = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++)
        left += !served[f] && rides(spread, recipe, lane->flow[f].item, index);
    return left;
}

static void leave(const struct spread *spread, const struct lane *lane,
                  const struct lane_group *group, uint32_t at, bool *on, double *riding) {
    for (uint32_t k = 0; k < group->flow_count; k++) {
        uint32_t f = group->flow[k];
        if (!on[f] || lane->flow[f].last_recipe != at)
            continue;
        on[f] = false;
        *riding -= load_of(spread, lane, f);
    }
}

/* Groups of the recipe at a place of the lane's order. False: some flow has no room. */
static bool group_recipe(const struct spread *spread, uint32_t index, uint32_t at, bool *on,
                         double *riding) {
    struct lane *lane = &spread->lanes->lane[index];
    uint32_t recipe = lane->recipe[at];
    bool *served = require_memory(lane->flow_count, sizeof *served), fits = true;
    while (fits && left_to_serve(spread, index, recipe, served) > 0) {
        uint32_t before = left_to_serve(spread, index, recipe, served);
        struct lane_group *group = new_group(lane, recipe);
        add_new_flows(spread, index, at, group, on, served, riding);
        add_riding_flows(spread, index, group, on, served);
        fits = left_to_serve(spread, index, recipe, served) < before;
        leave(spread, lane, group, at, on, riding);
    }
    free(served);
    return fits;
}

static bool set_groups(const struct spread *spread, uint32_t index) {
    struct lane *lane = &spread->lanes->lane[index];
    bool *on = require_memory(lane->flow_count, sizeof *on), fits = true;
    double riding = 0;
    free_groups(lane);
    for (uint32_t at = 0; at < lane->recipe_count && fits; at++)
        fits = group_recipe(spread, index, at, on, &riding);
    free(on);
    return fits;
}

/* ---- takers ---- */

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
    double length = 1, peak = lanes_arm_peak(spread->lanes, kind);
    for (uint32_t k = 0; k < group->flow_count; k++)
        length = fmax(length, length_of(spread, lane->flow[group->flow[k]].item));
    double steady = lanes_arm_steady(spread->lanes, kind, lane->rate, length);
    double count = ceil(inflow(spread, lane, group) / (taker_share * steady) - hair);
    for (uint32_t k = 0; k < group->flow_count && !lane->is_line; k++) {
        uint32_t item = lane->flow[group->flow[k]].item;
        double others = takers_of_item(spread, lane, item);
        count = fmax(count, floor(feeds_of_item(lane, item) * (1 + 1e-3) / (others * peak)) + 1);
    }
    return (uint32_t)fmax(count, 1);
}

static void set_takers(struct spread *spread, struct lane *lane) {
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

static void count_arms(const struct spread *spread, struct lane *lane) {
    lane->arms = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++)
        lane->arms += lane->flow[f].feeders * (lane->flow[f].source == SOURCE_STATIONS
                                                   ? spread->need->copies[lane->flow[f].recipe]
                                                   : 1);
    for (uint32_t g = 0; g < lane->group_count; g++)
        lane->arms += lane->group[g].takers * spread->need->copies[lane->group[g].recipe];
}

/* ---- the order of recipes along a lane ---- */

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

static bool set_lane(struct spread *spread, uint32_t index) {
    struct lane *lane = &spread->lanes->lane[index];
    order_recipes(spread, lane);
    if (!set_flows(spread, index) || !set_groups(spread, index))
        return false;
    set_takers(spread, lane);
    count_arms(spread, lane);
    const struct may *may = spread->lanes->may;
    int64_t most = lane->is_line ? may->line_cells_most : may->loop_cells_most;
    return lane->arms <= most;
}

/* ---- which recipe rides where ---- */

static double greatest_rate(const struct may_rate *rate, uint32_t count) {
    double most = 0;
    for (uint32_t i = 0; i < count; i++)
        most = fmax(most, (double)rate[i].rate.numerator / (double)rate[i].rate.denominator);
    return most;
}

static uint32_t new_lane(struct lanes *lanes, bool is_line) {
    const struct may *may = lanes->may;
    lanes->lane = require_more_memory(lanes->lane, lanes->lane_count + 1, sizeof *lanes->lane);
    lanes->lane[lanes->lane_count] = (struct lane){
        .is_line = is_line,
        .rate = is_line ? greatest_rate(may->line_rate, may->line_rate_count)
                        : greatest_rate(may->loop_rate, may->loop_rate_count),
        .recipe = require_memory(lanes->need->scenario->station_count, sizeof(uint32_t))};
    return lanes->lane_count++;
}

static void free_lane(struct lane *lane) {
    free_groups(lane);
    free(lane->recipe);
    free(lane->flow);
}

static void drop_lanes(struct lanes *lanes, uint32_t kept) {
    while (lanes->lane_count > kept)
        free_lane(&lanes->lane[--lanes->lane_count]);
}

static void put_recipe(struct spread *spread, uint32_t recipe, uint32_t lane) {
    struct lane *own = &spread->lanes->lane[lane];
    for (uint32_t r = 0; r < own->recipe_count; r++)
        if (own->recipe[r] == recipe)
            return;
    own->recipe[own->recipe_count++] = recipe;
}

static bool is_input(const struct spread *spread, uint32_t recipe, uint32_t item) {
    return spread->need->batches[recipe] > 0 &&
           (double)layout_batch_takes(spread->scenario, recipe, item) > 0 &&
           !spread->lanes->direct[item];
}

static uint32_t *lane_of(struct spread *spread, uint32_t recipe, uint32_t item) {
    return &spread->lane_of[(size_t)recipe * spread->scenario->item_count + item];
}

/* Puts all inputs of a recipe that have no lane of their own onto one. */
static void put_rest(struct spread *spread, uint32_t recipe, uint32_t lane, const bool *bulk) {
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        if (is_input(spread, recipe, i) && !bulk[i]) {
            *lane_of(spread, recipe, i) = lane;
            put_recipe(spread, recipe, lane);
        }
}

static void take_back_rest(struct spread *spread, uint32_t recipe, const bool *bulk) {
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        if (!bulk[i])
            *lane_of(spread, recipe, i) = NO_INDEX;
}

/* Works lanes out anew, after recipes were tried on them that went elsewhere. */
static bool set_all(struct spread *spread, uint32_t from) {
    for (uint32_t k = from; k < spread->lanes->lane_count; k++)
        if (!set_lane(spread, k))
            return false;
    return true;
}

/* Gives recipes one after another to the lane on which they fit with the fewest arms. False: one
 * fits on none. */
static bool try_lanes(struct spread *spread, uint32_t kept, uint32_t count, const bool *bulk) {
    struct lanes *lanes = spread->lanes;
    drop_lanes(lanes, kept);
    for (uint32_t r = 0; r < spread->scenario->station_count; r++)
        take_back_rest(spread, r, bulk);
    for (uint32_t k = 0; k < count; k++)
        new_lane(lanes, false);
    for (uint32_t r = 0; r < spread->scenario->station_count; r++) {
        uint32_t best = NO_INDEX, least = UINT32_MAX;
        for (uint32_t k = kept; k < lanes->lane_count; k++) {
            struct lane *lane = &lanes->lane[k];
            uint32_t before = lane->arms, recipes = lane->recipe_count;
            uint32_t *order = require_memory(recipes + 1, sizeof *order);
            memcpy(order, lane->recipe, recipes * sizeof *order);
            put_rest(spread, r, k, bulk);
            bool none = lane->recipe_count == recipes;
            bool fits = none || set_lane(spread, k);
            uint32_t more = lane->arms - before;
            if (fits && (more < least ||
                         (more == least && best != NO_INDEX && before < lanes->lane[best].arms))) {
                best = k;
                least = more;
            }
            take_back_rest(spread, r, bulk);
            lane->recipe_count = recipes;
            memcpy(lane->recipe, order, recipes * sizeof *order);
            lane->arms = before;
            free(order);
        }
        if (best == NO_INDEX)
            return false;
        put_rest(spread, r, best, bulk);
        if (lanes->lane[best].recipe_count > 0 && !set_lane(spread, best))
            return false;
    }
    return set_all(spread, kept);
}

/* ---- bulk ---- */

static double cells_of(const struct spread *spread, uint32_t item) {
    double used = 0;
    for (uint32_t r = 0; r < spread->scenario->station_count; r++)
        if (is_input(spread, r, item))
            used +=
                spread->need->batches[r] * (double)layout_batch_takes(spread->scenario, r, item);
    return used * length_of(spread, item);
}

static uint32_t kinds_on_belts(const struct spread *spread) {
    uint32_t kinds = 0;
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        kinds += cells_of(spread, i) > 0;
    return kinds;
}

static uint32_t lanes_most(const struct may *may) {
    int64_t most = may->lanes_most * may->loops_most;
    return most < 1000 ? (uint32_t)most : 1000;
}

static bool tell_too_much(const struct spread *spread, uint32_t item, double cells, double rate,
                          uint32_t left) {
    snprintf(spread->why, DESIGN_WHY_BYTES,
             "%s needs %.4g cells a second, one lane has %.4g, and %u %s for it",
             spread->scenario->item[item].name, cells, rate, left,
             left == 1 ? "lane is left" : "lanes are left");
    return false;
}

static void put_bulk(struct spread *spread, uint32_t item, uint32_t ways, bool on_line) {
    uint32_t first = spread->lanes->lane_count;
    spread->ways[item] = ways;
    for (uint32_t w = 0; w < ways; w++) {
        uint32_t lane = new_lane(spread->lanes, on_line);
        for (uint32_t r = 0; r < spread->scenario->station_count; r++)
            if (is_input(spread, r, item)) {
                *lane_of(spread, r, item) = first;
                put_recipe(spread, r, lane);
            }
    }
}

static bool set_bulk(struct spread *spread, uint32_t item, uint32_t lanes_left, uint32_t *used) {
    const struct may *may = spread->lanes->may;
    double cells = cells_of(spread, item);
    double rate = greatest_rate(may->loop_rate, may->loop_rate_count);
    double line_rate = greatest_rate(may->line_rate, may->line_rate_count);
    bool lines = line_rate > 0 && spread->wish->lines_given == 0;
    for (int line = 1; line >= 0; line--) {
        double own = line == 1 ? line_rate : rate;
        uint32_t most = line == 1 ? (lines ? LINES_MOST : 0) : lanes_left;
        uint32_t least = own > 0 ? (uint32_t)fmax(ceil(cells / own - hair), 1) : UINT32_MAX;
        for (uint32_t ways = least; ways <= most; ways++) {
            uint32_t kept = spread->lanes->lane_count;
            put_bulk(spread, item, ways, line == 1);
            bool fits = true;
            for (uint32_t k = kept; k < spread->lanes->lane_count && fits; k++)
                fits = set_lane(spread, k);
            *used = line == 1 ? 0 : ways;
            if (fits)
                return true;
            drop_lanes(spread->lanes, kept);
        }
    }
    return tell_too_much(spread, item, cells, rate, lanes_left);
}

/* Lines that are there take what is needed most, one kind each, as far as they can carry it. */
static void use_given_lines(struct spread *spread, bool *bulk) {
    const struct may *may = spread->lanes->may;
    double rate = greatest_rate(may->line_rate, may->line_rate_count);
    bool *refused = require_memory(spread->scenario->item_count, sizeof *refused);
    for (uint32_t used = 0; used < spread->wish->lines_given;) {
        uint32_t best = NO_INDEX, kept = spread->lanes->lane_count;
        for (uint32_t i = 0; i < spread->scenario->item_count; i++) {
            double cells = cells_of(spread, i);
            if (cells > 0 && cells <= rate && !bulk[i] && !refused[i] &&
                (best == NO_INDEX || cells > cells_of(spread, best)))
                best = i;
        }
        if (best == NO_INDEX)
            break;
        put_bulk(spread, best, 1, true);
        bulk[best] = set_lane(spread, kept);
        refused[best] = !bulk[best];
        used += bulk[best];
        if (refused[best])
            drop_lanes(spread->lanes, kept);
    }
    free(refused);
}

/* ---- all of it ---- */

static bool tell_no_room(const struct spread *spread, uint32_t lanes_left) {
    double rate = greatest_rate(spread->lanes->may->loop_rate, spread->lanes->may->loop_rate_count);
    double cells = 0;
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        cells += spread->ways[i] == 1 ? cells_of(spread, i) : 0;
    snprintf(spread->why, DESIGN_WHY_BYTES,
             "%u kinds together need %.4g cells a second, and no order of their arms fits on %u "
             "lane%s of %.4g cells a second and at most %lld cells each",
             kinds_on_belts(spread), cells, lanes_left, lanes_left == 1 ? "" : "s", rate,
             (long long)spread->lanes->may->loop_cells_most);
    return false;
}

static bool spread_all(struct spread *spread, bool *bulk) {
    const struct may *may = spread->lanes->may;
    uint32_t left = lanes_most(may), kinds = kinds_on_belts(spread);
    double rate = greatest_rate(may->loop_rate, may->loop_rate_count);
    use_given_lines(spread, bulk);
    for (uint32_t i = 0; i < spread->scenario->item_count; i++) {
        double cells = cells_of(spread, i);
        uint32_t used = 0;
        if (bulk[i])
            continue;
        bulk[i] = cells > 0 && (left == 0 || (cells > rate / 3 && (kinds > 1 || cells > rate)));
        if (bulk[i] && !set_bulk(spread, i, left, &used))
            return false;
        left -= used;
    }
    uint32_t kept = spread->lanes->lane_count, rest = 0;
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        rest += cells_of(spread, i) > 0 && !bulk[i];
    if (rest == 0)
        return true;
    for (uint32_t count = 1; count <= left; count++)
        if (count >= spread->wish->lanes_least && try_lanes(spread, kept, count, bulk))
            return true;
    return tell_no_room(spread, left);
}

/* Items that can be had, those in `had` to begin with, by the recipes that are used. */
static void spread_had(const struct lanes *lanes, bool *had) {
    const struct scenario *scenario = lanes->need->scenario;
    for (bool more = true; more;) {
        more = false;
        for (uint32_t s = 0; s < scenario->station_count; s++) {
            const struct scenario_station *station = &scenario->station[s];
            bool can = lanes->need->batches[s] > 0;
            for (uint32_t k = 0; k < station->takes.count; k++)
                can = can && had[station->takes.entry[k].item];
            for (uint32_t k = 0; can && k < station->makes_count; k++) {
                more = more || !had[station->makes[k].item];
                had[station->makes[k].item] = true;
            }
        }
    }
}

/* What is made of an item, and of what else can be had, leads back to it. */
static bool goes_round(const struct lanes *lanes, const bool *had, uint32_t item) {
    const struct scenario *scenario = lanes->need->scenario;
    bool *with = require_memory(scenario->item_count, sizeof *with);
    bool back = false;
    memcpy(with, had, scenario->item_count * sizeof *with);
    with[item] = true;
    spread_had(lanes, with);
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        bool can = lanes->need->batches[s] > 0 && design_need_makes(scenario, s, item) > 0;
        for (uint32_t k = 0; k < scenario->station[s].takes.count; k++)
            can = can && with[scenario->station[s].takes.entry[k].item];
        back = back || can;
    }
    free(with);
    return back;
}

/* Carriers: items that are used and cannot be had unless some are there already. Of each round the
 * first in the scenario's order. */
static void mark_carriers(struct lanes *lanes) {
    const struct scenario *scenario = lanes->need->scenario;
    bool *had = require_memory(scenario->item_count, sizeof *had);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        had[i] = lanes->need->supplied[i] > 0;
    spread_had(lanes, had);
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        if (had[i] || lanes->need->used[i] == 0 || !goes_round(lanes, had, i))
            continue;
        lanes->carrier[i] = had[i] = true;
        spread_had(lanes, had);
    }
    free(had);
}

/* Items that go from the stations of one recipe to the only station of another by arms alone: made
 * by one, used by one, and wanted by nobody else. */
static void mark_direct(struct lanes *lanes) {
    const struct scenario *scenario = lanes->need->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        uint32_t makers = 0, users = 0, stations = 0;
        for (uint32_t s = 0; s < scenario->station_count; s++) {
            if (lanes->need->batches[s] == 0)
                continue;
            makers += design_need_makes(scenario, s, i) > 0;
            bool uses = design_need_takes(scenario, s, i) > 0;
            users += uses;
            stations += uses ? lanes->need->copies[s] : 0;
        }
        lanes->direct[i] = !lanes->carrier[i] && makers == 1 && users == 1 && stations == 1 &&
                           lanes->need->bought[i] == 0 && lanes->need->demanded[i] == 0 &&
                           design_need_surplus(lanes->need, i) == 0;
        lanes->shelved[i] =
            lanes->need->made[i] > 0 && (lanes->carrier[i] || lanes->need->demanded[i] > 0 ||
                                         design_need_surplus(lanes->need, i) > 0);
    }
}

static void drop_empty_lanes(struct lanes *lanes) {
    uint32_t kept = 0;
    for (uint32_t k = 0; k < lanes->lane_count; k++) {
        if (lanes->lane[k].flow_count > 0)
            lanes->lane[kept++] = lanes->lane[k];
        else
            free_lane(&lanes->lane[k]);
    }
    lanes->lane_count = kept;
}

bool lanes_init(struct lanes *lanes, const struct design_need *need, const struct may *may,
                const struct lanes_wish *wish, char why[DESIGN_WHY_BYTES]) {
    const struct scenario *scenario = need->scenario;
    size_t inputs = (size_t)scenario->station_count * scenario->item_count;
    *lanes = (struct lanes){.need = need,
                            .may = may,
                            .direct = require_memory(scenario->item_count, sizeof(bool)),
                            .shelved = require_memory(scenario->item_count, sizeof(bool)),
                            .carrier = require_memory(scenario->item_count, sizeof(bool))};
    struct spread spread = {.lanes = lanes,
                            .scenario = scenario,
                            .need = need,
                            .wish = wish,
                            .lane_of = require_memory(inputs, sizeof(uint32_t)),
                            .ways = require_memory(scenario->item_count, sizeof(uint32_t)),
                            .why = why};
    bool *bulk = require_memory(scenario->item_count, sizeof *bulk);
    for (size_t k = 0; k < inputs; k++)
        spread.lane_of[k] = NO_INDEX;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        spread.ways[i] = 1;
    mark_carriers(lanes);
    mark_direct(lanes);
    bool fits = spread_all(&spread, bulk);
    if (fits)
        drop_empty_lanes(lanes);
    free(bulk);
    free(spread.lane_of);
    free(spread.ways);
    return fits;
}

void lanes_free(struct lanes *lanes) {
    drop_lanes(lanes, 0);
    free(lanes->lane);
    free(lanes->direct);
    free(lanes->shelved);
    free(lanes->carrier);
    *lanes = (struct lanes){0};
}
