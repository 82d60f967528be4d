/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_statistics.h - estimates from the runs of one variant of a soak. Of a single run
 * the intervals come from the means of neighbouring batches of it, else from the runs. */
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
