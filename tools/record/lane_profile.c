/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/lane_profile.c - a walk round each lane that adds up what arms put and took. */
#include "tools/record/lane_profile.h"

#include <stdlib.h>

#include "sim/require.h"

static const double revolutions_least = 20;

static int end_order(const void *a, const void *b) {
    const struct lane_profile_end *first = a, *second = b;
    if (first->lane != second->lane)
        return first->lane < second->lane ? -1 : 1;
    if (first->cell != second->cell)
        return first->cell < second->cell ? -1 : 1;
    if (first->arm != second->arm)
        return first->arm < second->arm ? -1 : 1;
    return (int)first->places - (int)second->places;
}

static void add_end(struct lane_profile *stretches, uint32_t arm, struct place place, bool places) {
    if (place.kind == PLACE_LANE)
        stretches->end[stretches->end_count++] =
            (struct lane_profile_end){place.index, place.cell, arm, places, 0, 0};
}

static void list_ends(struct lane_profile *stretches, const struct scenario *scenario) {
    stretches->end = require_memory(2 * (size_t)scenario->arm_count, sizeof *stretches->end);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        add_end(stretches, i, scenario->arm[i].from, false);
        add_end(stretches, i, scenario->arm[i].to, true);
    }
    qsort(stretches->end, stretches->end_count, sizeof *stretches->end, end_order);
    stretches->first = require_memory((size_t)scenario->lane_count + 1, sizeof(uint32_t));
    for (uint32_t i = 0, lane = 0; lane <= scenario->lane_count; lane++) {
        while (i < stretches->end_count && stretches->end[i].lane < lane)
            i++;
        stretches->first[lane] = i;
    }
}

/* ---- whether a lane can be known ---- */

/* Marks in `known` the lanes that no incident or breakdown disturbs. */
static void mark_undisturbed(bool *known, const struct scenario *scenario) {
    bool *stands = require_memory(scenario->loop_count, sizeof *stands);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        stands[i] = scenario->loop[i].breaks->present;
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        known[i] = true;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        bool heap = incident->kind == INCIDENT_DROP || incident->kind == INCIDENT_CLEAR;
        if (heap && incident->track.kind == PLACE_LANE)
            known[incident->track.index] = false;
        if (incident->kind == INCIDENT_STOP && incident->actor.kind == PART_LOOP)
            stands[incident->actor.index] = true;
    }
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        known[i] = known[i] && !stands[scenario->lane[i].loop];
    free(stands);
}

/* The length that all items of an arm have; 0: they differ. */
static uint32_t item_length(const struct scenario *scenario, uint32_t number) {
    const struct scenario_arm *arm = &scenario->arm[number];
    uint32_t length = scenario->item[arm->item[0]].length;
    for (uint32_t i = 1; i < arm->item_count; i++)
        if (scenario->item[arm->item[i]].length != length)
            return 0;
    return length;
}

/* Steps of a loop since the warm-up, as near as a double can say. */
static double step_count(const struct measured_totals *window, uint32_t loop) {
    struct ratio rate = window->scenario->loop[loop].rate;
    return totals_seconds(window) * (double)rate.numerator / (double)rate.denominator;
}

static bool can_be_known(const struct lane_profile *stretches, const struct measured_totals *window,
                         uint32_t lane) {
    const struct scenario *scenario = window->scenario;
    uint32_t loop = scenario->lane[lane].loop;
    double cells = scenario->loop[loop].cell_count;
    if (!stretches->known[lane] || stretches->first[lane] == stretches->first[lane + 1] ||
        step_count(window, loop) < revolutions_least * cells)
        return false;
    for (uint32_t i = stretches->first[lane]; i < stretches->first[lane + 1]; i++)
        if (item_length(scenario, stretches->end[i].arm) == 0)
            return false;
    return true;
}

/* ---- the walk ---- */

static double within_share(double share) { return share < 0 ? 0 : share > 1 ? 1 : share; }

/* Cells that an end put on the lane, less those it took, for each step. */
static double net_share(const struct measured_totals *window, const struct lane_profile_end *end,
                        double steps) {
    double items = (double)(end->places ? totals_arm_moved(window, end->arm)
                                        : -totals_arm_picked(window, end->arm));
    return items * item_length(window->scenario, end->arm) / steps;
}

static void walk(struct lane_profile *stretches, const struct measured_totals *window,
                 uint32_t lane) {
    uint32_t loop = window->scenario->lane[lane].loop, first = stretches->first[lane];
    uint32_t last = stretches->first[lane + 1] - 1, cells = window->scenario->loop[loop].cell_count;
    double steps = step_count(window, loop), share = 0, sum = 0;
    for (uint32_t i = first; i <= last; i++) {
        struct lane_profile_end *end = &stretches->end[i];
        uint32_t next = i < last ? end[1].cell : stretches->end[first].cell + cells;
        end->before = share;
        share += net_share(window, end, steps);
        end->after = share;
        sum += share * (next - end->cell);
    }
    double base = totals_track_share(window, lane) - sum / cells;
    stretches->end[first].before = share;
    for (uint32_t i = first; i <= last; i++) {
        stretches->end[i].before = within_share(stretches->end[i].before + base);
        stretches->end[i].after = within_share(stretches->end[i].after + base);
    }
}

void lane_profile_init(struct lane_profile *stretches, const struct measured_totals *window) {
    const struct scenario *scenario = window->scenario;
    *stretches = (struct lane_profile){0};
    list_ends(stretches, scenario);
    stretches->known = require_memory(scenario->lane_count, sizeof *stretches->known);
    mark_undisturbed(stretches->known, scenario);
    for (uint32_t lane = 0; lane < scenario->lane_count; lane++) {
        stretches->known[lane] = can_be_known(stretches, window, lane);
        if (stretches->known[lane])
            walk(stretches, window, lane);
    }
}

void lane_profile_free(struct lane_profile *stretches) {
    free(stretches->end);
    free(stretches->first);
    free(stretches->known);
    *stretches = (struct lane_profile){0};
}

uint32_t lane_profile_next(const struct lane_profile *stretches, uint32_t end) {
    uint32_t lane = stretches->end[end].lane;
    return end + 1 < stretches->first[lane + 1] ? end + 1 : stretches->first[lane];
}

/* A stretch of no cells, between two arms at one cell, is none; the last one always leads round. */
static bool is_stretch(const struct lane_profile *stretches, uint32_t end) {
    uint32_t next = lane_profile_next(stretches, end);
    return next <= end || stretches->end[next].cell != stretches->end[end].cell;
}

uint32_t lane_profile_fullest(const struct lane_profile *stretches, uint32_t lane) {
    uint32_t fullest = NO_INDEX;
    if (!stretches->known[lane])
        return fullest;
    for (uint32_t i = stretches->first[lane]; i < stretches->first[lane + 1]; i++)
        if (is_stretch(stretches, i) &&
            (fullest == NO_INDEX || stretches->end[i].after > stretches->end[fullest].after))
            fullest = i;
    return fullest;
}
