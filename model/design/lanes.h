/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/lanes.h - which kinds ride on which lane, and in which order their arms stand along
 * it. Private to this room.
 *
 * A lane is a row of groups. A group is a recipe and some of its inputs: first the feeders of those
 * that do not ride there yet, then takers at each station of the recipe. What no later group takes
 * leaves the lane there, and others may ride in its place, so that a lane may carry more kinds one
 * after another than at once. */
#pragma once

#include "model/design/design_need.h"

enum lane_source { SOURCE_BIN, SOURCE_SHELF, SOURCE_STATIONS };

/* A kind that rides on a lane. */
struct lane_flow {
    uint32_t item;
    enum lane_source source;
    uint32_t recipe;        /* whose stations it comes from; NO_INDEX */
    double rate;            /* items a second that are needed of it on this lane */
    uint32_t kind, feeders; /* arms; from stations: for each of them */
    double feeds;           /* items a second that all of them can put on */
    uint32_t last_recipe;   /* the last that takes it, by its place in lane.recipe */
};

struct lane_group {
    uint32_t recipe;
    uint32_t *flow; /* that its takers take */
    uint32_t flow_count;
    uint32_t new_count;    /* those of them, the first ones, whose feeders stand before it */
    uint32_t kind, takers; /* at each station */
};

struct lane {
    bool is_line;
    double rate;      /* cells a second */
    uint32_t *recipe; /* in the order along the lane */
    uint32_t recipe_count;
    struct lane_flow *flow;
    uint32_t flow_count;
    struct lane_group *group;
    uint32_t group_count;
    uint32_t arms; /* that work on it */
};

struct lanes {
    const struct design_need *need;
    const struct may *may;
    struct lane *lane;
    uint32_t lane_count;
    bool *direct;  /* [item] goes from station to station by an arm alone */
    bool *shelved; /* [item] made ones that go to a shelf first */
    bool *carrier; /* [item] of which some have to be there before any is made */
};

struct lanes_wish {
    double feeder_margin;
    uint32_t lanes_least;
    uint32_t lines_given;        /* that are to be used, and no others; 0: as may says */
    const uint32_t *extra_taker; /* [station] */
};

/* Spreads all inputs over lanes and lines, as few as possible. False: they do not fit, and `why`
 * says so with numbers. Freed with lanes_free either way. */
bool lanes_init(struct lanes *lanes, const struct design_need *need, const struct may *may,
                const struct lanes_wish *wish, char why[DESIGN_WHY_BYTES]);
void lanes_free(struct lanes *lanes);

/* Items a second that an arm of a kind carries from or to a belt of `rate` cells a second, of an
 * item of `length` cells; and the most that it ever can. */
double lanes_arm_steady(const struct lanes *lanes, uint32_t kind, double rate, double length);
double lanes_arm_peak(const struct lanes *lanes, uint32_t kind);

/* The kind of arm of which the fewest carry `items` a second between chests and stations, of equal
 * ones the slowest, and how many. */
uint32_t lanes_mover(const struct may *may, double ticks_per_second, double items, uint32_t *count);
