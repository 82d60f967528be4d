/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/help.h - what --help prints. */
#pragma once

#include <stdio.h>

#include "tools/base/command_table.h"

/* What the program is for and which commands it has, on a screen of 24 lines. */
void help_print(FILE *out);
/* Says on standard error that there is no such command, and which name is near; returns the exit
 * status. */
int help_unknown(const char *name);
/* How one command is used, on a screen of 24 lines: examples, and what options fit. */
void help_print_command(const struct command *command, FILE *out);
/* All that there is to say about a command. */
void help_print_all(const struct command *command, FILE *out);
