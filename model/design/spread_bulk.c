/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread_bulk.c - tries one way, then two. */
#include "model/design/spread_bulk.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/design/spread_one_lane.h"
#include "sim/require.h"

enum { LINES_MOST = 8 }; /* over which an item is split */

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
        uint32_t lane = lanes_add(spread->lanes, on_line);
        for (uint32_t r = 0; r < spread->scenario->station_count; r++)
            if (spread_is_input(spread, r, item)) {
                *spread_lane_of(spread, r, item) = first;
                spread_put_recipe(spread, r, lane);
            }
    }
}

bool spread_bulk(struct spread *spread, uint32_t item, uint32_t lanes_left, uint32_t *used) {
    const struct may *may = spread->lanes->may;
    double cells = spread_cells(spread, item);
    double rate = lanes_greatest_rate(&may->loop_rates);
    double line_rate = lanes_greatest_rate(&may->line_rates);
    bool lines = line_rate > 0 && spread->wish->lines_given == 0;
    for (int line = 1; line >= 0; line--) {
        double own = line == 1 ? line_rate : rate;
        uint32_t most = line == 1 ? (lines ? LINES_MOST : 0) : lanes_left;
        uint32_t least = own > 0 ? (uint32_t)fmax(ceil(cells / own - DESIGN_HAIR), 1) : UINT32_MAX;
        for (uint32_t ways = least; ways <= most; ways++) {
            uint32_t kept = spread->lanes->lane_count;
            put_bulk(spread, item, ways, line == 1);
            bool fits = true;
            for (uint32_t k = kept; k < spread->lanes->lane_count && fits; k++)
                fits = spread_one_lane(spread, k);
            *used = line == 1 ? 0 : ways;
            if (fits)
                return true;
            lanes_drop(spread->lanes, kept);
        }
    }
    return tell_too_much(spread, item, cells, rate, lanes_left);
}

void spread_given_lines(struct spread *spread, bool *bulk) {
    const struct may *may = spread->lanes->may;
    double rate = lanes_greatest_rate(&may->line_rates);
    bool *refused = require_memory(spread->scenario->item_count, sizeof *refused);
    for (uint32_t used = 0; used < spread->wish->lines_given;) {
        uint32_t best = NO_INDEX, kept = spread->lanes->lane_count;
        for (uint32_t i = 0; i < spread->scenario->item_count; i++) {
            double cells = spread_cells(spread, i);
            if (cells > 0 && cells <= rate && !bulk[i] && !refused[i] &&
                (best == NO_INDEX || cells > spread_cells(spread, best)))
                best = i;
        }
        if (best == NO_INDEX)
            break;
        put_bulk(spread, best, 1, true);
        bulk[best] = spread_one_lane(spread, kept);
        refused[best] = !bulk[best];
        used += bulk[best];
        if (refused[best])
            lanes_drop(spread->lanes, kept);
    }
    free(refused);
}
