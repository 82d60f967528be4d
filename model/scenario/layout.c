/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/layout.c - numbers of places and tracks are sums of counts; lists of arms are
 * sorted by counting. */
#include "model/scenario/layout.h"

#include <stdlib.h>

#include "sim/require.h"

/* ---- tracks ---- */

uint32_t layout_track_count(const struct scenario *scenario) {
    return scenario->lane_count + scenario->line_count;
}

uint32_t layout_track(const struct scenario *scenario, struct place place) {
    if (place.kind == PLACE_LANE)
        return place.index;
    return place.kind == PLACE_LINE ? scenario->lane_count + place.index : NO_INDEX;
}

struct place layout_track_as_place(const struct scenario *scenario, uint32_t track) {
    require(track < layout_track_count(scenario));
    if (track < scenario->lane_count)
        return (struct place){PLACE_LANE, track, 0};
    return (struct place){PLACE_LINE, track - scenario->lane_count, 0};
}

const char *layout_track_name(const struct scenario *scenario, uint32_t track) {
    require(track < layout_track_count(scenario));
    return track < scenario->lane_count ? scenario->lane[track].full_name
                                        : scenario->line[track - scenario->lane_count].name;
}

const char *layout_place_name(const struct scenario *scenario, struct place place) {
    switch (place.kind) {
    case PLACE_CHEST: return scenario->chest[place.index].name;
    case PLACE_STATION: return scenario->station[place.index].name;
    case PLACE_LANE: return scenario->lane[place.index].full_name;
    case PLACE_LINE: return scenario->line[place.index].name;
    }
    require(false);
    return NULL;
}

uint32_t layout_track_cells(const struct scenario *scenario, uint32_t track) {
    require(track < layout_track_count(scenario));
    return track < scenario->lane_count ? scenario->loop[scenario->lane[track].loop].cell_count
                                        : scenario->line[track - scenario->lane_count].cell_count;
}

struct ratio layout_track_rate(const struct scenario *scenario, uint32_t track) {
    require(track < layout_track_count(scenario));
    return track < scenario->lane_count ? scenario->loop[scenario->lane[track].loop].rate
                                        : scenario->line[track - scenario->lane_count].rate;
}

/* ---- places ---- */

uint32_t layout_place_count(const struct scenario *scenario) {
    return layout_track_place(scenario, layout_track_count(scenario));
}

uint32_t layout_source(const struct scenario *scenario, struct place from) {
    switch (from.kind) {
    case PLACE_CHEST: return from.index;
    case PLACE_STATION: return layout_output_place(scenario, from.index);
    case PLACE_LANE:
    case PLACE_LINE: return layout_track_place(scenario, layout_track(scenario, from));
    }
    require(false);
    return NO_INDEX;
}

uint32_t layout_target(const struct scenario *scenario, struct place to) {
    return to.kind == PLACE_STATION ? layout_input_place(scenario, to.index)
                                    : layout_source(scenario, to);
}

/* ---- arms by place ---- */

static struct layout_arms list_arms(const struct scenario *scenario, bool by_target) {
    uint32_t places = layout_place_count(scenario), arms = scenario->arm_count;
    struct layout_arms list = {.first = require_memory((size_t)places + 2, sizeof *list.first),
                               .arm = require_memory(arms, sizeof *list.arm)};
    uint32_t *place = require_memory(arms, sizeof *place);
    for (uint32_t i = 0; i < arms; i++) {
        place[i] = by_target ? layout_target(scenario, scenario->arm[i].to)
                             : layout_source(scenario, scenario->arm[i].from);
        list.first[place[i] + 2]++;
    }
    for (uint32_t p = 2; p < places + 2; p++)
        list.first[p] += list.first[p - 1];
    for (uint32_t i = 0; i < arms; i++)
        list.arm[list.first[place[i] + 1]++] = i;
    free(place);
    return list;
}

struct layout_arms layout_arms_by_source(const struct scenario *scenario) {
    return list_arms(scenario, false);
}

struct layout_arms layout_arms_by_target(const struct scenario *scenario) {
    return list_arms(scenario, true);
}

