/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/common/suite.h - the begin and the end of each test program that Check runs, with the one
 * limit of time for all of them. */
#pragma once

#include <check.h>

/* An empty suite, made before any of its test cases: from here on each test, and each program that
 * a test starts, is ended after so much processor time that only an endless loop can have used it,
 * or after hours, should it wait for ever. A busy machine ends none. */
Suite *suite_begin(const char *name);

/* Runs the tests of a suite and frees it; returns the status for main: a failure, too, where none
 * was run, because CK_RUN_CASE names no case. */
int suite_end(Suite *suite);

/* Both, for a suite of a single test case, to which `add_tests` adds the tests. */
int suite_main(const char *name, void (*add_tests)(TCase *tests));
