/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/man.h - the manual pages in mdoc(7), made of the tables of commands, options and
 * keys: loopwright(1), one for each command, and loopwright-scenario(5). */
#pragma once

#include <stdio.h>

#include "tools/base/command_table.h"

void man_program(FILE *out);
void man_command(FILE *out, const struct command *command);
void man_scenario(FILE *out);
