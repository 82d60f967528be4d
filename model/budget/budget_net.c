/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_net.c - lists the pairs, the entries and the carriers; then marks pairs from
 * where items begin until nothing new is reached, this time with stations that must have their
 * inputs. */
#include "model/budget/budget_net.h"

#include <stdlib.h>
#include <string.h>

#include "model/budget/budget_rates.h"
#include "model/scenario/pairs.h"
#include "model/scenario/reach.h"
#include "sim/array.h"
#include "sim/require.h"

/* ---- where items begin ---- */

static void mark_supplied_or_made(const struct scenario *scenario, bool *mark) {
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        mark[scenario->supply[i].item] = true;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++)
            mark[scenario->station[i].makes[j].item] = true;
}

static void mark_started(const struct scenario *scenario, bool *mark) {
    for (uint32_t c = 0; c < scenario->chest_count; c++)
        for (uint32_t i = 0; i < scenario->chest[c].start.count; i++)
            if (scenario->chest[c].start.entry[i].count > 0)
                mark[scenario->chest[c].start.entry[i].item] = true;
}

/* Whether anything lies in a chest at the start, is supplied or dropped. */
static bool brings_anything(const struct scenario *scenario) {
    bool some = scenario->supply_count > 0;
    for (uint32_t c = 0; c < scenario->chest_count && !some; c++)
        for (uint32_t i = 0; i < scenario->chest[c].start.count; i++)
            some |= scenario->chest[c].start.entry[i].count > 0;
    for (uint32_t i = 0; i < scenario->incident_count && !some; i++)
        some = scenario->incident[i].kind == INCIDENT_DROP;
    return some;
}

/* Notes what begins nowhere at all where arms come to fetch it, from a chest to which none brings
 * anything: there is no end to it. */
static void note_fetched(const struct budget_net *net, const bool *begins, struct pairs *fetched) {
    const struct scenario *scenario = net->scenario;
    for (uint32_t c = 0; c < scenario->chest_count; c++) {
        bool brought = net->by_target.first[c] < net->by_target.first[c + 1];
        for (uint32_t k = net->by_source.first[c]; !brought && k < net->by_source.first[c + 1];
             k++) {
            const struct scenario_arm *arm = &scenario->arm[net->by_source.arm[k]];
            for (uint32_t n = 0; n < arm->item_count; n++)
                if (!begins[arm->item[n]])
                    pairs_add(fetched, c, arm->item[n], 0);
        }
    }
}

/* Also notes what is neither supplied nor made where it lies at the start. */
static struct pairs list_unlimited(const struct budget_net *net, enum net_fetched fetched) {
    const struct scenario *scenario = net->scenario;
    struct pairs unlimited = {0};
    bool *comes_anew = require_memory(scenario->item_count, sizeof *comes_anew);
    mark_supplied_or_made(scenario, comes_anew);
    for (uint32_t c = 0; c < scenario->chest_count; c++)
        for (uint32_t i = 0; i < scenario->chest[c].start.count; i++) {
            struct item_count start = scenario->chest[c].start.entry[i];
            if (start.count > 0 && !comes_anew[start.item])
                pairs_add(&unlimited, c, start.item, 0);
        }
    mark_started(scenario, comes_anew);
    if (fetched == NET_FETCHED_WITHOUT_END || !brings_anything(scenario))
        note_fetched(net, comes_anew, &unlimited);
    free(comes_anew);
    return unlimited;
}

/* ---- pairs ---- */

static struct pairs find_pairs(const struct budget_net *net, const struct pairs *unlimited) {
    const struct scenario *scenario = net->scenario;
    struct reach reach = reach_begin(scenario, REACH_WITH_DROPS);
    for (uint32_t i = 0; i < unlimited->count; i++)
        reach_add(&reach, (uint32_t)(unlimited->pair[i] >> 32), (uint32_t)unlimited->pair[i]);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        reach_add(&reach, scenario->demand[i].chest, scenario->demand[i].item);
    reach_spread(&reach, REACH_NO_STEPS_LIMIT);
    for (uint32_t s = 0; s < scenario->station_count; s++)
        for (uint32_t i = 0; i < scenario->station[s].takes.count; i++)
            reach_add(&reach, layout_input_place(scenario, s),
                      scenario->station[s].takes.entry[i].item);
    struct pairs found = reach.reached;
    reach.reached = (struct pairs){0};
    reach_free(&reach);
    return found;
}

