/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/fault.h - what is wrong with the world outside: messages with a place, collected and
 * returned, never printed here. Errors and warnings of one reading are gathered in a list; a caller
 * asks faults_failed() and hands the list to tools/words to be shown. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

enum fault_grade { FAULT_ERROR, FAULT_WARNING };

struct fault {
    enum fault_grade grade;
    char *source;  /* the file's path, or the override ("--set arms.a.hand=0"); "" when no place */
    uint32_t line; /* from 1; 0: no line */
    uint32_t column; /* from 1, in characters; 0: no column */
    /* that line, as written, without its end; of a long line a stretch; NULL: none */
    char *excerpt;
    uint32_t excerpt_column; /* column of the excerpt's first character, 1 but in a long line */
    uint32_t width;          /* characters to mark from `column` on, at least 1 */
    char *what;              /* what is wrong, lower case, no full stop */
    char *note;              /* what was expected; NULL: nothing to add */
    char *help;              /* what may mend it ("did you mean `cells`?"); NULL: none */
};

enum { FAULTS_SHOWN_MAX = 20 }; /* errors shown in one go, and warnings likewise */

/* A list of faults in the order of their places. Starts as {0}; owns its texts. */
struct faults {
    struct fault *fault;
    uint32_t count, capacity;
    uint32_t error_count, warning_count;
    struct fault spare; /* the newest of those that are counted and not kept */
};

/* Adds a fault without place or source and returns it, so that the caller may fill these in. The
 * pointer is good until the next fault is added. */
struct fault *faults_add(struct faults *faults, enum fault_grade grade, const char *what, ...)
    __attribute__((format(printf, 3, 4)));
/* False: a fault that was just added is only counted, because thousands of its grade came before:
 * nobody will see what is filled in. */
bool faults_keeps(const struct faults *faults, const struct fault *fault);
/* Sets note or help of a fault by format; an earlier text is given back. */
void fault_note(struct fault *fault, const char *text, ...) __attribute__((format(printf, 2, 3)));
void fault_help(struct fault *fault, const char *text, ...) __attribute__((format(printf, 2, 3)));
/* True when the list holds an error. */
bool faults_failed(const struct faults *faults);
/* Sorts by source order of first appearance, then line, then column; stable. */
void faults_sort(struct faults *faults);
void faults_free(struct faults *faults);
