/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/scratch.c - in /dev/shm where there is one, else in /tmp; taken away at the end. */
#define _DEFAULT_SOURCE /* mkdtemp */
#include "tests/fuzz/scratch.h"

#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "sim/require.h"

static const char name[] = "input";
static char place[64], path[sizeof place + sizeof name];
static int directory = -1;

static void clear_away(void) {
    unlink(path);
    rmdir(place);
}

int scratch_directory(void) {
    if (directory >= 0)
        return directory;
    bool shared = access("/dev/shm", W_OK) == 0;
    snprintf(place, sizeof place, "%s/fuzz-XXXXXX", shared ? "/dev/shm" : "/tmp");
    require(mkdtemp(place) != NULL);
    snprintf(path, sizeof path, "%s/%s", place, name);
    directory = open(place, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    require(directory >= 0 && atexit(clear_away) == 0);
    return directory;
}

const char *scratch_name(void) { return name; }

const char *scratch_file(const void *data, size_t length) {
    int file = openat(scratch_directory(), name, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    require(file >= 0 && write(file, data, length) == (ssize_t)length);
    close(file);
    return path;
}
