/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/sweep/sweep_axes.h - the values of a sweep, and their combinations. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

/* One --over PATH=V1,V2,... */
struct sweep_axis {
    char *path;
    char **value;
    uint32_t count;
};

enum { SWEEP_COMBINATIONS_MOST = 10000 };

struct sweep_axes {
    struct sweep_axis *axis;
    uint32_t count;
    uint32_t combinations;
};

/* Adds what one --over says; commas inside brackets, braces and quotes do not separate. False: it
 * is none, or all combinations are too many, which was reported. Starts as {0}. */
bool sweep_axes_add(struct sweep_axes *axes, const char *text);
void sweep_axes_free(struct sweep_axes *axes);

/* The value of an axis in a combination; the last axis changes first. */
const char *sweep_axes_value(const struct sweep_axes *axes, uint32_t combination, uint32_t axis);
/* "PATH=VALUE" of each axis, into `change`, each freed by the caller. */
void sweep_axes_changes(const struct sweep_axes *axes, uint32_t combination, char **change);
