/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/manual_command.c - the command `manual`. */
#include <stdio.h>
#include <string.h>

#include "tools/base/command.h"
#include "tools/base/status.h"
#include "tools/manual/help.h"
#include "tools/manual/man.h"

int manual_command(const struct options *options) {
    const char *page = options->operand;
    const struct command *command = page != NULL ? command_table_named(page) : NULL;
    if (page == NULL)
        man_program(stdout);
    else if (strcmp(page, "scenario") == 0)
        man_scenario(stdout);
    else if (command == NULL)
        return help_unknown(page);
    else
        man_command(stdout, command);
    return STATUS_HOLDS;
}
