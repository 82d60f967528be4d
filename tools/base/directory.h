/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/directory.h - the directory of a run, which is whole or not there.
 *
 * The files are written into a hidden directory beside the wanted one (`.NAME.unfinished`), which
 * takes its place in one step when all is on the disk; an earlier run is removed only then. A
 * program that is killed leaves the earlier run as it was and at most the hidden directory and its
 * lock, which the next run to the same place removes.
 *
 * Hidden names are never followed where they are symbolic links, and what another user owns is
 * refused: nothing outside the directories that this program made is opened, emptied or removed.
 * Of an earlier run only the files that a run writes are removed. What goes wrong is reported on
 * standard error with path and reason; "False: reported" below means that. */
#pragma once

#include <stdbool.h>
#include <stddef.h>

struct directory {
    char *path;       /* the wanted directory, as messages name it */
    char *name;       /* its last part */
    char *within;     /* the path of the directory that holds it */
    char *unfinished; /* ".NAME.unfinished" */
    char *replaced;   /* ".NAME.replaced" */
    char *locked;     /* ".NAME.lock" */
    int parent;       /* open directory that holds it */
    int work;         /* open directory `unfinished`; -1: not begun */
    int lock;         /* open file `locked`, locked as long as somebody writes there */
    bool replaces;    /* an earlier run stands at `path` */
};

/* Checks whether a run may be written to `path` and begins it. The parent must exist; what stands
 * at `path` must be an empty directory or an earlier run with nothing else beside it. False:
 * reported. */
bool directory_begin(struct directory *directory, const char *path);
/* The same for what may take long: where a program that was stopped left an unfinished directory,
 * work goes on with what is in it. */
bool directory_resume(struct directory *directory, const char *path);
/* Writes a whole file there. False: reported. */
bool directory_add(const struct directory *directory, const char *name, const char *bytes,
                   size_t count);
/* Reports that `name` in the directory could not be written, for the reason `error` (an errno). */
void directory_tell(const struct directory *directory, const char *name, int error);
/* Puts the finished directory in its place, after a second look at what stands there. False:
 * reported, with where the finished files are: they stay in the hidden directory, or, where only
 * the entry in the directory that holds them could not be made durable, in their place. The memory
 * is given back either way. */
bool directory_commit(struct directory *directory);
/* Removes what was begun and gives the memory back. What is not begun, or committed, stays. */
void directory_abandon(struct directory *directory);
/* Gives the memory back and leaves what was begun for directory_resume. */
void directory_leave(struct directory *directory);
