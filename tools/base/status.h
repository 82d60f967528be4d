/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/status.h - what the program's exit status says. */
#pragma once

#include "sim/require.h"

enum status {
    STATUS_HOLDS = 0,                 /* done, and what was asked holds */
    STATUS_FAILS = 1,                 /* done, and it does not hold */
    STATUS_USAGE = 2,                 /* the command line is wrong */
    STATUS_SCENARIO = 3,              /* the scenario is wrong */
    STATUS_FILE = 4,                  /* a file could not be read or written */
    STATUS_BUG = REQUIRE_EXIT_STATUS, /* an invariant failed */
    STATUS_SIGNAL = 128               /* + n: stopped by signal n */
};
