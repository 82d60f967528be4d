/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/estimate.c - sums taken twice, and quantiles found by halving. */
#include "sim/estimate.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

#include "sim/require.h"

static const struct estimate nothing_known = {NAN, NAN, NAN};

/* ---- moments ---- */

static double sum_of_differences(const double *value, size_t count, double from) {
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += value[i] - from;
    return sum;
}

double estimate_average(const double *value, size_t count) {
    if (count == 0)
        return NAN;
    double n = (double)count;
    double rough = sum_of_differences(value, count, 0) / n;
    return rough + sum_of_differences(value, count, rough) / n;
}

static double squares_about(const double *value, size_t count, double mean) {
    double squares = 0;
    for (size_t i = 0; i < count; i++)
        squares += (value[i] - mean) * (value[i] - mean);
    return squares;
}

double estimate_deviation(const double *value, size_t count) {
    if (count < 2)
        return NAN;
    double squares = squares_about(value, count, estimate_average(value, count));
    return sqrt(squares / (double)(count - 1));
}

double estimate_neighbour_correlation(const double *value, size_t count) {
    if (count < 2)
        return NAN;
    double mean = estimate_average(value, count);
    double products = 0;
    for (size_t i = 1; i < count; i++)
        products += (value[i] - mean) * (value[i - 1] - mean);
    return products / squares_about(value, count, mean); /* 0/0 where all are equal */
}

/* ---- quantiles ---- */

/* A distribution with parameters a and b, by the share of it that lies below x. */
struct law {
    double (*below)(double x, const struct law *law);
    double a, b;
};

static double student_below(double x, const struct law *law) { return gsl_cdf_tdist_P(x, law->a); }
static double chi_square_below(double x, const struct law *law) {
    return gsl_cdf_chisq_P(x, law->a);
}
static double beta_below(double x, const struct law *law) {
    return gsl_cdf_beta_P(x, law->a, law->b);
}

/* The x > 0 with a share `probability` below it. GSL's own inverses are not used: gsl_cdf_beta_Pinv
 * and gsl_cdf_chisq_Pinv (2.7.1) give up, and stop the program, for some quite usual arguments
 * (7 hits of 400). Halving cannot fail. */
static double quantile(const struct law *law, double probability) {
    double low = 0, high = 1;
    while (law->below(high, law) < probability)
        high *= 2;
    for (;;) {
        double middle = low + (high - low) / 2;
        if (middle <= low || middle >= high)
            return middle;
        if (law->below(middle, law) < probability)
            low = middle;
        else
            high = middle;
    }
}

static double tail_of(double confidence) {
    require(confidence > 0 && confidence < 1);
    return (1 - confidence) / 2;
}

/* ---- estimates ---- */

static struct estimate student_interval(double mean, double deviation, size_t count,
                                        double confidence) {
    double tail = tail_of(confidence);
    if (count < 2)
        return (struct estimate){mean, NAN, NAN};
    struct law student = {student_below, (double)(count - 1), 0};
    double half = quantile(&student, 1 - tail) * deviation / sqrt((double)count);
    return (struct estimate){mean, mean - half, mean + half};
}

struct estimate estimate_mean(const double *value, size_t count, double confidence) {
    return student_interval(estimate_average(value, count), estimate_deviation(value, count), count,
                            confidence);
}

struct estimate estimate_difference(const double *from, const double *to, size_t count,
                                    double confidence) {
    double *difference = require_memory(count, sizeof *difference);
    for (size_t i = 0; i < count; i++)
        difference[i] = to[i] - from[i];
    struct estimate mean = estimate_mean(difference, count, confidence);
    free(difference);
    return mean;
}

struct estimate estimate_probability(uint64_t hits, uint64_t trials, double confidence) {
    require(hits <= trials && trials <= ESTIMATE_TRIALS_MAX);
    double tail = tail_of(confidence);
    if (trials == 0)
        return nothing_known;
    double k = (double)hits, n = (double)trials;
    struct law lower = {beta_below, k, n - k + 1}, upper = {beta_below, k + 1, n - k};
    return (struct estimate){
        .value = k / n,
        .low = hits == 0 ? 0 : quantile(&lower, tail),
        .high = hits == trials ? 1 : quantile(&upper, 1 - tail),
    };
}

struct estimate estimate_time_to_event(double time, uint64_t events, double confidence) {
    require(time >= 0 && events <= ESTIMATE_TRIALS_MAX);
    double tail = tail_of(confidence);
    if (events == 0)
        return nothing_known;
    double r = (double)events;
    struct law with_end = {chi_square_below, 2 * r + 2, 0};
    struct law without_end = {chi_square_below, 2 * r, 0};
    return (struct estimate){
        .value = time / r,
        .low = 2 * time / quantile(&with_end, 1 - tail),
        .high = 2 * time / quantile(&without_end, tail),
    };
}

/* ---- series ---- */

size_t estimate_warm_up(const double *value, size_t count) {
    size_t batches = count / ESTIMATE_WARM_UP_BATCH;
    size_t best = 0;
    double least = INFINITY, mean = 0, squares = 0;
    /* From the end backwards, mean and squares about it grow by Welford's steps (B. Welford,
     * "Note on a method for calculating corrected sums of squares and products", Technometrics 4
     * (1962)). */
    for (size_t first = batches; first-- > 0;) {
        double left = (double)(batches - first);
        double z = estimate_average(value + first * ESTIMATE_WARM_UP_BATCH, ESTIMATE_WARM_UP_BATCH);
        double step = z - mean;
        mean += step / left;
        squares += step * (z - mean);
        double marginal = squares / (left * left);
        if (first <= batches / 2 && marginal <= least) {
            least = marginal;
            best = first;
        }
    }
    return best * ESTIMATE_WARM_UP_BATCH;
}

struct estimate_batches estimate_by_batches(const double *value, size_t count, size_t batch_count,
                                            double confidence) {
    require(batch_count >= 2 && batch_count <= count);
    size_t length = count / batch_count;
    const double *first = value + count % batch_count;
    double *mean = require_memory(batch_count, sizeof *mean);
    for (size_t i = 0; i < batch_count; i++)
        mean[i] = estimate_average(first + i * length, length);
    struct estimate_batches batches = {
        .mean = estimate_mean(mean, batch_count, confidence),
        .deviation = estimate_deviation(mean, batch_count),
        .correlation = estimate_neighbour_correlation(mean, batch_count),
        .batch_length = length,
    };
    free(mean);
    return batches;
}
