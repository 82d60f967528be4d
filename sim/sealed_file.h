/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/sealed_file.h - files that are whole or refused.
 *
 * A file is written under a new name in the same directory (PATH, a dot, 16 random characters and
 * ".partial"), synced, renamed to PATH, and the directory synced: whenever the machine stops, PATH
 * holds the old bytes or the new ones, whole. The new name is made for this file alone: nobody's
 * file is opened or overwritten, and no link is followed. A writer that was killed may leave its
 * own file under such a name, which nobody reads. A path has one writer at a time; who owns the
 * directory sees to that.
 *
 * A sealed file has a header before its bytes, all numbers little-endian:
 *      0  8  "LWseal1\n"
 *      8  8  what it is ("capsule"), filled up with zero bytes
 *     16  8  version of the format of its bytes
 *     24  8  how many bytes follow the header
 *     32  8  CRC-64 of the header's first 32 bytes and of the bytes that follow it
 * A changed byte or bit, a missing or an added one is always found: the length tells the latter,
 * and a CRC of 64 bits any change that stays within 64 neighbouring bits, others but for 1 in 2^64.
 *
 * SIGXFSZ should be ignored, so that a file that grows too large is a fault and not the end. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "sim/fault.h"

enum { SEALED_HEADER_BYTES = 40, SEALED_KIND_LENGTH_MAX = 8 };

/* Makes PATH a sealed file of `length` bytes. kind: 1 to 8 characters, a noun that messages use.
 * False: a fault was added (its source is `path`), and PATH is as it was; only where the directory
 * could not be synced, which the fault then says, PATH is new already. */
bool sealed_write(const char *path, const char *kind, uint64_t version, const void *data,
                  size_t length, struct faults *faults);

/* The bytes that sealed_write would give a file, in *sealed (free() it); returns their number. */
size_t sealed_bytes(const char *kind, uint64_t version, const void *data, size_t length,
                    void **sealed);

/* Reads what sealed_write made: *data (free() it) and *length. False: a fault was added, because
 * the file cannot be read, is foreign, damaged, cut short or too long, or is of another kind or
 * version; *data and *length are as they were. */
bool sealed_read(const char *path, const char *kind, uint64_t version, void **data, size_t *length,
                 struct faults *faults);

/* Makes PATH a file of just these bytes, without a header, as safely as a sealed one. False: as of
 * sealed_write. */
bool sealed_replace_file(const char *path, const void *data, size_t length, struct faults *faults);

/* The same steps one by one, for a file that is written piece by piece. The first makes the new
 * file beside `path` and opens it for writing: returns it, and its name in *partial, to be
 * freed; -1: errno says why, and there is none. The last makes the names in the directory of
 * `path` last; also true where the file system cannot. False: errno says why. */
int sealed_partial_open(const char *path, char **partial);
bool sealed_sync_directory(const char *path);

/* CRC-64/XZ, the polynomial of ECMA-182 (1992) bit-reversed. `before` is the checksum of the bytes
 * before these, 0 at the start: of two pieces in a row, and of both at once, it is the same. */
uint64_t sealed_checksum(uint64_t before, const void *data, size_t length);
