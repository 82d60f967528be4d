/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/arm_rates.c - hands and swings. */
#include "model/design/arm_rates.h"

#include <math.h>

/* A mover should be busy for no more than this share of the time. */
static const double mover_share = 0.9;

static double swing_s(const struct may *may, double tps, uint32_t kind) {
    return (double)may->arm[kind].swing_ticks / tps;
}

static double tps_of(const struct lanes *lanes) {
    return (double)lanes->need->scenario->ticks_per_second;
}

double arm_rates_peak(const struct lanes *lanes, uint32_t kind) {
    return lanes->may->arm[kind].hand / swing_s(lanes->may, tps_of(lanes), kind);
}

double arm_rates_steady(const struct lanes *lanes, uint32_t kind, double rate, double length) {
    double hand = lanes->may->arm[kind].hand;
    return hand / (swing_s(lanes->may, tps_of(lanes), kind) + (hand - 1) * length / rate);
}

double arm_rates_greatest(const struct lanes *lanes, uint32_t kind, double rate, double length) {
    double hand = lanes->may->arm[kind].hand;
    return hand / fmax(swing_s(lanes->may, tps_of(lanes), kind), hand * length / rate);
}

uint32_t arm_rates_mover(const struct may *may, double ticks_per_second, double items,
                         uint32_t *count) {
    uint32_t best = 0;
    double best_count = INFINITY, best_rate = INFINITY;
    for (uint32_t k = 0; k < may->arm_count; k++) {
        double rate = may->arm[k].hand / swing_s(may, ticks_per_second, k);
        double needed = fmax(ceil(items / (mover_share * rate) - DESIGN_HAIR), 1);
        if (needed > best_count || (needed == best_count && rate >= best_rate))
            continue;
        best = k;
        best_count = needed;
        best_rate = rate;
    }
    *count = (uint32_t)best_count;
    return best;
}
