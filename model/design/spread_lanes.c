/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_lanes.c - tries one lane, then two, until all feeders fit side by side. */
#include "model/design/spread_lanes.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/design/item_roles.h"
#include "model/design/spread_bulk.h"
#include "model/design/spread_one_lane.h"
#include "sim/require.h"

/* ---- recipes on lanes ---- */

/* Puts all inputs of a recipe that have no lane of their own onto one. */
static void put_rest(struct spread *spread, uint32_t recipe, uint32_t lane, const bool *bulk) {
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        if (spread_is_input(spread, recipe, i) && !bulk[i]) {
            *spread_lane_of(spread, recipe, i) = lane;
            spread_put_recipe(spread, recipe, lane);
        }
}

static void take_back_rest(struct spread *spread, uint32_t recipe, const bool *bulk) {
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        if (!bulk[i])
            *spread_lane_of(spread, recipe, i) = NO_INDEX;
}

/* Works lanes out anew, after recipes were tried on them that went elsewhere. */
static bool set_all(struct spread *spread, uint32_t from) {
    for (uint32_t k = from; k < spread->lanes->lane_count; k++)
        if (!spread_one_lane(spread, k))
            return false;
    return true;
}

/* The arms that a lane needs in addition when it carries a recipe, too, and then goes without it
 * again; UINT32_MAX: it cannot carry it. */
static uint32_t arms_more(struct spread *spread, uint32_t recipe, uint32_t index,
                          const bool *bulk) {
    struct lane *lane = &spread->lanes->lane[index];
    uint32_t before = lane->arms, recipes = lane->recipe_count, more = UINT32_MAX;
    uint32_t *order = require_memory(recipes + 1, sizeof *order);
    memcpy(order, lane->recipe, recipes * sizeof *order);
    put_rest(spread, recipe, index, bulk);
    bool none = lane->recipe_count == recipes;
    if (none || spread_one_lane(spread, index))
        more = lane->arms - before;
    take_back_rest(spread, recipe, bulk);
    lane->recipe_count = recipes;
    memcpy(lane->recipe, order, recipes * sizeof *order);
    lane->arms = before;
    free(order);
    return more;
}

/* The lane, from a first one on, that carries a recipe with the fewest arms in addition, of equal
 * ones that with fewer arms; NO_INDEX: none can. */
static uint32_t best_lane(struct spread *spread, uint32_t recipe, uint32_t from, const bool *bulk) {
    const struct lanes *lanes = spread->lanes;
    uint32_t best = NO_INDEX, least = UINT32_MAX;
    for (uint32_t k = from; k < lanes->lane_count; k++) {
        uint32_t more = arms_more(spread, recipe, k, bulk);
        if (more > least || more == UINT32_MAX ||
            (more == least && lanes->lane[k].arms >= lanes->lane[best].arms))
            continue;
        best = k;
        least = more;
    }
    return best;
}

/* Gives recipes one after another to the lane on which they fit with the fewest arms. False: one
 * fits on none. */
static bool try_lanes(struct spread *spread, uint32_t kept, uint32_t count, const bool *bulk) {
    struct lanes *lanes = spread->lanes;
    lanes_drop(lanes, kept);
    for (uint32_t r = 0; r < spread->scenario->station_count; r++)
        take_back_rest(spread, r, bulk);
    for (uint32_t k = 0; k < count; k++)
        lanes_add(lanes, false);
    for (uint32_t r = 0; r < spread->scenario->station_count; r++) {
        uint32_t best = best_lane(spread, r, kept, bulk);
        if (best == NO_INDEX)
            return false;
        put_rest(spread, r, best, bulk);
        if (lanes->lane[best].recipe_count > 0 && !spread_one_lane(spread, best))
            return false;
    }
    return set_all(spread, kept);
}

/* ---- all of it ---- */

static uint32_t kinds_on_belts(const struct spread *spread) {
    uint32_t kinds = 0;
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        kinds += spread_cells(spread, i) > 0;
    return kinds;
}

static uint32_t lanes_most(const struct may *may) {
    int64_t most = may->lanes_most * may->loops_most;
    return most < 1000 ? (uint32_t)most : 1000;
}

static bool tell_no_room(const struct spread *spread, uint32_t lanes_left) {
    double rate = lanes_greatest_rate(&spread->lanes->may->loop_rates);
    double cells = 0;
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        cells += spread->ways[i] == 1 ? spread_cells(spread, i) : 0;
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
    double rate = lanes_greatest_rate(&may->loop_rates);
    spread_given_lines(spread, bulk);
    for (uint32_t i = 0; i < spread->scenario->item_count; i++) {
        double cells = spread_cells(spread, i);
        uint32_t used = 0;
        if (bulk[i])
            continue;
        bulk[i] = cells > 0 && (left == 0 || (cells > rate / 3 && (kinds > 1 || cells > rate)));
        if (bulk[i] && !spread_bulk(spread, i, left, &used))
            return false;
        left -= used;
    }
    uint32_t kept = spread->lanes->lane_count, rest = 0;
    for (uint32_t i = 0; i < spread->scenario->item_count; i++)
        rest += spread_cells(spread, i) > 0 && !bulk[i];
    if (rest == 0)
        return true;
    for (uint32_t count = 1; count <= left; count++)
        if (count >= spread->wish->lanes_least && try_lanes(spread, kept, count, bulk))
            return true;
    return tell_no_room(spread, left);
}

bool spread_lanes(struct lanes *lanes, const struct design_need *need, const struct may *may,
                  const struct spread_wish *wish, char why[DESIGN_WHY_BYTES]) {
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
    item_roles_mark_carriers(lanes);
    item_roles_mark_direct(lanes);
    bool fits = spread_all(&spread, bulk);
    if (fits)
        lanes_drop_empty(lanes);
    free(bulk);
    free(spread.lane_of);
    free(spread.ways);
    return fits;
}