static int by_key(const void *first, const void *second) {
    uint64_t a = *(const uint64_t *)first, b = *(const uint64_t *)second;
    return (a > b) - (a < b);
}

static void list_pairs(struct budget_net *net, const struct pairs *unlimited) {
    struct pairs found = find_pairs(net, unlimited);
    net->pair_count = found.count;
    net->pair_place = require_memory(found.count, sizeof *net->pair_place);
    net->pair_item = require_memory(found.count, sizeof *net->pair_item);
    net->first_pair = require_memory((size_t)net->place_count + 1, sizeof *net->first_pair);
    if (found.count > 0)
        qsort(found.pair, found.count, sizeof *found.pair, by_key);
    for (uint32_t i = 0; i < net->pair_count; i++) {
        net->pair_place[i] = (uint32_t)(found.pair[i] >> 32);
        net->pair_item[i] = (uint32_t)found.pair[i];
        net->first_pair[net->pair_place[i] + 1]++;
    }
    for (uint32_t p = 0; p < net->place_count; p++)
        net->first_pair[p + 1] += net->first_pair[p];
    pairs_free(&found);
    net->by_item = budget_group_by(net->pair_item, net->pair_count, net->scenario->item_count);
}

uint32_t budget_place_item_index(const struct budget_net *net, uint32_t place, uint32_t item) {
    uint32_t low = net->first_pair[place], end = net->first_pair[place + 1], high = end;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (net->pair_item[middle] < item)
            low = middle + 1;
        else
            high = middle;
    }
    return low < end && net->pair_item[low] == item ? low : NO_INDEX;
}

bool budget_is_reachable(const struct budget_net *net, uint32_t place, uint32_t item) {
    uint32_t pair = budget_place_item_index(net, place, item);
    return pair != NO_INDEX && net->reachable[pair];
}

bool budget_is_reachable_long_run(const struct budget_net *net, uint32_t place, uint32_t item) {
    uint32_t pair = budget_place_item_index(net, place, item);
    return pair != NO_INDEX && net->reachable_long_run[pair];
}

/* ---- entries and carriers ---- */

static void add_entry(struct budget_net *net, uint32_t count, uint32_t pair) {
    uint32_t **const list[] = {&net->source_pair, &net->target_pair, &net->entry_item};
    uint32_t before = net->entry_capacity;
    for (size_t k = 0; k < sizeof list / sizeof *list; k++) {
        net->entry_capacity = before;
        *list[k] = array_with_room(*list[k], count, &net->entry_capacity, sizeof **list[k]);
    }
    net->source_pair[count] = pair;
    net->entry_item[count] = net->pair_item[pair];
}

/* Adds the entries of an arm from `count` on, in the order in which it names its items; returns
 * where they end. An arm that carries whatever fits names its items in rising order, as pairs
 * are. */
static uint32_t add_entries(struct budget_net *net, uint32_t index, uint32_t count) {
    const struct scenario_arm *arm = &net->scenario->arm[index];
    uint32_t source = layout_source(net->scenario, arm->from);
    for (uint32_t n = 0; !arm->takes_what_fits && n < arm->item_count; n++) {
        uint32_t pair = budget_place_item_index(net, source, arm->item[n]);
        if (pair != NO_INDEX)
            add_entry(net, count++, pair);
    }
    for (uint32_t pair = net->first_pair[source];
         arm->takes_what_fits && pair < net->first_pair[source + 1]; pair++)
        if (layout_may_carry(arm, net->pair_item[pair]))
            add_entry(net, count++, pair);
    return count;
}

static void list_entries(struct budget_net *net) {
    const struct scenario *scenario = net->scenario;
    uint32_t count = 0;
    net->first_entry = require_memory((size_t)scenario->arm_count + 1, sizeof *net->first_entry);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        uint32_t target = layout_target(scenario, scenario->arm[i].to);
        net->first_entry[i] = count;
        count = add_entries(net, i, count);
        for (uint32_t entry = net->first_entry[i]; entry < count; entry++)
            net->target_pair[entry] = budget_place_item_index(net, target, net->entry_item[entry]);
    }
    net->first_entry[scenario->arm_count] = count;
}

