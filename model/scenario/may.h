/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/may.h - what a design may be made of, and what it has to survive: the section
 * `may` of a scenario or brief that is to be completed. Plain data, as scenario.h is. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

/* A kind of arm that can be had. */
struct may_arm {
    int64_t swing_ticks; /* out and back, at least 1 */
    char *swing;         /* as it was written: "0.8 s" */
    uint32_t hand;
};

/* A rate at which a belt can be had, in cells a second. */
struct may_rate {
    struct ratio rate;
    char *text; /* as it was written */
};

struct may_rates {
    struct may_rate *rate;
    uint32_t count;
};

struct may {
    struct may_arm *arm;
    uint32_t arm_count;
    bool arms_given; /* the kinds of arms are written; else the default one stands there */
    struct may_rates loop_rates, line_rates; /* no line rates: no lines */
    int64_t loop_cells_most, line_cells_most;
    int64_t lanes_most; /* of one loop */
    int64_t loops_most;
    int64_t *capacity; /* that chests can be had with, ascending; none: any up to capacity_most */
    uint32_t capacity_count;
    int64_t capacity_most;
    bool belts;            /* gates may count what lies on belts */
    int64_t stations_most; /* of one recipe */
    struct ratio met;      /* of each demand, in each run */
    int64_t survive_ticks; /* length of a night */
    int64_t seeds;         /* nights, and disturbed nights */
    bool drain, restart, disturb;
    struct ratio flood; /* of the cells of each lane; 0: no heap */
};

/* What holds where a scenario says nothing. Freed with may_free. */
void may_init(struct may *may, int64_t ticks_per_second);
void may_free(struct may *may);
/* Adds a kind of arm, or a rate, with its text, which is copied. */
void may_add_arm(struct may *may, int64_t swing_ticks, const char *swing, uint32_t hand);
void may_add_rate(struct may_rates *rates, struct ratio rate, const char *text);
/* Forgets all rates of a list, and frees them. */
void may_clear_rates(struct may_rates *rates);

/* The smallest capacity of a chest that holds `count` items; NOT_GIVEN: there is none. */
int64_t may_capacity_for(const struct may *may, int64_t count);
