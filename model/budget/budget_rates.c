/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_rates.c - rates from swings, hands, times and breakdowns. */
#include "model/budget/budget_rates.h"

#include <math.h>

#include "model/scenario/layout.h"

/* ---- numbers of the scenario ---- */

double budget_availability(const struct breaks *breaks) {
    if (!breaks->present)
        return 1;
    double after = (double)breaks->after.mean_ticks, repair = (double)breaks->repair.mean_ticks;
    return after + repair > 0 ? after / (after + repair) : 1;
}

double budget_track_rate(const struct scenario *scenario, uint32_t track) {
    struct ratio rate = layout_track_rate(scenario, track);
    return (double)rate.numerator / (double)rate.denominator;
}

double budget_yield(const struct station_output *output) {
    return (double)output->count * (output->has_chance ? output->chance : 1);
}

double budget_makes(const struct scenario *scenario, uint32_t station, uint32_t item) {
    double made = 0;
    for (uint32_t i = 0; i < scenario->station[station].makes_count; i++)
        if (scenario->station[station].makes[i].item == item)
            made += budget_yield(&scenario->station[station].makes[i]);
    return made;
}

double budget_takes(const struct scenario *scenario, uint32_t station, uint32_t item) {
    return (double)layout_batch_takes(scenario, station, item);
}

double budget_stream_rate(const struct scenario *scenario, const struct scenario_stream *stream) {
    double every = (double)(stream->every.mean_ticks > 0 ? stream->every.mean_ticks : 1);
    return (double)stream->batch * (double)scenario->ticks_per_second / every;
}

/* ---- what arms and stations can do ---- */

double budget_shortest(const struct scenario *scenario, const struct scenario_arm *arm) {
    uint32_t length = UINT32_MAX;
    for (uint32_t n = 0; n < arm->item_count; n++)
        if (scenario->item[arm->item[n]].length < length)
            length = scenario->item[arm->item[n]].length;
    return arm->item_count > 0 ? length : 1;
}

/* The most of one of its kinds that an arm can take at once out of a station. */
static int64_t station_gives(const struct scenario *scenario, const struct scenario_arm *arm) {
    const struct scenario_station *station = &scenario->station[arm->from.index];
    int64_t most = 0;
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].room > most && layout_may_carry(arm, station->makes[i].item))
            most = station->makes[i].room;
    return most;
}

/* The most of one of its kinds, or of all together where it picks them from a belt, that a station
 * takes at once. */
static int64_t station_takes(const struct scenario *scenario, const struct scenario_arm *arm) {
    const struct scenario_station *station = &scenario->station[arm->to.index];
    bool mixed = layout_is_track(arm->from);
    int64_t most = 0;
    for (uint32_t i = 0; i < station->takes.count; i++) {
        int64_t one = station->ahead * station->takes.entry[i].count;
        if (layout_may_carry(arm, station->takes.entry[i].item))
            most = mixed ? most + one : one > most ? one : most;
    }
    return most;
}

uint32_t budget_hand(const struct scenario *scenario, const struct scenario_arm *arm) {
    int64_t hand = arm->hand;
    if (arm->from.kind == PLACE_STATION && station_gives(scenario, arm) < hand)
        hand = station_gives(scenario, arm);
    if (arm->to.kind == PLACE_STATION && station_takes(scenario, arm) < hand)
        hand = station_takes(scenario, arm);
    return hand > 1 ? (uint32_t)hand : 1;
}

/* Ticks in which the belt at a place of it moves on by the arm's shortest item. */
static double item_ticks(const struct scenario *scenario, const struct scenario_arm *arm,
                         struct place place) {
    uint32_t track = layout_track(scenario, place);
    return budget_shortest(scenario, arm) * (double)scenario->ticks_per_second /
           budget_track_rate(scenario, track);
}

/* How many it has in its hand when each item comes right after the one before: from a belt no more
 * than come while it lingers. */
static double filled(const struct scenario *scenario, const struct scenario_arm *arm) {
    double hand = budget_hand(scenario, arm);
    if (!layout_is_track(arm->from))
        return hand;
    return fmin(hand, 1 + (double)arm->linger_ticks / item_ticks(scenario, arm, arm->from));
}

/* Ticks in which an arm with more than one in its hand waits, each swing, for places to come or to
 * pass. What it did last on the lane it did at a step; so of the first wait it has spent already
 * what its swing is longer than whole steps, when swings are all alike. */
static double waits_of(const struct scenario *scenario, const struct scenario_arm *arm,
                       struct place place, double hand) {
    uint32_t track = layout_track(scenario, place);
    if (track == NO_INDEX || hand <= 1)
        return 0;
    double step = (double)scenario->ticks_per_second / budget_track_rate(scenario, track);
    double swing = (double)arm->swing.mean_ticks;
    double spent = arm->swing.kind == SPAN_FIXED ? swing / step - floor(swing / step) : 0.5;
    return ((hand - 1) * budget_shortest(scenario, arm) - spent) * step;
}

/* Ticks that the belt needs to bring or carry off a hand. */
static double least_of(const struct scenario *scenario, const struct scenario_arm *arm,
                       struct place place, double hand) {
    if (!layout_is_track(place))
        return 1;
    return fmax(hand * item_ticks(scenario, arm, place), hand);
}

static double least_of_both(const struct scenario *scenario, const struct scenario_arm *arm,
                            double hand) {
    return fmax(least_of(scenario, arm, arm->from, hand), least_of(scenario, arm, arm->to, hand));
}

static void rate_arm(struct budget *budget, uint32_t index) {
    const struct scenario *scenario = budget->scenario;
    const struct scenario_arm *arm = &scenario->arm[index];
    double swing = (double)arm->swing.mean_ticks;
    double hand = budget_hand(scenario, arm), full = filled(scenario, arm);
    double waits =
        waits_of(scenario, arm, arm->from, full) + waits_of(scenario, arm, arm->to, full);
    double seconds = (double)scenario->ticks_per_second * budget_availability(arm->breaks);
    struct budget_arm *figures = &budget->arm[index];
    figures->peak_rate = seconds * hand / fmax(swing, 1);
    figures->greatest = seconds * hand / fmax(swing, least_of_both(scenario, arm, hand));
    figures->steady =
        seconds * full / fmax(swing + fmax(waits, 0), least_of_both(scenario, arm, full));
}

void budget_rates(struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        rate_arm(budget, i);
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        double time =
            (double)(scenario->station[s].time.mean_ticks > 0 ? scenario->station[s].time.mean_ticks
                                                              : 1);
        budget->station[s].greatest = (double)scenario->ticks_per_second / time *
                                      budget_availability(scenario->station[s].breaks);
    }
}

/* ---- feeders ---- */

double budget_feeds_at_most(const struct budget *budget, uint32_t arm) {
    const struct scenario_arm *fixed = &budget->scenario->arm[arm];
    double rate = budget->arm[arm].greatest, made = 0;
    if (fixed->from.kind != PLACE_STATION)
        return rate;
    const struct scenario_station *station = &budget->scenario->station[fixed->from.index];
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (layout_may_carry(fixed, station->makes[i].item))
            made += budget->station[fixed->from.index].greatest * budget_yield(&station->makes[i]);
    return made < rate ? made : rate;
}

double budget_feeds_of_item(const struct budget *budget, uint32_t arm, uint32_t item) {
    double rate = budget->arm[arm].greatest;
    struct place from = budget->scenario->arm[arm].from;
    if (from.kind != PLACE_STATION)
        return rate;
    return fmin(rate, budget->station[from.index].greatest *
                          budget_makes(budget->scenario, from.index, item));
}
