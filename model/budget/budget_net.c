/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_net.c - spreads items from where they begin until nothing new is reached. */
#include "model/budget/budget_net.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

/* ---- places ---- */

uint32_t budget_from(const struct scenario *scenario, uint32_t arm) {
    return layout_source(scenario, scenario->arm[arm].from);
}

uint32_t budget_to(const struct scenario *scenario, uint32_t arm) {
    return layout_target(scenario, scenario->arm[arm].to);
}

size_t budget_at(const struct scenario *scenario, uint32_t place, uint32_t item) {
    return (size_t)place * scenario->item_count + item;
}

bool budget_carries(const struct budget_net *net, uint32_t arm, uint32_t n) {
    const struct scenario *scenario = net->scenario;
    return net->comes[budget_at(scenario, budget_from(scenario, arm), scenario->arm[arm].item[n])];
}

bool budget_carries_on(const struct budget_net *net, uint32_t arm, uint32_t n) {
    const struct scenario *scenario = net->scenario;
    return net->lasts[budget_at(scenario, budget_from(scenario, arm), scenario->arm[arm].item[n])];
}

size_t budget_entry(const struct budget_net *net, uint32_t arm, uint32_t item) {
    uint32_t n = 0;
    while (net->scenario->arm[arm].item[n] != item)
        n++;
    return (size_t)net->first[arm] + n;
}

bool budget_carries_item(const struct budget_net *net, uint32_t arm, uint32_t item) {
    for (uint32_t n = 0; n < net->scenario->arm[arm].item_count; n++)
        if (net->scenario->arm[arm].item[n] == item)
            return budget_carries(net, arm, n);
    return false;
}

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
    const struct item_counts *takes = &scenario->station[station].takes;
    for (uint32_t i = 0; i < takes->count; i++)
        if (takes->entry[i].item == item)
            return (double)takes->entry[i].count;
    return 0;
}

/* ---- supplies and demands ---- */

double budget_stream_rate(const struct scenario *scenario, const struct scenario_stream *stream) {
    double every = (double)(stream->every.mean_ticks > 0 ? stream->every.mean_ticks : 1);
    return (double)stream->batch * (double)scenario->ticks_per_second / every;
}

/* Adds up streams of one chest and item that flow at the same time, and keeps the most of any time:
 * morning orders and evening orders are not needed at once. Outlets ask for nothing. */
static void gather(const struct scenario *scenario, const struct scenario_stream *stream,
                   uint32_t count, bool breaks, double *rate) {
    for (uint32_t i = 0; i < count; i++) {
        double all = 0;
        for (uint32_t j = 0; j < count; j++) {
            bool same = stream[j].chest == stream[i].chest && stream[j].item == stream[i].item;
            if (!same || stream[j].outlet || stream[j].from_tick > stream[i].from_tick ||
                stream[j].until_tick <= stream[i].from_tick)
                continue;
            all += budget_stream_rate(scenario, &stream[j]) *
                   (breaks ? budget_availability(&stream[j].breaks) : 1);
        }
        size_t at = budget_at(scenario, stream[i].chest, stream[i].item);
        rate[at] = all > rate[at] ? all : rate[at];
    }
}

/* ---- where items begin ---- */

static void mark_supplied_or_made(const struct scenario *scenario, bool *mark) {
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        mark[scenario->supply[i].item] = true;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++)
            mark[scenario->station[i].makes[j].item] = true;
}

static bool has_arm_from(const struct scenario *scenario, uint32_t chest, uint32_t item) {
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        for (uint32_t n = 0;
             arm->from.kind == PLACE_CHEST && arm->from.index == chest && n < arm->item_count; n++)
            if (arm->item[n] == item)
                return true;
    }
    return false;
}

/* Never supplied nor made: it lies where it lies at the start, or else where arms that name few
 * kinds come to fetch it. */
static void mark_unlimited(struct budget_net *net, uint32_t item) {
    const struct scenario *scenario = net->scenario;
    bool starts = false;
    for (uint32_t c = 0; c < scenario->chest_count; c++) {
        const struct item_counts *start = &scenario->chest[c].start;
        for (uint32_t i = 0; i < start->count; i++)
            if (start->entry[i].item == item && start->entry[i].count > 0)
                starts = net->unlimited[budget_at(scenario, c, item)] = true;
    }
    for (uint32_t c = 0; !starts && c < scenario->chest_count; c++) {
        bool brought = false;
        for (uint32_t i = 0; i < scenario->arm_count; i++)
            brought = brought ||
                      (scenario->arm[i].to.kind == PLACE_CHEST && scenario->arm[i].to.index == c);
        if (!brought && has_arm_from(scenario, c, item))
            net->unlimited[budget_at(scenario, c, item)] = true;
    }
}

/* ---- spreading ---- */

