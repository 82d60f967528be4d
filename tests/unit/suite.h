/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/suite.h - the end of each test program. */
#pragma once

#include <check.h>

/* Runs the tests of a suite and frees it; returns the status for main. */
int suite_status(Suite *suite);
