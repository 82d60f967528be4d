/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/help_command.c - the command `help`. */
#include <stdio.h>

#include "tools/base/command.h"
#include "tools/base/status.h"
#include "tools/manual/help.h"

int help_command(const struct options *options) {
    if (options->operand == NULL) {
        help_print(stdout);
        return STATUS_HOLDS;
    }
    const struct command *command = command_table_named(options->operand);
    if (command == NULL)
        return help_unknown(options->operand);
    help_print_all(command, stdout);
    return STATUS_HOLDS;
}