/* Marks where arms and stations bring what is `there`; true: something was not marked yet. */
static bool bring_by_arms(const struct scenario *scenario, const bool *there, bool *brought) {
    bool changed = false;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        for (uint32_t n = 0; n < scenario->arm[i].item_count; n++) {
            uint32_t item = scenario->arm[i].item[n];
            size_t to = budget_at(scenario, budget_to(scenario, i), item);
            if (brought[to] || !there[budget_at(scenario, budget_from(scenario, i), item)])
                continue;
            changed = brought[to] = true;
        }
    return changed;
}

static bool can_work(const struct scenario *scenario, uint32_t station, const bool *there) {
    const struct item_counts *takes = &scenario->station[station].takes;
    for (uint32_t i = 0; i < takes->count; i++)
        if (!there[budget_at(scenario, layout_input_place(scenario, station),
                             takes->entry[i].item)])
            return false;
    return true;
}

static bool bring_by_stations(const struct scenario *scenario, const bool *there, bool *brought) {
    bool changed = false;
    for (uint32_t s = 0; s < scenario->station_count; s++)
        for (uint32_t i = 0; i < scenario->station[s].makes_count; i++) {
            const struct station_output *output = &scenario->station[s].makes[i];
            size_t at = budget_at(scenario, layout_output_place(scenario, s), output->item);
            if (brought[at] || budget_yield(output) <= 0 || !can_work(scenario, s, there))
                continue;
            changed = brought[at] = true;
        }
    return changed;
}

static void spread(const struct scenario *scenario, bool *there) {
    bool changed = true;
    while (changed) {
        changed = bring_by_arms(scenario, there, there);
        changed = bring_by_stations(scenario, there, there) || changed;
    }
}

/* Takes away what nothing brings any more, and what hung on that. What goes round, like a jig that
 * is taken and given back, stays: it brings itself. */
static void wither(const struct budget_net *net, bool *there) {
    const struct scenario *scenario = net->scenario;
    size_t all = (size_t)net->place_count * scenario->item_count;
    size_t chests = (size_t)scenario->chest_count * scenario->item_count;
    bool *brought = require_memory(all, sizeof *brought);
    bool changed = true;
    while (changed) {
        changed = false;
        for (size_t i = 0; i < all; i++)
            brought[i] = i < chests && (net->unlimited[i] || net->supply[i] > 0);
        bring_by_arms(scenario, there, brought);
        bring_by_stations(scenario, there, brought);
        for (size_t i = 0; i < all; i++) {
            changed = changed || (there[i] && !brought[i]);
            there[i] = there[i] && brought[i];
        }
    }
    free(brought);
}

static void begin_comes(struct budget_net *net) {
    const struct scenario *scenario = net->scenario;
    for (uint32_t c = 0; c < scenario->chest_count; c++)
        for (uint32_t i = 0; i < scenario->chest[c].start.count; i++)
            if (scenario->chest[c].start.entry[i].count > 0)
                net->comes[budget_at(scenario, c, scenario->chest[c].start.entry[i].item)] = true;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_DROP)
            net->comes[budget_at(
                scenario, layout_track_place(scenario, layout_track(scenario, incident->track)),
                incident->item)] = true;
    }
}

static void find_unlimited(struct budget_net *net) {
    const struct scenario *scenario = net->scenario;
    bool *comes_anew = require_memory(scenario->item_count, sizeof *comes_anew);
    mark_supplied_or_made(scenario, comes_anew);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (!comes_anew[i])
            mark_unlimited(net, i);
    free(comes_anew);
    size_t count = (size_t)scenario->chest_count * scenario->item_count;
    for (size_t i = 0; i < count; i++)
        net->comes[i] = net->comes[i] || net->unlimited[i] || net->supply[i] > 0;
}

static void list_carriers(struct budget_net *net) {
    const struct scenario *scenario = net->scenario;
    net->first_carrier =
        require_memory((size_t)scenario->item_count + 1, sizeof *net->first_carrier);
    net->carrier = require_memory(net->first[scenario->arm_count], sizeof *net->carrier);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        for (uint32_t n = 0; n < scenario->arm[i].item_count; n++)
            net->first_carrier[scenario->arm[i].item[n] + 1]++;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        net->first_carrier[i + 1] += net->first_carrier[i];
    uint32_t *next = require_memory(scenario->item_count, sizeof *next);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        next[i] = net->first_carrier[i];
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        for (uint32_t n = 0; n < scenario->arm[i].item_count; n++)
            net->carrier[next[scenario->arm[i].item[n]]++] = i;
    free(next);
}

void budget_net_init(struct budget_net *net, const struct scenario *scenario) {
    *net = (struct budget_net){.scenario = scenario};
    net->place_count = layout_place_count(scenario);
    size_t all = (size_t)net->place_count * scenario->item_count;
    size_t chests = (size_t)scenario->chest_count * scenario->item_count;
    net->comes = require_memory(all, sizeof *net->comes);
    net->lasts = require_memory(all, sizeof *net->lasts);
    net->unlimited = require_memory(chests, sizeof *net->unlimited);
    net->supply = require_memory(chests, sizeof *net->supply);
    net->demand = require_memory(chests, sizeof *net->demand);
    net->first = require_memory((size_t)scenario->arm_count + 1, sizeof *net->first);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        net->first[i + 1] = net->first[i] + scenario->arm[i].item_count;
    list_carriers(net);
    gather(scenario, scenario->supply, scenario->supply_count, true, net->supply);
    gather(scenario, scenario->demand, scenario->demand_count, false, net->demand);
    begin_comes(net);
    find_unlimited(net);
    spread(scenario, net->comes);
    memcpy(net->lasts, net->comes, all * sizeof *net->lasts);
    wither(net, net->lasts);
}

