/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_carriers.c - Little's law. */
#include "model/design/draw_carriers.h"

#include <math.h>

#include "model/design/draw_chests.h"
#include "model/design/draw_overflow.h"

/* Those that lie at a station: three batches of each that takes an item, or makes it. */
static double at_stations(const struct drawing *drawing, uint32_t item) {
    enum { BATCHES = 3 };
    double all = 0;
    for (uint32_t s = 0; s < drawing->scenario->station_count; s++)
        if (drawing->need.batches[s] > 0)
            all += BATCHES * drawing->need.copies[s] *
                   (drawing_takes(drawing, s, item) + (double)drawing_batch_made(drawing, s, item));
    return all;
}

/* How many are under way at once (Little's law): at the stations that take and make them, at those
 * between, and for two revolutions of each belt. */
static int64_t carriers_of(const struct drawing *drawing, uint32_t item) {
    const struct scenario *scenario = drawing->scenario;
    double all = at_stations(drawing, item), seconds = 0;
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        const struct scenario_station *station = &scenario->station[s];
        bool takes = drawing_takes(drawing, s, item) > 0;
        if (drawing->need.batches[s] == 0 || (!takes && drawing_batch_made(drawing, s, item) == 0))
            continue;
        seconds += (double)station->time.mean_ticks / (double)scenario->ticks_per_second;
        for (uint32_t k = 0; k < station->makes_count && takes; k++)
            if (drawing->need.demanded[station->makes[k].item] == 0)
                all += at_stations(drawing, station->makes[k].item);
    }
    for (uint32_t b = 0; b < drawing->plan->belt_count; b++)
        seconds += 2 * (drawing->plan->belt[b].cells / drawing->lanes.lane[0].rate +
                        drawing_swing_s(drawing, 0));
    return (int64_t)ceil(drawing->choice->threshold * (all + drawing->need.used[item] * seconds));
}

void draw_carriers(struct drawing *drawing, uint32_t item, uint32_t *last, uint32_t *surplus) {
    int64_t count = carriers_of(drawing, item);
    double made = drawing_most_made(drawing, item);
    struct plan_stock stock = {
        .item = item, .limit = count + (int64_t)ceil(made * OUTLET_SECONDS) + 8, .start = count};
    plan_say(stock.why, "%lld go round, and none is made of anything else", (long long)count);
    drawing->shelf[item] = draw_chests_put(drawing, last, "carriers", stock);
    if (drawing->may->disturb || drawing->may->flood.numerator > 0)
        draw_overflow(drawing, item, count + 1, "", surplus);
}
