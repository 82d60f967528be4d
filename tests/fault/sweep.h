/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fault/sweep.h - all commands with all failures at all of their calls, or a sample.
 *
 *     PROGRAM LOOPWRIGHT SHIM [--most N] [--part I/N] [--case NAME] [--failure NAME] [--at N]
 *
 * --most: of each failure of each command at most N points, evenly spread.
 * --part: part I of N, I from 0. --case, --failure, --at: only these, as a message names them; of a
 * failure its first letters are enough. */
#pragma once

#include <stdint.h>

#include "tests/fault/trial.h"

struct sweep {
    const struct failure *failure;
    uint32_t failure_count;
    /* After each of these, what befalls the attempt to go on, each for itself. */
    const struct failure *then;
    uint32_t then_count;
};

/* Runs the whole test program; returns the status for main: 77 where nothing can be tried here. */
int sweep_main(const struct sweep *sweep, int count, char **word);
