/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_overflow.c - faster than all that can be made. */
#include "model/design/draw_overflow.h"

#include <math.h>

#include "model/design/arm_rates.h"
#include "model/design/draw_chests.h"
#include "sim/require.h"

void draw_outlet(struct drawing *drawing, uint32_t item, double rate) {
    struct plan *plan = drawing->plan;
    plan->outlet = require_more_memory(plan->outlet, plan->outlet_count + 1, sizeof *plan->outlet);
    struct plan_outlet *outlet = &plan->outlet[plan->outlet_count++];
    *outlet = (struct plan_outlet){.chest = drawing->shelf[item],
                                   .item = item,
                                   .batch = (int64_t)ceil(1.2 * rate * OUTLET_SECONDS + 1),
                                   .every_seconds = OUTLET_SECONDS};
    drawing_name(drawing, outlet->name, "%s-outlet", drawing_item_name(drawing, item));
}

void draw_overflow(struct drawing *drawing, uint32_t item, int64_t from, const char *why,
                   uint32_t *last) {
    uint32_t count, wanted = drawing->shelf[item];
    uint32_t kind = arm_rates_mover(drawing->may, (double)drawing->scenario->ticks_per_second,
                                    drawing_most_made(drawing, item), &count);
    double rate = 0;
    struct plan_arm *arm = NULL;
    for (uint32_t i = 0; i < count; i++) {
        arm = plan_add_arm(drawing->plan, kind);
        drawing_name(drawing, arm->name, "%s-overflow", drawing_item_name(drawing, item));
        arm->from = (struct plan_end){PLAN_CHEST, wanted, 0, 0};
        plan_arm_takes(arm, item);
        plan_arm_looks(arm, (struct plan_leaf){PLAN_CHEST, wanted, from, true});
        plan_say(arm->why, "more %s is made than wanted: what is above %lld goes%s",
                 drawing_item_name(drawing, item), (long long)from - 1, why);
        rate += arm_rates_peak(&drawing->lanes, kind);
    }
    struct plan_stock stock = {.item = item, .limit = (int64_t)(rate * OUTLET_SECONDS * 1.2) + 8};
    plan_say(stock.why, "what comes between two takings of its outlet");
    drawing->shelf[item] = draw_chests_put(drawing, last, "surplus", stock);
    draw_outlet(drawing, item, rate);
    for (uint32_t i = 0; i < count; i++)
        drawing->plan->arm[drawing->plan->arm_count - 1 - i].to =
            (struct plan_end){PLAN_CHEST, drawing->shelf[item], 0, 0};
    drawing->shelf[item] = wanted;
}
