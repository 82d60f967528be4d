/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_belts.c - a cell for each arm, or for two. */
#include "model/design/draw_belts.h"

#include <stdio.h>

#include "model/design/draw_counts.h"
#include "sim/require.h"

/* A cell for each arm, or for two on a loop with arms on both sides, and room for two of the
 * longest items; on a line room for one before the first arm, too. */
static uint32_t cells_for(const struct drawing *drawing, const struct lane *lane) {
    bool both = drawing->choice->both_sides && !lane->is_line;
    uint32_t arms = both ? (lane->arms + 1) / 2 : lane->arms;
    uint32_t longest = drawing_longest_on(drawing, lane);
    uint32_t cells = arms * drawing->choice->spacing + (lane->is_line ? longest - 1 : 0);
    uint32_t least = 2 * longest + (both ? 0 : 2);
    int64_t most = lane->is_line ? drawing->may->line_cells_most : drawing->may->loop_cells_most;
    cells = cells > least ? cells : least;
    return cells < most ? cells : (uint32_t)most;
}

static uint32_t fastest(const struct may_rates *rates) {
    const struct may_rate *rate = rates->rate;
    uint32_t best = 0;
    for (uint32_t i = 1; i < rates->count; i++) {
        double own = (double)rate[i].rate.numerator / (double)rate[i].rate.denominator;
        double most = (double)rate[best].rate.numerator / (double)rate[best].rate.denominator;
        best = own > most ? i : best;
    }
    return best;
}

static struct plan_belt *new_belt(struct drawing *drawing, bool is_line) {
    struct plan *plan = drawing->plan;
    plan->belt = require_more_memory(plan->belt, plan->belt_count + 1, sizeof *plan->belt);
    struct plan_belt *belt = &plan->belt[plan->belt_count++];
    *belt = (struct plan_belt){
        .is_line = is_line,
        .given = NO_INDEX,
        .rate = fastest(is_line ? &drawing->may->line_rates : &drawing->may->loop_rates)};
    return belt;
}

/* The next loop, or line, that the scenario has itself; NO_INDEX: there is none left. */
static uint32_t next_given(const struct drawing *drawing, bool is_line) {
    uint32_t before = 0;
    for (uint32_t b = 0; b + 1 < drawing->plan->belt_count; b++)
        before += drawing->plan->belt[b].is_line == is_line;
    uint32_t given = is_line ? drawing->scenario->line_count : drawing->scenario->loop_count;
    return before < given ? before : NO_INDEX;
}

static void name_belt(struct drawing *drawing, const struct lane *lane, struct plan_belt *belt) {
    belt->given = next_given(drawing, lane->is_line);
    if (belt->given == NO_INDEX && lane->is_line) {
        drawing_name(drawing, belt->name, "%s-line",
                     drawing_item_name(drawing, lane->flow[0].item));
    } else if (belt->given == NO_INDEX) {
        drawing_name(drawing, belt->name, "ring");
    } else if (lane->is_line) {
        snprintf(belt->name, sizeof belt->name, "%s", drawing->scenario->line[belt->given].name);
        belt->cells = drawing->scenario->line[belt->given].cell_count;
    } else {
        snprintf(belt->name, sizeof belt->name, "%s", drawing->scenario->loop[belt->given].name);
        belt->cells = drawing->scenario->loop[belt->given].cell_count;
    }
    if (!lane->is_line && drawing->choice->loops_open) {
        belt->given = NO_INDEX;
        belt->cells = 0;
    }
}

static void put_lane(struct drawing *drawing, uint32_t index) {
    struct plan *plan = drawing->plan;
    const struct lane *lane = &drawing->lanes.lane[index];
    struct plan_belt *belt = plan->belt_count > 0 ? &plan->belt[plan->belt_count - 1] : NULL;
    uint32_t cells = cells_for(drawing, lane);
    if (drawing->may->belts && !lane->is_line)
        cells = draw_counts_cells(drawing, lane, cells);
    if (lane->is_line || belt == NULL || belt->is_line || belt->lanes == drawing->may->lanes_most) {
        belt = new_belt(drawing, lane->is_line);
        name_belt(drawing, lane, belt);
    }
    drawing->belt[index] = (uint32_t)(belt - plan->belt);
    drawing->lane[index] = belt->lanes++;
    if (belt->given == NO_INDEX)
        belt->cells = cells > belt->cells ? cells : belt->cells;
}

static void explain_belt(struct drawing *drawing, uint32_t index) {
    struct plan_belt *belt = &drawing->plan->belt[index];
    bool both = drawing->choice->both_sides && !belt->is_line;
    uint32_t arms = 0;
    for (uint32_t k = 0; k < drawing->lanes.lane_count; k++)
        if (drawing->belt[k] == index && drawing->lanes.lane[k].arms > arms)
            arms = drawing->lanes.lane[k].arms;
    plan_say(belt->why, "%u arms stand along %s, %s", arms, belt->lanes > 1 ? "a lane of it" : "it",
             both ? "two at a cell, one on each side" : "a cell for each");
}

/* Lanes of loops first, so that they fill loops; lines last. */
void draw_belts(struct drawing *drawing) {
    for (int line = 0; line < 2; line++)
        for (uint32_t k = 0; k < drawing->lanes.lane_count; k++)
            if (drawing->lanes.lane[k].is_line == (line == 1))
                put_lane(drawing, k);
    for (uint32_t b = 0; b < drawing->plan->belt_count; b++)
        explain_belt(drawing, b);
}

struct plan_end draw_belts_end(const struct drawing *drawing, uint32_t lane, uint32_t *cell) {
    struct plan_end end = {PLAN_BELT, drawing->belt[lane], drawing->lane[lane], *cell};
    if (drawing->choice->both_sides && !drawing->lanes.lane[lane].is_line)
        end.cell = *cell / 2 / drawing->choice->spacing * drawing->choice->spacing;
    *cell += drawing->choice->spacing;
    uint32_t last = drawing->plan->belt[end.index].cells - 1;
    end.cell = end.cell < last ? end.cell : last;
    return end;
}

double draw_belts_lead_s(const struct drawing *drawing, uint32_t index,
                         const struct lane_flow *flow, uint32_t taker) {
    const struct lane *lane = &drawing->lanes.lane[index];
    double round = drawing->plan->belt[drawing->belt[index]].cells / lane->rate;
    return round + drawing_swing_s(drawing, flow->kind) + drawing_swing_s(drawing, taker);
}
