/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/exact_math.h - logarithm and exponential that are the same to the last bit on every machine.
 *
 * Made of integers and + - * / alone, each of which IEEE 754 defines to the last bit, while the log
 * and exp of a mathematics library differ between processors (with and without fused multiply-add).
 * They stay within 2 units in the last place of the true value (tests/unit/test_random.c).
 * Contraction of a * b + c must be off: -ffp-contract=off, see the Makefile. */
#pragma once

#include <float.h>

#ifdef __FAST_MATH__
#error "draws must not depend on the compiler: build without -ffast-math"
#endif
#if FLT_EVAL_METHOD != 0
#error "draws must not depend on the compiler: double has to be computed as double (on x86, SSE2)"
#endif

/* Largest size of an exponent that exact_exp takes in full. */
#define EXACT_EXPONENT_MAX 700.0

/* Natural logarithm of x, x > 0 and finite.
 * x = 2^k m with m in [sqrt(1/2), sqrt(2)), log m = 2 artanh(s) with s = (m-1)/(m+1)
 * (Abramowitz & Stegun, Handbook of Mathematical Functions, 1964, 4.1.27). */
double exact_log(double x);

/* Natural logarithm of 1 + x, x > -1 and finite, in full precision also where 1 + x is nearly 1.
 * What rounding 1 + x to y loses is put back by the first term of its series: log y + lost / y. */
double exact_log1p(double x);

/* e to the power of x. An x beyond +-EXACT_EXPONENT_MAX counts as that bound, so that the
 * result is always positive and finite. x = k log 2 + r with |r| <= log(2)/2, and the power
 * series of e^r (A & S 4.2.1). */
double exact_exp(double x);
