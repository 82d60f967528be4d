/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_statistics.c - collects the results of all runs for the estimates of
 * sim/estimate. */
#include "tools/soak/soak_statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "tools/soak/soak_report.h"

/* See soak_statistics_regular. */
enum { REGULAR_JAMS_LEAST = 5 };
#define REGULAR_VARIATION 0.5

/* A usual number of batches: more make the interval hardly narrower (common practice). */
enum { BATCHES = 20, WARM_UP_WINDOWS_LEAST = 2 * ESTIMATE_WARM_UP_BATCH };

uint64_t soak_statistics_jammed(const struct soak_journal *book, uint32_t variant) {
    uint64_t jammed = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        jammed += soak_report_result(book, variant, run)->jams > 0;
    return jammed;
}

/* An estimate as it is where seeds make no difference. */
static struct estimate without_bounds(struct estimate estimate) {
    return (struct estimate){estimate.value, (double)NAN, (double)NAN};
}

static struct estimate bounded(const struct soak_journal *book, uint32_t variant,
                               struct estimate estimate) {
    return soak_plan_has_chance(book->plan, variant) ? estimate : without_bounds(estimate);
}

static double seconds(const struct soak_journal *book, uint32_t variant, int64_t ticks) {
    return (double)ticks / (double)book->plan->scenario[variant]->ticks_per_second;
}

double soak_statistics_hours(const struct soak_journal *book, uint32_t variant) {
    double sum = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        sum += seconds(book, variant, soak_report_result(book, variant, run)->ticks);
    return sum / 3600;
}

struct estimate soak_statistics_probability(const struct soak_journal *book, uint32_t variant) {
    return bounded(book, variant,
                   estimate_probability(soak_statistics_jammed(book, variant),
                                        book->plan->run_count, SOAK_CONFIDENCE));
}

struct estimate soak_statistics_stuck(const struct soak_journal *book, uint32_t variant) {
    uint64_t stuck = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        stuck += soak_report_result(book, variant, run)->stuck;
    return bounded(book, variant,
                   estimate_probability(stuck, book->plan->run_count, SOAK_CONFIDENCE));
}

struct estimate soak_statistics_first_jam(const struct soak_journal *book, uint32_t variant) {
    double at_risk = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++) {
        const struct soak_result *result = soak_report_result(book, variant, run);
        at_risk +=
            seconds(book, variant, result->jams > 0 ? result->first_jam_tick : result->ticks);
    }
    return bounded(
        book, variant,
        estimate_time_to_event(at_risk, soak_statistics_jammed(book, variant), SOAK_CONFIDENCE));
}

struct soak_regular soak_statistics_regular(const struct soak_journal *book, uint32_t variant) {
    uint64_t runs = book->plan->run_count;
    struct soak_regular regular = {.least_s = INFINITY, .greatest_s = 0};
    if (!soak_plan_has_chance(book->plan, variant) || runs < REGULAR_JAMS_LEAST ||
        soak_statistics_jammed(book, variant) < runs)
        return regular;
    double *time = require_memory(runs, sizeof *time);
    for (uint64_t run = 0; run < runs; run++) {
        time[run] = seconds(book, variant, soak_report_result(book, variant, run)->first_jam_tick);
        regular.least_s = fmin(regular.least_s, time[run]);
        regular.greatest_s = fmax(regular.greatest_s, time[run]);
    }
    regular.accumulates =
        estimate_deviation(time, runs) < REGULAR_VARIATION * estimate_average(time, runs);
    free(time);
    return regular;
}

struct soak_jams soak_statistics_jams(const struct soak_journal *book, uint32_t variant) {
    struct soak_jams jams = {.count = 0};
    double ticks = 0, jammed_ticks = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++) {
        const struct soak_result *result = soak_report_result(book, variant, run);
        int64_t warm = book->plan->scenario[variant]->warm_up_ticks;
        ticks += (double)(result->ticks > warm ? result->ticks - warm : 0);
        jammed_ticks += (double)result->jammed_ticks;
        jams.count += result->jams;
        jams.ended += result->jams_ended;
        jams.longest_s = fmax(jams.longest_s, seconds(book, variant, result->longest_jam_ticks));
    }
    jams.share = jammed_ticks / ticks; /* 0/0 without any time */
    return jams;
}

struct soak_recoveries soak_statistics_recoveries(const struct soak_journal *book,
                                                  uint32_t variant) {
    struct soak_recoveries all = {.greatest_s = (double)NAN};
    double sum = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++) {
        const struct soak_result *result = soak_report_result(book, variant, run);
        all.count += result->recoveries;
        all.never += result->never;
        sum += seconds(book, variant, result->recovery_ticks);
        if (result->recoveries > 0)
            all.greatest_s =
                fmax(all.greatest_s, seconds(book, variant, result->longest_recovery_ticks));
    }
    all.mean_s = sum / (double)all.count; /* 0/0 when it never did */
    return all;
}

/* ---- measures ---- */

