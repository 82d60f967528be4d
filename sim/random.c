/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/random.c - where streams start, and how each distribution is made of their numbers.
 * Every draw takes its numbers in a fixed order and uses nothing of the machine's mathematics but
 * sqrt, which IEEE 754 defines to the last bit: what is drawn is part of what a seed promises. */
#include "sim/random.h"

#include <gsl/gsl_rng.h>
#include <math.h>
#include <string.h>

#include "sim/exact_math.h"
#include "sim/require.h"

/* ---- streams ---- */

enum { WORDS = 3, DISCARDED = 6 };
static const uint64_t word_values = UINT64_C(1) << 32;

/* The golden ratio's fraction, the step between neighbouring splitmix64 streams. */
static const uint64_t golden_step = UINT64_C(0x9e3779b97f4a7c15);

/* The output function of splitmix64 (G. Steele, D. Lea, C. Flood, "Fast splittable pseudorandom
 * number generators", OOPSLA 2014; mixer 13 of D. Stafford), a bijection that mixes all 64 bits. */
static uint64_t mixed(uint64_t bits) {
    bits = (bits ^ bits >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    bits = (bits ^ bits >> 27) * UINT64_C(0x94d049bb133111eb);
    return bits ^ bits >> 31;
}

static uint64_t hash_number(uint64_t hash, uint64_t number) {
    return mixed((hash ^ number) + golden_step);
}

/* The length goes first, so that "ab", "c" is not "a", "bc". */
static uint64_t hash_text(uint64_t hash, const char *text) {
    size_t length = strlen(text);
    hash = hash_number(hash, length);
    for (size_t i = 0; i < length; i++)
        hash = hash_number(hash, (unsigned char)text[i]);
    return hash;
}

static uint32_t next_word(struct random_stream *chance) {
    return (uint32_t)gsl_rng_taus2->get(chance);
}

void random_start(struct random_stream *chance, uint64_t seed, const char *owner,
                  const char *purpose) {
    /* GSL's own state is these three words in this order: tests/unit/test_random.c compares. */
    require(gsl_rng_taus2->size == sizeof *chance);
    require(gsl_rng_taus2->min == 0 && gsl_rng_taus2->max == UINT32_MAX);
    static const unsigned long least[WORDS] = {2, 8, 16}; /* smaller words get stuck at 0 */
    uint64_t hash = hash_text(hash_text(hash_number(0, seed), owner), purpose);
    for (uint64_t i = 0; i < WORDS; i++) {
        unsigned long word = (unsigned long)(mixed(hash + (i + 1) * golden_step) >> 32);
        chance->word[i] = word < least[i] ? word + least[i] : word;
    }
    for (int i = 0; i < DISCARDED; i++) /* as many as GSL's seeding throws away */
        next_word(chance);
}

double random_uniform(struct random_stream *chance) { return next_word(chance) * 0x1p-32; }

uint32_t random_below(struct random_stream *chance, uint32_t count) {
    require(count >= 1);
    uint64_t share = word_values / count;
    uint64_t drawn;
    do
        drawn = next_word(chance) / share;
    while (drawn >= count);
    return (uint32_t)drawn;
}

bool random_hits(struct random_stream *chance, double probability) {
    require(probability >= 0 && probability <= 1);
    return random_uniform(chance) < probability;
}

/* ---- distributions, in seconds ---- */

/* A number strictly between 0 and 1, in the middle of its 2^-32: it has a logarithm. */
static double open_uniform(struct random_stream *chance) {
    return (next_word(chance) + 0.5) * 0x1p-32;
}

static double standard_exponential(struct random_stream *chance) {
    return -exact_log(open_uniform(chance));
}

/* Ratio of uniforms: J. Leva, "A fast normal random number generator", ACM Transactions on
 * Mathematical Software 18 (1992) 449-453. Two quadratics settle all but 1.2 % of the tries. */
static double standard_normal(struct random_stream *chance) {
    for (;;) {
        double u = open_uniform(chance);
        double v = 1.7156 * (open_uniform(chance) - 0.5);
        double x = u - 0.449871;
        double y = fabs(v) + 0.386595;
        double q = x * x + y * (0.19600 * y - 0.25472 * x);
        if (q < 0.27597)
            return v / u;
        if (q <= 0.27846 && v * v <= -4 * u * u * exact_log(u))
            return v / u;
    }
}

/* From here on the acceptance test would drown in rounding; it refuses not one try in 10^9. */
static const double gamma_shape_cubed_normal = 1e9;

/* shape >= 1, mean 1. G. Marsaglia, W. W. Tsang, "A simple method for generating gamma variables",
 * ACM Transactions on Mathematical Software 26 (2000) 363-372. */
static double gamma_of_mean_1(struct random_stream *chance, double shape) {
    double d = shape - 1.0 / 3;
    double c = 1 / sqrt(9 * d);
    for (;;) {
        double x = standard_normal(chance);
        double root = 1 + c * x;
        if (root <= 0)
            continue;
        double v = root * root * root;
        if (shape >= gamma_shape_cubed_normal)
            return v * (1 - 1 / (3 * shape));
        if (exact_log(open_uniform(chance)) < 0.5 * x * x + d * (1 - v + exact_log(v)))
            return v * (1 - 1 / (3 * shape));
    }
}

static double draw_gamma(struct random_stream *chance, double mean, double cv) {
    double shape = 1 / (cv * cv);
    if (shape >= 1)
        return mean * gamma_of_mean_1(chance, shape);
    /* Of shape + 1 and thinned by U^(1/shape) (same paper, section 6); its mean is 1 + 1/shape. */
    double above_1 = gamma_of_mean_1(chance, shape + 1) * (1 + cv * cv);
    return mean * above_1 * exact_exp(-standard_exponential(chance) * cv * cv);
}

static double draw_lognormal(struct random_stream *chance, double mean, double cv) {
    double variance = exact_log1p(cv * cv); /* of the logarithm, whose mean is -variance / 2 */
    return mean * exact_exp(sqrt(variance) * standard_normal(chance) - variance / 2);
}

static double draw_weibull(struct random_stream *chance, double scale, double shape) {
    return scale * exact_exp(exact_log(standard_exponential(chance)) / shape);
}

static double draw_triangular(struct random_stream *chance, double low, double mode, double high) {
    double u = open_uniform(chance);
    if (u * (high - low) < mode - low)
        return low + sqrt(u * (high - low) * (mode - low));
    return high - sqrt((1 - u) * (high - low) * (high - mode));
}

static double draw_seconds(const struct span *span, struct random_stream *chance) {
    switch (span->kind) {
    case SPAN_EXPONENTIAL: return span->a * standard_exponential(chance);
    case SPAN_UNIFORM: return span->a + (span->b - span->a) * open_uniform(chance);
    case SPAN_NORMAL: return span->a + span->b * standard_normal(chance);
    case SPAN_LOGNORMAL: return draw_lognormal(chance, span->a, span->b);
    case SPAN_GAMMA: return draw_gamma(chance, span->a, span->b);
    case SPAN_WEIBULL: return draw_weibull(chance, span->a, span->b);
    case SPAN_TRIANGULAR: return draw_triangular(chance, span->a, span->b, span->c);
    case SPAN_FIXED:
    case SPAN_GEOMETRIC: break;
    }
    require_failed("a span that is drawn in seconds", __FILE__, __LINE__);
}

/* ---- ticks ---- */

/* Trials up to and with the first success, by inversion: P(more than k) = (1 - p)^k. */
static double draw_geometric(struct random_stream *chance, double probability) {
    require(probability > 0 && probability <= 1);
    double exponential = standard_exponential(chance);
    return probability == 1 ? 1 : 1 + exponential / -exact_log1p(-probability);
}

/* Rounded half up; the 1/2 is not added, because the sum could round up to the next integer. */
static int64_t rounded(double ticks) {
    int64_t whole = (int64_t)ticks;
    return whole + (ticks - (double)whole >= 0.5);
}

static int64_t ticks_of(double seconds, int64_t ticks_per_second) {
    double ticks = seconds * (double)ticks_per_second;
    if (!(ticks > 0))
        return 0;
    if (ticks >= (double)SPAN_TICKS_MAX)
        return SPAN_TICKS_MAX;
    return ticks < 1 ? 1 : rounded(ticks);
}

int64_t span_draw(const struct span *span, struct random_stream *chance, int64_t ticks_per_second) {
    if (span->kind == SPAN_FIXED)
        return span->ticks;
    int64_t ticks;
    if (span->kind == SPAN_GEOMETRIC) {
        double trials = draw_geometric(chance, span->a);
        ticks = trials < (double)SPAN_TICKS_MAX ? (int64_t)trials : SPAN_TICKS_MAX;
    } else {
        ticks = ticks_of(draw_seconds(span, chance), ticks_per_second);
    }
    return ticks < span->least_ticks ? span->least_ticks : ticks;
}

bool span_is_random(const struct span *span) { return span->kind != SPAN_FIXED; }
