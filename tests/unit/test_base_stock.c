/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_base_stock.c - stocks on shelves against published formulas. */
#include <check.h>

#include "model/design/base_stock.h"
#include "tests/common/suite.h"

/* Make to stock with one server, orders and batches at random: a share u^S of the orders finds
 * nothing on the shelf (Buzacott and Shanthikumar, "Stochastic Models of Manufacturing Systems",
 * 1993, chapter 4). 0.8^5 = 0.32768, 0.8^10 = 0.1073741824, 0.5^3 = 0.125. */
START_TEST(base_stock_is_that_of_make_to_stock) {
    ck_assert_int_eq(base_stock_least(0.8, 1 - 0.32768), 5);
    ck_assert_int_eq(base_stock_least(0.8, 1 - 0.1073741824), 10);
    ck_assert_int_eq(base_stock_least(0.5, 1 - 0.125), 3);
    /* A little more is asked for: one more has to lie there. */
    ck_assert_int_eq(base_stock_least(0.8, 1 - 0.32), 6);
    ck_assert_int_eq(base_stock_least(0.8, 1 - 0.107), 11);
}
END_TEST

START_TEST(base_stock_at_its_ends) {
    ck_assert_int_eq(base_stock_least(0, 0.98), 1);
    ck_assert_int_eq(base_stock_least(0.001, 0.98), 1);
    ck_assert_int_eq(base_stock_least(1, 0.98), base_stock_least(0.999, 0.999));
}
END_TEST

/* Half the variation decays twice as fast: 0.8^10 = 0.1073741824 is had with 5 instead of 10. */
START_TEST(less_variation_needs_less_stock) {
    ck_assert_int_eq(base_stock_varied(0.8, 1 - 0.1073741824, 1), 10);
    ck_assert_int_eq(base_stock_varied(0.8, 1 - 0.1073741824, 0.5), 5);
    ck_assert_int_eq(base_stock_varied(0.8, 1 - 0.1073741824, 0.51), 6);
    ck_assert_int_eq(base_stock_varied(0.8, 1 - 0.1073741824, 2), 20);
    ck_assert_int_eq(base_stock_varied(0.8, 0.98, 0), 1);
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_test(tests, base_stock_is_that_of_make_to_stock);
    tcase_add_test(tests, base_stock_at_its_ends);
    tcase_add_test(tests, less_variation_needs_less_stock);
}

int main(void) { return suite_main("base_stock", add_tests); }