void budget_net_free(struct budget_net *net) {
    free(net->comes);
    free(net->lasts);
    free(net->unlimited);
    free(net->supply);
    free(net->demand);
    free(net->first);
    free(net->carrier);
    free(net->first_carrier);
}

/* ---- what arms and stations can do ---- */

static uint32_t shortest(const struct scenario *scenario, const struct scenario_arm *arm) {
    uint32_t length = UINT32_MAX;
    for (uint32_t n = 0; n < arm->item_count; n++)
        if (scenario->item[arm->item[n]].length < length)
            length = scenario->item[arm->item[n]].length;
    return arm->item_count > 0 ? length : 1;
}

/* The most of one of its kinds, or of all together, that a station lets it take or leave at
 * once. */
static int64_t station_lets(const struct scenario *scenario, const struct scenario_arm *arm,
                            bool takes) {
    const struct scenario_station *station =
        &scenario->station[takes ? arm->from.index : arm->to.index];
    bool mixed = arm->from.kind == PLACE_LANE || arm->from.kind == PLACE_LINE;
    int64_t most = 0;
    for (uint32_t n = 0; n < arm->item_count; n++) {
        int64_t one = 0;
        for (uint32_t i = 0; takes && i < station->makes_count; i++)
            if (station->makes[i].item == arm->item[n])
                one = station->makes[i].room;
        for (uint32_t i = 0; !takes && i < station->takes.count; i++)
            if (station->takes.entry[i].item == arm->item[n])
                one = station->ahead * station->takes.entry[i].count;
        most = mixed ? most + one : one > most ? one : most;
    }
    return most;
}

/* How many it can have in its hand: what a station lets it have may be less than the hand holds. */
static uint32_t hand_of(const struct scenario *scenario, const struct scenario_arm *arm) {
    int64_t hand = arm->hand;
    if (arm->from.kind == PLACE_STATION && station_lets(scenario, arm, true) < hand)
        hand = station_lets(scenario, arm, true);
    if (arm->to.kind == PLACE_STATION && station_lets(scenario, arm, false) < hand)
        hand = station_lets(scenario, arm, false);
    return hand > 1 ? (uint32_t)hand : 1;
}

/* Ticks in which an arm with more than one in its hand waits, each swing, for places to come or to
 * pass. What it did last on the lane it did at a step; so of the first wait it has spent already
 * what its swing is longer than whole steps, when swings are all alike. */
static double waits_of(const struct budget *budget, const struct scenario_arm *arm,
                       struct place place, double swing) {
    uint32_t track = layout_track(budget->scenario, place);
    uint32_t hand = hand_of(budget->scenario, arm);
    if (track == NO_INDEX || hand < 2)
        return 0;
    double step =
        (double)budget->scenario->ticks_per_second / budget_track_rate(budget->scenario, track);
    double spent = arm->swing.kind == SPAN_FIXED ? swing / step - floor(swing / step) : 0.5;
    return ((hand - 1) * (double)shortest(budget->scenario, arm) - spent) * step;
}

/* Ticks that the belt needs to bring or carry off a hand. */
static double least_of(const struct budget *budget, const struct scenario_arm *arm,
                       struct place place) {
    uint32_t track = layout_track(budget->scenario, place);
    if (track == NO_INDEX)
        return 1;
    uint32_t hand = hand_of(budget->scenario, arm);
    double passing = hand * (double)shortest(budget->scenario, arm) *
                     (double)budget->scenario->ticks_per_second /
                     budget_track_rate(budget->scenario, track);
    return passing > hand ? passing : hand;
}

static void rate_arm(struct budget *budget, uint32_t index) {
    const struct scenario_arm *arm = &budget->scenario->arm[index];
    double swing = (double)arm->swing.mean_ticks;
    double least = fmax(least_of(budget, arm, arm->from), least_of(budget, arm, arm->to));
    double waits = waits_of(budget, arm, arm->from, swing) + waits_of(budget, arm, arm->to, swing);
    double seconds = (double)budget->scenario->ticks_per_second *
                     budget_availability(&arm->breaks) * hand_of(budget->scenario, arm);
    budget->arm[index].pace = seconds / fmax(swing, 1);
    budget->arm[index].greatest = seconds / fmax(swing, least);
    budget->arm[index].steady = seconds / fmax(swing + fmax(waits, 0), least);
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
                                      budget_availability(&scenario->station[s].breaks);
    }
}
