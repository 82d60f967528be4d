/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/file.h - writing to the disk with nothing that goes wrong overlooked. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* Writes all bytes, however many calls that takes. Returns 0, or an errno. */
int file_write(int file, const char *bytes, size_t count);
/* The same over what is in the file from `offset` on. */
int file_write_at(int file, const void *bytes, size_t count, int64_t offset);
/* Reads `count` bytes from `offset` on, however many calls that takes. False: they cannot be read,
 * or the file ends before. */
bool file_read_at(int file, void *bytes, size_t count, int64_t offset);
/* Waits until what was written is on the disk, and closes. Returns 0, or the first errno; the file
 * is closed in any case. */
int file_close(int file);
/* Makes the file `name` in the open directory `directory` with these bytes, on the disk when done.
 * Returns 0, or an errno. The file must not exist. */
int file_make(int directory, const char *name, const char *bytes, size_t count);
/* Gives a file another name in the same directory, which must be free. Returns 0, or an errno:
 * EEXIST where it is not. On a disk that knows no such renaming the file keeps its first name as
 * well: the caller removes that in any case. */
int file_move_to_free_name(const char *from, const char *to);
/* Opens a file of the disk to be read: a pipe or a device is refused with EINVAL, so that nobody
 * waits for what never comes. NULL with errno. */
FILE *file_open_regular(const char *path);
