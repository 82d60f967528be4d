/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_stretches.c - lanes and lines, cut where arms stand. */
#include "model/budget/budget_stretches.h"

#include <stdlib.h>

#include "model/budget/budget_missed.h"
#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "sim/require.h"

/* Stands for a cell and all that arms do there. */
struct cutter {
    struct budget *budget;
    uint32_t track;
    uint32_t *cell; /* where arms stand, in order, each once; a stretch begins at each */
    uint32_t cell_count;
    uint32_t *length;  /* [stretch] of the longest item that a feeder brings there; else all 0 */
    double *change;    /* [stretch] of the flow of an item where the stretch begins; else all 0 */
    uint32_t *changed; /* stretches at which it changes */
    uint32_t changed_count;
};

static int by_number(const void *a, const void *b) {
    uint32_t first = *(const uint32_t *)a, second = *(const uint32_t *)b;
    return first < second ? -1 : first > second;
}

/* The cell of an arm's end on a track; NO_INDEX: it has none there. */
static uint32_t cell_on(const struct scenario *scenario, struct place place, uint32_t track) {
    return layout_track(scenario, place) == track ? place.cell : NO_INDEX;
}

/* Adds the cells of those arms that put to the track, or take from it. */
static uint32_t add_cells(struct cutter *cutter, const struct layout_arms *arms, bool put,
                          uint32_t count) {
    const struct scenario *scenario = cutter->budget->scenario;
    uint32_t place = layout_track_place(scenario, cutter->track);
    for (uint32_t i = arms->first[place]; i < arms->first[place + 1]; i++) {
        const struct scenario_arm *arm = &scenario->arm[arms->arm[i]];
        cutter->cell[count++] = put ? arm->to.cell : arm->from.cell;
    }
    return count;
}

static void gather_cells(struct cutter *cutter) {
    const struct budget_net *net = cutter->budget->net;
    uint32_t count = add_cells(cutter, &net->by_target, true, 0);
    count = add_cells(cutter, &net->by_source, false, count);
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
    const struct budget_net *net = cutter->budget->net;
    const struct scenario *scenario = net->scenario;
    uint32_t ride = 0;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        uint32_t cell = cell_on(scenario, scenario->arm[net->carrier[k]].from, cutter->track);
        if (cell == NO_INDEX || !budget_carries(net, net->carrier_entry[k]))
            continue;
        uint32_t distance = ahead(cutter, from, cell);
        ride = distance > ride ? distance : ride;
    }
    return ride > 0 ? ride : layout_track_cells(scenario, cutter->track);
}

/* The next stretch in the direction of travel; NO_INDEX: a line ends there, or it is `first`. */
static uint32_t next_of(const struct cutter *cutter, uint32_t stretch, uint32_t first) {
    if (stretch + 1 < cutter->cell_count)
        return stretch + 1 == first ? NO_INDEX : stretch + 1;
    bool is_line = cutter->track >= cutter->budget->scenario->lane_count;
    return is_line || first == 0 ? NO_INDEX : 0;
}

static bool is_within(const struct cutter *cutter, uint32_t from, uint32_t stretch, uint32_t ride) {
    uint32_t cell = cutter->cell[stretch];
    return (cell == from ? 0 : ahead(cutter, from, cell)) < ride;
}

/* Raises the length to that of an item on all stretches to which it rides. */
static void mark_ride(struct cutter *cutter, uint32_t from, uint32_t ride, uint32_t length) {
    uint32_t first = index_of(cutter, from);
    for (uint32_t k = first; k != NO_INDEX && is_within(cutter, from, k, ride);
         k = next_of(cutter, k, first))
        cutter->length[k] = length > cutter->length[k] ? length : cutter->length[k];
}

/* Adds what a feeder can put on to every stretch to which the item that rides there and is longest
 * comes. */
static void add_feeder(struct cutter *cutter, uint32_t arm, struct budget_stretch *stretch) {
    const struct budget_net *net = cutter->budget->net;
    const struct scenario_arm *feeder = &net->scenario->arm[arm];
    uint32_t from = feeder->to.cell, first = index_of(cutter, from), longest = 0;
    for (uint32_t entry = net->first_entry[arm]; entry < net->first_entry[arm + 1]; entry++) {
        if (!budget_carries(net, entry))
            continue;
        uint32_t item = net->entry_item[entry], ride = ride_of(cutter, from, item);
        mark_ride(cutter, from, ride, net->scenario->item[item].length);
        longest = ride > longest ? ride : longest;
    }
    double rate = budget_feeds_at_most(cutter->budget, arm);
    for (uint32_t k = first; k != NO_INDEX && is_within(cutter, from, k, longest);
         k = next_of(cutter, k, first)) {
        stretch[k].feeders += rate * cutter->length[k];
        cutter->length[k] = 0;
    }
}

