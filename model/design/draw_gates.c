/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_gates.c - base stocks over the lead time. */
#include "model/design/draw_gates.h"

#include <math.h>

#include "model/design/draw_belts.h"

/* ---- thresholds ---- */

/* Items a second that other stations of the lane use of a kind, those of `recipe` but one. */
static double used_by_others(const struct drawing *drawing, uint32_t index, uint32_t item,
                             uint32_t recipe) {
    const struct lane *lane = &drawing->lanes.lane[index];
    double used = 0;
    for (uint32_t r = 0; r < lane->recipe_count; r++) {
        uint32_t own = lane->recipe[r];
        double all = drawing->need.batches[own] * drawing_takes(drawing, own, item);
        double copies = drawing->need.copies[own];
        used += own == recipe ? all * (copies - 1) / copies : all;
    }
    return used;
}

/* What comes to a lane of a kind: all that its feeders can put on, as far as stations make it. */
static double fed_to(const struct drawing *drawing, uint32_t index, uint32_t item) {
    const struct lane *lane = &drawing->lanes.lane[index];
    double fed = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++)
        fed += lane->flow[f].item == item ? lane->flow[f].feeds : 0;
    return fed;
}

/* Batches that a station uses while the trays of others, which may stand before it, fill up again.
 * They sink while its own lasts and the gate is shut, for the time of a batch; then they take what
 * comes beyond what they use: with U used by them and F fed, that takes U / (F - U) batches. */
static double waits_for_others(const struct drawing *drawing, uint32_t index, uint32_t item,
                               uint32_t recipe) {
    enum { BATCHES_MOST = 8 };
    double used = used_by_others(drawing, index, item, recipe);
    double left = fed_to(drawing, index, item) - used;
    return left > used / BATCHES_MOST ? used / left : BATCHES_MOST;
}

/* The count at which a feeder stops, and what it is made of. */
struct threshold {
    double batch, used, others; /* items: a batch, what is used while one is under way, and while
                                 * other trays fill up */
    double lead_s;              /* for which one is under way */
    int64_t count;
    bool cut; /* to what the tray takes, which the brief says */
};

/* One batch, what the station can use while a part is on its way, and while others fill up. */
static struct threshold threshold_for(const struct drawing *drawing, uint32_t index,
                                      const struct lane_flow *flow,
                                      const struct lane_group *group) {
    struct threshold threshold = {.batch = drawing_takes(drawing, group->recipe, flow->item),
                                  .lead_s = draw_belts_lead_s(drawing, index, flow, group->kind)};
    double used = design_need_takes(drawing->scenario, group->recipe, flow->item);
    bool made_first = flow->source == SOURCE_BIN && drawing->need.made[flow->item] > 0;
    if (!made_first) /* what stations make of it has the way first */
        threshold.used = ceil(used * threshold.lead_s - DESIGN_HAIR);
    if (!made_first && used_by_others(drawing, index, flow->item, group->recipe) > 0)
        threshold.others =
            ceil(threshold.batch * waits_for_others(drawing, index, flow->item, group->recipe) -
                 DESIGN_HAIR);
    double all = threshold.batch + threshold.used + threshold.others;
    threshold.count = (int64_t)ceil(drawing->choice->threshold * all - DESIGN_HAIR);
    return threshold;
}

/* Not more than what a tray of a given size takes. */
static void cut_to_tray(const struct drawing *drawing, uint32_t recipe,
                        struct threshold *threshold) {
    if (!drawing->choice->ahead_given[recipe])
        return;
    int64_t most = drawing->scenario->station[recipe].ahead * (int64_t)threshold->batch;
    threshold->cut = threshold->count > most;
    threshold->count = threshold->cut ? most : threshold->count;
}

