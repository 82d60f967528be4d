/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_table.c - the groups of the table, and what all rows share. Of each part of a
 * world its file says which fields are state, as a row; how a row is told, and how it is put back.
 * What a comment there calls derived is made anew by state_finish; what it calls fixed comes with
 * the scenario.
 *
 * A field added to a struct of model/engine/parts.h breaks an assertion: then it gets a place in
 * the row, or in the comment, and the assertion the new size. A new row field is a new
 * STATE_FORMAT. */
#include "model/state/state_table.h"

/* Of struct world, what no file of rows names is fixed: first_actor, kind, taker, feeder, picker,
 * arm_item, kind_map, first_of_chest, chest_item, chest_total, shape, and counts. */
_Static_assert(sizeof(struct world) == 640, "all of struct world is in a row, or named here");

const struct state_group *const state_table[STATE_GROUPS] = {&state_belts, &state_stocks,
                                                             &state_arms, &state_outside};
