/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_measures.h - what is kept of one run of a soak: some counts, one number for each
 * thing that is measured, and what did not come out as expected. It goes to a file and comes back
 * bit by bit. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "model/scenario/scenario.h"
#include "sim/bytes.h"

/* What is measured in the runs of a scenario: items at work (measure 0), then a rate for each
 * product, then the occupied share of each lane and line. */
struct soak_measures {
    const struct scenario *scenario;
    uint32_t *product;                          /* items, in the scenario's order */
    uint32_t product_count, track_count, count; /* tracks as in layout.h */
    int64_t totals_ticks;                       /* length of the windows of a series */
};

void soak_measures_init(struct soak_measures *measures, const struct scenario *scenario);
void soak_measures_free(struct soak_measures *measures);
static inline uint32_t soak_measure_of_product(uint32_t index) { return 1 + index; }
static inline uint32_t soak_measure_of_track(const struct soak_measures *measures, uint32_t index) {
    return 1 + measures->product_count + index;
}

/* Series are kept of the items at work in the first runs, and of all measures where there is but
 * one run. A series has at most so many windows, of equal length, from tick 0 on. */
enum { SOAK_SERIES_RUNS = 20, SOAK_WINDOWS_MAX = 1000 };

/* How many measures there are in each window of the series of run `run` of `run_count`. */
uint32_t soak_measures_series_width(const struct soak_measures *measures, uint64_t run_count,
                                    uint64_t run);

struct soak_result {
    bool done;
    bool holds;                 /* the verdict; of a disturbed run, that it is not stuck */
    bool stuck;                 /* as docs/soak.md says */
    uint64_t jams;              /* as the verdict counts them */
    uint64_t jams_ended;        /* those of them that ended by themselves */
    int64_t ticks;              /* length of the run */
    int64_t first_jam_tick;     /* start of the first jam that counts, NOT_GIVEN: none */
    int64_t first_jam_since;    /* the `since` of that one */
    int64_t jammed_ticks;       /* with at least one of them, after the warm-up */
    int64_t longest_jam_ticks;  /* of one of them, after the warm-up; 0: there was none */
    uint64_t recoveries, never; /* disturbances that it got over, and did not */
    int64_t recovery_ticks;     /* all recoveries together */
    int64_t longest_recovery_ticks;
    int64_t quiet_from_tick; /* by then all disturbances are over */
    char *failed;            /* the points of `expect` that failed, a line each; NULL: none */
    int64_t starved_ticks;   /* of all stations together, after the warm-up */
    double *value;           /* of each measure, over the time after the warm-up; NAN without any */
    uint32_t series_width;   /* measures in each window: 0, 1 or all */
    uint32_t window_count;
    double *series; /* window by window */
};

void soak_result_free(struct soak_result *result);

/* True when its values are such as a run can come to: times within the run and not negative, as
 * many windows as the run was long, `width` measures in each, shares and rates that are numbers or
 * NAN, a first jam where jams count and none where they do not. */
bool soak_result_fits(const struct soak_result *result, const struct soak_measures *measures,
                      uint32_t width);

/* Adds the result of unit `unit` to `bytes`. */
void soak_result_pack(const struct soak_result *result, const struct soak_measures *measures,
                      uint64_t unit, struct bytes *bytes);
/* The unit that packed bytes are of; SOAK_NO_UNIT when they are too few to say. */
#define SOAK_NO_UNIT UINT64_MAX
uint64_t soak_result_unit(const void *packed, size_t length);
/* Back from bytes into an empty result. False: they do not fit what is measured; whether the values
 * can be is another question (soak_result_fits). */
bool soak_result_unpack(struct soak_result *result, const struct soak_measures *measures,
                        const void *packed, size_t length);
