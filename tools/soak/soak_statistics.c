/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_statistics.c - gathers columns of results for sim/estimate. */
#include "tools/soak/soak_statistics.h"

#include <math.h>
#include <stdlib.h>

#include "sim/require.h"
#include "tools/soak/soak_report.h"

/* A usual number of batches: more make the interval hardly narrower (common practice). */
enum { BATCHES = 20, WARM_UP_WINDOWS_LEAST = 2 * ESTIMATE_WARM_UP_BATCH };

static const struct soak_result *result_of(const struct soak_journal *book, uint32_t variant,
                                           uint64_t run) {
    return &book->result[run * book->plan->variant_count + variant];
}

uint64_t soak_statistics_jammed(const struct soak_journal *book, uint32_t variant) {
    uint64_t jammed = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        jammed += result_of(book, variant, run)->jams > 0;
    return jammed;
}

static double seconds(const struct soak_journal *book, uint32_t variant, int64_t ticks) {
    return (double)ticks / (double)book->plan->scenario[variant]->ticks_per_second;
}

double soak_statistics_hours(const struct soak_journal *book, uint32_t variant) {
    double sum = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        sum += seconds(book, variant, result_of(book, variant, run)->ticks);
    return sum / 3600;
}

struct estimate soak_statistics_probability(const struct soak_journal *book, uint32_t variant) {
    return estimate_probability(soak_statistics_jammed(book, variant), book->plan->run_count,
                                SOAK_CONFIDENCE);
}

struct estimate soak_statistics_first_jam(const struct soak_journal *book, uint32_t variant) {
    double at_risk = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++) {
        const struct soak_result *result = result_of(book, variant, run);
        at_risk +=
            seconds(book, variant, result->jams > 0 ? result->first_jam_tick : result->ticks);
    }
    return estimate_time_to_event(at_risk, soak_statistics_jammed(book, variant), SOAK_CONFIDENCE);
}

/* ---- measures ---- */

/* The mean of the only run, with half the width of the interval that its batches give. */
static struct estimate by_batches(const struct soak_journal *book, uint32_t variant,
                                  uint32_t measure) {
    const struct soak_result *result = result_of(book, variant, 0);
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
        return by_batches(book, variant, measure);
    double *value = require_memory(book->plan->run_count, sizeof *value);
    size_t count = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        if (isfinite(result_of(book, variant, run)->value[measure]))
            value[count++] = result_of(book, variant, run)->value[measure];
    struct estimate estimate = estimate_mean(value, count, SOAK_CONFIDENCE);
    free(value);
    return estimate;
}

/* ---- warm-up ---- */

static uint32_t add_series(const struct soak_journal *book, uint32_t variant, double *sum,
                           uint32_t window_count) {
    uint32_t added = 0;
    for (uint64_t run = 0; run < book->plan->run_count && run < SOAK_SERIES_RUNS; run++) {
        const struct soak_result *result = result_of(book, variant, run);
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

struct estimate soak_statistics_difference(const struct soak_journal *book, uint32_t first_measure,
                                           uint32_t second_measure) {
    double *first = require_memory(book->plan->run_count, sizeof *first);
    double *second = require_memory(book->plan->run_count, sizeof *second);
    size_t count = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++) {
        first[count] = result_of(book, 0, run)->value[first_measure];
        second[count] = result_of(book, 1, run)->value[second_measure];
        count += isfinite(first[count]) && isfinite(second[count]);
    }
    struct estimate estimate = estimate_difference(first, second, count, SOAK_CONFIDENCE);
    free(first);
    free(second);
    return estimate;
}

struct estimate soak_statistics_jams_difference(const struct soak_journal *book) {
    double *first = require_memory(book->plan->run_count, sizeof *first);
    double *second = require_memory(book->plan->run_count, sizeof *second);
    for (uint64_t run = 0; run < book->plan->run_count; run++) {
        first[run] = (double)result_of(book, 0, run)->jams;
        second[run] = (double)result_of(book, 1, run)->jams;
    }
    struct estimate estimate =
        estimate_difference(first, second, book->plan->run_count, SOAK_CONFIDENCE);
    free(first);
    free(second);
    return estimate;
}
