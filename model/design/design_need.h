/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/design_need.h - what the demands ask of each recipe and each item, and how many
 * stations that takes.
 *
 * The room model/design works out a loop from what is wanted, without running anything. What comes
 * in: a scenario with items, recipes, supplies and demands (its chests, arms and belts, if any, are
 * not looked at), and what may be used. What goes out: a plan (plan.h) of stations, belts,
 * arms in their order along them, chests and gates, each number with its reason; or a sentence with
 * numbers that says what stands in the way. From below to above: design_need; lanes, arm_rates and
 * spread_*, which spread kinds over lanes; plan and plan_choice; drawing and draw_*, which draw a
 * plan part after part; draw_plan. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/may.h"
#include "model/scenario/scenario.h"

enum { DESIGN_WHY_BYTES = 400 };

/* The share of the time for which a station is busy at most: one that works all the time never
 * catches up after a stop (common practice, no source). */
#define DESIGN_BUSY_MOST 0.95

/* By so much a number may be too large from rounding, before it is rounded up. */
#define DESIGN_HAIR 1e-6

/* All rates are items or batches a second. */
struct design_need {
    const struct scenario *scenario; /* borrowed */
    double *batches;                 /* [station] of each recipe */
    uint32_t *copies;                /* [station] stations of it; 0: it is not needed */
    double *demanded;                /* [item] by orders; outlets ask for nothing */
    double *used, *made;             /* [item] by stations */
    double *bought;                  /* [item] taken from supplies */
    double *supplied;                /* [item] what supplies can bring */
};

/* Works it out: the least work at stations with which every demand is met, a linear program over
 * recipes and supplies. `extra` stations of each recipe ([station]; NULL: none) are added to the
 * least number that leaves each a reserve (DESIGN_BUSY_MOST), as far as `may` allows it. False:
 * it cannot be done, and `why` says what is short. Freed with design_need_free either way. */
bool design_need_init(struct design_need *need, const struct scenario *scenario,
                      const struct may *may, const uint32_t *extra, char why[DESIGN_WHY_BYTES]);
void design_need_free(struct design_need *need);

/* What is made of an item beyond what is used and demanded; 0 where it is none. */
double design_need_surplus(const struct design_need *need, uint32_t item);
/* Batches a second that one station of a recipe can do, breakdowns counted. */
double design_need_station_rate(const struct scenario *scenario, uint32_t station);
/* The most items in a second that one station of a recipe takes, or makes, of an item. */
double design_need_takes(const struct scenario *scenario, uint32_t station, uint32_t item);
double design_need_makes(const struct scenario *scenario, uint32_t station, uint32_t item);
/* Items a second of a supply or demand; breakdowns counted. */
double design_need_stream_rate(const struct scenario *scenario,
                               const struct scenario_stream *stream);
