/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fault/place.h - directories as a whole: what is in them, copies, and taking them away. What
 * cannot be done ends the test program, with the reason. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct place_entry {
    char *path;     /* below the directory, as "out/runs.csv" */
    uint64_t bytes; /* a checksum of what the file holds; 0 for a directory */
    bool directory;
};

/* What a directory and those in it hold, in the order of paths. */
struct place {
    struct place_entry *entry;
    uint32_t count, capacity;
};

/* Freed with place_free. */
struct place place_read(const char *directory);
void place_free(struct place *place);

/* The entry of this path; NULL: there is none. */
const struct place_entry *place_find(const struct place *place, const char *path);
/* Whether a name ends in ".partial", as those of files do that are being written: it is random. */
bool place_is_partial(const char *path);
/* A checksum of all but the files with such names. */
uint64_t place_checksum(const struct place *place);

/* Removes all that is in a directory. */
void place_clear(const char *directory);
/* Copies all that is in `from` into the directory `to`. */
void place_copy(const char *from, const char *to);
/* All bytes of a file and a 0 after them, freed with free(); the length in *length, unless NULL. */
char *place_text(const char *path, size_t *length);
