/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/fault/place.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "sim/array.h"
#include "sim/require.h"
#include "sim/sealed_file.h"

static _Noreturn void give_up(const char *path) {
    fprintf(stderr, "%s: %s\n", path, strerror(errno));
    exit(EXIT_FAILURE);
}

static char *joined(const char *directory, const char *name) {
    size_t room = strlen(directory) + strlen(name) + 2;
    char *path = require_memory(room, 1);
    snprintf(path, room, "%s%s%s", directory, directory[0] != '\0' ? "/" : "", name);
    return path;
}

/* ---- files ---- */

char *place_text(const char *path, size_t *length) {
    int file = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    struct stat status;
    if (file < 0 || fstat(file, &status) != 0)
        give_up(path);
    char *text = require_memory((size_t)status.st_size + 1, 1);
    if (read(file, text, (size_t)status.st_size) != status.st_size)
        give_up(path);
    close(file);
    if (length != NULL)
        *length = (size_t)status.st_size;
    return text;
}

static void put_file(const char *path, const char *text, size_t length) {
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (file < 0 || write(file, text, length) != (ssize_t)length || close(file) != 0)
        give_up(path);
}

static bool is_directory(const char *path) {
    struct stat status;
    if (lstat(path, &status) != 0)
        give_up(path);
    return S_ISDIR(status.st_mode);
}

/* ---- directories ---- */

typedef void visit(void *self, const char *path, const char *below);

/* Calls `visit` for each name in `directory`, with its path and its path below where all began. */
static void each(const char *directory, const char *below, visit *visitor, void *self) {
    DIR *names = opendir(directory);
    if (names == NULL)
        give_up(directory);
    for (struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names)) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        char *path = joined(directory, entry->d_name), *inner = joined(below, entry->d_name);
        visitor(self, path, inner);
        free(path);
        free(inner);
    }
    closedir(names);
}

static void add_entry(void *self, const char *path, const char *below) {
    struct place *place = self;
    place->entry =
        array_with_room(place->entry, place->count, &place->capacity, sizeof *place->entry);
    struct place_entry *entry = &place->entry[place->count++];
    *entry = (struct place_entry){.path = require_text(below), .directory = is_directory(path)};
    if (entry->directory) {
        each(path, below, add_entry, self);
        return;
    }
    size_t length;
    char *text = place_text(path, &length);
    entry->bytes = sealed_checksum(0, text, length);
    free(text);
}

static int by_path(const void *one, const void *other) {
    const struct place_entry *first = one, *second = other;
    return strcmp(first->path, second->path);
}

struct place place_read(const char *directory) {
    struct place place = {0};
    each(directory, "", add_entry, &place);
    if (place.count > 0)
        qsort(place.entry, place.count, sizeof *place.entry, by_path);
    return place;
}

void place_free(struct place *place) {
    for (uint32_t i = 0; i < place->count; i++)
        free(place->entry[i].path);
    free(place->entry);
    *place = (struct place){0};
}

const struct place_entry *place_find(const struct place *place, const char *path) {
    struct place_entry wanted = {.path = (char *)path};
    if (place->count == 0)
        return NULL;
    return bsearch(&wanted, place->entry, place->count, sizeof *place->entry, by_path);
}

bool place_is_partial(const char *path) {
    static const char end[] = ".partial";
    size_t length = strlen(path), end_length = sizeof end - 1;
    return length > end_length && strcmp(path + length - end_length, end) == 0;
}

uint64_t place_checksum(const struct place *place) {
    uint64_t checksum = 0;
    for (uint32_t i = 0; i < place->count; i++) {
        const struct place_entry *entry = &place->entry[i];
        if (place_is_partial(entry->path))
            continue;
        checksum = sealed_checksum(checksum, entry->path, strlen(entry->path) + 1);
        checksum = sealed_checksum(checksum, &entry->bytes, sizeof entry->bytes);
    }
    return checksum;
}

static void remove_entry(void *self, const char *path, const char *below) {
    (void)self, (void)below;
    bool directory = is_directory(path);
    if (directory)
        place_clear(path);
    if ((directory ? rmdir(path) : unlink(path)) != 0)
        give_up(path);
}

void place_clear(const char *directory) { each(directory, "", remove_entry, NULL); }

static void copy_entry(void *self, const char *path, const char *below) {
    char *copy = joined(self, below);
    if (is_directory(path)) {
        if (mkdir(copy, 0777) != 0)
            give_up(copy);
        each(path, below, copy_entry, self);
    } else {
        size_t length;
        char *text = place_text(path, &length);
        put_file(copy, text, length);
        free(text);
    }
    free(copy);
}

void place_copy(const char *from, const char *to) { each(from, "", copy_entry, (void *)to); }
