/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fault/command_case.h - the command lines that are disturbed. Each is tried in a directory
 * that holds ring.yaml (the file of that name beside this one), which is its standard input as
 * well. A new command, or an option with which a command opens, reads or writes something else,
 * gets a row in command_case.c: what it needs is made by the command lines `before`. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

enum { COMMAND_CASE_BEFORE_MOST = 4 };

/* Command lines are words between single blanks, without the name of the program. */
struct command_case {
    const char *name;
    const char *line;
    /* Run first, up to a NULL; after a "~" one that is killed after two thirds of its work. */
    const char *before[COMMAND_CASE_BEFORE_MOST + 1];
    const char *again; /* takes up unfinished work; NULL: the same line does */
    bool once;         /* it is refused when its result is there */
    bool by_file;      /* each file appears for itself, not the directory as a whole */
};

extern const struct command_case command_case_row[];
extern const uint32_t command_case_count;
