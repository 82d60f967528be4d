/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/layout.h - the places and tracks of a scenario, each numbered once.
 *
 * A track is a lane of a loop or a line: the lanes come first, in the scenario's order, then the
 * lines. A place is where items can be: chests first, then the output stocks of stations, then
 * their input stocks, then tracks. All numbers count from 0, and all functions want arguments that
 * are valid for the scenario. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

/* ---- tracks ---- */

uint32_t layout_track_count(const struct scenario *scenario);
/* The track of a place of the scenario; NO_INDEX: it is a chest or a station. */
uint32_t layout_track(const struct scenario *scenario, struct place place);
/* The other way round; its cell is 0. */
struct place layout_track_as_place(const struct scenario *scenario, uint32_t track);
/* "ring/outer", or the name of a line; borrowed from the scenario. */
const char *layout_track_name(const struct scenario *scenario, uint32_t track);
uint32_t layout_track_cells(const struct scenario *scenario, uint32_t track);
/* Cells a second. */
struct ratio layout_track_rate(const struct scenario *scenario, uint32_t track);
/* The name of a chest, station, lane ("ring/outer") or line; borrowed from the scenario. */
const char *layout_place_name(const struct scenario *scenario, struct place place);
/* True for a lane or line. */
static inline bool layout_is_track(struct place place) {
    return place.kind == PLACE_LANE || place.kind == PLACE_LINE;
}

/* ---- places ---- */

uint32_t layout_place_count(const struct scenario *scenario);
static inline uint32_t layout_output_place(const struct scenario *scenario, uint32_t station) {
    return scenario->chest_count + station;
}
static inline uint32_t layout_input_place(const struct scenario *scenario, uint32_t station) {
    return scenario->chest_count + scenario->station_count + station;
}
static inline uint32_t layout_track_place(const struct scenario *scenario, uint32_t track) {
    return scenario->chest_count + 2 * scenario->station_count + track;
}
/* The number of a place from which an arm takes; of a station, its output stock. */
uint32_t layout_source(const struct scenario *scenario, struct place from);
/* The number of a place to which an arm puts; of a station, its input stock. */
uint32_t layout_target(const struct scenario *scenario, struct place to);

/* ---- arms by place ---- */

/* Arms in the order of the places at one of their ends, in declared order at one place: those of
 * place p are arm[first[p]] to arm[first[p + 1] - 1]. */
struct layout_arms {
    uint32_t *first; /* [place_count + 1] */
    uint32_t *arm;
};

/* Lists all arms by where they take, or by where they put. Freed with layout_arms_free. */
struct layout_arms layout_arms_by_source(const struct scenario *scenario);
struct layout_arms layout_arms_by_target(const struct scenario *scenario);
void layout_arms_free(struct layout_arms *arms);
/* Leaves in a list only the arms that carry whatever fits. */
void layout_arms_keep_fitting(struct layout_arms *arms, const struct scenario *scenario);

/* True when an arm may carry an item, as far as its `items` say. */
bool layout_may_carry(const struct scenario_arm *arm, uint32_t item);

/* A list of items; it belongs to a scenario or to whoever asked. */
struct layout_items {
    const uint32_t *item;
    uint32_t count;
};

/* Those of an arm's items that can be at its source as far as that is a station: what is made
 * there. In the order of the arm's `items`. `room`, for as many items as there are, may be used for
 * the list. Where the arm takes all that fits this is faster than to look at each. */
struct layout_items layout_items_of_arm(const struct scenario *scenario,
                                        const struct scenario_arm *arm, uint32_t *room);

/* ---- chests ---- */

/* The least capacity that a chest has, of all that incidents may set; NO_LIMIT: no bound. */
int64_t layout_chest_capacity(const struct scenario *scenario, uint32_t chest);
/* Its limit for an item; NO_LIMIT: none of its own. */
int64_t layout_chest_limit(const struct scenario *scenario, uint32_t chest, uint32_t item);
/* How many of an item it holds at tick 0. */
int64_t layout_chest_start(const struct scenario *scenario, uint32_t chest, uint32_t item);

/* How many of an item a station takes for one batch. */
int64_t layout_batch_takes(const struct scenario *scenario, uint32_t station, uint32_t item);

/* ---- products ---- */

/* Marks in `product` (room for each item) what a station makes and a demand takes; in a scenario
 * without demands, what a station makes and none takes. Other marks become false. */
void layout_mark_products(const struct scenario *scenario, bool *product);
