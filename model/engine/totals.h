/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/totals.h - the states of arms and stations, and the totals of a run: what has become
 * of items, and for how many ticks each actor has been in each state. */
#pragma once

#include <stdint.h>

enum arm_state { ARM_REACHING, ARM_CARRYING, ARM_PLACING, ARM_RETURNING, ARM_STOPPED };
enum { ARM_STATES = ARM_STOPPED + 1 };
enum station_state {
    STATION_WORKING,
    STATION_STARVED,
    STATION_BLOCKED,
    STATION_GATED,
    STATION_STOPPED
};
enum { STATION_STATES = STATION_STOPPED + 1 };

struct arm_totals {
    int64_t swings; /* completed picks */
    int64_t moved;  /* items put down */
    int64_t ticks[ARM_STATES];
};

struct station_totals {
    int64_t batches; /* ended */
    int64_t ticks[STATION_STATES];
};

struct item_totals {
    int64_t made, consumed;
    int64_t supplied;
    int64_t demanded, met; /* asked for, and taken */
    int64_t owed;          /* asked for, not taken yet, still wanted */
    int64_t lost;          /* asked for and given up by demands */
    int64_t dropped, cleared;
};

struct track_totals {
    double cell_ticks;  /* held cells summed over ticks; exact below 2^53 */
    int64_t cells_most; /* most cells held in any phase 6 since the last world_forget_most */
};
