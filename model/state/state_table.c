/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_table.c - the groups of the table. Of each part of a world its file says which
 * fields are state: those of the part's state struct (model/engine/parts.h), which a row holds as
 * it is, so that a field is named once for saving, putting back and comparing. A value that cannot
 * change what follows is saved as 0, and where one is saved in another form the reason is given
 * there. What is derived is made anew by state_finish; what is fixed comes with the scenario.
 *
 * A field added to a state struct breaks an assertion: then it gets a line in the list of fields,
 * and the assertion the new size. A new line is a new STATE_FORMAT. */
#include "model/state/state_table.h"

const struct state_group *const state_table[STATE_GROUPS] = {&state_belts, &state_stocks,
                                                             &state_arms, &state_outside};
