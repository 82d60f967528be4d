/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_estimate.c - moments against NIST's certified sets, interval factors against
 * R, scipy and closed forms, intervals against the tail sums that define them, series against
 * processes with a known variance of the mean. Rows marked V were found by two programs that
 * agree, C by one. */
#include "sim/estimate.h"

#include <check.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#include "sim/random.h"
#include "tests/common/suite.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

static void assert_near(const char *what, double found, double value, double relative) {
    double off = fabs(found - value);
    ck_assert_msg(off <= relative * fabs(value), "%s: %.17g instead of %.17g", what, found, value);
}

/* ---- data ---- */

enum { DATA_MAX = 5000 };

struct series {
    double value[DATA_MAX];
    size_t count;
};

static void read_series(struct series *series, const char *name) {
    char path[64];
    snprintf(path, sizeof path, "tests/outside/data/%s.txt", name);
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "%s is missing: run the tests from the root of the sources", path);
    char line[64];
    series->count = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        ck_assert_uint_lt(series->count, DATA_MAX);
        series->value[series->count++] = strtod(line, NULL);
    }
    fclose(file);
}

/* NIST's sets of numerical accuracy: one value, then 500 pairs around it. */
static void make_series(struct series *series, double first, double low, double high) {
    series->count = 0;
    series->value[series->count++] = first;
    for (int i = 0; i < 500; i++) {
        series->value[series->count++] = low;
        series->value[series->count++] = high;
    }
}

static void get_series(struct series *series, const char *name, double first, double low,
                       double high) {
    if (first == 0)
        read_series(series, name);
    else
        make_series(series, first, low, high);
}

/* ---- moments ---- */

START_TEST(moments_are_those_certified_by_nist) {
    /* Univariate sets of the NIST Statistical Reference Datasets, certified values (V). Tolerances
     * are those of double with inputs that decimal fractions can only come near: of NumAcc3 and 4
     * seven and eight digits of each value are the same. */
    static const struct {
        const char *name;
        double first, low, high;
        double mean, deviation, correlation;
        double mean_tolerance, tolerance;
    } row[] = {
        {"Lew", 0, 0, 0, -177.435, 277.332168044316, -0.307304800605679, 1e-15, 1e-12},
        {"Lottery", 0, 0, 0, 518.958715596330, 291.699727470969, -0.120948622967393, 1e-14, 1e-12},
        {"Mavro", 0, 0, 0, 2.001856, 0.000429123454003053, 0.937989183438248, 1e-15, 1e-12},
        {"Michelso", 0, 0, 0, 299.8524, 0.0790105478190518, 0.535199668621283, 1e-15, 1e-12},
        {"PiDigits", 0, 0, 0, 4.5348, 2.86733906028871, -0.00355099287237972, 1e-15, 1e-12},
        {"NumAcc2", 1.2, 1.1, 1.3, 1.2, 0.1, -0.999, 1e-15, 1e-12},
        {"NumAcc3", 1000000.2, 1000000.1, 1000000.3, 1000000.2, 0.1, -0.999, 1e-15, 1e-9},
        {"NumAcc4", 10000000.2, 10000000.1, 10000000.3, 10000000.2, 0.1, -0.999, 1e-15, 1e-8},
    };
    static struct series series;
    for (size_t i = 0; i < LENGTH(row); i++) {
        get_series(&series, row[i].name, row[i].first, row[i].low, row[i].high);
        const double *value = series.value;
        assert_near(row[i].name, estimate_average(value, series.count), row[i].mean,
                    row[i].mean_tolerance);
        assert_near(row[i].name, estimate_deviation(value, series.count), row[i].deviation,
                    row[i].tolerance);
        assert_near(row[i].name, estimate_neighbour_correlation(value, series.count),
                    row[i].correlation, row[i].tolerance);
    }
    static const double num_acc_1[] = {10000001, 10000003, 10000002}; /* exact in double */
    ck_assert_double_eq(estimate_average(num_acc_1, 3), 10000002);
    ck_assert_double_eq(estimate_deviation(num_acc_1, 3), 1);
    ck_assert_double_eq(estimate_neighbour_correlation(num_acc_1, 3), -0.5);
}
END_TEST

