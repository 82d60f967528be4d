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

/* Adds an empty lane, of the greatest rate that there is. Returns its index. */
uint32_t lanes_add(struct lanes *lanes, bool is_line);
/* Takes lanes away: all but the first `kept`; all on which nothing rides. */
void lanes_drop(struct lanes *lanes, uint32_t kept);
void lanes_drop_empty(struct lanes *lanes);
/* Takes the groups of a lane away. */
void lanes_free_groups(struct lane *lane);
void lanes_free(struct lanes *lanes);

/* The greatest of some rates, in cells a second; 0: there is none. */
double lanes_greatest_rate(const struct may_rates *rates);
