/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_groups.c - what leaves makes room for what comes after. */
#include "model/design/spread_groups.h"

#include <stdlib.h>

#include "sim/require.h"

static struct lane_group *new_group(struct lane *lane, uint32_t recipe) {
    lane->group = require_more_memory(lane->group, lane->group_count + 1, sizeof *lane->group);
    struct lane_group *group = &lane->group[lane->group_count++];
    *group = (struct lane_group){.recipe = recipe,
                                 .flow = require_memory(lane->flow_count, sizeof *group->flow)};
    return group;
}

/* Cells a second that a flow's feeders can put on. */
static double load_of(const struct spread *spread, const struct lane *lane, uint32_t flow) {
    return lane->flow[flow].feeds * spread_length(spread, lane->flow[flow].item);
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
                !spread_rides(spread, group->recipe, lane->flow[f].item, index) ||
                *riding + load_of(spread, lane, f) > lane->rate * (1 + DESIGN_HAIR))
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
        if (!on[f] || served[f] || !spread_rides(spread, group->recipe, lane->flow[f].item, index))
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
        left += !served[f] && spread_rides(spread, recipe, lane->flow[f].item, index);
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

bool spread_groups(const struct spread *spread, uint32_t index) {
    struct lane *lane = &spread->lanes->lane[index];
    bool *on = require_memory(lane->flow_count, sizeof *on), fits = true;
    double riding = 0;
    lanes_free_groups(lane);
    for (uint32_t at = 0; at < lane->recipe_count && fits; at++)
        fits = group_recipe(spread, index, at, on, &riding);
    free(on);
    return fits;
}