void layout_arms_free(struct layout_arms *arms) {
    free(arms->first);
    free(arms->arm);
    *arms = (struct layout_arms){0};
}

void layout_arms_keep_fitting(struct layout_arms *arms, const struct scenario *scenario) {
    uint32_t places = layout_place_count(scenario), kept = 0, next = 0;
    for (uint32_t place = 0; place < places; place++) {
        uint32_t end = arms->first[place + 1];
        arms->first[place] = kept;
        for (; next < end; next++)
            if (scenario->arm[arms->arm[next]].takes_what_fits)
                arms->arm[kept++] = arms->arm[next];
    }
    arms->first[places] = kept;
}

/* Lists of what fits are in rising order. */
static bool is_in_rising_list(const struct scenario_arm *arm, uint32_t item) {
    uint32_t low = 0, high = arm->item_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (arm->item[middle] < item)
            low = middle + 1;
        else
            high = middle;
    }
    return low < arm->item_count && arm->item[low] == item;
}

bool layout_may_carry(const struct scenario_arm *arm, uint32_t item) {
    if (arm->takes_what_fits)
        return is_in_rising_list(arm, item);
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (arm->item[i] == item)
            return true;
    return false;
}

static bool is_made_at(const struct scenario_station *station, uint32_t item) {
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].item == item)
            return true;
    return false;
}

/* Puts an item among the first `count`, which rise. */
static void insert(uint32_t *list, uint32_t count, uint32_t item) {
    for (; count > 0 && list[count - 1] > item; count--)
        list[count] = list[count - 1];
    list[count] = item;
}

struct layout_items layout_items_of_arm(const struct scenario *scenario,
                                        const struct scenario_arm *arm, uint32_t *room) {
    struct layout_items items = {room, 0};
    if (arm->from.kind != PLACE_STATION)
        return (struct layout_items){arm->item, arm->item_count};
    const struct scenario_station *station = &scenario->station[arm->from.index];
    if (arm->takes_what_fits) {
        for (uint32_t i = 0; i < station->makes_count; i++)
            if (layout_may_carry(arm, station->makes[i].item))
                insert(room, items.count++, station->makes[i].item);
        return items;
    }
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (is_made_at(station, arm->item[i]))
            room[items.count++] = arm->item[i];
    return items;
}

/* ---- chests ---- */

int64_t layout_chest_capacity(const struct scenario *scenario, uint32_t chest) {
    int64_t least = scenario->chest[chest].capacity;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_SET_CAPACITY && incident->chest == chest &&
            incident->value < least)
            least = incident->value;
    }
    return least;
}

static int64_t entry_of(const struct item_counts *counts, uint32_t item, int64_t none) {
    for (uint32_t i = 0; i < counts->count; i++)
        if (counts->entry[i].item == item)
            return counts->entry[i].count;
    return none;
}

int64_t layout_chest_limit(const struct scenario *scenario, uint32_t chest, uint32_t item) {
    return entry_of(&scenario->chest[chest].limits, item, NO_LIMIT);
}

int64_t layout_chest_start(const struct scenario *scenario, uint32_t chest, uint32_t item) {
    return entry_of(&scenario->chest[chest].start, item, 0);
}

/* ---- stations ---- */

int64_t layout_batch_takes(const struct scenario *scenario, uint32_t station, uint32_t item) {
    return entry_of(&scenario->station[station].takes, item, 0);
}

/* ---- products ---- */

void layout_mark_products(const struct scenario *scenario, bool *product) {
    bool ordered = scenario_has_orders(scenario);
    bool *taken = require_memory(scenario->item_count, sizeof *taken);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!scenario->demand[i].outlet)
            taken[scenario->demand[i].item] = true;
    for (uint32_t i = 0; i < scenario->station_count && !ordered; i++)
        for (uint32_t j = 0; j < scenario->station[i].takes.count; j++)
            taken[scenario->station[i].takes.entry[j].item] = true;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        product[i] = false;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++) {
            uint32_t item = scenario->station[i].makes[j].item;
            product[item] = taken[item] == ordered;
        }
    free(taken);
}
