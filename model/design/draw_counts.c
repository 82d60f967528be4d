/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_counts.c - what rides between the first feeder and the last taker. */
#include "model/design/draw_counts.h"

#include <math.h>

static uint32_t arms_of_group(const struct drawing *drawing, const struct lane *lane,
                              const struct lane_group *group) {
    uint32_t arms = group->takers * drawing->need.copies[group->recipe];
    for (uint32_t k = 0; k < group->new_count; k++) {
        const struct lane_flow *flow = &lane->flow[group->flow[k]];
        uint32_t copies = flow->source == SOURCE_STATIONS ? drawing->need.copies[flow->recipe] : 1;
        arms += flow->feeders * copies;
    }
    return arms;
}

/* Cells from the first feeder of an item to its last taker, by the arms that stand there. */
static uint32_t ride_of(const struct drawing *drawing, const struct lane *lane, uint32_t item) {
    uint32_t ride = 0, arms = 0;
    for (uint32_t g = 0; g < lane->group_count; g++) {
        const struct lane_group *group = &lane->group[g];
        bool takes = false;
        for (uint32_t k = 0; k < group->flow_count; k++)
            takes = takes || lane->flow[group->flow[k]].item == item;
        arms += takes || ride > 0 ? arms_of_group(drawing, lane, group) : 0;
        ride = takes ? arms : ride;
    }
    return ride * drawing->choice->spacing;
}

int64_t draw_counts_threshold(const struct drawing *drawing, const struct lane *lane,
                              uint32_t item) {
    double rate = 0, seconds = ride_of(drawing, lane, item) / lane->rate;
    for (uint32_t f = 0; f < lane->flow_count; f++)
        rate += lane->flow[f].item == item ? lane->flow[f].rate : 0;
    return (int64_t)fmax(ceil(2 * drawing->choice->threshold * rate * seconds - DESIGN_HAIR), 1) +
           drawing->choice->belt_more;
}

/* Cells that all that may lie on a lane can spoil for the longest item, when every feeder has
 * stopped at its count, with a hand full each (model/budget/budget_certificate.c, "belt gate"). */
static double spoilt_by_all(const struct drawing *drawing, const struct lane *lane) {
    double spoilt = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++) {
        const struct lane_flow *flow = &lane->flow[f];
        bool first = true;
        double copies = flow->source == SOURCE_STATIONS ? drawing->need.copies[flow->recipe] : 1;
        double items = flow->feeders * copies * drawing->may->arm[flow->kind].hand;
        for (uint32_t k = 0; k < f; k++)
            first = first && lane->flow[k].item != flow->item;
        if (first)
            items += (double)draw_counts_threshold(drawing, lane, flow->item) - 1;
        spoilt += items * (drawing->scenario->item[flow->item].length +
                           drawing_longest_on(drawing, lane) - 1);
    }
    return spoilt;
}

uint32_t draw_counts_cells(const struct drawing *drawing, const struct lane *lane, uint32_t cells) {
    double spoilt = spoilt_by_all(drawing, lane);
    if (spoilt < cells || spoilt + 1 > (double)drawing->may->loop_cells_most)
        return cells;
    return (uint32_t)spoilt + 1;
}