/* ---- what is needed ---- */

static void change_at(struct cutter *cutter, uint32_t cell, double flow) {
    if (cell == NO_INDEX)
        return;
    uint32_t k = index_of(cutter, cell);
    cutter->change[k] += flow;
    cutter->changed[cutter->changed_count++] = k;
}

/* How the needed flow of an item changes from arm to arm, as a list of stretches in order. */
static void list_changes(struct cutter *cutter, uint32_t item) {
    const struct budget_net *net = cutter->budget->net;
    uint32_t kept = 0;
    cutter->changed_count = 0;
    for (uint32_t c = net->first_carrier[item]; c < net->first_carrier[item + 1]; c++) {
        const struct scenario_arm *arm = &net->scenario->arm[net->carrier[c]];
        double flow = cutter->budget->flow[net->carrier_entry[c]];
        change_at(cutter, cell_on(net->scenario, arm->to, cutter->track), flow);
        change_at(cutter, cell_on(net->scenario, arm->from, cutter->track), -flow);
    }
    qsort(cutter->changed, cutter->changed_count, sizeof *cutter->changed, by_number);
    for (uint32_t i = 0; i < cutter->changed_count; i++)
        if (i == 0 || cutter->changed[i] != cutter->changed[i - 1])
            cutter->changed[kept++] = cutter->changed[i];
    cutter->changed_count = kept;
}

/* Adds the needed flow of one item to the stretches; what goes round is the least that leaves no
 * stretch below nothing. */
static void add_needed(struct cutter *cutter, uint32_t item, struct budget_stretch *stretch) {
    double running = 0, least = 0, length = cutter->budget->scenario->item[item].length;
    list_changes(cutter, item);
    for (uint32_t i = 0; i < cutter->changed_count; i++)
        least = (running += cutter->change[cutter->changed[i]]) < least ? running : least;
    running = -least;
    for (uint32_t i = 0, k = 0; i <= cutter->changed_count; i++) {
        bool is_last = i == cutter->changed_count;
        uint32_t end = is_last ? cutter->cell_count : cutter->changed[i];
        for (; running != 0 && k < end; k++)
            stretch[k].needed += running * length;
        k = end;
        if (is_last)
            break;
        running += cutter->change[end];
        cutter->change[end] = 0;
    }
}

/* ---- all of a track ---- */

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
    const struct layout_arms *into = &budget->net->by_target;
    uint32_t place = layout_track_place(scenario, cutter->track);
    for (uint32_t i = into->first[place]; i < into->first[place + 1]; i++)
        add_feeder(cutter, into->arm[i], stretch);
    for (uint32_t item = 0; item < scenario->item_count; item++)
        add_needed(cutter, item, stretch);
    if (cutter->track < scenario->lane_count)
        track->missed = budget_missed(budget, cutter->track);
    sum_up(track, stretch);
}

/* ---- what feeders and takers of an item can do ---- */

static void add_rates(struct budget *budget, uint32_t arm) {
    const struct budget_net *net = budget->net;
    bool feeds = net->scenario->arm[arm].to.kind == PLACE_LANE;
    bool takes = net->scenario->arm[arm].from.kind == PLACE_LANE;
    for (uint32_t entry = net->first_entry[arm]; entry < net->first_entry[arm + 1]; entry++) {
        struct budget_item *item = &budget->item[net->entry_item[entry]];
        if (!budget_carries(net, entry))
            continue;
        item->rides = item->rides || feeds;
        item->fed += feeds ? budget_feeds_at_most(budget, arm) : 0;
        item->taken += takes ? budget->arm[arm].peak_rate : 0;
    }
}

void budget_stretches(struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    budget->track_count = scenario->lane_count + scenario->line_count;
    budget->track = require_memory(budget->track_count, sizeof *budget->track);
    budget->stretch = require_memory(2 * (size_t)scenario->arm_count, sizeof *budget->stretch);
    struct cutter cutter = {.budget = budget};
    size_t ends = 2 * (size_t)scenario->arm_count;
    cutter.cell = require_memory(ends, sizeof *cutter.cell);
    cutter.length = require_memory(ends, sizeof *cutter.length);
    cutter.change = require_memory(ends, sizeof *cutter.change);
    cutter.changed = require_memory(ends, sizeof *cutter.changed);
    for (cutter.track = 0; cutter.track < budget->track_count; cutter.track++)
        cut(&cutter);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        add_rates(budget, i);
    free(cutter.cell);
    free(cutter.length);
    free(cutter.change);
    free(cutter.changed);
}
