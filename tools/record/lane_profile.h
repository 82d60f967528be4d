/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/lane_profile.h - how full a lane is from arm to arm, worked out from what each arm
 * put and took.
 *
 * On a rigid belt what leaves an arm is what came up to it, plus what it put down, less
 * what it took. So the shares of all stretches differ by known amounts, and the mean share of the
 * lane fixes where they lie. This is exact but for what is under way at the start and the end: at
 * most one part in the number of revolutions. It is unknown for a lane that was dropped on or
 * cleared, of a loop that may stand, of an arm whose items differ in length, or of fewer than
 * twenty revolutions. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"
#include "tools/record/totals.h"

/* An end of an arm on a lane, in the order of travel; at one cell, in declared order. */
struct lane_profile_end {
    uint32_t lane, cell, arm;
    bool places;   /* the arm puts here; else it picks here */
    double before; /* share of cells held of those that come up to the arm, 0 .. 1 */
    double after;  /* the same of those that leave it */
};

struct lane_profile {
    struct lane_profile_end *end; /* lane by lane */
    uint32_t end_count;
    uint32_t *first; /* those of lane l are end[first[l]] .. end[first[l + 1] - 1] */
    bool *known;     /* of each lane: before and after are known */
};

/* The stretches of all lanes of a finished run. Freed with lane_profile_free. */
void lane_profile_init(struct lane_profile *stretches, const struct measured_totals *window);
void lane_profile_free(struct lane_profile *stretches);

/* The fullest stretch of a lane: it leads from this end (an index of `end`) to the next one of the
 * lane. NO_INDEX where nothing is known. */
uint32_t lane_profile_fullest(const struct lane_profile *stretches, uint32_t lane);
/* The end where the stretch ends that begins at `end`. */
uint32_t lane_profile_next(const struct lane_profile *stretches, uint32_t end);