START_TEST(too_few_values_say_nothing) {
    static const double value[] = {3, 3};
    ck_assert(isnan(estimate_average(value, 0)));
    ck_assert_double_eq(estimate_average(value, 1), 3);
    ck_assert(isnan(estimate_deviation(value, 1)));
    ck_assert_double_eq(estimate_deviation(value, 2), 0);
    ck_assert(isnan(estimate_neighbour_correlation(value, 1)));
    ck_assert(isnan(estimate_neighbour_correlation(value, 2)));
    struct estimate none = estimate_mean(value, 0, 0.95), one = estimate_mean(value, 1, 0.95);
    ck_assert(isnan(none.value) && isnan(none.low) && isnan(none.high));
    ck_assert_double_eq(one.value, 3);
    ck_assert(isnan(one.low) && isnan(one.high));
    struct estimate equal = estimate_mean(value, 2, 0.95);
    ck_assert(equal.low == 3 && equal.high == 3);
}
END_TEST

/* ---- Student ---- */

START_TEST(student_factor_is_that_of_the_closed_form) {
    static const struct {
        size_t freedom;
        double confidence, factor, tolerance;
    } row[] = {
        /* Abramowitz & Stegun 26.7.3 and 26.7.4, finite sums in sines and cosines, solved with
         * bc to 45 digits; R 4.2.2 and scipy 1.10.1 give the same to ten (V). Tolerance: GSL's
         * own. */
        {1, 0.95, 12.706204736174706, 1e-13},  {2, 0.95, 4.302652729749464, 1e-13},
        {4, 0.95, 2.7764451051977944, 1e-13},  {9, 0.95, 2.2621571627982055, 1e-13},
        {19, 0.95, 2.0930240544083098, 1e-13}, {29, 0.95, 2.0452296421327043, 1e-13},
        {59, 0.95, 2.0009953780882677, 1e-13}, {99, 0.95, 1.9842169515864175, 1e-13},
        {19, 0.90, 1.7291328115213695, 1e-13},
    };
    static double value[100];
    for (size_t i = 0; i < LENGTH(row); i++) {
        /* Pairs of +-a (and one 0) whose standard error of the mean is 1. */
        size_t count = row[i].freedom + 1, pairs = count / 2;
        double a = sqrt((double)(count * (count - 1)) / (double)(2 * pairs));
        for (size_t v = 0; v < count; v++)
            value[v] = v >= 2 * pairs ? 0 : v % 2 == 0 ? a : -a;
        struct estimate mean = estimate_mean(value, count, row[i].confidence);
        ck_assert_double_lt(fabs(mean.value), 1e-14);
        assert_near("upper", mean.high, row[i].factor, row[i].tolerance);
        assert_near("lower", mean.low, -row[i].factor, row[i].tolerance);
    }
}
END_TEST

START_TEST(difference_is_the_mean_of_pairs) {
    /* W. Gosset ("Student"), "The probable error of a mean", Biometrika 6 (1908) 1-25: hours of
     * sleep gained by ten patients with two drugs; R 4.2.2 carries them as `sleep`, and the
     * manual page of t.test(extra ~ group, paired) gives mean 1.58, interval 0.7001142 ..
     * 2.4598858. */
    static const double first[] = {0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0};
    static const double second[] = {1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4};
    struct estimate gain = estimate_difference(first, second, 10, 0.95);
    assert_near("mean", gain.value, 1.58, 1e-14);
    assert_near("low", gain.low, 0.7001142, 1e-7);
    assert_near("high", gain.high, 2.4598858, 1e-7);
    struct estimate loss = estimate_difference(second, first, 10, 0.95);
    ck_assert_double_eq(loss.low, -gain.high);
    ck_assert(isnan(estimate_difference(first, second, 0, 0.95).value));
}
END_TEST

