/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fault/trial.h - runs a command while one of its calls fails, and judges what is left.
 *
 * What is held of every failure:
 * - The program ends by itself: no abort, no crash, no "this is a bug".
 * - It ends with status 4 and words on standard error, or the result is whole and its status and
 *   output are those of a run without a failure.
 * - Each result (a file or a directory as a whole) is what it was before, or what it is after an
 *   undisturbed run, and nothing between.
 * - The command again, undisturbed, gives what it would have given: same status, output and files,
 *   and no file too many.
 * Of a kill the last two are held. A program that is asked to stop (SIGTERM) may also end with
 * status 143. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tests/fault/command_case.h"
#include "tests/fault/place.h"
#include "tests/fault/shim.h"

/* What the program has to make of a failure. */
enum failure_answer {
    FAILURE_ANY,    /* what is said above */
    FAILURE_PASSES, /* it has to manage in spite of it */
    FAILURE_TOLD    /* it may not pass in silence: what was written may not last */
};

/* What is to go wrong with a call. */
struct failure {
    const char *name; /* as on a command line: "write-ENOSPC" */
    enum shim_kind kind;
    int how; /* an errno, or one of shim.h */
    bool lasting;
    enum failure_answer answer;
};

/* How a program ended. */
struct trial_end {
    int status; /* 128 + n after signal n */
    char *out, *err;
};

struct trial {
    const char *program, *shim; /* absolute paths */
    const struct command_case *command;
    char *root, *before_path, *place_path; /* directories of its own: all, the start, the work */
    int page_file;
    struct shim_page *page;
    struct place before, after; /* an undisturbed run */
    struct trial_end whole;
    int64_t count[SHIM_KINDS]; /* calls of an undisturbed run */
    uint64_t *healed;          /* checksums of places from which the command succeeded again */
    uint32_t healed_count, healed_capacity;
};

/* Makes what the command needs and runs it undisturbed. Returns NULL, or why it cannot be tried at
 * all on this machine. */
const char *trial_begin(struct trial *trial, const char *program, const char *shim,
                        const struct command_case *command);
void trial_finish(struct trial *trial);

/* A failure of the call number `at`, from 1. */
struct blow {
    const struct failure *failure;
    int64_t at;
};

/* Lets one blow fall on the command, and another one, unless its failure is NULL, on the attempt to
 * go on after it. Returns whether all that is said above holds; if not, it is printed. */
bool trial_holds(struct trial *trial, struct blow first, struct blow second);
