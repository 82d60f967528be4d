/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/tolerance.h - by how much a number of a scenario may vary. */
#pragma once

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "tools/design/trials.h"

struct tolerance {
    char *path; /* as --set takes it */
    int64_t value;
    int64_t least, greatest; /* with which all trials hold; NOT_GIVEN: no such end was found */
};

struct tolerances {
    struct tolerance *entry;
    uint32_t count, capacity;
};

/* With this a comment begins that says how far the numbers of a part may vary. */
#define TOLERANCE_MARK "Tried: "

/* "gate.below may be 2 to 31", with `key` as the name of the number. */
void tolerance_print(const struct tolerance *entry, const char *key, FILE *out);

/* Adds one, with no ends yet; starts as {0}. */
struct tolerance *tolerances_add(struct tolerances *list, const char *path, int64_t value);
void tolerances_free(struct tolerances *list);

/* Adds every threshold, limit, capacity and tray (`ahead`) of a scenario, and looks for the ends
 * of the unbroken stretch of values around each with which, the rest as it is, one night, a drain
 * with a restart, a heap and the budget hold: step by step near the value, then by halving.
 * Thresholds and limits are tried from 1 to the greatest capacity that may be had, capacities as
 * they may be had. False: a signal was noted. */
bool tolerances_find(struct tolerances *list, const char *text, const struct trials_wish *wish,
                     bool show_progress);
