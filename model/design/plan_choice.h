/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/plan_choice.h - what a plan is made larger by, where that by the rules was too
 * small. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

/* What a plan may be made larger by, where it was too small. */
struct plan_choice {
    double threshold, ahead, bin; /* factors of the sizes by the rules; 1 */
    double *shelf;                /* [item] factor of its stock on the shelf; 1 */
    double shelf_start;           /* share of the shelf's stock that lies there at first; 1 */
    bool *head_start;             /* [item] begins with more than its stations stop at */
    bool full_trays;              /* bins begin with what all trays take, too */
    double feeder_margin;         /* how much more a feeder can than is needed; 1.2 */
    uint32_t belt_more;           /* of each kind on a lane, where gates count belts; 0 */
    uint32_t spacing;             /* cells from arm to arm; 1 */
    bool both_sides;              /* of a loop: two arms at a cell, one on each side */
    bool one_store;               /* bins and shelves are one chest, where there is room */
    uint32_t lanes_least;         /* lanes over which what is no bulk is spread; 1 */
    uint32_t *extra_station;      /* [station] */
    uint32_t *extra_taker;        /* [station] of each of its stations */
    bool loops_open;              /* loops of the scenario give their names alone */
    uint32_t chests_given;        /* the first chests of the scenario, which are used as they are */
    const bool *ahead_given;      /* [station] `ahead` of the recipe stays */
    const bool *gate_given;       /* [station] it has a gate of its own */
};

/* A copy with lists of its own, for the stations and items of a scenario; of one whose lists are
 * NULL those of a first plan. Freed with plan_choice_free. */
struct plan_choice plan_choice_copy(const struct plan_choice *like,
                                    const struct scenario *scenario);
void plan_choice_free(struct plan_choice *choice);
