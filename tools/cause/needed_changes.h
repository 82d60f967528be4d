/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/needed_changes.h - of several changes that help together, those that are needed. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/cause/cause_trial.h"

/* Whether a trial of the book, which has been run, is as good as the best so far of those that this
 * said of: first that with all changes. */
typedef bool needed_changes_judge(void *self, uint32_t trial);

/* The trial with only those changes of a trial without any of which it would not be as good: half
 * of them are left out first, then less (A. Zeller, R. Hildebrandt, "Simplifying and isolating
 * failure-inducing input", IEEE Transactions on Software Engineering 28 (2002) 183-200), at last
 * each by itself. Where a part of the changes has been tried already and is as good, it is the
 * beginning. A chest that is added, the arm that fills it and who empties it are one change;
 * only who empties it may be left out alone; not with `keeps_emptiers`, for a trial on which more
 * is to be put: that it helps does not show that the chest will not go on filling. What a signal
 * stops ends with more than is needed. */
uint32_t needed_changes(struct trial_book *book, uint32_t trial, bool keeps_emptiers,
                        needed_changes_judge *is_as_good, void *self);