/* ---- Clopper and Pearson ---- */

START_TEST(probability_interval_is_that_of_r_and_scipy) {
    static const struct {
        uint64_t hits, trials;
        double low, high;
    } row[] = {
        /* R 4.2.2 binom.test and scipy 1.10.1 binomtest (V) */
        {0, 10, 0, 0.3084971078187608},
        {1, 10, 0.0025285785444617848, 0.4450161170281954},
        {7, 100, 0.028605288907438704, 0.13891972845585732},
        {0, 100, 0, 0.03621669264517641},
        {10, 10, 0.6915028921812392, 1},
        /* also on R's manual page of binom.test, after W. Conover, "Practical nonparametric
         * statistics" (1971), p. 97 */
        {682, 925, 0.7076682640790388, 0.7654065582415253},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct estimate share = estimate_probability(row[i].hits, row[i].trials, 0.95);
        assert_near("value", share.value, (double)row[i].hits / (double)row[i].trials, 1e-15);
        /* The incomplete beta function of either program is good to some 1e-14. */
        assert_near("low", share.low, row[i].low, 1e-13);
        assert_near("high", share.high, row[i].high, 1e-13);
    }
    ck_assert(isnan(estimate_probability(0, 0, 0.95).value));
    ck_assert(isnan(estimate_probability(0, 0, 0.95).low));
    ck_assert(isnan(estimate_probability(0, 0, 0.95).high));
}
END_TEST

/* GSL's densities are exponentials of differences of log-gammas of up to 6e6, good to 1e-9. */
static const double tail_tolerance = 1e-7;

static double binomial_up_to(uint64_t hits, double p, uint64_t trials) {
    double sum = 0;
    for (uint64_t k = 0; k <= hits; k++)
        sum += gsl_ran_binomial_pdf((unsigned)k, p, (unsigned)trials);
    return sum;
}

/* What makes the interval one of Clopper and Pearson: at its upper end so few hits, at its lower
 * end so many have just the probability of a tail. 7 of 400 and its like are where GSL's inverse
 * stops. */
START_TEST(probability_interval_has_its_tails) {
    static const struct {
        uint64_t hits, trials;
        double confidence;
    } row[] = {
        {2, 237, 0.99},  {7, 400, 0.95},    {6, 676, 0.95},     {4, 878, 0.95},
        {6, 1141, 0.90}, {1862, 1927, 0.9}, {50, 100000, 0.95}, {3, ESTIMATE_TRIALS_MAX, 0.95},
        {1, 1, 0.95},    {1, 2, 0.5},       {999, 1000, 0.999},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        uint64_t hits = row[i].hits, trials = row[i].trials;
        struct estimate share = estimate_probability(hits, trials, row[i].confidence);
        double tail = (1 - row[i].confidence) / 2;
        if (hits < trials)
            assert_near("few", binomial_up_to(hits, share.high, trials), tail, tail_tolerance);
        assert_near("many", 1 - binomial_up_to(hits - 1, share.low, trials), tail, tail_tolerance);
    }
}
END_TEST

START_TEST(probability_interval_is_symmetric) {
    static const uint64_t trials[] = {1, 2, 7, 100, 400, 1000, 99999, ESTIMATE_TRIALS_MAX};
    for (size_t i = 0; i < LENGTH(trials); i++)
        for (uint64_t hits = 0; hits <= trials[i]; hits = hits * 2 + 1) {
            struct estimate share = estimate_probability(hits, trials[i], 0.95);
            struct estimate rest = estimate_probability(trials[i] - hits, trials[i], 0.95);
            ck_assert(share.low <= share.value && share.value <= share.high);
            ck_assert_double_lt(fabs(share.low - (1 - rest.high)), 1e-11);
            ck_assert_double_lt(fabs(share.high - (1 - rest.low)), 1e-11);
        }
}
END_TEST

/* ---- time to an event ---- */

