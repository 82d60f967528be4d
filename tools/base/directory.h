/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/directory.h - the directory of a run, which is whole or not there.
 *
 * The files are written into a hidden directory beside the wanted one (`.NAME.unfinished`), which
 * takes its place in one step when all is on the disk; an earlier run is removed only then. A
 * program that is killed leaves the earlier run as it was and at most the hidden directory and its
 * lock, which the next run to the same place removes.
 *
 * Work that takes long keeps a journal in the hidden directory (DIRECTORY_JOURNAL), from which it
 * goes on: as long as that is there nobody begins anew in its place. It is removed right after the
 * finished directory has taken its place, so that what a kill leaves can be told apart: a hidden
 * directory with a journal is unfinished work, one without is of no use to anybody.
 *
 * Hidden names are never followed where they are symbolic links, and what another user owns is
 * refused: nothing outside the directories that this program made is opened, emptied or removed.
 * Of an earlier run only the files that a run writes are removed. What goes wrong is reported on
 * standard error with path and reason; "False: reported" below means that. */
#pragma once

#include <stdbool.h>
#include <stddef.h>

#define DIRECTORY_JOURNAL "soak.journal"

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
 * at `path` must be an empty directory or an earlier run with nothing else beside it, and no
 * unfinished work may be there. False: reported. */
bool directory_begin(struct directory *directory, const char *path);
/* The same for what keeps a journal: where a program that was stopped left one, its directory is
 * taken as it is. */
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

/* Removes what a program that was killed in its last steps may have left beside and in the finished
 * directory at `path`: its lock, its journal, the run that it replaced; and unfinished work of
 * which `is_needless`, given its open directory, says so. Nothing where another program writes to
 * that place. What cannot be removed stays: it is in nobody's way. */
void directory_tidy(const char *path, bool (*is_needless)(void *self, int work), void *self);
