/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_plan.c - part after part. */
#include "model/design/draw_plan.h"

#include "model/design/draw_belts.h"
#include "model/design/draw_bins.h"
#include "model/design/draw_chests.h"
#include "model/design/draw_lanes.h"
#include "model/design/draw_movers.h"
#include "model/design/draw_shelves.h"
#include "model/design/draw_stations.h"
#include "model/design/drawing.h"

static void place_streams(struct drawing *drawing) {
    const struct scenario *scenario = drawing->scenario;
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        drawing->plan->supply_chest[i] = drawing->bin[scenario->supply[i].item];
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        uint32_t item = scenario->demand[i].item;
        drawing->plan->demand_chest[i] =
            drawing->shelf[item] != NO_INDEX ? drawing->shelf[item] : drawing->bin[item];
    }
}

static void put_together(struct drawing *drawing) {
    draw_stations(drawing);
    draw_belts(drawing);
    uint32_t bins = draw_bins(drawing);
    draw_shelves(drawing, drawing->choice->one_store ? bins : NO_INDEX);
    for (uint32_t k = 0; k < drawing->lanes.lane_count; k++)
        draw_lane(drawing, k);
    draw_bins_fill_trays(drawing);
    for (uint32_t i = 0; i < drawing->scenario->item_count; i++)
        if (drawing->lanes.direct[i])
            draw_direct_movers(drawing, i);
    draw_shelvers(drawing);
    for (uint32_t c = 0; c < drawing->choice->chests_given; c++)
        draw_chests_use_given(drawing, c);
    place_streams(drawing);
}

bool draw_plan(struct plan *plan, const struct scenario *scenario, const struct may *may,
               const struct plan_choice *choice, char why[DESIGN_WHY_BYTES]) {
    struct drawing drawing;
    plan_init(plan, scenario, may);
    bool good = drawing_init(&drawing, plan, choice, why);
    if (good)
        put_together(&drawing);
    drawing_free(&drawing);
    return good;
}