static void list_carriers(struct budget_net *net) {
    uint32_t arms = net->scenario->arm_count, count = net->first_entry[arms];
    struct budget_groups by_item =
        budget_group_by(net->entry_item, count, net->scenario->item_count);
    net->first_carrier = by_item.first;
    net->carrier_entry = by_item.member;
    uint32_t *arm = require_memory(count, sizeof *arm);
    for (uint32_t i = 0; i < arms; i++)
        for (uint32_t entry = net->first_entry[i]; entry < net->first_entry[i + 1]; entry++)
            arm[entry] = i;
    net->carrier = require_memory(count, sizeof *net->carrier);
    for (uint32_t k = 0; k < count; k++)
        net->carrier[k] = arm[net->carrier_entry[k]];
    free(arm);
}

uint32_t budget_arm_item_index(const struct budget_net *net, uint32_t arm, uint32_t item) {
    for (uint32_t entry = net->first_entry[arm]; entry < net->first_entry[arm + 1]; entry++)
        if (net->entry_item[entry] == item)
            return entry;
    return NO_INDEX;
}

bool budget_feeds(const struct budget_net *net, uint32_t carrier, uint32_t lane) {
    struct place to = net->scenario->arm[net->carrier[carrier]].to;
    return to.kind == PLACE_LANE && to.index == lane &&
           budget_carries(net, net->carrier_entry[carrier]);
}

bool budget_takes_off(const struct budget_net *net, uint32_t carrier, uint32_t lane) {
    struct place from = net->scenario->arm[net->carrier[carrier]].from;
    return from.kind == PLACE_LANE && from.index == lane &&
           budget_carries(net, net->carrier_entry[carrier]);
}

bool budget_rides(const struct budget_net *net, uint32_t lane, uint32_t item) {
    return budget_is_reachable(net, layout_track_place(net->scenario, lane), item);
}

/* ---- supplies and demands ---- */

/* Adds up streams of one chest and item that flow at the same time, and keeps the most of any time:
 * morning orders and evening orders are not needed at once. Outlets ask for nothing. */
static void gather(const struct budget_net *net, const struct scenario_stream *stream,
                   uint32_t count, bool breaks, double *rate) {
    uint32_t *pair = require_memory(count, sizeof *pair);
    for (uint32_t i = 0; i < count; i++)
        pair[i] = budget_place_item_index(net, stream[i].chest, stream[i].item);
    struct budget_groups same = budget_group_by(pair, count, net->pair_count);
    for (uint32_t i = 0; i < count; i++) {
        double all = 0;
        for (uint32_t k = same.first[pair[i]]; k < same.first[pair[i] + 1]; k++) {
            const struct scenario_stream *other = &stream[same.member[k]];
            if (other->outlet || other->from_tick > stream[i].from_tick ||
                other->until_tick <= stream[i].from_tick)
                continue;
            all += budget_stream_rate(net->scenario, other) *
                   (breaks ? budget_availability(other->breaks) : 1);
        }
        rate[pair[i]] = all > rate[pair[i]] ? all : rate[pair[i]];
    }
    budget_groups_free(&same);
    free(pair);
}

/* ---- spreading ---- */

static int64_t starts_with(const struct budget_net *net, uint32_t pair) {
    if (net->pair_place[pair] >= net->scenario->chest_count)
        return 0;
    return layout_chest_start(net->scenario, net->pair_place[pair], net->pair_item[pair]);
}

static void mark_begins(struct budget_net *net) {
    const struct scenario *scenario = net->scenario;
    for (uint32_t pair = 0; pair < net->pair_count; pair++)
        net->reachable[pair] =
            net->unlimited[pair] || net->supply[pair] > 0 || starts_with(net, pair) > 0;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_DROP)
            net->reachable[budget_place_item_index(net, layout_target(scenario, incident->track),
                                                   incident->item)] = true;
    }
}

/* Marks where arms and stations bring what is `there`; true: something was not marked yet. */
static bool bring_by_arms(const struct budget_net *net, const bool *there, bool *brought) {
    bool changed = false;
    uint32_t entries = net->first_entry[net->scenario->arm_count];
    for (uint32_t entry = 0; entry < entries; entry++)
        if (!brought[net->target_pair[entry]] && there[net->source_pair[entry]])
            changed = brought[net->target_pair[entry]] = true;
    return changed;
}

