/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/drain_left.h - what a change leaves on the loops of a run that `loopwright drain` has
 * made: such a run has incidents that stop the demands, and perhaps start them again. */
#pragma once

#include <stdbool.h>

#include "model/scenario/scenario.h"
#include "tools/cause/cause_trial.h"

/* Whether an incident stops or starts a demand for a drain. */
bool drain_left_is_of_drain(const struct scenario_incident *incident);
/* "4 arm-rod, 1 screw": what lies on loops and lines one hour after the demands have stopped, if
 * nothing starts them again, with the changes of a trial. NULL: nothing lies there, or the run is
 * none of a drain. It is found by running so far. To be freed. */
char *drain_left_by(const struct trial_book *book, const struct trial *trial);
