/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/output.h - one file that the user names for a command to write (--write FILE, --dot
 * FILE, ...), and nobody's file overwritten by it.
 *
 * - `-` is standard output, and so is every other name of a file that standard output is at that
 *   moment (/dev/stdout).
 * - What exists and is no regular file (a device, a fifo) is opened and written into as it is.
 * - Anything else appears whole: it is written under a new name beside its place (FILE, a dot, 16
 *   random characters and ".partial") that is made for it alone, synced, and renamed. A symbolic
 *   link to a file is followed: its target is replaced, not the link.
 * - A file that exists is replaced only when it is empty, or still byte for byte as this program
 *   wrote it, or with `force` (--force). What this program writes ends with a line that is a
 *   comment of the file's format and has the checksum of all bytes before it, as in
 *
 *       # Written by loopwright; checksum of all before this line: 9c2ab1f00d5e7763
 *
 *   so that a file in which the user has changed anything counts as the user's.
 *
 * What goes wrong is reported on standard error with path and reason; "False: reported" below means
 * that, and that the file is as it was. A writer that is killed may leave its own partial file. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/stat.h>

/* How a comment is written in the file. */
enum output_form {
    OUTPUT_YAML, /* # ... */
    OUTPUT_DOT,  /* // ... (Graphviz) */
    OUTPUT_HTML, /* <!-- ... --> */
    OUTPUT_VCD,  /* $comment ... $end (IEEE 1364) */
};
enum { OUTPUT_FORMS = OUTPUT_VCD + 1 };

struct output {
    const char *path; /* as the user gave it */
    enum output_form form;
    char *target;  /* the path to be replaced; NULL: it is written into, not replaced */
    char *partial; /* the new file beside it */
    int file;      /* -1: standard output */
    bool replaces; /* a file is there, and it was `earlier` */
    struct stat earlier;
    char *buffer;
    size_t used;
    char last;         /* the last byte that was written */
    uint64_t checksum; /* of what was written */
    int error;         /* errno of the first thing that went wrong; 0: all well */
};

/* True when `path` is standard output, so that a command prints nothing else there. */
bool output_is_standard(const char *path);

/* Whether a file may be written to `path` now, in a directory that is there and takes new files; to
 * be asked before a long work whose result it will hold. False: reported. */
bool output_may_write(const char *path, bool force);

/* Whether the file `name` of an open directory is still byte for byte as this program wrote it. A
 * link is not followed; what cannot be read was not. */
bool output_wrote(int directory, const char *name);

/* Begins a file. `path` must outlive it. False: reported. */
bool output_open(struct output *output, const char *path, enum output_form form, bool force);
/* Adds bytes; what goes wrong is kept for output_close. */
void output_add(struct output *output, const char *bytes, size_t count);
/* True when something went wrong already, so that going on is in vain. */
bool output_failed(const struct output *output);
/* Adds the line that says who wrote it, and puts the file in its place. False: reported; only where
 * the directory could not be synced, which is then said, the file is in its place. The memory is
 * given back either way. */
bool output_close(struct output *output);
/* The exit status when a file could not be written to `path`: STATUS_FILE; or as if by SIGPIPE,
 * where it is standard output and its reader has gone, which is not reported. */
int output_failure(const char *path);
/* Gives up what was begun: no file comes of it. */
void output_discard(struct output *output);

/* Whether a line of a text is the mark of this form: a text that is written again has a new one. */
bool output_is_mark(const char *line, enum output_form form);

/* All at once, for a text in memory. False: reported. */
bool output_write(const char *path, enum output_form form, bool force, const char *text);