static bool can_work(const struct budget_net *net, uint32_t station, const bool *there) {
    uint32_t inputs = layout_input_place(net->scenario, station);
    const struct item_counts *takes = &net->scenario->station[station].takes;
    for (uint32_t i = 0; i < takes->count; i++)
        if (!there[budget_place_item_index(net, inputs, takes->entry[i].item)])
            return false;
    return true;
}

static bool bring_by_stations(const struct budget_net *net, const bool *there, bool *brought) {
    bool changed = false;
    for (uint32_t s = 0; s < net->scenario->station_count; s++)
        for (uint32_t i = 0; i < net->scenario->station[s].makes_count; i++) {
            const struct station_output *output = &net->scenario->station[s].makes[i];
            uint32_t pair =
                budget_place_item_index(net, layout_output_place(net->scenario, s), output->item);
            if (brought[pair] || budget_yield(output) <= 0 || !can_work(net, s, there))
                continue;
            changed = brought[pair] = true;
        }
    return changed;
}

static void spread(const struct budget_net *net, bool *there) {
    bool changed = true;
    while (changed) {
        changed = bring_by_arms(net, there, there);
        changed = bring_by_stations(net, there, there) || changed;
    }
}

/* Takes away what nothing brings any more, and what depended on that. What goes round, like a jig
 * that is taken and given back, stays: it brings itself. */
static void prune_unsustained(const struct budget_net *net, bool *there) {
    bool *brought = require_memory(net->pair_count, sizeof *brought);
    bool changed = true;
    while (changed) {
        changed = false;
        for (uint32_t i = 0; i < net->pair_count; i++)
            brought[i] = net->unlimited[i] || net->supply[i] > 0;
        bring_by_arms(net, there, brought);
        bring_by_stations(net, there, brought);
        for (uint32_t i = 0; i < net->pair_count; i++) {
            changed = changed || (there[i] && !brought[i]);
            there[i] = there[i] && brought[i];
        }
    }
    free(brought);
}

/* ---- all of it ---- */

static void mark_all(struct budget_net *net, const struct pairs *unlimited) {
    const struct scenario *scenario = net->scenario;
    net->reachable = require_memory(net->pair_count, sizeof *net->reachable);
    net->reachable_long_run = require_memory(net->pair_count, sizeof *net->reachable_long_run);
    net->unlimited = require_memory(net->pair_count, sizeof *net->unlimited);
    net->supply = require_memory(net->pair_count, sizeof *net->supply);
    net->demand = require_memory(net->pair_count, sizeof *net->demand);
    gather(net, scenario->supply, scenario->supply_count, true, net->supply);
    gather(net, scenario->demand, scenario->demand_count, false, net->demand);
    for (uint32_t i = 0; i < unlimited->count; i++)
        net->unlimited[budget_place_item_index(net, (uint32_t)(unlimited->pair[i] >> 32),
                                               (uint32_t)unlimited->pair[i])] = true;
    mark_begins(net);
    spread(net, net->reachable);
    if (net->pair_count > 0)
        memcpy(net->reachable_long_run, net->reachable, net->pair_count * sizeof *net->reachable);
    prune_unsustained(net, net->reachable_long_run);
}

struct budget_net *budget_net_new(const struct scenario *scenario, enum net_fetched fetched) {
    struct budget_net *net = require_memory(1, sizeof *net);
    net->scenario = scenario;
    net->place_count = layout_place_count(scenario);
    net->by_source = layout_arms_by_source(scenario);
    net->by_target = layout_arms_by_target(scenario);
    struct pairs unlimited = list_unlimited(net, fetched);
    list_pairs(net, &unlimited);
    list_entries(net);
    list_carriers(net);
    mark_all(net, &unlimited);
    pairs_free(&unlimited);
    return net;
}

void budget_net_free(struct budget_net *net) {
    void *const list[] = {
        net->first_pair,         net->pair_place, net->pair_item,    net->reachable,
        net->reachable_long_run, net->unlimited,  net->supply,       net->demand,
        net->first_entry,        net->entry_item, net->source_pair,  net->target_pair,
        net->first_carrier,      net->carrier,    net->carrier_entry};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++)
        free(list[i]);
    budget_groups_free(&net->by_item);
    layout_arms_free(&net->by_source);
    layout_arms_free(&net->by_target);
    free(net);
}
