/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_why.c - what no design can help comes first. */
#include "tools/design/search_why.h"

#include <math.h>
#include <stdio.h>

#include "tools/base/interrupt.h"
#include "tools/design/trials_why.h"

static bool only_restart_fails(const struct trials *trials) {
    const struct trial_result *night = &trials->trial[TRIAL_NIGHT];
    const struct trial_result *restart = &trials->trial[TRIAL_RESTART];
    return trials->rules_hold && trials->demand_met && restart->done && !restart->holds &&
           (!night->done || night->holds);
}

/* Where all products are ordered seldom, none can be made nine times in the hour that a restart
 * has. */
static bool explain_restart(struct search *search) {
    enum { MAKINGS = 9, HOUR_SECONDS = 3600 };
    const struct scenario *scenario = search->draft->scenario;
    const struct scenario_stream *most = NULL;
    for (uint32_t i = 0; only_restart_fails(&search->trials) && i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        if (!demand->outlet && (most == NULL || demand->every.mean_ticks < most->every.mean_ticks))
            most = demand;
    }
    double tps = (double)scenario->ticks_per_second;
    if (most == NULL)
        return false;
    double seconds = (double)most->every.mean_ticks / tps;
    if (MAKINGS * seconds < 0.8 * HOUR_SECONDS)
        return false;
    snprintf(search->why, DESIGN_WHY_BYTES,
             "%s is ordered most often, once in %.4g s on average, so that the nine makings that a "
             "restart waits for take %.4g s, and it has 3600 s; `may.survive.restart: false` "
             "leaves it out",
             scenario->item[most->item].name, seconds, MAKINGS * seconds);
    return true;
}

/* Orders of several at once, by chance. A product counts as stuck when it was not made for ten of
 * its mean intervals, which are 10 / batch of the orders': with stations busy for a share u of the
 * time, that comes at a moment with probability (1 - u) exp(-10 / batch), whatever is built, since
 * idle times are as random as the orders (M/G/1 with batches). */
static const struct scenario_stream *rare_batches(const struct search *search, double *chance) {
    const struct scenario *scenario = search->draft->scenario;
    const struct scenario_stream *worst = NULL;
    *chance = 0;
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        double own =
            exp(-10 / (double)demand->batch) * plan_idle_share(&search->plan, demand->item);
        if (demand->outlet || demand->every.kind != SPAN_EXPONENTIAL || own <= *chance)
            continue;
        *chance = own;
        worst = demand;
    }
    return *chance >= 0.002 ? worst : NULL;
}

bool search_why_only_batches(const struct search *search) {
    const struct trials *trials = &search->trials;
    const struct trial_result *disturbed = &trials->trial[TRIAL_DISTURBED];
    double chance;
    for (int i = 0; i < TRIAL_DISTURBED; i++)
        if (trials->trial[i].asked && !(trials->trial[i].done && trials->trial[i].holds))
            return false;
    return disturbed->done && !disturbed->holds && trials->rules_hold && trials->demand_met &&
           rare_batches(search, &chance) != NULL &&
           disturbed->failed <= 1 + 3 * chance * (double)search->wish.may->seeds;
}

static bool explain_disturbed(struct search *search) {
    const struct trial_result *disturbed = &search->trials.trial[TRIAL_DISTURBED];
    double chance;
    if (!search_why_only_batches(search))
        return false;
    const struct scenario_stream *demand = rare_batches(search, &chance);
    snprintf(search->why, DESIGN_WHY_BYTES,
             "orders of %lld %s at once come at random: in about %.2g %% of all nights none comes "
             "before the end for ten of its mean intervals between makings, which counts as stuck "
             "(%u of %u nights here), whatever is built; `may.survive.disturb: false` leaves it "
             "out",
             (long long)demand->batch, search->draft->scenario->item[demand->item].name,
             100 * chance, disturbed->failed, disturbed->runs);
    return true;
}

void search_why(struct search *search) {
    if (interrupt_signal() != 0)
        snprintf(search->why, DESIGN_WHY_BYTES,
                 "a signal stopped it at try %u: this is the best so far, and what is not said of "
                 "it was not tried",
                 search->tries);
    else if (!explain_disturbed(search) && !explain_restart(search))
        trials_why(&search->trials, search->draft->scenario, search->tries, search->why);
}
