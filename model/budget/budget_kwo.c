/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_kwo.c - Kwo's rules on speed, capacity and uniformity. */
#include "model/budget/budget_kwo.h"

#include <math.h>

#include "model/budget/budget_rates.h"
#include "model/scenario/layout.h"

static const double within = 1e-9; /* an equality holds */

void budget_kwo_judge(struct budget_kwo *kwo) {
    double most = fmax(kwo->load_rate, kwo->unload_rate);
    kwo->carriers = kwo->length / kwo->spacing;
    kwo->carrier_rate = kwo->speed / kwo->spacing;
    kwo->capacity = kwo->parts_per_carrier * kwo->carrier_rate;
    kwo->handler_limit = 1 / fmax(kwo->load_time, kwo->unload_time);
    kwo->speed_lower = kwo->capacity >= most * (1 - within);
    kwo->speed_upper = kwo->carrier_rate <= kwo->handler_limit * (1 + within);
    kwo->capacity_holds = kwo->capacity >= kwo->load_rate * (1 - within);
    kwo->uniformity = kwo->spread_evenly;
}

static uint32_t greatest_divisor(uint32_t a, uint32_t b) {
    while (b != 0) {
        uint32_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* A feeder that acts in every P-th place of N reaches N / gcd(N, P) of them: all, when the two have
 * no divisor in common. When it must wait its turn for places is not even. */
static bool spreads(const struct scenario *scenario, uint32_t track,
                    const struct scenario_arm *arm) {
    double steps = (double)arm->swing.mean_ticks * budget_track_rate(scenario, track) /
                   (double)scenario->ticks_per_second;
    if (arm->swing.kind != SPAN_FIXED || arm->hand > 1 || steps < 1 ||
        steps > (double)(UINT32_MAX / 2))
        return false;
    if (fabs(steps - floor(steps + 0.5)) > 1e-9)
        return true; /* it falls upon other places each time round */
    return greatest_divisor(layout_track_cells(scenario, track), (uint32_t)(steps + 0.5)) == 1;
}

/* The one arm that feeds a lane, or takes from it, whatever it carries; NO_INDEX: not one. */
static uint32_t only_arm(const struct scenario *scenario, uint32_t track, bool feeds) {
    uint32_t found = NO_INDEX;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct place end = feeds ? scenario->arm[i].to : scenario->arm[i].from;
        if (layout_track(scenario, end) != track)
            continue;
        if (found != NO_INDEX)
            return NO_INDEX;
        found = i;
    }
    return found;
}

static double seconds_of(const struct scenario *scenario, const struct scenario_arm *arm) {
    double ticks = (double)(arm->swing.mean_ticks > 0 ? arm->swing.mean_ticks : 1);
    return ticks / (double)scenario->ticks_per_second / arm->hand;
}

void budget_kwo(struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    for (uint32_t lane = 0; lane < scenario->lane_count; lane++) {
        uint32_t feeder = only_arm(scenario, lane, true), taker = only_arm(scenario, lane, false);
        struct budget_track *track = &budget->track[lane];
        if (feeder == NO_INDEX || taker == NO_INDEX)
            continue;
        const struct scenario_arm *in = &scenario->arm[feeder], *out = &scenario->arm[taker];
        double length = 1;
        for (uint32_t n = 0; n < in->item_count; n++)
            length = fmax(length, scenario->item[in->item[n]].length);
        bool asked = scenario_has_orders(scenario);
        track->fits_kwo = true;
        track->kwo = (struct budget_kwo){
            .length = track->cells,
            .speed = track->rate,
            .spacing = length,
            .parts_per_carrier = 1,
            .load_time = seconds_of(scenario, in),
            .unload_time = seconds_of(scenario, out),
            .load_rate = asked ? budget->arm[feeder].needed : budget->arm[feeder].greatest,
            .unload_rate = asked ? budget->arm[taker].needed : budget->arm[feeder].greatest,
            .spread_evenly = spreads(scenario, lane, in)};
        budget_kwo_judge(&track->kwo);
    }
}
