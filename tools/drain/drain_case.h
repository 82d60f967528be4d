/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/drain/drain_case.h - one drain: a scenario is run up to a time, its demands stop, and the
 * run goes on until nothing moves and nothing is still to come, or for an hour or what is asked
 * for. The stop, a heap at the start and a new start of the demands are incidents in the scenario
 * that is run (tools/base/scenario_edit.h).
 *
 * The room tools/drain is the command `drain`. What comes in: a scenario. What goes out: whether it
 * ran empty, what is left and why, as text, JSON and the directory of a run (drain_report.h), and
 * the greatest heap from which it recovers (drain_flood.h). */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "tools/drain/drain_flood.h"

struct drain_order {
    const struct scenario *scenario;
    int64_t within_ticks; /* from the stop on */
    bool supplies_too;
    bool restart;
    struct drain_flood flood;
};

/* What is left of an item at a place. */
struct drain_left {
    char *place; /* a lane, a line, or an arm that holds it */
    uint32_t item;
    int64_t count;
    char *why;
};

struct drain_found {
    uint64_t seed;
    bool drained;
    int64_t stopped_tick;
    int64_t emptied_tick; /* NOT_GIVEN: not drained */
    int64_t rest_tick;    /* `since` of the rest; NOT_GIVEN: none */
    bool deadlocked;      /* it ended with a deadlock */
    int64_t still_tick;   /* from when nothing moves, where that is neither of these; NOT_GIVEN: it
                           * is one of them, or something moved to the end */
    int64_t empty_late;   /* from when the loops are empty, where that was too late to be drained;
                           * NOT_GIVEN: they are not, or it was drained */
    int64_t end_tick;     /* of the drain */
    struct drain_left *left;
    uint32_t left_count, left_capacity;
    bool restarted;
    bool makes_nothing;    /* no product was made between the warm-up and the stop */
    int64_t restart_ticks; /* from the new start on; NOT_GIVEN: not (asked for) */
    bool *late;            /* [item] not made as often as before at the end of a restart that
                            * failed; NULL: none was asked for */
    int64_t flood_items;   /* that lay on lanes at tick 0 because of the flood */
    bool recovered;
    int64_t recovered_tick;    /* NOT_GIVEN: a flooded lane stayed congested, or no flood */
    struct scenario *scenario; /* the whole of it, up to its end, for who wants to run it again */
};

enum { DRAIN_SPREAD_SECONDS = 600 };

/* The seed of one of several drains, and when it stops: their moments are spread evenly over ten
 * minutes from `after_ticks` on; the first one has the scenario's seed and stops then. */
uint64_t drain_case_seed(const struct scenario *scenario, uint64_t number);
int64_t drain_case_stop(const struct scenario *scenario, int64_t after_ticks, uint64_t number,
                        uint64_t runs);

/* Runs one with this seed. False: a signal was noted, and there is nothing to free. */
bool drain_case_run(const struct drain_order *order, uint64_t seed, int64_t stop_tick,
                    struct drain_found *found);
void drain_case_free(struct drain_found *found);
