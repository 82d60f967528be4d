/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/replay.c - gives a target the files that are named, and all files of the directories
 * that are named: a corpus can be tried where there is no libFuzzer. A finding ends the program. */
#include <dirent.h>
#include <errno.h>
#include <string.h>
#include <sys/stat.h>

#include "sim/require.h"
#include "tests/fuzz/fuzz.h"

/* Bytes of a file; ends the program where it cannot be read. */
static uint8_t *read_file(const char *path, size_t *length) {
    uint8_t *data = NULL;
    size_t capacity = 0, got = 1;
    FILE *in = fopen(path, "rb");
    for (*length = 0; in != NULL && got > 0; *length += got) {
        if (*length == capacity)
            data = require_more_memory(data, capacity = 2 * capacity + 4096, 1);
        got = fread(data + *length, 1, capacity - *length, in);
    }
    if (in == NULL || ferror(in) != 0) {
        fprintf(stderr, "%s: %s\n", path, strerror(errno));
        exit(2);
    }
    fclose(in);
    return data;
}

/* The target gets a block of just this length, so that a read past its end is seen. */
static void try_file(const char *path) {
    size_t length;
    uint8_t *data = read_file(path, &length), *exact = require_memory(length, 1);
    memcpy(exact, data, length);
    free(data);
    fprintf(stderr, "%s\n", path);
    LLVMFuzzerTestOneInput(exact, length);
    free(exact);
}

static int try_directory(const char *path) {
    int count = 0;
    DIR *names = opendir(path);
    for (struct dirent *entry; names != NULL && (entry = readdir(names)) != NULL;) {
        char file[4096];
        if (entry->d_name[0] == '.')
            continue;
        snprintf(file, sizeof file, "%s/%s", path, entry->d_name);
        try_file(file);
        count++;
    }
    if (names != NULL)
        closedir(names);
    return count;
}

int main(int count, char **word) {
    int tried = 0;
    for (int i = 1; i < count; i++) {
        struct stat status;
        if (stat(word[i], &status) == 0 && S_ISDIR(status.st_mode)) {
            tried += try_directory(word[i]);
        } else {
            try_file(word[i]);
            tried++;
        }
    }
    printf("%d inputs\n", tried);
    return tried > 0 ? 0 : 1;
}
