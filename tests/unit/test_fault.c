/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_fault.c - faults are kept whole, counted, and sorted by place. */
#include "sim/fault.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "tests/common/suite.h"

static struct fault *add_at(struct faults *faults, const char *source, uint32_t line,
                            uint32_t column, const char *what) {
    struct fault *fault = faults_add(faults, FAULT_ERROR, "%s", what);
    free(fault->source);
    fault->source = strdup(source);
    fault->line = line;
    fault->column = column;
    return fault;
}

START_TEST(texts_are_formatted_and_replaced) {
    struct faults faults = {0};
    struct fault *fault = faults_add(&faults, FAULT_ERROR, "%d of %s", 3, "four");
    ck_assert_str_eq(fault->what, "3 of four");
    ck_assert_str_eq(fault->source, "");
    ck_assert_ptr_null(fault->note);
    ck_assert_uint_eq(fault->width, 1);
    fault_note(fault, "first");
    fault_note(fault, "second %d", 2);
    fault_help(fault, "did you mean `%s`?", "cells");
    ck_assert_str_eq(fault->note, "second 2");
    ck_assert_str_eq(fault->help, "did you mean `cells`?");
    faults_free(&faults);
}
END_TEST

START_TEST(only_errors_are_failures) {
    struct faults faults = {0};
    ck_assert(!faults_failed(&faults));
    faults_add(&faults, FAULT_WARNING, "useless");
    ck_assert(!faults_failed(&faults));
    faults_add(&faults, FAULT_ERROR, "wrong");
    ck_assert(faults_failed(&faults));
    ck_assert_uint_eq(faults.error_count, 1);
    ck_assert_uint_eq(faults.warning_count, 1);
    faults_free(&faults);
    ck_assert(!faults_failed(&faults));
}
END_TEST

/* Sources in the order of their first faults, then lines, then columns; equals stay in order. */
START_TEST(faults_are_sorted_by_place) {
    static const char *const sorted[] = {"a", "b", "c", "d", "e", "f", "g"};
    struct faults faults = {0};
    add_at(&faults, "ring.yaml", 9, 1, "d");
    add_at(&faults, "--set x", 0, 7, "f");
    add_at(&faults, "ring.yaml", 2, 30, "b");
    add_at(&faults, "--set x", 0, 7, "g");
    add_at(&faults, "ring.yaml", 2, 4, "a");
    add_at(&faults, "ring.yaml", 9, 1, "e");
    add_at(&faults, "ring.yaml", 2, 30, "c");
    faults_sort(&faults);
    for (size_t i = 0; i < 7; i++)
        ck_assert_str_eq(faults.fault[i].what, sorted[i]);
    faults_free(&faults);
}
END_TEST

START_TEST(a_flood_is_counted_but_not_all_kept) {
    struct faults faults = {0};
    for (int i = 0; i < 100000; i++)
        fault_note(faults_add(&faults, i % 2 == 0 ? FAULT_ERROR : FAULT_WARNING, "number %d", i),
                   "note");
    ck_assert_uint_eq(faults.error_count, 50000);
    ck_assert_uint_eq(faults.warning_count, 50000);
    ck_assert_uint_eq(faults.count, 10000);
    ck_assert_str_eq(faults.fault[0].what, "number 0");
    ck_assert_str_eq(faults.fault[9999].what, "number 9999");
    ck_assert(faults_keeps(&faults, &faults.fault[9999]));
    faults_free(&faults);
}
END_TEST

/* What a file is refused for is said, however many warnings come before. */
START_TEST(an_error_after_a_flood_of_warnings_is_kept) {
    struct faults faults = {0};
    for (int i = 0; i < 100000; i++)
        faults_add(&faults, FAULT_WARNING, "useless %d", i);
    struct fault *error = faults_add(&faults, FAULT_ERROR, "wrong");
    ck_assert(faults_keeps(&faults, error));
    struct fault *warning = faults_add(&faults, FAULT_WARNING, "useless");
    ck_assert(!faults_keeps(&faults, warning));
    ck_assert_str_eq(faults.fault[faults.count - 1].what, "wrong");
    faults_free(&faults);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("fault");
    TCase *tests = tcase_create("fault");
    tcase_add_test(tests, texts_are_formatted_and_replaced);
    tcase_add_test(tests, only_errors_are_failures);
    tcase_add_test(tests, faults_are_sorted_by_place);
    tcase_add_test(tests, a_flood_is_counted_but_not_all_kept);
    tcase_add_test(tests, an_error_after_a_flood_of_warnings_is_kept);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
