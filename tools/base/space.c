/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/space.c - compares with what the file system leaves to this user. */
#include "tools/base/space.h"

#include <stdio.h>
#include <sys/statvfs.h>

#define GIGABYTE 1e9

void space_check(const struct directory *directory, double bytes) {
    struct statvfs disk;
    if (fstatvfs(directory->work, &disk) != 0)
        return; /* not known: the work itself will show */
    double free_bytes = (double)disk.f_bavail * (double)disk.f_frsize;
    if (bytes <= free_bytes)
        return;
    fprintf(stderr,
            "loopwright: warning: %s: the files will take about %.3g GB, and %.3g GB are free "
            "there\n    help: a longer watch.every makes the tables shorter\n",
            directory->path, bytes / GIGABYTE, free_bytes / GIGABYTE);
}
