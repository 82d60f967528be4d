/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/totals.h - the run after its warm-up: shares of time, means and rates are taken over
 * it. It keeps the totals at the end of the warm-up; what came since is the difference. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "sim/bytes.h"

struct measured_totals {
    const struct scenario *scenario;
    const struct world *world;
    bool open;
    int64_t start_tick;
    struct arm_totals *arm;
    struct station_totals *station;
    struct item_totals *item;
    double *cell_ticks; /* lanes, then lines */
    int64_t *in_hand;   /* items in the hand of each arm */
};

/* A window on a world that has not reached its warm-up's end yet. Both must outlive it. */
void totals_init(struct measured_totals *window, const struct scenario *scenario,
                 const struct world *world);
void totals_free(struct measured_totals *window);
/* The warm-up is over with the world's last tick. */
void totals_open(struct measured_totals *window);

/* Adds what it keeps to `bytes`; takes that back into a new window of the same world's state.
 * False: it does not fit. */
void totals_save(const struct measured_totals *window, struct bytes *bytes);
bool totals_restore(struct measured_totals *window, struct bytes_reader *reader);

/* Checks that the totals began when the warm-up was over and that none has fallen since, between
 * ticks; ends the program where one has. */
void totals_audit(const struct measured_totals *window);

/* Ticks since; 0 where the run is no longer than its warm-up: then shares and rates are NAN. */
int64_t totals_ticks(const struct measured_totals *window);
double totals_seconds(const struct measured_totals *window);

/* Shares of time, 0 .. 1. */
double totals_arm_share(const struct measured_totals *window, uint32_t arm, enum arm_state state);
double totals_station_share(const struct measured_totals *window, uint32_t station,
                            enum station_state state);
/* Mean over ticks of the occupied share of a track. */
double totals_track_share(const struct measured_totals *window, uint32_t track);
/* What was made of an item in a minute. */
double totals_made_per_minute(const struct measured_totals *window, uint32_t item);
/* What an arm picked and put down since. */
int64_t totals_arm_picked(const struct measured_totals *window, uint32_t arm);
int64_t totals_arm_moved(const struct measured_totals *window, uint32_t arm);
