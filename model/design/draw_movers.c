/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_movers.c - the fewest arms that carry it. */
#include "model/design/draw_movers.h"

#include "model/design/arm_rates.h"

void draw_direct_movers(struct drawing *drawing, uint32_t item) {
    const struct scenario *scenario = drawing->scenario;
    uint32_t maker = NO_INDEX, user = NO_INDEX, count;
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        if (drawing->need.copies[s] == 0)
            continue;
        maker = design_need_makes(scenario, s, item) > 0 ? s : maker;
        user = design_need_takes(scenario, s, item) > 0 ? s : user;
    }
    uint32_t kind = arm_rates_mover(drawing->may, (double)scenario->ticks_per_second,
                                    design_need_makes(scenario, maker, item), &count);
    for (uint32_t c = 0; c < drawing->need.copies[maker] * count; c++) {
        struct plan_arm *arm = plan_add_arm(drawing->plan, kind);
        drawing_name(drawing, arm->name, "%s-mover", drawing_item_name(drawing, item));
        arm->from =
            (struct plan_end){PLAN_STATION, drawing->first_station[maker] + c / count, 0, 0};
        arm->to = (struct plan_end){PLAN_STATION, drawing->first_station[user], 0, 0};
        plan_arm_takes(arm, item);
        plan_say(arm->why, "%s is used by one station alone, and needs no belt",
                 drawing_item_name(drawing, item));
    }
}

/* The arms that bring what a station makes for shelves to its chest. */
static void add_shelvers_of(struct drawing *drawing, uint32_t number, uint32_t chest) {
    const struct plan_station *station = &drawing->plan->station[number];
    const struct scenario_station *recipe = &drawing->scenario->station[station->recipe];
    double made = 0;
    uint32_t count;
    for (uint32_t i = 0; i < recipe->makes_count; i++)
        if (drawing->shelf[recipe->makes[i].item] == chest)
            made += design_need_makes(drawing->scenario, station->recipe, recipe->makes[i].item);
    if (made <= 0)
        return;
    uint32_t kind =
        arm_rates_mover(drawing->may, (double)drawing->scenario->ticks_per_second, made, &count);
    for (uint32_t k = 0; k < count; k++) {
        struct plan_arm *arm = plan_add_arm(drawing->plan, kind);
        drawing_name(drawing, arm->name, "%s-shelver", station->name);
        arm->from = (struct plan_end){PLAN_STATION, number, 0, 0};
        arm->to = (struct plan_end){PLAN_CHEST, chest, 0, 0};
        for (uint32_t i = 0; i < recipe->makes_count; i++)
            if (drawing->shelf[recipe->makes[i].item] == chest)
                plan_arm_takes(arm, recipe->makes[i].item);
        plan_say(arm->why, "at full speed %s makes %.4g a minute", station->name, 60 * made);
    }
}

void draw_shelvers(struct drawing *drawing) {
    for (uint32_t s = 0; s < drawing->plan->station_count; s++)
        for (uint32_t c = 0; c < drawing->plan->chest_count; c++)
            add_shelvers_of(drawing, s, c);
}
