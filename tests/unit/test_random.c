/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_random.c - streams against GSL's generator, draws against GSL's distribution
 * functions, logarithm and exponential against the C library, and one frozen number for all of
 * it.
 *
 * Statistical checks have fixed seeds, so they never flicker. Their level is that of Smirnov's
 * table, K(2.00) = 0.999329 (N. Smirnov, "Table for estimating the goodness of fit of empirical
 * distributions", Annals of Mathematical Statistics 19 (1948) 279-281): a right sampler fails
 * one of them for 7 seeds in 10 000. */
#include "sim/random.h"

#include <check.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/exact_math.h"
#include "tests/common/suite.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

static const double smirnov_critical = 2.00;
static const double tail_probability = 1 - 0.999329;

static struct random_stream stream(uint64_t seed, const char *owner) {
    struct random_stream chance;
    random_start(&chance, seed, owner, "test");
    return chance;
}

static int same(struct random_stream a, struct random_stream b) {
    return memcmp(&a, &b, sizeof a) == 0;
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Kolmogorov's distance of a sample (sorted here) from a distribution function, times sqrt(n). */
static double distance(double *sample, size_t count, double (*cdf)(double, const void *),
                       const void *of) {
    qsort(sample, count, sizeof *sample, by_size);
    double worst = 0, n = (double)count;
    for (size_t i = 0; i < count; i++) {
        double p = cdf(sample[i], of);
        worst = fmax(worst, fmax(p - (double)i / n, (double)(i + 1) / n - p));
    }
    return worst * sqrt(n);
}

/* Pearson's chi-square of counts against probabilities has to lie in neither tail. */
static void assert_fits(const uint64_t *seen, const double *probability, size_t cells, double n) {
    double chi_square = 0;
    for (size_t i = 0; i < cells; i++) {
        double off = (double)seen[i] - n * probability[i];
        chi_square += off * off / (n * probability[i]);
    }
    double q = gsl_cdf_chisq_Q(chi_square, (double)cells - 1);
    ck_assert_double_gt(q, tail_probability / 2);
    ck_assert_double_lt(q, 1 - tail_probability / 2);
}

/* ---- streams ---- */

START_TEST(state_is_that_of_gsl_taus2) {
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus2);
    gsl_rng_set(rng, 1);
    struct random_stream chance;
    ck_assert_uint_eq(gsl_rng_size(rng), sizeof chance);
    memcpy(&chance, gsl_rng_state(rng), sizeof chance);
    double last = 0;
    for (int i = 0; i < 10000; i++)
        last = random_uniform(&chance);
    gsl_rng_free(rng);
    /* GSL 2.7.1, rng/test.c: rng_test (gsl_rng_taus2, 1, 10000, 2733957125UL). */
    ck_assert_double_eq(last, 2733957125 * 0x1p-32);
}
END_TEST

START_TEST(start_depends_on_seed_owner_and_purpose_apart) {
    static const struct {
        uint64_t seed;
        const char *owner, *purpose;
    } row[] = {
        {1, "ab", "c"},  {1, "a", "bc"},
        {1, "", "abc"},  {1, "abc", ""},
        {1, "c", "ab"},  {2, "ab", "c"},
        {0, "ab", "c"},  {1, "ab", "C"},
        {1, "ab", "cc"}, {UINT64_C(1) << 32, "ab", "c"},
    };
    struct random_stream start[LENGTH(row)];
    for (size_t i = 0; i < LENGTH(row); i++) {
        random_start(&start[i], row[i].seed, row[i].owner, row[i].purpose);
        for (size_t j = 0; j < i; j++)
            ck_assert_msg(!same(start[i], start[j]), "rows %zu and %zu start alike", i, j);
    }
}
END_TEST

START_TEST(a_stream_does_not_see_its_neighbours) {
    struct random_stream alone = stream(7, "bench-taker"), among = stream(7, "bench-taker");
    for (int i = 0; i < 100; i++) {
        char name[16];
        snprintf(name, sizeof name, "arm-%d", i);
        struct random_stream other = stream(7, name);
        random_uniform(&other);
        ck_assert_double_eq(random_uniform(&alone), random_uniform(&among));
        ck_assert(!same(other, among));
    }
}
END_TEST

static double flat(double x, const void *of) {
    (void)of;
    return x;
}

/* Seeds 0, 1, 2 ... and names in a row are the usual ones: their streams must look unrelated. */
START_TEST(first_numbers_of_streams_are_uniform) {
    enum { COUNT = 100000 };
    static double by_seed[COUNT], by_name[COUNT], product[COUNT];
    double before = 0, sum = 0;
    for (int i = 0; i < COUNT; i++) {
        char name[16];
        snprintf(name, sizeof name, "arm-%d", i);
        struct random_stream a = stream((uint64_t)i, "arm"), b = stream(1, name);
        by_seed[i] = random_uniform(&a);
        by_name[i] = random_uniform(&b);
        product[i] = (by_seed[i] - 0.5) * (before - 0.5);
        sum += product[i];
        before = by_seed[i];
    }
    ck_assert_double_lt(distance(by_seed, COUNT, flat, NULL), smirnov_critical);
    ck_assert_double_lt(distance(by_name, COUNT, flat, NULL), smirnov_critical);
    /* Products of independent centred uniforms have variance 1/144; four standard errors. */
    ck_assert_double_lt(fabs(sum / COUNT), 4 / 12.0 / sqrt(COUNT));
}
END_TEST

START_TEST(uniform_is_a_multiple_of_2_to_minus_32_below_1) {
    struct random_stream chance = stream(1, "uniform");
    for (int i = 0; i < 10000; i++) {
        double u = random_uniform(&chance);
        ck_assert(u >= 0 && u < 1);
        ck_assert_double_eq(u * 0x1p32, floor(u * 0x1p32));
    }
}
END_TEST

START_TEST(below_gives_each_number_equally_often) {
    static const uint32_t count[] = {1, 2, 3, 7, 100, 1000};
    enum { DRAWS = 200000 };
    for (size_t c = 1; c < LENGTH(count); c++) {
        uint64_t seen[1000] = {0};
        double probability[1000];
        struct random_stream chance = stream(1, "below");
        for (int i = 0; i < DRAWS; i++) {
            uint32_t drawn = random_below(&chance, count[c]);
            ck_assert_uint_lt(drawn, count[c]);
            seen[drawn]++;
        }
        for (uint32_t i = 0; i < count[c]; i++)
            probability[i] = 1.0 / count[c];
        assert_fits(seen, probability, count[c], DRAWS);
    }
    struct random_stream chance = stream(1, "below");
    ck_assert_uint_eq(random_below(&chance, 1), 0);
}
END_TEST

/* Without rejection one of these thirds would come twice as often as the others. */
START_TEST(below_rejects_what_does_not_divide) {
    enum { DRAWS = 200000 };
    uint64_t seen[3] = {0};
    struct random_stream chance = stream(1, "thirds");
    for (int i = 0; i < DRAWS; i++)
        seen[random_below(&chance, UINT32_C(3) << 30) >> 30]++;
    assert_fits(seen, (double[]){1.0 / 3, 1.0 / 3, 1.0 / 3}, 3, DRAWS);
}
END_TEST

START_TEST(hits_takes_one_number_and_keeps_to_its_probability) {
    enum { DRAWS = 200000 };
    struct random_stream chance = stream(1, "hits"), shadow = chance;
    uint64_t seen[2] = {0};
    for (int i = 0; i < DRAWS; i++) {
        ck_assert(!random_hits(&chance, 0));
        ck_assert(random_hits(&chance, 1));
        seen[random_hits(&chance, 0.3)]++;
        for (int taken = 0; taken < 3; taken++)
            random_uniform(&shadow);
    }
    ck_assert(same(chance, shadow));
    assert_fits(seen, (double[]){0.7, 0.3}, 2, DRAWS);
}
END_TEST

/* The state of three zeros, which no stream ever has, gives 0 for ever: the rarest of numbers. */
START_TEST(number_0_never_hits_and_has_a_logarithm) {
    struct random_stream zero = {{0, 0, 0}};
    struct span span = {.kind = SPAN_EXPONENTIAL, .a = 1};
    ck_assert_double_eq(random_uniform(&zero), 0);
    ck_assert(!random_hits(&zero, 0));
    ck_assert(random_hits(&zero, 1));
    ck_assert_uint_eq(random_below(&zero, 5), 0);
    /* -log(2^-33) = 33 log 2 seconds. */
    ck_assert_int_eq(span_draw(&span, &zero, 1000), 22874);
}
END_TEST

/* ---- distributions ---- */

/* A span, its distribution function by GSL, its mean and standard deviation by the formulas of
 * A. Law, "Simulation modeling and analysis", 5th ed. (2015), section 6.2.2. */
struct law {
    const char *name;
    struct span span;
    double (*cdf)(double, const void *);
    double mean, deviation;
};

static double exponential_cdf(double x, const void *of) {
    const struct span *s = of;
    return gsl_cdf_exponential_P(x, s->a);
}
static double uniform_cdf(double x, const void *of) {
    const struct span *s = of;
    return gsl_cdf_flat_P(x, s->a, s->b);
}
static double normal_cdf(double x, const void *of) {
    const struct span *s = of;
    return gsl_cdf_gaussian_P(x - s->a, s->b);
}
static double lognormal_cdf(double x, const void *of) {
    const struct span *s = of;
    double variance = log(1 + s->b * s->b);
    return gsl_cdf_lognormal_P(x, log(s->a) - variance / 2, sqrt(variance));
}
static double gamma_cdf(double x, const void *of) {
    const struct span *s = of;
    return gsl_cdf_gamma_P(x, 1 / (s->b * s->b), s->a * s->b * s->b);
}
/* The gamma distribution of a shape so large that it is normal to within the test's resolution. */
static double slim_gamma_cdf(double x, const void *of) {
    const struct span *s = of;
    return gsl_cdf_gaussian_P(x - s->a, s->a * s->b);
}
static double weibull_cdf(double x, const void *of) {
    const struct span *s = of;
    return gsl_cdf_weibull_P(x, s->a, s->b);
}
/* GSL has none; Law, section 6.2.2: two parabolas that meet at the mode. */
static double triangular_cdf(double x, const void *of) {
    const struct span *s = of;
    if (x < s->b)
        return (x - s->a) * (x - s->a) / ((s->c - s->a) * (s->b - s->a));
    return 1 - (s->c - x) * (s->c - x) / ((s->c - s->a) * (s->c - s->b));
}

static const struct law law[] = {
    {"exponential", {.kind = SPAN_EXPONENTIAL, .a = 2.5}, exponential_cdf, 2.5, 2.5},
    {"uniform", {.kind = SPAN_UNIFORM, .a = 0.5, .b = 3}, uniform_cdf, 1.75, 0.72168783648703},
    {"normal", {.kind = SPAN_NORMAL, .a = 6, .b = 1}, normal_cdf, 6, 1},
    {"lognormal, small", {.kind = SPAN_LOGNORMAL, .a = 4, .b = 0.2}, lognormal_cdf, 4, 0.8},
    {"lognormal, wide", {.kind = SPAN_LOGNORMAL, .a = 0.5, .b = 1.5}, lognormal_cdf, 0.5, 0.75},
    {"gamma, slim", {.kind = SPAN_GAMMA, .a = 3, .b = 0.25}, gamma_cdf, 3, 0.75},
    {"gamma, shape 1", {.kind = SPAN_GAMMA, .a = 3, .b = 1}, gamma_cdf, 3, 3},
    {"gamma, shape < 1", {.kind = SPAN_GAMMA, .a = 2, .b = 1.5}, gamma_cdf, 2, 3},
    {"gamma, shape 10^8", {.kind = SPAN_GAMMA, .a = 1, .b = 1e-4}, slim_gamma_cdf, 1, 1e-4},
    {"gamma, shape 10^10", {.kind = SPAN_GAMMA, .a = 1, .b = 1e-5}, slim_gamma_cdf, 1, 1e-5},
    /* mean 2 Gamma(1 + 1/0.7), 2 Gamma(1.5); deviations likewise (A & S 6.1.1, 6.1.8) */
    {"weibull, shape < 1",
     {.kind = SPAN_WEIBULL, .a = 2, .b = 0.7},
     weibull_cdf,
     2.5316470121146,
     3.7023428007969},
    {"weibull, shape 2",
     {.kind = SPAN_WEIBULL, .a = 2, .b = 2},
     weibull_cdf,
     1.7724538509055,
     0.92650275035221},
    {"triangular",
     {.kind = SPAN_TRIANGULAR, .a = 1, .b = 2, .c = 5},
     triangular_cdf,
     2.6666666666667,
     0.84983658559880},
    {"triangular, mode low",
     {.kind = SPAN_TRIANGULAR, .a = 1, .b = 1, .c = 4},
     triangular_cdf,
     2,
     0.70710678118655},
    {"triangular, mode high",
     {.kind = SPAN_TRIANGULAR, .a = 1, .b = 4, .c = 4},
     triangular_cdf,
     3,
     0.70710678118655},
};

/* At 10^12 ticks a second rounding moves a draw by less than 10^-8 of any deviation above. */
static const int64_t fine_ticks = INT64_C(1000000000000);

START_TEST(draws_follow_their_distribution) {
    enum { DRAWS = 200000 };
    static double sample[DRAWS];
    const struct law *of = &law[_i];
    struct random_stream chance = stream(1, of->name);
    double sum = 0;
    for (int i = 0; i < DRAWS; i++) {
        sample[i] = (double)span_draw(&of->span, &chance, fine_ticks) / (double)fine_ticks;
        sum += sample[i] - of->mean;
    }
    double found = distance(sample, DRAWS, of->cdf, &of->span);
    ck_assert_msg(found < smirnov_critical, "%s: distance %g / sqrt(n)", of->name, found);
    /* Four standard errors. */
    double errors = sum / DRAWS / (of->deviation / sqrt(DRAWS));
    ck_assert_msg(fabs(errors) < 4, "%s: mean off by %g standard errors", of->name, errors);
}
END_TEST

START_TEST(geometric_counts_ticks_from_1) {
    enum { DRAWS = 200000, CELLS = 20 };
    static const double p = 0.2;
    struct span span = {.kind = SPAN_GEOMETRIC, .a = p};
    struct random_stream chance = stream(1, "geometric");
    uint64_t seen[CELLS] = {0};
    double probability[CELLS];
    for (int i = 0; i < DRAWS; i++) {
        int64_t ticks = span_draw(&span, &chance, 100);
        ck_assert_int_ge(ticks, 1);
        seen[(ticks < CELLS ? ticks : CELLS) - 1]++;
    }
    for (unsigned k = 1; k < CELLS; k++)
        probability[k - 1] = gsl_cdf_geometric_P(k, p) - gsl_cdf_geometric_P(k - 1, p);
    probability[CELLS - 1] = gsl_cdf_geometric_Q(CELLS - 1, p);
    assert_fits(seen, probability, CELLS, DRAWS);
}
END_TEST

/* 1 - p loses half of such a p: the mean would be off by 11 %. */
START_TEST(geometric_of_a_tiny_probability_keeps_its_mean) {
    enum { DRAWS = 40000 };
    struct span span = {.kind = SPAN_GEOMETRIC, .a = 1.6e-16 * 5};
    struct random_stream chance = stream(1, "rare");
    double sum = 0;
    for (int i = 0; i < DRAWS; i++)
        sum += (double)span_draw(&span, &chance, 100) * span.a;
    /* Cut at p 2^53 = 7.2 means, which takes exp(-7.2) = 0.00075 away; deviation 1 of the mean. */
    ck_assert_double_lt(fabs(sum / DRAWS - (1 - exp(-span.a * 0x1p53))), 4 / sqrt(DRAWS));
}
END_TEST

START_TEST(certain_geometric_is_1_and_takes_a_number) {
    struct span span = {.kind = SPAN_GEOMETRIC, .a = 1};
    struct random_stream chance = stream(1, "certain"), before = chance;
    ck_assert_int_eq(span_draw(&span, &chance, 100), 1);
    ck_assert(!same(chance, before));
}
END_TEST

START_TEST(normal_below_0_counts_as_0) {
    enum { DRAWS = 200000 };
    struct span span = {.kind = SPAN_NORMAL, .a = 1, .b = 2};
    struct random_stream chance = stream(1, "cut");
    uint64_t seen[2] = {0};
    for (int i = 0; i < DRAWS; i++)
        seen[span_draw(&span, &chance, fine_ticks) == 0]++;
    double zero = gsl_cdf_ugaussian_P(-0.5);
    assert_fits(seen, (double[]){1 - zero, zero}, 2, DRAWS);
}
END_TEST

/* ---- ticks ---- */

/* A uniform span between equal ends is that length, to the bit. */
static int64_t ticks_of_seconds(double seconds, int64_t ticks_per_second, int32_t least_ticks) {
    struct span span = {
        .kind = SPAN_UNIFORM, .a = seconds, .b = seconds, .least_ticks = least_ticks};
    struct random_stream chance = stream(1, "exact");
    return span_draw(&span, &chance, ticks_per_second);
}

START_TEST(lengths_are_rounded_half_up) {
    static const struct {
        double seconds;
        int64_t rate;
        int32_t least;
        int64_t ticks;
    } row[] = {
        {0, 100, 0, 0},
        {0, 100, 1, 1},
        {-3, 100, 0, 0},
        {-3, 100, 1, 1},
        {0.001, 100, 0, 1}, /* positive: never less than 1 tick */
        {1e-300, 1, 0, 1},
        {0x1.fffffffffffffp-2, 1, 0, 1},
        {0.5, 1, 0, 1},
        {1.5, 1, 0, 2},
        {0x1.7ffffffffffffp0, 1, 0, 1}, /* the number before 1.5 */
        {2.5, 1, 0, 3},                 /* half up, not to even */
        {0.25, 10, 0, 3},
        {0.125, 100, 0, 13},
        {2.25, 60, 0, 135},
        {2.25, 60, 200, 200},
        {0x1.8p51 + 0.5, 1, 0, (INT64_C(3) << 50) + 1},
        {0x1p52 + 1, 1, 0, (INT64_C(1) << 52) + 1}, /* adding 1/2 first would give 2^52 + 2 */
        {0x1p53 - 1, 1, 0, SPAN_TICKS_MAX - 1},
        {0x1p53, 1, 0, SPAN_TICKS_MAX},
        {0x1.8p53, 1, 0, SPAN_TICKS_MAX},
        {0x1p70, 1, 0, SPAN_TICKS_MAX},
        {1e300, 1000000000, 1, SPAN_TICKS_MAX}, /* more than 2^53 ticks, and than any integer */
        {DBL_MAX, 1000000000, 0, SPAN_TICKS_MAX},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        int64_t found = ticks_of_seconds(row[i].seconds, row[i].rate, row[i].least);
        ck_assert_msg(found == row[i].ticks, "row %zu: %g s at %lld a second gives %lld", i,
                      row[i].seconds, (long long)row[i].rate, (long long)found);
    }
}
END_TEST

START_TEST(fixed_span_takes_no_number) {
    struct span span = {.kind = SPAN_FIXED, .ticks = 150};
    struct random_stream chance = stream(1, "fixed"), before = chance;
    ck_assert(!span_is_random(&span));
    ck_assert_int_eq(span_draw(&span, &chance, 100), 150);
    ck_assert(same(chance, before));
    span.kind = SPAN_EXPONENTIAL;
    ck_assert(span_is_random(&span));
}
END_TEST

/* What is positive by its formula gives at least 1 tick even where double would underflow to 0, and
 * what has no spread gives its mean. */
START_TEST(extreme_parameters_stay_in_range) {
    static const struct {
        struct span span;
        int64_t least, most;
    } row[] = {
        {{.kind = SPAN_GAMMA, .a = 2, .b = 1000}, 1, SPAN_TICKS_MAX},
        {{.kind = SPAN_GAMMA, .a = 2, .b = 1e18}, 1, SPAN_TICKS_MAX},
        {{.kind = SPAN_GAMMA, .a = 2, .b = 0}, 200, 200},
        {{.kind = SPAN_GAMMA, .a = 2, .b = 1e-200}, 200, 200},
        {{.kind = SPAN_LOGNORMAL, .a = 2, .b = 1e18}, 1, SPAN_TICKS_MAX},
        {{.kind = SPAN_LOGNORMAL, .a = 2, .b = 0}, 200, 200},
        {{.kind = SPAN_WEIBULL, .a = 2, .b = 1e-9}, 1, SPAN_TICKS_MAX},
        {{.kind = SPAN_WEIBULL, .a = 2, .b = 1e9}, 200, 200},
        {{.kind = SPAN_TRIANGULAR, .a = 2, .b = 2, .c = 2}, 200, 200},
        {{.kind = SPAN_NORMAL, .a = 2, .b = 0}, 200, 200},
        {{.kind = SPAN_EXPONENTIAL, .a = 1e-9}, 1, 1},
        {{.kind = SPAN_EXPONENTIAL, .a = 0}, 0, 0},
        {{.kind = SPAN_UNIFORM, .a = 0, .b = 0.01}, 1, 1},
        {{.kind = SPAN_GEOMETRIC, .a = 1e-300}, SPAN_TICKS_MAX, SPAN_TICKS_MAX},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct random_stream chance = stream(1, "extreme");
        for (int n = 0; n < 1000; n++) {
            int64_t ticks = span_draw(&row[i].span, &chance, 100);
            ck_assert_msg(ticks >= row[i].least && ticks <= row[i].most, "row %zu: %lld", i,
                          (long long)ticks);
        }
    }
}
END_TEST

/* ---- the same bits everywhere ---- */

/* Off by so many units in the last place of the true value. */
static double units_off(double found, long double true_value) {
    int exponent;
    frexpl(true_value, &exponent);
    return (double)fabsl((found - true_value) / ldexpl(1, exponent - DBL_MANT_DIG));
}

/* Two units, and one for the C library where its long double is no finer than double (in valgrind,
 * on some processors). */
static double units_allowed(void) {
    volatile long double finer = 1 + 0x1p-60L;
    return finer > 1 ? 2 : 3;
}

START_TEST(exact_functions_are_within_2_units_in_the_last_place) {
    struct random_stream chance = stream(1, "elementary");
    double log_off = 0, log1p_off = 0, exp_off = 0;
    for (int i = 0; i < 1000000; i++) {
        double u = random_uniform(&chance), v = random_uniform(&chance) + 0x1p-33;
        double near_1 = 0.5 + u, any = ldexp(0.5 + u, (int)(2000 * v) - 1000);
        double small = ldexp(u - 0.5, -(int)(60 * v)), exponent = 1400 * (u - 0.5) * v * v;
        log_off = fmax(log_off, units_off(exact_log(near_1), logl(near_1)));
        log_off = fmax(log_off, units_off(exact_log(any), logl(any)));
        log1p_off = fmax(log1p_off, units_off(exact_log1p(small), log1pl(small)));
        log1p_off = fmax(log1p_off, units_off(exact_log1p(any), log1pl(any)));
        exp_off = fmax(exp_off, units_off(exact_exp(exponent), expl(exponent)));
    }
    ck_assert_double_lt(log_off, units_allowed());
    ck_assert_double_lt(log1p_off, units_allowed());
    ck_assert_double_lt(exp_off, units_allowed());
}
END_TEST

START_TEST(exact_functions_at_their_ends) {
    ck_assert_double_eq(exact_log(1), 0);
    ck_assert_double_lt(units_off(exact_log(0x1p-1074), -1074 * logl(2)), units_allowed());
    double subnormal = 0x1.8p-1030;
    ck_assert_double_lt(units_off(exact_log(subnormal), logl(subnormal)), units_allowed());
    ck_assert_double_lt(units_off(exact_log(DBL_MAX), logl(DBL_MAX)), units_allowed());
    ck_assert_double_eq(exact_log1p(0), 0);
    ck_assert_double_eq(exact_log1p(-1e-300), -1e-300);
    ck_assert_double_eq(exact_exp(0), 1);
    ck_assert_double_lt(units_off(exact_exp(700), expl(700)), units_allowed());
    ck_assert_double_lt(units_off(exact_exp(-700), expl(-700)), units_allowed());
    ck_assert_double_eq(exact_exp(1e308), exact_exp(700));
    ck_assert_double_eq(exact_exp(-1e308), exact_exp(-700));
}
END_TEST

/* A tick of a draw near 1 s is a few units in its last place. */
static const int64_t finest_ticks = INT64_C(1000000000000000);

static uint64_t hash_draws(uint64_t hash, const struct span *span, const char *name) {
    struct random_stream chance = stream(7, name);
    for (int i = 0; i < 20000; i++) /* FNV-1a over whole draws */
        hash = (hash ^ (uint64_t)span_draw(span, &chance, finest_ticks)) * UINT64_C(0x100000001b3);
    return hash;
}

/* Found with gcc 12 on x86-64 and the same for gcc and clang, -O0 to -O3, with the fused
 * multiply-add of x86-64-v3 to be had or not, and with a C library that may not use it. A change of
 * this number is a change of what every seed gives. */
START_TEST(draws_are_the_same_on_every_machine) {
    uint64_t hash = UINT64_C(0xcbf29ce484222325);
    for (size_t i = 0; i < LENGTH(law); i++)
        hash = hash_draws(hash, &law[i].span, law[i].name);
    hash = hash_draws(hash, &(struct span){.kind = SPAN_GEOMETRIC, .a = 1e-9}, "geometric");
    ck_assert_msg(hash == UINT64_C(0x261dbb3207af8e31), "draws hash to %#llx",
                  (unsigned long long)hash);
}
END_TEST

static Suite *chance_suite(void) {
    Suite *suite = suite_begin("chance");
    TCase *streams = tcase_create("streams");
    tcase_add_test(streams, state_is_that_of_gsl_taus2);
    tcase_add_test(streams, start_depends_on_seed_owner_and_purpose_apart);
    tcase_add_test(streams, a_stream_does_not_see_its_neighbours);
    tcase_add_test(streams, first_numbers_of_streams_are_uniform);
    tcase_add_test(streams, uniform_is_a_multiple_of_2_to_minus_32_below_1);
    tcase_add_test(streams, below_gives_each_number_equally_often);
    tcase_add_test(streams, below_rejects_what_does_not_divide);
    tcase_add_test(streams, hits_takes_one_number_and_keeps_to_its_probability);
    tcase_add_test(streams, number_0_never_hits_and_has_a_logarithm);
    suite_add_tcase(suite, streams);
    TCase *distributions = tcase_create("distributions");
    tcase_add_loop_test(distributions, draws_follow_their_distribution, 0, (int)LENGTH(law));
    tcase_add_test(distributions, geometric_counts_ticks_from_1);
    tcase_add_test(distributions, geometric_of_a_tiny_probability_keeps_its_mean);
    tcase_add_test(distributions, certain_geometric_is_1_and_takes_a_number);
    tcase_add_test(distributions, normal_below_0_counts_as_0);
    suite_add_tcase(suite, distributions);
    TCase *ticks = tcase_create("ticks");
    tcase_add_test(ticks, lengths_are_rounded_half_up);
    tcase_add_test(ticks, fixed_span_takes_no_number);
    tcase_add_test(ticks, extreme_parameters_stay_in_range);
    suite_add_tcase(suite, ticks);
    TCase *bits = tcase_create("bits");
    tcase_add_test(bits, exact_functions_are_within_2_units_in_the_last_place);
    tcase_add_test(bits, exact_functions_at_their_ends);
    tcase_add_test(bits, draws_are_the_same_on_every_machine);
    suite_add_tcase(suite, bits);
    return suite;
}

int main(void) { return suite_end(chance_suite()); }