START_TEST(time_factors_are_those_of_the_handbook) {
    /* Factors on T/r: NIST/SEMATECH e-Handbook of Statistical Methods 8.4.5.1; scipy 1.10.1 (V) */
    static const struct {
        uint64_t events;
        double low, high;
    } row[] = {
        {1, 0.1794802592043649, 39.49789020520721},
        {2, 0.2768285761244642, 8.257321982142676},
        {5, 0.428510258879283, 3.0797917558368253},
        {10, 0.5437632625030356, 2.085336691906785},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct estimate mean = estimate_time_to_event(1234.5, row[i].events, 0.95);
        double middle = 1234.5 / (double)row[i].events;
        assert_near("value", mean.value, middle, 1e-15);
        assert_near("low", mean.low, row[i].low * middle, 1e-13);
        assert_near("high", mean.high, row[i].high * middle, 1e-13);
    }
    struct estimate never = estimate_time_to_event(1234.5, 0, 0.95);
    ck_assert(isnan(never.value) && isnan(never.low) && isnan(never.high));
    struct estimate at_once = estimate_time_to_event(0, 3, 0.95);
    ck_assert(at_once.value == 0 && at_once.low == 0 && at_once.high == 0);
}
END_TEST

static double poisson_up_to(uint64_t events, double mean) {
    double sum = 0;
    for (uint64_t k = 0; k <= events; k++)
        sum += gsl_ran_poisson_pdf((unsigned)k, mean);
    return sum;
}

/* The definition again: 1160 and 1736 events are where GSL's inverse stops. */
START_TEST(time_interval_has_its_tails) {
    static const uint64_t events[] = {1, 3, 100, 1160, 1163, 1736, 26220, ESTIMATE_TRIALS_MAX};
    for (size_t i = 0; i < LENGTH(events); i++) {
        struct estimate mean = estimate_time_to_event(1, events[i], 0.95);
        assert_near("few", poisson_up_to(events[i], 1 / mean.low), 0.025, tail_tolerance);
        assert_near("many", 1 - poisson_up_to(events[i] - 1, 1 / mean.high), 0.025, tail_tolerance);
    }
}
END_TEST

/* ---- warm-up ---- */

START_TEST(warm_up_of_a_step_is_the_step) {
    static double value[100];
    for (size_t i = 0; i < 100; i++)
        value[i] = i < 20 ? 0 : 1;
    ck_assert_uint_eq(estimate_warm_up(value, 100), 20);
    ck_assert_uint_eq(estimate_warm_up(value, 104), 20); /* the last four make no five */
    ck_assert_double_eq(estimate_average(value + 20, 80), 1);
}
END_TEST

START_TEST(warm_up_of_a_decaying_start) {
    static double value[200];
    for (int i = 0; i < 200; i++)
        value[i] = 10 - 10 * pow(0.9, i) + (i % 2 == 0 ? 1 : -1);
    ck_assert_uint_eq(estimate_warm_up(value, 200), 40); /* numpy 1.24.2 (C) */
    assert_near("mean of the rest", estimate_average(value + 40, 160), 9.9907619486, 1e-11);
}
END_TEST

START_TEST(warm_up_of_public_series) {
    static const struct {
        const char *name;
        size_t warm_up;
    } row[] = {{"Michelso", 25}, {"Lew", 0}, {"Mavro", 0}, {"Lottery", 0}}; /* numpy 1.24.2 (C) */
    static struct series series;
    for (size_t i = 0; i < LENGTH(row); i++) {
        read_series(&series, row[i].name);
        ck_assert_msg(estimate_warm_up(series.value, series.count) == row[i].warm_up, "%s",
                      row[i].name);
    }
    read_series(&series, "Michelso");
    assert_near("mean of the rest", estimate_average(series.value + 25, 75), 299.8317333333, 1e-12);
}
END_TEST

START_TEST(warm_up_is_never_more_than_half) {
    static double value[55]; /* 11 fives, of which 5 may go */
    for (size_t i = 0; i < 55; i++)
        value[i] = (double)i; /* of a slope, the shorter the rest the better */
    ck_assert_uint_eq(estimate_warm_up(value, 55), 25);
    ck_assert_uint_eq(estimate_warm_up(value, 9), 0);
    ck_assert_uint_eq(estimate_warm_up(value, 4), 0);
    ck_assert_uint_eq(estimate_warm_up(value, 0), 0);
}
END_TEST

