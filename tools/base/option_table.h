/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/option_table.h - the table of all options, the one source from which the command line
 * is read and --help, the manual pages and the completion are made. Which command takes which
 * stands in tools/base/command_table.h.
 *
 * A new option is a constant in `enum option`, in the place where lists show it, a row in
 * option_table.c, and its bit in the rows of the commands that take it. */
#pragma once

#include <stdint.h>

enum option {
    OPTION_OUT,
    OPTION_SEED,
    OPTION_FOR,
    OPTION_SET,
    OPTION_MOVES,
    OPTION_KEEP_EVERY,
    OPTION_AUDIT,
    OPTION_FROM_TIME,
    OPTION_UNTIL,
    OPTION_SHOW,
    OPTION_AFTER,
    OPTION_WITHIN,
    OPTION_SUPPLIES_TOO,
    OPTION_RESTART,
    OPTION_FLOOD,
    OPTION_FLOOD_UNTIL_IT_FAILS,
    OPTION_RUNS,
    OPTION_JOBS,
    OPTION_UNTIL_JAM,
    OPTION_DISTURB,
    OPTION_KEEP,
    OPTION_RESUME,
    OPTION_AGAINST,
    OPTION_AGAINST_SET,
    OPTION_PLAN,
    OPTION_SHARDS,
    OPTION_FROM_PLAN,
    OPTION_SHARD,
    OPTION_AT,
    OPTION_EVENT,
    OPTION_DOT,
    OPTION_WRITE,
    OPTION_VCD,
    OPTION_WATCH,
    OPTION_PACE,
    OPTION_PROVE,
    OPTION_BRIEF,
    OPTION_FROM_KIND,
    OPTION_OVER,
    OPTION_OUT_FILE,
    OPTION_TUNE,
    OPTION_TIGHTEN,
    OPTION_FOR_DEMAND,
    OPTION_NO_TOLERANCES,
    OPTION_FORCE,
    OPTION_OUT_PAGE,
    OPTION_QUIET,
    OPTION_JSON,
    OPTION_HELP,
    OPTION_VERSION
};
enum { OPTIONS = OPTION_VERSION + 1 };

/* A set of options. */
#define OPTION_BIT(option) (UINT64_C(1) << (option))
_Static_assert(OPTIONS <= 64, "a set of options has 64 bits");
/* Those that every command takes. */
#define OPTIONS_ALWAYS (OPTION_BIT(OPTION_HELP) | OPTION_BIT(OPTION_VERSION))

/* What a word of the command line is: the value of an option, or the operand of a command. */
enum word_kind {
    WORD_NONE,      /* there is no such word */
    WORD_NUMBER,    /* a whole number, from `least` to `most` */
    WORD_DURATION,  /* how long */
    WORD_TIME,      /* a time of the run */
    WORD_DIRECTORY, /* a directory that is read or written */
    WORD_FILE,      /* a file that is written */
    WORD_SCENARIO,  /* a scenario file, or - */
    WORD_RUN,       /* the directory of a run, or a capsule */
    WORD_CHANGE,    /* a change of the scenario, PATH=VALUE */
    WORD_COMMAND,   /* the name of a command */
    WORD_SHELL,     /* bash or zsh */
    WORD_ALL,       /* the word `all` after an =, or nothing */
    WORD_OTHER      /* of a form of its own, which `wants` of the row describes */
};

struct option_row {
    const char *name;     /* "--out" */
    char letter;          /* 'o' for -o; 0: none */
    enum word_kind kind;  /* of its value; WORD_NONE: it takes none */
    const char *value;    /* what lists call its value, "DIR"; NULL: it takes none */
    int64_t least, most;  /* of a WORD_NUMBER */
    const char *wants;    /* what its value is, "a heap"; NULL: what `kind` says */
    const char *examples; /* what follows the name in messages: "7", "30min or --for 1:30:00" */
    const char *preset;   /* in words, what holds without it; NULL: nothing, or `says` says it */
    const char *says;     /* what it does, in one line of at most 56 letters */
    const char *more;     /* what else there is to say, sentences; NULL: nothing */
};

/* The row of an option; never NULL. */
const struct option_row *option_table_row(enum option option);

/* What the value of an option is, with its range: "a whole number from 1 to 1024". */
enum { OPTION_TABLE_WANTS_SIZE = 120 };
const char *option_table_wants(const struct option_row *row, char text[OPTION_TABLE_WANTS_SIZE]);
