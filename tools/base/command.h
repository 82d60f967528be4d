/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/command.h - the commands of the program, each in a file of its own. They return the
 * exit status (tools/base/status.h); what goes wrong is told on standard error by then. */
#pragma once

#include "tools/base/options.h"

int run_command(const struct options *options);
int budget_command(const struct options *options);
int cause_command(const struct options *options);
int replay_command(const struct options *options);
int drain_command(const struct options *options);
int soak_command(const struct options *options);
int merge_command(const struct options *options);