/* ---- batches ---- */

START_TEST(batch_means_of_public_series) {
    static const struct {
        const char *name;
        size_t batches;
        double mean, deviation, half_width, correlation;
    } row[] = {
        /* numpy 1.24.2 (C), printed to ten places */
        {"Lew", 10, -177.435, 11.8658251106, 8.4882999377, -0.2293939438},
        {"Lew", 20, -177.435, 17.2380019296, 8.0676332410, -0.1190517179},
        {"Michelso", 10, 299.8524, 0.0408090404, 0.0291930289, 0.3146193056},
        {"Michelso", 20, 299.8524, 0.0492367000, 0.0230434849, 0.3224399055},
        {"Mavro", 10, 2.001856, 0.000423509150, 0.000302960195, 0.6205173952},
    };
    static struct series series;
    for (size_t i = 0; i < LENGTH(row); i++) {
        read_series(&series, row[i].name);
        struct estimate_batches found =
            estimate_by_batches(series.value, series.count, row[i].batches, 0.95);
        ck_assert_uint_eq(found.batch_length, series.count / row[i].batches);
        assert_near("mean", found.mean.value, row[i].mean, 1e-14);
        assert_near("deviation", found.deviation, row[i].deviation, 2.5e-9);
        assert_near("upper", found.mean.high - row[i].mean, row[i].half_width, 2.5e-9);
        assert_near("lower", row[i].mean - found.mean.low, row[i].half_width, 2.5e-9);
        assert_near("correlation", found.correlation, row[i].correlation, 5e-10);
    }
}
END_TEST

START_TEST(batches_leave_the_remainder_out_at_the_head) {
    static const double value[] = {1000, 1000, 1, 2, 3, 4, 5, 6, 7};
    struct estimate_batches found = estimate_by_batches(value + 1, 8, 3, 0.95);
    ck_assert_uint_eq(found.batch_length, 2);
    ck_assert_double_eq(found.mean.value, 4.5); /* of 2.5, 4.5, 6.5 */
    found = estimate_by_batches(value, 9, 7, 0.95);
    ck_assert_double_eq(found.mean.value, 4);
}
END_TEST

/* ---- autoregressive series, x_i = phi x_i-1 + e_i with e_i standard normal ---- */

static double standard_normal(struct random_stream *chance) {
    /* Ten deviations away from the cut at 0. */
    static const struct span span = {.kind = SPAN_NORMAL, .a = 10, .b = 1};
    return (double)span_draw(&span, chance, 1000000000) / 1e9 - 10;
}

static void draw_autoregressive(double *value, size_t count, double phi,
                                struct random_stream *chance) {
    double x = standard_normal(chance) / sqrt(1 - phi * phi); /* stationary from the start */
    for (size_t i = 0; i < count; i++) {
        value[i] = x;
        x = phi * x + standard_normal(chance);
    }
}

enum { LONG_SERIES = 1000000 };
static double long_series[LONG_SERIES];

START_TEST(variance_of_the_mean_is_that_of_the_process) {
    /* (s2/n) ((1+phi)/(1-phi) - 2 phi (1-phi^n)/(n (1-phi)^2)), s2 = 1/(1-phi^2); and by a double
     * sum (V). */
    static const struct {
        double phi;
        size_t count;
        double variance;
    } row[] = {{0.5, 100, 0.039466666667},
               {0.8, 100, 0.238888888891},
               {0.9, 1000, 0.099052631579},
               {0.95, 10000, 0.039922051282},
               {-0.5, 100, 0.004503703704}};
    enum { SERIES = 1000 };
    static double mean[SERIES];
    struct random_stream chance;
    random_start(&chance, 1, "series", "variance");
    for (size_t i = 0; i < LENGTH(row); i++) {
        for (int s = 0; s < SERIES; s++) {
            draw_autoregressive(long_series, row[i].count, row[i].phi, &chance);
            mean[s] = estimate_average(long_series, row[i].count);
        }
        double deviation = estimate_deviation(mean, SERIES);
        /* A sample variance has a relative standard error of sqrt(2/(n-1)); four of them. */
        assert_near("variance", deviation * deviation, row[i].variance,
                    4 * sqrt(2.0 / (SERIES - 1)));
    }
}
END_TEST

