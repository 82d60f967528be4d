/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/directory.h - the directory of a run, which is whole or not there.
 *
 * The files are written into a hidden directory beside the wanted one (`.NAME.unfinished`), which
 * takes its place in one step when all is on the disk; an earlier run goes away only then. A
 * program that is killed leaves the earlier run as it was and at most the hidden directory and its
 * lock, which the next run to the same place takes away. What goes wrong is told on standard error,
 * path and reason. */
#pragma once

#include <stdbool.h>
#include <stddef.h>

struct directory {
    char *path;       /* the wanted directory, as messages name it */
    char *name;       /* its last part */
    char *unfinished; /* ".NAME.unfinished" */
    char *replaced;   /* ".NAME.replaced" */
    char *locked;     /* ".NAME.lock" */
    int parent;       /* open directory that holds it */
    int work;         /* open directory `unfinished`; -1: not begun */
    int lock;         /* open file `locked`, locked as long as somebody writes there */
    bool replaces;    /* an earlier run stands at `path` */
};

/* Looks whether a run may be written to `path` and begins it. The parent must exist; what stands at
 * `path` must be an empty directory or an earlier run with nothing else beside it. False: told. */
bool directory_begin(struct directory *directory, const char *path);
/* The same for what may take long: where a program that was stopped left an unfinished directory,
 * work goes on with what is in it. */
bool directory_resume(struct directory *directory, const char *path);
/* Writes a whole file there. False: told. */
bool directory_add(const struct directory *directory, const char *name, const char *bytes,
                   size_t count);
/* Tells that `name` in the directory could not be written, for the reason `error` (an errno). */
void directory_tell(const struct directory *directory, const char *name, int error);
/* Puts the finished directory in its place. False: told, and as if it had been abandoned. */
bool directory_commit(struct directory *directory);
/* Takes away what was begun and gives the memory back. What is not begun, or committed, stays. */
void directory_abandon(struct directory *directory);
/* Gives the memory back and leaves what was begun for directory_resume. */
void directory_leave(struct directory *directory);
