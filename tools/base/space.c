/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/space.c - compares with what the file system leaves to this user. */
#include "tools/base/space.h"

#include <stdio.h>
#include <sys/statvfs.h>

/* "4.1 kB", "120 MB" */
static const char *in_words(double bytes, char words[32]) {
    static const char *const unit[] = {"kB", "MB", "GB", "TB"};
    enum { UNITS = sizeof unit / sizeof *unit, THOUSAND = 1000 };
    size_t i = 0;
    for (bytes /= THOUSAND; bytes >= THOUSAND && i + 1 < UNITS; i++)
        bytes /= THOUSAND;
    snprintf(words, 32, "%.*f %s", bytes < 10 ? 1 : 0, bytes, unit[i]);
    return words;
}

void space_check(const struct directory *directory, double bytes) {
    struct statvfs disk;
    if (fstatvfs(directory->work, &disk) != 0)
        return; /* not known: the work itself will show */
    double free_bytes = (double)disk.f_bavail * (double)disk.f_frsize;
    if (bytes <= free_bytes)
        return;
    char wanted[32], there[32];
    fprintf(stderr,
            "loopwright: warning: %s: the files will take about %s, and %s are free there\n"
            "    help: a longer watch.every makes the tables shorter\n",
            directory->path, in_words(bytes, wanted), in_words(free_bytes, there));
}
