/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/variation.c - variances by the parameters of the distributions. */
#include "model/design/variation.h"

#include <math.h>

static double uniform_squared(double low, double high) {
    double mean = (low + high) / 2;
    return (high - low) * (high - low) / 12 / (mean * mean);
}

static double triangular_squared(double low, double mode, double high) {
    double mean = (low + mode + high) / 3;
    double squares = low * low + mode * mode + high * high;
    double products = low * mode + low * high + mode * high;
    return (squares - products) / 18 / (mean * mean);
}

/* The second moment of a Weibull distribution is scale^2 gamma(1 + 2 / shape). */
static double weibull_squared(double shape) {
    return exp(lgamma(1 + 2 / shape) - 2 * lgamma(1 + 1 / shape)) - 1;
}

double variation_squared(const struct span *span) {
    switch (span->kind) {
    case SPAN_FIXED: return 0;
    case SPAN_EXPONENTIAL: return 1;
    case SPAN_UNIFORM: return uniform_squared(span->a, span->b);
    case SPAN_NORMAL: return span->a > 0 ? span->b * span->b / (span->a * span->a) : 1;
    case SPAN_LOGNORMAL:
    case SPAN_GAMMA: return span->b * span->b;
    case SPAN_WEIBULL: return weibull_squared(span->b);
    case SPAN_TRIANGULAR: return triangular_squared(span->a, span->b, span->c);
    case SPAN_GEOMETRIC: break;
    }
    return 1 - span->a;
}
