/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/command.h - the commands of the program, each in a file of its own. They return the
 * exit status (tools/base/status.h); what goes wrong is reported on standard error by then.
 *
 * The room tools/base is what all commands share and what knows nothing of a run. What comes in:
 * the words of the command line, paths, texts. What goes out: options (options.h), a scenario
 * with its changes (load.h, scenario_edit.h), files and directories that are whole or not there
 * (csv.h, directory.h, output.h), texts for a screen (table.h, terminal.h, diagnostics.h), threads
 * (pool.h). */
#pragma once

#include "tools/base/options.h"

int run_command(const struct options *options);
int budget_command(const struct options *options);
int cause_command(const struct options *options);
int replay_command(const struct options *options);
int drain_command(const struct options *options);
int soak_command(const struct options *options);
int merge_command(const struct options *options);
int help_command(const struct options *options);
int schema_command(const struct options *options);
int manual_command(const struct options *options);
int completion_command(const struct options *options);
int paths_command(const struct options *options);
int columns_command(const struct options *options);
int report_command(const struct options *options);
int design_command(const struct options *options);
int sweep_command(const struct options *options);
int new_command(const struct options *options);
int check_command(const struct options *options);
