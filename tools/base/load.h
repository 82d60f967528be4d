/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/load.h - the scenario that a command line names, with what it changes in it. */
#pragma once

#include "model/scenario/scenario.h"
#include "sim/fault.h"
#include "tools/base/options.h"

/* Reads the scenario at `path` with the changes of --set, --seed and --for, and says on standard
 * error what is wrong with it or useless in it. The caller frees it; NULL: nothing can be run, and
 * *status is the exit status that says why. */
struct scenario *load_scenario(const struct options *options, const char *command, const char *path,
                               int *status);
/* Adds help to the last fault, which says that the scenario at `path` cannot be read: the name that
 * is nearest to one that is not there. */
void load_help_with_name(const char *path, struct faults *faults);
