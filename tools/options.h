/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/options.h - the command line: one table of options, from which both reading and --help
 * work. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

enum option {
    OPTION_OUT,
    OPTION_SEED,
    OPTION_FOR,
    OPTION_SET,
    OPTION_MOVES,
    OPTION_QUIET,
    OPTION_JSON,
    OPTION_HELP,
    OPTION_VERSION
};
enum { OPTIONS = OPTION_VERSION + 1 };

/* A set of options. */
#define OPTION_BIT(option) (UINT32_C(1) << (option))
/* Those that every command takes. */
#define OPTIONS_ALWAYS (OPTION_BIT(OPTION_HELP) | OPTION_BIT(OPTION_VERSION))

/* What a command was given. All texts are those of the command line. */
struct options {
    const char *operand;        /* NULL: none */
    bool given[OPTIONS];
    const char *value[OPTIONS]; /* of an option that takes one; the last where it is given twice */
    const char **set;           /* values of --set, in order */
    size_t set_count;
};

/* Reads what stands behind the command `command`, which takes the options in `allowed` and one
 * operand called `operand`. Long options take their value behind `=` or as the next word; behind
 * `--` no option follows. False: the command line is wrong, and that was told. Freed with
 * options_free. */
bool options_read(struct options *options, const char *command, const char *operand,
                  uint32_t allowed, int count, char *const *word);
void options_free(struct options *options);

/* Lists the options of a set, as --help shows them. */
void options_print(uint32_t allowed, FILE *out);

/* What --seed and --for ask for, as overrides of the scenario, behind those of --set: `override`
 * gets options->set_count + 2 places at most. Returns their number, or -1: a value is wrong, and
 * that was told. Texts that are made are kept in `made` (two places, NULL at first), for the caller
 * to free. */
int options_overrides(const struct options *options, const char *command, const char **override,
                      char *made[2]);
