/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_fill.c - a taker with a hand of k picks one item at a time as items come by.
 *
 * At its steady rate each next item comes right after the one before. Whether they do depends on
 * what passed while it was away: that comes round again, and gathers in dense rows, with gaps
 * between them. While a row passes the taker works at its steady rate s and the feeders find no
 * place; in a gap the feeders work at their rate f and the taker gets nothing. If rows are the
 * share x of the lane, x s is taken and (1 - x) f is put on; both are the same at f s / (f + s).
 * That much is sure. At small rates it is too little: an arm is ready again when it has lingered
 * and swung since the first item of its hand, so that items which come no more often than that each
 * meet an empty hand; none is missed, no rows form, and all are taken. tests/unit/test_fill.c holds
 * both against runs. A line brings what was missed no second time: it waits there. */
#include "model/budget/budget_fill.h"

#include <math.h>
#include <stdlib.h>

#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "sim/require.h"

enum { BISECTIONS = 50 };

/* Sums over arms, each counted once. */
struct counter {
    const struct budget *budget;
    uint32_t *seen; /* [arm] the last count in which it was met */
    uint32_t count;
};

static bool is_new(struct counter *counter, uint32_t arm) {
    bool found = counter->seen[arm] != counter->count;
    counter->seen[arm] = counter->count;
    return found;
}

/* Rates of arms at a lane, summed: of those that feed it, of those that take from it, and of the
 * latter when each swing moves but one item and lingers in vain for more. */
struct rates {
    double fed, taken, taken_singly;
};

static double singly(const struct budget *budget, uint32_t index) {
    const struct scenario_arm *arm = &budget->scenario->arm[index];
    double ticks = (double)arm->swing.mean_ticks + (double)arm->linger_ticks;
    return (double)budget->scenario->ticks_per_second * budget_availability(arm->breaks) /
           fmax(ticks, 1);
}

static void add_rate(struct counter *counter, struct rates *rates, uint32_t carrier,
                     uint32_t lane) {
    const struct budget_net *net = counter->budget->net;
    uint32_t arm = net->carrier[carrier];
    bool feeds = budget_feeds(net, carrier, lane), takes = budget_takes_off(net, carrier, lane);
    if ((!feeds && !takes) || !is_new(counter, arm))
        return;
    if (feeds)
        rates->fed += budget_feeds_at_most(counter->budget, arm);
    if (takes) {
        rates->taken += counter->budget->arm[arm].steady;
        rates->taken_singly += singly(counter->budget, arm);
    }
}

/* Of all arms that feed a lane with what an arm takes from it, or that take any of it. */
static struct rates rates_of(struct counter *counter, uint32_t taker, uint32_t lane) {
    const struct budget_net *net = counter->budget->net;
    struct rates rates = {0};
    counter->count++;
    for (uint32_t entry = net->first_entry[taker]; entry < net->first_entry[taker + 1]; entry++) {
        uint32_t item = net->entry_item[entry];
        for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++)
            add_rate(counter, &rates, k, lane);
    }
    return rates;
}

/* Of what the takers can do, at their steady rates. */
static double sure_share(const struct rates *rates) {
    double with_rows = rates->fed / (rates->fed + rates->taken);
    return fmax(with_rows, fmin(rates->fed, rates->taken_singly) / rates->taken);
}

void budget_fill(struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    struct counter counter = {.budget = budget};
    counter.seen = require_memory(scenario->arm_count, sizeof *counter.seen);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        budget->arm[i].sure = budget->arm[i].steady;
        if (arm->from.kind != PLACE_LANE || budget_hand(scenario, arm) < 2)
            continue;
        struct rates rates = rates_of(&counter, i, arm->from.index);
        if (rates.fed > 0 && rates.taken > 0)
            budget->arm[i].sure = budget->arm[i].steady * sure_share(&rates);
    }
    free(counter.seen);
}

/* ---- what must come by ---- */

/* What a hand gets when so many items a second come by while it picks. */
static double filled_at(const struct scenario *scenario, const struct scenario_arm *arm,
                        double flow) {
    double linger = (double)arm->linger_ticks / (double)scenario->ticks_per_second;
    return fmin(budget_hand(scenario, arm), 1 + flow * linger);
}

/* The most items a second that an arm then takes: the first of each hand stands before it as it
 * comes back, the others come by in time, and it swings. */
static double taken_at(const struct scenario *scenario, const struct scenario_arm *arm,
                       double flow) {
    double swing = (double)arm->swing.mean_ticks / (double)scenario->ticks_per_second;
    double linger = (double)arm->linger_ticks / (double)scenario->ticks_per_second;
    double hand = filled_at(scenario, arm, flow);
    double filling = fmin((hand - 1) / flow, linger);
    return hand / (filling + swing) * budget_availability(arm->breaks);
}

/* The least flow at which an arm takes what is needed, by bisection: more never take less. */
static double flow_for(const struct budget *budget, uint32_t index, double most) {
    const struct scenario_arm *arm = &budget->scenario->arm[index];
    double low = 0, high = most;
    for (int i = 0; i < BISECTIONS; i++) {
        double middle = (low + high) / 2;
        if (taken_at(budget->scenario, arm, middle) < budget->arm[index].needed)
            low = middle;
        else
            high = middle;
    }
    return high;
}

static void report(struct budget *budget, uint32_t index) {
    const struct scenario *scenario = budget->scenario;
    const struct scenario_arm *arm = &scenario->arm[index];
    const struct budget_arm *figures = &budget->arm[index];
    double most = budget_track_rate(scenario, arm->from.index) / budget_shortest(scenario, arm);
    double flow = flow_for(budget, index, most);
    budget->demand_sure = false;
    budget_texts_add(&budget->notes,
                     "%s: for %.4g a minute %.2g of its items a second must come by while it "
                     "picks, %.0f %% of the places of %s, so that a hand of %u gets %.2g; %.4g a "
                     "minute are sure however they come by, %.4g are the most",
                     arm->name, 60 * figures->needed, flow, 100 * flow / most,
                     layout_track_name(scenario, arm->from.index), arm->hand,
                     filled_at(scenario, arm, flow), 60 * figures->sure, 60 * figures->steady);
}

void budget_fill_report(struct budget *budget) {
    for (uint32_t i = 0; i < budget->scenario->arm_count; i++)
        if (budget->arm[i].needed > budget->arm[i].sure * (1 + 1e-9) &&
            budget->arm[i].needed <= budget->arm[i].steady)
            report(budget, i);
}
