/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_table.h - the one table of what is state: groups of parts, a group a file. For
 * model/state/state.c, which walks it, and the files model/state/state_*.c that fill it. */
#pragma once

#include "model/state/state_row.h"

/* The parts of each file, in the order in which they are saved and put back: a part may ask for
 * what stands before it. */
extern const struct state_group state_belts, state_stocks, state_arms, state_outside;

enum { STATE_GROUPS = 4 };
extern const struct state_group *const state_table[STATE_GROUPS];

/* What else a world of these rows must be: sums, lists, wake-ups. False: rows contradict each
 * other. */
bool state_finish(struct state_filling *filling);
