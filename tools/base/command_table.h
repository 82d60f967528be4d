/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/command_table.h - the table of all commands, the one source from which the program
 * finds them and --help, the manual pages and the completion are made.
 *
 * A new command is its function in tools/base/command.h and a row in command_table.c. */
#pragma once

#include <stdbool.h>

#include "tools/base/option_table.h"

struct options;

/* A file of the directory that --out writes. */
struct command_file {
    const char *name, *says;
};
enum { COMMAND_EXAMPLES_MAX = 8, COMMAND_FILES_MAX = 12 };

struct command {
    const char *name;
    const char *operand; /* what lists call its operand, "SCENARIO", in brackets where it may be
                            left out; NULL: it takes none */
    enum word_kind kind; /* of its operand */
    const char *summary; /* one line: "loopwright run ..." does this: "runs a scenario ..." */
    const char *about;   /* what else there is to say: paragraphs, an empty line between them */
    uint64_t options;    /* OPTION_BIT(...) of each that it takes beside OPTIONS_ALWAYS */
    const char *example[COMMAND_EXAMPLES_MAX];   /* lines to type, as far as there are any */
    struct command_file file[COMMAND_FILES_MAX]; /* as far as there is a name */
    bool aside;                                  /* lists only name it, after all others */
    int (*run)(const struct options *options);   /* returns the exit status */
};

int command_table_count(void);
/* The row of index 0 <= index < command_table_count(). */
const struct command *command_table_row(int index);
/* The row of a name; NULL: there is no such command. */
const struct command *command_table_named(const char *name);
