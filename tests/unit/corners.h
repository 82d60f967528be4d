/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/corners.h - scenarios whose numbers stand at the corners of what is allowed, and what
 * the program does with a scenario, tried in short. */
#pragma once

#include <stdint.h>

#include "model/scenario/scenario.h"

/* Numbers at and around the bounds of model/scenario/limits.h, as a scenario may have them: some
 * whole numbers, some decimals, some durations. From small to large. */
enum { CORNERS_VALUES = 27 };
extern const char *const corners_value[CORNERS_VALUES];

/* How many numbers stand in a YAML text, up to some hundreds. */
uint32_t corners_count(const char *text);
/* The text with one of its numbers replaced; freed by the caller. */
char *corners_with(const char *text, uint32_t number, const char *value);

/* Runs the first ticks in which something is due, with the audit after the last of them, and makes
 * its tables' rows and its summary. */
void corners_run(const struct scenario *scenario);
/* Works out the budget, and what would mend it. */
void corners_budget(const struct scenario *scenario);
