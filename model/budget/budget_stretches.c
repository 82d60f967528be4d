/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_stretches.c - lanes and lines, cut where arms stand. */
#include "model/budget/budget_net.h"

#include <stdlib.h>

#include "sim/require.h"

/* Stands for a cell and all that arms do there. */
struct cutter {
    struct budget *budget;
    uint32_t track;
    uint32_t *cell; /* where arms stand, in order, each once */
    uint32_t cell_count;
};

static int by_number(const void *a, const void *b) {
    uint32_t first = *(const uint32_t *)a, second = *(const uint32_t *)b;
    return first < second ? -1 : first > second;
}

/* The cell of an arm's end on a track; NO_INDEX: it has none there. */
static uint32_t cell_on(const struct scenario *scenario, struct place place, uint32_t track) {
    return layout_track(scenario, place) == track ? place.cell : NO_INDEX;
}

static void gather_cells(struct cutter *cutter) {
    const struct scenario *scenario = cutter->budget->scenario;
    uint32_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct place end[2] = {scenario->arm[i].from, scenario->arm[i].to};
        for (int k = 0; k < 2; k++)
            if (cell_on(scenario, end[k], cutter->track) != NO_INDEX)
                cutter->cell[count++] = end[k].cell;
    }
    qsort(cutter->cell, count, sizeof *cutter->cell, by_number);
    cutter->cell_count = 0;
    for (uint32_t i = 0; i < count; i++)
        if (cutter->cell_count == 0 || cutter->cell[cutter->cell_count - 1] != cutter->cell[i])
            cutter->cell[cutter->cell_count++] = cutter->cell[i];
}

static uint32_t index_of(const struct cutter *cutter, uint32_t cell) {
    const uint32_t *found =
        bsearch(&cell, cutter->cell, cutter->cell_count, sizeof cell, by_number);
    require(found != NULL);
    return (uint32_t)(found - cutter->cell);
}

/* Cells from one to another in the direction of travel; a lane's whole round for the same cell. */
static uint32_t ahead(const struct cutter *cutter, uint32_t from, uint32_t to) {
    uint32_t cells = layout_track_cells(cutter->budget->scenario, cutter->track);
    if (cutter->track >= cutter->budget->scenario->lane_count)
        return to > from ? to - from : 0;
    return to > from ? to - from : to + cells - from;
}

/* How far an item rides at most from a feeder's cell: to its last taker, or all the way round (or
 * to the end of a line). */
static uint32_t ride_of(const struct cutter *cutter, uint32_t from, uint32_t item) {
    const struct scenario *scenario = cutter->budget->scenario;
    uint32_t ride = 0;
    const struct budget_net *net = &cutter->budget->net;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        uint32_t cell = cell_on(scenario, scenario->arm[net->carrier[k]].from, cutter->track);
        if (cell == NO_INDEX || !budget_carries_item(net, net->carrier[k], item))
            continue;
        uint32_t distance = ahead(cutter, from, cell);
        ride = distance > ride ? distance : ride;
    }
    return ride > 0 ? ride : layout_track_cells(scenario, cutter->track);
}

/* What an arm that unloads a station can put on is no more than the station makes. */
static double feeds_of(const struct budget *budget, uint32_t arm) {
    const struct scenario *scenario = budget->scenario;
    double rate = budget->arm[arm].greatest, made = 0;
    if (scenario->arm[arm].from.kind != PLACE_STATION)
        return rate;
    uint32_t station = scenario->arm[arm].from.index;
    for (uint32_t n = 0; n < scenario->arm[arm].item_count; n++)
        made += budget->station[station].greatest *
                budget_makes(scenario, station, scenario->arm[arm].item[n]);
    return made < rate ? made : rate;
}

/* Adds what a feeder can put on to every stretch to which the item that rides there and is longest
 * comes. */
static void add_feeder(struct cutter *cutter, uint32_t arm, struct budget_stretch *stretch) {
    const struct scenario *scenario = cutter->budget->scenario;
    const struct budget_net *net = &cutter->budget->net;
    uint32_t from = scenario->arm[arm].to.cell;
    uint32_t *length = require_memory(cutter->cell_count, sizeof *length);
    for (uint32_t n = 0; n < scenario->arm[arm].item_count; n++) {
        uint32_t item = scenario->arm[arm].item[n];
        if (!budget_carries(net, arm, n))
            continue;
        uint32_t ride = ride_of(cutter, from, item), own = scenario->item[item].length;
        for (uint32_t k = 0; k < cutter->cell_count; k++) {
            uint32_t away = cutter->cell[k] == from ? 0 : ahead(cutter, from, cutter->cell[k]);
            bool rides = away < ride && (away > 0 || cutter->cell[k] == from);
            length[k] = rides && own > length[k] ? own : length[k];
        }
    }
    for (uint32_t k = 0; k < cutter->cell_count; k++)
        stretch[k].feeders += feeds_of(cutter->budget, arm) * length[k];
    free(length);
}

/* The needed flow of one item, as it changes from arm to arm; what goes round is the least that
 * leaves no stretch below nothing. */
