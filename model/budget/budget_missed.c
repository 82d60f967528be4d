/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_missed.c - items that come by while their taker is away go round once more.
 *
 * A taker that swings for a time s and takes k items a hand is away for a share a = f s / k of the
 * time, when it takes f items a second. If items come by at random it misses that share of them, so
 * that f / (1 - a) come by, and k = 1 + what comes by while it lingers, its hand at most: a fixed
 * point, found by going round. One feeder of one item a swing that is slower than its taker doesn't
 * come at random: nothing is missed. */
#include "model/budget/budget_missed.h"

#include <math.h>

#include "model/budget/budget_net.h"

enum { ROUNDS = 60 };
static const double away_most = 0.95; /* beyond, the lane is full anyway */

/* The only arm that feeds the lane with anything that a taker takes; NO_INDEX: there are several,
 * or none. */
static uint32_t only_feeder(const struct budget_net *net, uint32_t lane, uint32_t taker) {
    uint32_t feeder = NO_INDEX;
    for (uint32_t entry = net->first_entry[taker]; entry < net->first_entry[taker + 1]; entry++) {
        uint32_t item = net->entry_item[entry];
        for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
            if (!budget_feeds(net, k, lane) || net->carrier[k] == feeder)
                continue;
            if (feeder != NO_INDEX)
                return NO_INDEX;
            feeder = net->carrier[k];
        }
    }
    return feeder;
}

/* The only feeder of all that a taker takes, each with one item a swing, the taker faster. */
static bool never_misses(const struct budget *budget, uint32_t lane, uint32_t taker) {
    uint32_t feeder = only_feeder(budget->net, lane, taker);
    if (feeder == NO_INDEX)
        return false;
    const struct scenario_arm *in = &budget->scenario->arm[feeder];
    const struct scenario_arm *out = &budget->scenario->arm[taker];
    return in->hand == 1 && out->hand == 1 && in->swing.kind == SPAN_FIXED &&
           out->swing.kind == SPAN_FIXED && in->swing.ticks >= out->swing.ticks;
}

static double away_of(const struct budget *budget, uint32_t lane, uint32_t taker) {
    const struct scenario_arm *arm = &budget->scenario->arm[taker];
    double tps = (double)budget->scenario->ticks_per_second, flow = budget->arm[taker].needed;
    double swing = (double)arm->swing.mean_ticks / tps, linger = (double)arm->linger_ticks / tps;
    if (flow <= 0 || never_misses(budget, lane, taker))
        return 0;
    double away = 0;
    for (int i = 0; i < ROUNDS; i++) {
        double hand = 1 + fmin(arm->hand - 1, flow / (1 - away) * linger);
        away = (away + fmin(flow / hand * swing, away_most)) / 2;
    }
    return away;
}

/* Share of an item's passes in which all its takers are away; 0: it has none that is needed. */
static double passes_all(const struct budget *budget, uint32_t lane, uint32_t item) {
    double share = 1;
    bool taken = false;
    const struct budget_net *net = budget->net;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        uint32_t arm = net->carrier[k];
        if (!budget_takes_off(net, k, lane) || budget->arm[arm].needed <= 0)
            continue;
        share *= away_of(budget, lane, arm);
        taken = true;
    }
    return taken ? share : 0;
}

double budget_missed(const struct budget *budget, uint32_t lane) {
    const struct scenario *scenario = budget->scenario;
    double missed = 0;
    for (uint32_t item = 0; item < scenario->item_count; item++) {
        double flow = 0;
        const struct budget_net *net = budget->net;
        for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++)
            if (budget_takes_off(net, k, lane))
                flow += budget->flow[net->carrier_entry[k]];
        double share = flow > 0 ? passes_all(budget, lane, item) : 0;
        missed += flow * scenario->item[item].length * share / (1 - share);
    }
    return missed;
}
