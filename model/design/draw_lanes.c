/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_lanes.c - group by group: feeders first, then takers. */
#include "model/design/draw_lanes.h"

#include "model/design/arm_rates.h"
#include "model/design/draw_belts.h"
#include "model/design/draw_counts.h"
#include "model/design/draw_gates.h"

static struct plan_end source_of(const struct drawing *drawing, const struct lane_flow *flow,
                                 uint32_t copy) {
    if (flow->source == SOURCE_BIN)
        return (struct plan_end){PLAN_CHEST, drawing->bin[flow->item], 0, 0};
    if (flow->source == SOURCE_SHELF)
        return (struct plan_end){PLAN_CHEST, drawing->shelf[flow->item], 0, 0};
    return (struct plan_end){PLAN_STATION, drawing->first_station[flow->recipe] + copy, 0, 0};
}

static void stop_at_count(const struct drawing *drawing, const struct lane *lane, uint32_t item,
                          struct plan_arm *arm) {
    arm->belt_below = draw_counts_threshold(drawing, lane, item);
    plan_say_also(arm->why, "or once the lane has %lld, twice as many as are needed there",
                  (long long)arm->belt_below);
    if (drawing->choice->belt_more > 0)
        plan_say_more(arm->why, " and %u more by trials", drawing->choice->belt_more);
}

/* Takers of a line need outpace nobody: parts wait for them at its end. */
static void explain_taker(const struct lane *lane, const struct lane_group *group,
                          struct plan_arm *arm) {
    if (lane->is_line)
        plan_say(arm->why, "parts wait for it at the end of the line");
    else if (group->takers > 1)
        plan_say(arm->why, "the %u takers here together outpace the feeders of each kind",
                 group->takers);
    else
        plan_say(arm->why, "it outpaces the feeders of each kind");
}

static void add_feeders(struct drawing *drawing, uint32_t index, const struct lane_flow *flow,
                        uint32_t *cell) {
    const struct lane *lane = &drawing->lanes.lane[index];
    uint32_t copies = flow->source == SOURCE_STATIONS ? drawing->need.copies[flow->recipe] : 1;
    for (uint32_t c = 0; c < copies; c++)
        for (uint32_t i = 0; i < flow->feeders; i++) {
            struct plan_arm *arm = plan_add_arm(drawing->plan, flow->kind);
            drawing_name(drawing, arm->name, "%s-feeder", drawing_item_name(drawing, flow->item));
            arm->from = source_of(drawing, flow, c);
            arm->to = draw_belts_end(drawing, index, cell);
            plan_arm_takes(arm, flow->item);
            draw_gates(drawing, index, flow, arm);
            if (drawing->may->belts && !lane->is_line)
                stop_at_count(drawing, lane, flow->item, arm);
        }
}

static void add_takers(struct drawing *drawing, uint32_t index, const struct lane_group *group,
                       uint32_t *cell) {
    const struct lane *lane = &drawing->lanes.lane[index];
    for (uint32_t c = 0; c < drawing->need.copies[group->recipe]; c++)
        for (uint32_t i = 0; i < group->takers; i++) {
            uint32_t station = drawing->first_station[group->recipe] + c;
            struct plan_arm *arm = plan_add_arm(drawing->plan, group->kind);
            drawing_name(drawing, arm->name, "%s-taker", drawing->plan->station[station].name);
            arm->from = draw_belts_end(drawing, index, cell);
            arm->to = (struct plan_end){PLAN_STATION, station, 0, 0};
            for (uint32_t k = 0; k < group->flow_count; k++)
                plan_arm_takes(arm, lane->flow[group->flow[k]].item);
            explain_taker(lane, group, arm);
        }
}

void draw_lane(struct drawing *drawing, uint32_t index) {
    const struct lane *lane = &drawing->lanes.lane[index];
    /* A line begins with room for its longest item. */
    uint32_t cell = lane->is_line ? drawing_longest_on(drawing, lane) - 1 : 0;
    for (uint32_t g = 0; g < lane->group_count; g++) {
        const struct lane_group *group = &lane->group[g];
        for (uint32_t k = 0; k < group->new_count; k++)
            add_feeders(drawing, index, &lane->flow[group->flow[k]], &cell);
        if (lane->is_line) { /* parts queue at the end */
            uint32_t takers = group->takers * drawing->need.copies[group->recipe];
            uint32_t end = drawing->plan->belt[drawing->belt[index]].cells - takers;
            cell = cell > end ? cell : end;
        }
        add_takers(drawing, index, group, &cell);
    }
}