static void add_needed(struct cutter *cutter, uint32_t item, double *change,
                       struct budget_stretch *stretch) {
    const struct budget *budget = cutter->budget;
    const struct scenario *scenario = budget->scenario;
    for (uint32_t k = 0; k < cutter->cell_count; k++)
        change[k] = 0;
    const struct budget_net *net = &budget->net;
    for (uint32_t c = net->first_carrier[item]; c < net->first_carrier[item + 1]; c++) {
        const struct scenario_arm *arm = &scenario->arm[net->carrier[c]];
        uint32_t to = cell_on(scenario, arm->to, cutter->track);
        uint32_t from = cell_on(scenario, arm->from, cutter->track);
        double flow = budget->flow[budget_entry(net, net->carrier[c], item)];
        if (to != NO_INDEX)
            change[index_of(cutter, to)] += flow;
        if (from != NO_INDEX)
            change[index_of(cutter, from)] -= flow;
    }
    double running = 0, least = 0;
    for (uint32_t k = 0; k < cutter->cell_count; k++)
        least = (running += change[k]) < least ? running : least;
    running = -least;
    for (uint32_t k = 0; k < cutter->cell_count; k++)
        stretch[k].needed += (running += change[k]) * scenario->item[item].length;
}

static void place_stretches(struct cutter *cutter, struct budget_stretch *stretch) {
    uint32_t cells = layout_track_cells(cutter->budget->scenario, cutter->track);
    for (uint32_t k = 0; k < cutter->cell_count; k++) {
        bool is_last = k + 1 == cutter->cell_count;
        uint32_t from = cutter->cell[k], to = cutter->cell[is_last ? 0 : k + 1];
        uint32_t length = to > from ? to - from : to + cells - from;
        if (is_last && cutter->track >= cutter->budget->scenario->lane_count) {
            to = cells - 1;
            length = cells - from;
        }
        stretch[k] = (struct budget_stretch){cutter->track, from, to, length, 0, 0};
    }
}

static void sum_up(struct budget_track *track, const struct budget_stretch *stretch) {
    double covered = 0;
    for (uint32_t k = 0; k < track->stretch_count; k++) {
        track->feeders = stretch[k].feeders > track->feeders ? stretch[k].feeders : track->feeders;
        track->needed = stretch[k].needed > track->needed ? stretch[k].needed : track->needed;
        double share = (stretch[k].needed + track->missed) / track->rate;
        covered += (share < 1 ? share : 1) * stretch[k].cells;
    }
    track->share = covered / track->cells;
}

static void cut(struct cutter *cutter) {
    struct budget *budget = cutter->budget;
    const struct scenario *scenario = budget->scenario;
    struct budget_track *track = &budget->track[cutter->track];
    gather_cells(cutter);
    *track = (struct budget_track){.rate = budget_track_rate(scenario, cutter->track),
                                   .cells = layout_track_cells(scenario, cutter->track),
                                   .first_stretch = budget->stretch_count,
                                   .stretch_count = cutter->cell_count};
    struct budget_stretch *stretch = budget->stretch + budget->stretch_count;
    budget->stretch_count += cutter->cell_count;
    place_stretches(cutter, stretch);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (cell_on(scenario, scenario->arm[i].to, cutter->track) != NO_INDEX)
            add_feeder(cutter, i, stretch);
    double *change = require_memory(cutter->cell_count, sizeof *change);
    for (uint32_t item = 0; item < scenario->item_count; item++)
        add_needed(cutter, item, change, stretch);
    free(change);
    if (cutter->track < scenario->lane_count)
        track->missed = budget_missed(budget, cutter->track);
    sum_up(track, stretch);
}

/* ---- what feeders and takers of an item can do ---- */

static void add_rates(struct budget *budget, uint32_t arm) {
    const struct scenario *scenario = budget->scenario;
    bool feeds = scenario->arm[arm].to.kind == PLACE_LANE;
    bool takes = scenario->arm[arm].from.kind == PLACE_LANE;
    for (uint32_t n = 0; n < scenario->arm[arm].item_count; n++) {
        struct budget_item *item = &budget->item[scenario->arm[arm].item[n]];
        if (!budget_carries(&budget->net, arm, n))
            continue;
        item->rides = item->rides || feeds;
        item->fed += feeds ? feeds_of(budget, arm) : 0;
        item->taken += takes ? budget->arm[arm].pace : 0;
    }
}

void budget_stretches(struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    budget->track_count = scenario->lane_count + scenario->line_count;
    budget->track = require_memory(budget->track_count, sizeof *budget->track);
    budget->stretch = require_memory(2 * (size_t)scenario->arm_count, sizeof *budget->stretch);
    struct cutter cutter = {.budget = budget};
    cutter.cell = require_memory(2 * (size_t)scenario->arm_count, sizeof *cutter.cell);
    for (cutter.track = 0; cutter.track < budget->track_count; cutter.track++)
        cut(&cutter);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        add_rates(budget, i);
    free(cutter.cell);
}
