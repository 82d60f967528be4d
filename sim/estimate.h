/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/estimate.h - what a sample says about the truth: means with their intervals, where a warm-up
 * ends, and how far a long series may be cut into pieces that count as independent.
 *
 * Sums are made in double and in the given order, so that they are the same on every machine. The
 * factors of the intervals rest on GSL's distribution functions and with them on the machine's log
 * and exp: print bounds with at most ten digits where bytes are to be equal everywhere. */
#pragma once

#include <stddef.h>
#include <stdint.h>

/* An estimate and the interval that covers the true value with the asked confidence. NAN stands for
 * what the sample cannot say (null in JSON). */
struct estimate {
    double value, low, high;
};

/* Mean of values, 0 .. : NAN of none. A second pass takes back what rounding lost in the first. */
double estimate_average(const double *value, size_t count);

/* Standard deviation of a sample (with count - 1), from squares about estimate_average: NAN of
 * fewer than two values. */
double estimate_deviation(const double *value, size_t count);

/* Correlation of neighbours in a series, sum (x_i - m)(x_i-1 - m) / sum (x_i - m)^2: NAN of
 * fewer than two values or where all are equal. */
double estimate_neighbour_correlation(const double *value, size_t count);

/* Mean of independent values with Student's interval at `confidence` (0 < confidence < 1, as 0.95).
 * One value has no interval, none have no mean. */
struct estimate estimate_mean(const double *value, size_t count, double confidence);

/* The same for the mean of to[i] - from[i]: of two variants run with the same `count` seeds. */
struct estimate estimate_difference(const double *from, const double *to, size_t count,
                                    double confidence);

/* Most trials or events of the two estimates below: a bound within which GSL 2.7.1 was tried. From
 * 10^6 on its incomplete gamma function stops the program. */
enum { ESTIMATE_TRIALS_MAX = 500000 };

/* Probability of what came in `hits` of `trials` independent trials, with the exact interval of
 * C. Clopper, E. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
 * binomial", Biometrika 26 (1934) 404-413. hits <= trials <= ESTIMATE_TRIALS_MAX;
 * without trials all is NAN. */
struct estimate estimate_probability(uint64_t hits, uint64_t trials, double confidence);

/* Mean time to an event of constant hazard, when `events` came in `time` at risk (sum over runs,
 * each up to its event or its end): time/events with the interval for time-censored observation
 * 2T/chi2(upper; 2r+2) .. 2T/chi2(lower; 2r), NIST/SEMATECH e-Handbook of Statistical Methods
 * 8.4.5.1. time >= 0, events <= ESTIMATE_TRIALS_MAX; without events all is NAN. */
struct estimate estimate_time_to_event(double time, uint64_t events, double confidence);

enum { ESTIMATE_WARM_UP_BATCH = 5 };

/* How many values at the head of a series belong to its warm-up, by MSER-5: a multiple of 5, at
 * most half of the whole fives, that makes sum (Z_i - mean)^2 / (number left)^2 of the means Z
 * of the fives left least; the fewest where several do. K. P. White, "An effective truncation
 * heuristic for bias reduction in simulation output", Simulation 69 (1997) 323-334. */
size_t estimate_warm_up(const double *value, size_t count);

/* A long series of one run seen as `batch_count` (2 .. count) neighbouring pieces of equal length;
 * what does not divide is left out at the head. */
struct estimate_batches {
    struct estimate mean; /* of the batch means, with Student's interval */
    double deviation;     /* of the batch means */
    double correlation;   /* of neighbouring batch means; far from 0, the batches are too short */
    size_t batch_length;
};
struct estimate_batches estimate_by_batches(const double *value, size_t count, size_t batch_count,
                                            double confidence);
