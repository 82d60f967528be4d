/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/options.h - reads the command line by the table of options. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "tools/base/option_table.h"

/* What a command was given. All texts are those of the command line. */
struct options {
    const char *operand; /* NULL: none */
    bool given[OPTIONS];
    const char *value[OPTIONS]; /* of an option that takes one; the last where it is given twice */
    const char **set;           /* values of --set, in order */
    size_t set_count;
    const char **against_set; /* likewise of --against-set */
    size_t against_set_count;
    const char **over; /* likewise of --over */
    size_t over_count;
    char *const *word; /* all that was read */
    int word_count;
};

/* Reads what follows the command `command`, which takes the options in `allowed` and one
 * operand called `operand` (NULL: none; in brackets, as in "[COMMAND]", where it may be left
 * out), which --from PLAN makes needless. Long options take their value after `=` or as the next
 * word, letters as the rest of their word or as the next; after `--` no option follows. False: the
 * command line is wrong, and that was reported. Freed with options_free. */
bool options_read(struct options *options, const char *command, const char *operand,
                  uint64_t allowed, int count, char *const *word);
void options_free(struct options *options);

/* The value of an option as a whole number within its row's bounds, in *number; without the option
 * that stays as it is. False: the value is wrong, and that was reported. */
bool options_number(const struct options *options, const char *command, enum option option,
                    int64_t *number);
/* The same of a duration, in ticks. */
bool options_ticks(const struct options *options, const char *command, enum option option,
                   int64_t ticks_per_second, int64_t *ticks);

/* Writes a word as one would type it in a shell: in quotes where that would read it otherwise. */
void options_print_word(const char *word, FILE *out);
/* Writes the command line as one would type it, without an end of line. */
void options_print_words(const struct options *options, const char *command, FILE *out);

/* Writes what names the scenario in it: the operand, and each --set and --for. */
void options_print_scenario(const struct options *options, FILE *out);

/* What --seed and --for ask for, as overrides of the scenario, after those of --set: `override`
 * gets options->set_count + 2 places at most. Returns their number, or -1: a value is wrong, and
 * that was reported. Texts that are made are kept in `made` (two places, NULL at first), for the
 * caller to free. */
int options_overrides(const struct options *options, const char *command, const char **override,
                      char *made[2]);
