/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/exact_math.c - range reduction by exact steps, then a series long enough for 53 bits. */
#include "sim/exact_math.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "sim/require.h"

_Static_assert(DBL_MANT_DIG == 53 && DBL_MAX_EXP == 1024, "double has to be IEEE 754 binary64");

/* log 2 in two parts; the first has 33 bits, so that its product with any exponent is exact. */
static const double log2_high = 0x1.62e42fefp-1;
static const double log2_low = 0x1.473de6af278edp-34;
static const double sqrt_2 = 0x1.6a09e667f3bcdp+0;

enum { FRACTION_BITS = 52, EXPONENT_BIAS = 1023 };

static uint64_t bits_of(double x) {
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    return bits;
}

static double power_of_2(int exponent) {
    uint64_t bits = (uint64_t)(exponent + EXPONENT_BIAS) << FRACTION_BITS;
    double x;
    memcpy(&x, &bits, sizeof x);
    return x;
}

/* The m in [sqrt(1/2), sqrt(2)) and the k for which a normal x = 2^k m. */
static double split(double x, int *k) {
    int exponent = (int)(bits_of(x) >> FRACTION_BITS) - EXPONENT_BIAS;
    uint64_t fraction = bits_of(x) & ((UINT64_C(1) << FRACTION_BITS) - 1);
    uint64_t bits = (uint64_t)EXPONENT_BIAS << FRACTION_BITS | fraction;
    double m;
    memcpy(&m, &bits, sizeof m);
    bool upper = m >= sqrt_2;
    *k = exponent + upper;
    return upper ? m * 0.5 : m;
}

/* artanh(s)/s - 1 by its series in z = s^2; the first term left out is below 2^-60. */
static double artanh_tail(double z) {
    static const double coefficient[] = {1.0 / 21, 1.0 / 19, 1.0 / 17, 1.0 / 15, 1.0 / 13,
                                         1.0 / 11, 1.0 / 9,  1.0 / 7,  1.0 / 5,  1.0 / 3};
    double sum = 0;
    for (size_t i = 0; i < sizeof coefficient / sizeof *coefficient; i++)
        sum = (sum + coefficient[i]) * z;
    return sum;
}

double exact_log(double x) {
    require(x > 0 && x <= DBL_MAX);
    int k, rescaled = 0;
    if (x < DBL_MIN) {
        rescaled = FRACTION_BITS;
        x *= power_of_2(FRACTION_BITS);
    }
    double f = split(x, &k) - 1;
    double s = f / (2 + f);
    /* 2s = f - s f, where f is exact: better than adding up from 2s. */
    double log_m = f - s * (f - 2 * artanh_tail(s * s));
    k -= rescaled;
    return k == 0 ? log_m : k * log2_high + (log_m + k * log2_low);
}

double exact_log1p(double x) {
    double y = 1 + x;
    double lost = x - (y - 1);
    return exact_log(y) + lost / y;
}

/* e^r - 1 for |r| <= log(2)/2, by its power series in Horner's form. */
static double exp_series(double r) {
    static const double coefficient[] = {1.0 / 87178291200, 1.0 / 6227020800,
                                         1.0 / 479001600,   1.0 / 39916800,
                                         1.0 / 3628800,     1.0 / 362880,
                                         1.0 / 40320,       1.0 / 5040,
                                         1.0 / 720,         1.0 / 120,
                                         1.0 / 24,          1.0 / 6,
                                         1.0 / 2,           1.0};
    double sum = 0;
    for (size_t i = 0; i < sizeof coefficient / sizeof *coefficient; i++)
        sum = (sum + coefficient[i]) * r;
    return sum;
}

double exact_exp(double x) {
    if (!(x > -EXACT_EXPONENT_MAX))
        x = -EXACT_EXPONENT_MAX;
    if (x > EXACT_EXPONENT_MAX)
        x = EXACT_EXPONENT_MAX;
    int k = (int)(x / (log2_high + log2_low) + (x < 0 ? -0.5 : 0.5));
    double r = (x - k * log2_high) - k * log2_low;
    return (1 + exp_series(r)) * power_of_2(k);
}