/* The mean of the only run, with half the width of the interval that its batches give. */
static struct estimate by_batches(const struct soak_journal *book, uint32_t variant,
                                  uint32_t measure) {
    const struct soak_result *result = soak_report_result(book, variant, 0);
    int64_t window = book->measures[variant].totals_ticks;
    int64_t warm = book->plan->scenario[variant]->warm_up_ticks;
    uint32_t first = (uint32_t)((warm + window - 1) / window), count = result->window_count;
    struct estimate estimate = {result->value[measure], (double)NAN, (double)NAN};
    if (first >= count || count - first < BATCHES)
        return estimate;
    double *series = require_memory(count - first, sizeof *series);
    for (uint32_t i = first; i < count; i++)
        series[i - first] = result->series[(size_t)i * result->series_width + measure];
    struct estimate_batches batches =
        estimate_by_batches(series, count - first, BATCHES, SOAK_CONFIDENCE);
    double half = (batches.mean.high - batches.mean.low) / 2;
    estimate.low = estimate.value - half;
    estimate.high = estimate.value + half;
    free(series);
    return estimate;
}

struct estimate soak_statistics_measure(const struct soak_journal *book, uint32_t variant,
                                        uint32_t measure) {
    if (book->plan->run_count == 1)
        return bounded(book, variant, by_batches(book, variant, measure));
    double *value = require_memory(book->plan->run_count, sizeof *value);
    size_t count = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        if (isfinite(soak_report_result(book, variant, run)->value[measure]))
            value[count++] = soak_report_result(book, variant, run)->value[measure];
    struct estimate estimate = estimate_mean(value, count, SOAK_CONFIDENCE);
    free(value);
    return bounded(book, variant, estimate);
}

/* ---- warm-up ---- */

static uint32_t add_series(const struct soak_journal *book, uint32_t variant, double *sum,
                           uint32_t window_count) {
    uint32_t added = 0;
    for (uint64_t run = 0; run < book->plan->run_count && run < SOAK_SERIES_RUNS; run++) {
        const struct soak_result *result = soak_report_result(book, variant, run);
        if (result->ticks < book->plan->scenario[variant]->run_ticks)
            continue;
        for (uint32_t i = 0; i < window_count; i++)
            sum[i] += result->series[(size_t)i * result->series_width];
        added++;
    }
    return added;
}

int64_t soak_statistics_warm_up(const struct soak_journal *book, uint32_t variant) {
    int64_t window = book->measures[variant].totals_ticks;
    uint32_t windows = (uint32_t)(book->plan->scenario[variant]->run_ticks / window);
    double sum[SOAK_WINDOWS_MAX] = {0};
    require(windows <= SOAK_WINDOWS_MAX);
    if (windows < WARM_UP_WINDOWS_LEAST || add_series(book, variant, sum, windows) == 0)
        return NOT_GIVEN;
    return (int64_t)estimate_warm_up(sum, windows) * window;
}

/* ---- differences ---- */

static struct estimate difference(const struct soak_journal *book, const double *first,
                                  const double *second, size_t count) {
    struct estimate estimate = estimate_difference(first, second, count, SOAK_CONFIDENCE);
    bool chance = soak_plan_has_chance(book->plan, 0) || soak_plan_has_chance(book->plan, 1);
    return chance ? estimate : without_bounds(estimate);
}

struct estimate soak_statistics_difference(const struct soak_journal *book, uint32_t first_measure,
                                           uint32_t second_measure) {
    double *first = require_memory(book->plan->run_count, sizeof *first);
    double *second = require_memory(book->plan->run_count, sizeof *second);
    size_t count = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++) {
        first[count] = soak_report_result(book, 0, run)->value[first_measure];
        second[count] = soak_report_result(book, 1, run)->value[second_measure];
        count += isfinite(first[count]) && isfinite(second[count]);
    }
    struct estimate estimate = difference(book, first, second, count);
    free(first);
    free(second);
    return estimate;
}

struct estimate soak_statistics_jams_difference(const struct soak_journal *book) {
    double *first = require_memory(book->plan->run_count, sizeof *first);
    double *second = require_memory(book->plan->run_count, sizeof *second);
    for (uint64_t run = 0; run < book->plan->run_count; run++) {
        first[run] = (double)soak_report_result(book, 0, run)->jams;
        second[run] = (double)soak_report_result(book, 1, run)->jams;
    }
    struct estimate estimate = difference(book, first, second, book->plan->run_count);
    free(first);
    free(second);
    return estimate;
}

uint32_t soak_statistics_in_second(const struct soak_journal *book, uint32_t first) {
    for (uint32_t i = 0; i < book->measures[1].product_count; i++)
        if (strcmp(soak_report_product(book, 1, i), soak_report_product(book, 0, first)) == 0)
            return i;
    return NO_INDEX;
}

struct estimate soak_statistics_product_difference(const struct soak_journal *book, uint32_t first,
                                                   uint32_t second) {
    return soak_statistics_difference(book, soak_measure_of_product(first),
                                      soak_measure_of_product(second));
}
