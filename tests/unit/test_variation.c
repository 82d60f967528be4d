/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_variation.c - coefficients of variation against the moments in the tables of
 * N. L. Johnson, S. Kotz, N. Balakrishnan, "Continuous Univariate Distributions", 2nd edition,
 * 1994 and 1995; of a geometric count of trials with probability p: variance (1 - p) / p^2, mean
 * 1 / p. */
#include <check.h>
#include <math.h>

#include "model/design/variation.h"
#include "tests/common/suite.h"

static double of(enum span_kind kind, double a, double b, double c) {
    return variation_squared(&(struct span){.kind = kind, .a = a, .b = b, .c = c});
}

START_TEST(variation_is_that_of_the_distribution) {
    static const double near = 1e-9;
    ck_assert_double_eq(of(SPAN_FIXED, 0, 0, 0), 0);
    ck_assert_double_eq(of(SPAN_EXPONENTIAL, 40, 0, 0), 1);
    /* from 0 to 2m: variance (2m)^2 / 12 */
    ck_assert_double_eq_tol(of(SPAN_UNIFORM, 0, 14, 0), 1. / 3, near);
    ck_assert_double_eq_tol(of(SPAN_UNIFORM, 55, 65, 0), 100. / 12 / 3600, near);
    ck_assert_double_eq_tol(of(SPAN_NORMAL, 60, 6, 0), 0.01, near);
    ck_assert_double_eq_tol(of(SPAN_LOGNORMAL, 5, 0.4, 0), 0.16, near);
    ck_assert_double_eq_tol(of(SPAN_GAMMA, 5, 2, 0), 4, near);
    /* shape 1 is exponential; shape 2 (Rayleigh): variance (4 - pi) / 4, mean sqrt(pi) / 2 */
    ck_assert_double_eq_tol(of(SPAN_WEIBULL, 7, 1, 0), 1, near);
    ck_assert_double_eq_tol(of(SPAN_WEIBULL, 7, 2, 0), 4 / acos(-1) - 1, near);
    /* 0, 1, 2: variance 1 / 6, mean 1 */
    ck_assert_double_eq_tol(of(SPAN_TRIANGULAR, 0, 1, 2), 1. / 6, near);
    ck_assert_double_eq_tol(of(SPAN_GEOMETRIC, 0.25, 0, 0), 0.75, near);
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_test(tests, variation_is_that_of_the_distribution);
}

int main(void) { return suite_main("variation", add_tests); }