START_TEST(batch_means_are_correlated_as_the_process_says) {
    /* Exact correlation of neighbouring means of 50 (V). */
    static const struct {
        double phi, correlation;
    } row[] = {{0.5, 0.01369863}, {0.8, 0.04877903}, {0.9, 0.11554224}, {0.95, 0.25933302}};
    struct random_stream chance;
    random_start(&chance, 1, "series", "correlation");
    for (size_t i = 0; i < LENGTH(row); i++) {
        draw_autoregressive(long_series, LONG_SERIES, row[i].phi, &chance);
        struct estimate_batches found =
            estimate_by_batches(long_series, LONG_SERIES, LONG_SERIES / 50, 0.95);
        /* Standard error about 1/sqrt(batches); four of them. */
        double off = found.correlation - row[i].correlation;
        ck_assert_double_lt(fabs(off), 4 / sqrt(LONG_SERIES / 50.0));
    }
}
END_TEST

START_TEST(batch_interval_covers_the_truth_as_often_as_it_says) {
    /* Batches of 300 are 100 times the correlation time (1+phi)/(1-phi) = 3. */
    enum { SERIES = 1000, COUNT = 6000 };
    struct random_stream chance;
    random_start(&chance, 1, "series", "coverage");
    int covered = 0;
    for (int s = 0; s < SERIES; s++) {
        draw_autoregressive(long_series, COUNT, 0.5, &chance);
        struct estimate mean = estimate_by_batches(long_series, COUNT, 20, 0.95).mean;
        covered += mean.low <= 0 && 0 <= mean.high;
    }
    /* Binomial: four standard errors. */
    ck_assert_double_lt(fabs(covered / (double)SERIES - 0.95), 4 * sqrt(0.95 * 0.05 / SERIES));
}
END_TEST

static Suite *estimate_suite(void) {
    Suite *suite = suite_begin("estimate");
    TCase *means = tcase_create("means");
    tcase_add_test(means, moments_are_those_certified_by_nist);
    tcase_add_test(means, too_few_values_say_nothing);
    tcase_add_test(means, student_factor_is_that_of_the_closed_form);
    tcase_add_test(means, difference_is_the_mean_of_pairs);
    suite_add_tcase(suite, means);
    TCase *counts = tcase_create("counts");
    tcase_add_test(counts, probability_interval_is_that_of_r_and_scipy);
    tcase_add_test(counts, probability_interval_has_its_tails);
    tcase_add_test(counts, probability_interval_is_symmetric);
    tcase_add_test(counts, time_factors_are_those_of_the_handbook);
    tcase_add_test(counts, time_interval_has_its_tails);
    suite_add_tcase(suite, counts);
    TCase *series = tcase_create("series");
    tcase_add_test(series, warm_up_of_a_step_is_the_step);
    tcase_add_test(series, warm_up_of_a_decaying_start);
    tcase_add_test(series, warm_up_of_public_series);
    tcase_add_test(series, warm_up_is_never_more_than_half);
    tcase_add_test(series, batch_means_of_public_series);
    tcase_add_test(series, batches_leave_the_remainder_out_at_the_head);
    tcase_add_test(series, variance_of_the_mean_is_that_of_the_process);
    tcase_add_test(series, batch_means_are_correlated_as_the_process_says);
    tcase_add_test(series, batch_interval_covers_the_truth_as_often_as_it_says);
    suite_add_tcase(suite, series);
    return suite;
}

int main(void) { return suite_end(estimate_suite()); }