static void say_threshold(const struct drawing *drawing, const struct lane_group *group,
                          const struct threshold *threshold, struct plan_arm *arm) {
    bool first = arm->leaf_count == 0;
    plan_say_more(arm->why, "%s%s%s has %lld (a batch of %.0f", first ? "it stops once " : " and ",
                  drawing->need.copies[group->recipe] > 1 ? "each " : "",
                  drawing->scenario->station[group->recipe].name, (long long)threshold->count,
                  threshold->batch);
    if (threshold->used > 0)
        plan_say_more(arm->why, ", %.0f for the %.1f s in which the next comes", threshold->used,
                      threshold->lead_s);
    if (threshold->others > 0)
        plan_say_more(arm->why, ", %.0f while other trays fill up", threshold->others);
    plan_say_more(arm->why, threshold->cut ? ", cut to what its tray takes)" : ")");
}

/* ---- trays ---- */

/* The heap of one kind for which a tray has room: half of the lane, as the largest of those that
 * fall in a disturbed night; on a lane of few kinds what a flood has of one, and half as much
 * again. */
static double heap_of(const struct drawing *drawing, uint32_t index, uint32_t item) {
    const struct lane *lane = &drawing->lanes.lane[index];
    uint32_t kinds = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++) {
        bool seen = false;
        for (uint32_t k = 0; k < f; k++)
            seen = seen || lane->flow[k].item == lane->flow[f].item;
        kinds += !seen;
    }
    double flood = (double)drawing->may->flood.numerator / (double)drawing->may->flood.denominator;
    double share = fmin(fmax(0.5, 1.5 * flood / kinds), 1);
    double cells = drawing->plan->belt[drawing->belt[index]].cells;
    return ceil(share * cells / drawing->scenario->item[item].length - DESIGN_HAIR);
}

/* Makes the tray of a station large enough for what comes of a flow. */
static void size_tray(struct drawing *drawing, uint32_t index, const struct lane_flow *flow,
                      struct plan_station *station, const struct lane_group *group,
                      int64_t threshold) {
    double takes = drawing_takes(drawing, station->recipe, flow->item);
    double cells = drawing->plan->belt[drawing->belt[index]].cells;
    double lead = draw_belts_lead_s(drawing, index, flow, group->kind);
    double hands = flow->feeders * drawing->may->arm[flow->kind].hand;
    double under_way = ceil(hands + fmin(flow->feeds * lead, cells));
    double heap = heap_of(drawing, index, flow->item);
    double all = drawing->choice->ahead * ((double)threshold - 1 + under_way + heap);
    int64_t ahead = (int64_t)fmax(ceil(all / takes - DESIGN_HAIR), 2);
    if (drawing->choice->ahead_given[station->recipe] || ahead <= station->ahead)
        return;
    station->ahead = ahead;
    plan_say(
        station->why_ahead,
        "its stock is its tray: of %s %lld at which the feeder stops, %.0f more under way then, "
        "and "
        "a heap of %.0f",
        drawing_item_name(drawing, flow->item), (long long)threshold, under_way - 1, heap);
    plan_say_factor(station->why_ahead, drawing->choice->ahead);
}

/* ---- gates ---- */

/* Opens the gate of a feeder by what lies in the trays of a group's stations. */
static void gate_on(struct drawing *drawing, uint32_t index, const struct lane_flow *flow,
                    const struct lane_group *group, struct plan_arm *arm) {
    struct threshold threshold = threshold_for(drawing, index, flow, group);
    cut_to_tray(drawing, group->recipe, &threshold);
    say_threshold(drawing, group, &threshold, arm);
    for (uint32_t c = 0; c < drawing->need.copies[group->recipe]; c++) {
        uint32_t number = drawing->first_station[group->recipe] + c;
        size_tray(drawing, index, flow, &drawing->plan->station[number], group, threshold.count);
        plan_arm_looks(arm, (struct plan_leaf){PLAN_STATION, number, threshold.count, false});
    }
}

void draw_gates(struct drawing *drawing, uint32_t index, const struct lane_flow *flow,
                struct plan_arm *arm) {
    const struct lane *lane = &drawing->lanes.lane[index];
    for (uint32_t g = 0; g < lane->group_count; g++) {
        const struct lane_group *group = &lane->group[g];
        bool takes = false;
        for (uint32_t k = 0; k < group->flow_count; k++)
            takes = takes || &lane->flow[group->flow[k]] == flow;
        if (takes)
            gate_on(drawing, index, flow, group, arm);
    }
    plan_say_factor(arm->why, drawing->choice->threshold);
}
