/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/capsules.c - reads the names of a directory; the files stay closed. */
#include "tools/checkpoint/capsules.h"

#include <dirent.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "model/reader/read.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* The time in a name such as at-600.capsule, 0 of start.capsule; NOT_GIVEN: another name. */
static int64_t time_of_name(const char *file) {
    static const char before[] = "at-", behind[] = ".capsule";
    size_t length = strlen(file), ends = strlen(behind);
    if (strcmp(file, "start.capsule") == 0)
        return 0;
    if (strncmp(file, before, strlen(before)) != 0 || length <= ends + strlen(before) ||
        strcmp(file + length - ends, behind) != 0)
        return NOT_GIVEN;
    char *text = require_text(file + strlen(before));
    text[length - ends - strlen(before)] = '\0';
    struct faults faults = {0};
    int64_t time = read_duration(text, LIMIT_TICKS_PER_SECOND, &faults);
    faults_free(&faults);
    free(text);
    return time;
}

/* The name of the last capsule in a directory that is not behind `time`; of all, the first one,
 * where they are. NULL: there is none. */
static char *name_before(DIR *names, int64_t time) {
    char *best = NULL;
    int64_t best_time = NOT_GIVEN;
    for (const struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names)) {
        int64_t found = time_of_name(entry->d_name);
        if (found == NOT_GIVEN)
            continue;
        bool nearer = best == NULL ||
                      (best_time > time ? found < best_time : found > best_time && found <= time);
        if (!nearer)
            continue;
        free(best);
        best = require_text(entry->d_name);
        best_time = found;
    }
    return best;
}

char *capsules_path(const char *directory, const char *file) {
    size_t length = strlen(directory), room = length + strlen(file) + 2;
    char *path = require_memory(room, 1);
    bool closed = length > 0 && directory[length - 1] == '/';
    snprintf(path, room, "%s%s%s", directory, closed ? "" : "/", file);
    return path;
}

bool capsules_are_of_a_run(const char *directory) {
    struct stat status;
    char *results = capsules_path(directory, "soak.results");
    bool is_soak = stat(results, &status) == 0;
    free(results);
    if (is_soak)
        fprintf(stderr,
                "loopwright: %s: is the directory of a soak, not of a run\n"
                "    help: name one of the capsules in it; runs.csv says of which run each is\n",
                directory);
    return !is_soak;
}

char *capsules_before(const char *directory, int64_t microseconds) {
    DIR *names = opendir(directory);
    if (names == NULL)
        return NULL;
    char *file = name_before(names, microseconds);
    closedir(names);
    char *path = file != NULL ? capsules_path(directory, file) : NULL;
    free(file);
    errno = 0;
    return path;
}
