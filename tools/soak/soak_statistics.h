/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_statistics.h - estimates from the runs of one variant of a soak. Of a single run
 * the intervals come from the means of neighbouring batches of it, else from the runs. Where
 * nothing is left to chance all runs are the same, and no estimate has an interval. */
#pragma once

#include <stdint.h>

#include "sim/estimate.h"
#include "tools/soak/soak_journal.h"

/* Runs with a jam that counts. */
uint64_t soak_statistics_jammed(const struct soak_journal *book, uint32_t variant);
/* Simulated time of all runs, in hours. */
double soak_statistics_hours(const struct soak_journal *book, uint32_t variant);
/* Probability of a jam in a run. */
struct estimate soak_statistics_probability(const struct soak_journal *book, uint32_t variant);
/* Mean time to the first jam, in seconds: time at risk over jams, runs without one censored. */
struct estimate soak_statistics_first_jam(const struct soak_journal *book, uint32_t variant);
/* Whether the times to the first jam scatter much less than at random: all runs jam, five at least,
 * and the coefficient of variation of the times is below 0.5. Of a constant hazard it is 1; then it
 * comes out below 0.5 in 8.4 % of samples of five, in 1.4 % of ten and in 0.05 % of twenty (by
 * drawing 100 000 samples). So something fills up that sooner or later is full. */
struct soak_regular {
    bool accumulates;
    double least_s, greatest_s;
};
struct soak_regular soak_statistics_regular(const struct soak_journal *book, uint32_t variant);
/* Share of the runs that are stuck at their end. */
struct estimate soak_statistics_stuck(const struct soak_journal *book, uint32_t variant);

/* All jams that count. */
struct soak_jams {
    uint64_t count, ended; /* those of them that ended by themselves */
    double share;          /* of the time after the warm-up; NAN: there is none */
    double longest_s;
};
struct soak_jams soak_statistics_jams(const struct soak_journal *book, uint32_t variant);

/* How it got over its disturbances. */
struct soak_recoveries {
    uint64_t count, never;     /* how often, and how often not */
    double mean_s, greatest_s; /* NAN: it never did */
};
struct soak_recoveries soak_statistics_recoveries(const struct soak_journal *book,
                                                  uint32_t variant);
/* The mean of a measure over runs. */
struct estimate soak_statistics_measure(const struct soak_journal *book, uint32_t variant,
                                        uint32_t measure);
/* Where a warm-up of the items at work ends, in ticks: that of their mean over the first runs that
 * ran to their end. NOT_GIVEN: too short to say. */
int64_t soak_statistics_warm_up(const struct soak_journal *book, uint32_t variant);

/* The second variant less the first, run by run: of a measure of each, and of the number of
 * jams. */
struct estimate soak_statistics_difference(const struct soak_journal *book, uint32_t first_measure,
                                           uint32_t second_measure);
struct estimate soak_statistics_jams_difference(const struct soak_journal *book);
/* The product of the second variant (counted as in struct soak_measures) that has the name of one
 * of the first, NO_INDEX: none; and the difference of what is made of the two in a minute. */
uint32_t soak_statistics_in_second(const struct soak_journal *book, uint32_t first);
struct estimate soak_statistics_product_difference(const struct soak_journal *book, uint32_t first,
                                                   uint32_t second);
