/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/sealed_file.c - one order of steps for all that must survive: write, sync, rename, sync. */
#include "sim/sealed_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#include "sim/require.h"

/* ---- checksum ---- */

enum { BYTE_BITS = 8 };

/* What a byte that leaves the register does to the rest, by the reversed polynomial of ECMA-182,
 * c96c5795d7870f42. A checksum is linear: of a byte it is that of its bits together. */
#define OF_BIT(byte, bit, rest) (((byte) >> (bit)&1) != 0 ? UINT64_C(rest) : 0)
#define OF_BYTE(byte)                                                                              \
    (OF_BIT(byte, 0, 0xb32e4cbe03a75f6f) ^ OF_BIT(byte, 1, 0xf4843657a840a05b) ^                   \
     OF_BIT(byte, 2, 0x7bd0c384ff8f5e33) ^ OF_BIT(byte, 3, 0xf7a18709ff1ebc66) ^                   \
     OF_BIT(byte, 4, 0x7d9ba13851336649) ^ OF_BIT(byte, 5, 0xfb374270a266cc92) ^                   \
     OF_BIT(byte, 6, 0x64b62bcaebc387a1) ^ OF_BIT(byte, 7, 0xc96c5795d7870f42))
#define OF_4(byte) OF_BYTE(byte), OF_BYTE((byte) + 1), OF_BYTE((byte) + 2), OF_BYTE((byte) + 3)
#define OF_16(byte) OF_4(byte), OF_4((byte) + 4), OF_4((byte) + 8), OF_4((byte) + 12)
#define OF_64(byte) OF_16(byte), OF_16((byte) + 16), OF_16((byte) + 32), OF_16((byte) + 48)
static const uint64_t table[] = {OF_64(0), OF_64(64), OF_64(128), OF_64(192)};

uint64_t sealed_checksum(uint64_t before, const void *data, size_t length) {
    uint64_t rest = ~before;
    const unsigned char *byte = data;
    for (size_t i = 0; i < length; i++)
        rest = table[(rest ^ byte[i]) & 0xff] ^ rest >> BYTE_BITS;
    return ~rest;
}

/* ---- faults ---- */

static bool refuse(struct fault *fault, const char *path) {
    free(fault->source);
    fault->source = require_text(path);
    return false;
}

static struct fault *add_errno(struct faults *faults, const char *what, int error) {
    char reason[128];
    if (strerror_r(error, reason, sizeof reason) != 0)
        snprintf(reason, sizeof reason, "error %d", error);
    return faults_add(faults, FAULT_ERROR, "%s: %s", what, reason);
}

/* ---- writing ---- */

struct piece {
    const void *data;
    size_t length;
};

/* False: errno says why. */
static bool write_piece(int file, const struct piece *piece) {
    const char *next = piece->data;
    size_t left = piece->length;
    while (left > 0) {
        ssize_t written = write(file, next, left);
        if (written < 0 && errno != EINTR)
            return false;
        if (written > 0) {
            next += written;
            left -= (size_t)written;
        }
    }
    return true;
}

static bool sync_file(int file) {
    while (fsync(file) != 0)
        if (errno != EINTR)
            return false;
    return true;
}

static bool write_and_sync(int file, const struct piece *piece, int count) {
    for (int i = 0; i < count; i++)
        if (!write_piece(file, &piece[i]))
            return false;
    return sync_file(file);
}

/* Writes all pieces and closes. False: errno says why. */
static bool store(int file, const struct piece *piece, int count) {
    bool stored = write_and_sync(file, piece, count);
    int error = errno;
    bool closed = close(file) == 0 || errno == EINTR; /* Linux closes even when interrupted */
    if (!stored)
        errno = error;
    return stored && closed;
}

/* The part of a path before its last name, with its slash; "./" where there is none. */
static char *directory_of(const char *path) {
    const char *slash = strrchr(path, '/');
    if (slash == NULL)
        return require_text("./");
    char *directory = require_text(path);
    directory[slash - path + 1] = '\0';
    return directory;
}

bool sealed_sync_directory(const char *path) {
    char *directory = directory_of(path);
    int file = open(directory, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    free(directory);
    if (file < 0)
        return false;
    bool synced = sync_file(file) || errno == EINVAL; /* a file system that cannot sync names */
    int error = errno;
    close(file);
    errno = error;
    return synced;
}

/* PATH.RANDOM.partial, a name that nobody can foresee. NULL: errno says why there is no chance. */
static char *partial_of(const char *path) {
    uint64_t random;
    while (getrandom(&random, sizeof random, 0) != (ssize_t)sizeof random)
        if (errno != EINTR)
            return NULL;
    size_t room = strlen(path) + sizeof "..partial" + 16;
    char *partial = require_memory(room, 1);
    snprintf(partial, room, "%s.%016llx.partial", path, (unsigned long long)random);
    return partial;
}

int sealed_partial_open(const char *path, char **partial) {
    char *name = partial_of(path);
    if (name == NULL)
        return -1;
    int file = open(name, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    int error = errno;
    if (file >= 0)
        *partial = name;
    else
        free(name);
    errno = error;
    return file;
}

static bool is_out_of_space(int error) {
    return error == ENOSPC || error == EDQUOT || error == EFBIG;
}

/* `left`: what was begun and could not be removed; NULL: nothing. */
static bool refuse_write(struct faults *faults, const char *path, const struct piece *piece,
                         int count, int error, const char *left) {
    struct fault *fault = add_errno(faults, "cannot be written", error);
    size_t bytes = 0;
    for (int i = 0; i < count; i++)
        bytes += piece[i].length;
    if (is_out_of_space(error))
        fault_note(fault, "it takes %zu bytes", bytes);
    if (left != NULL)
        fault_help(fault, "%s could not be removed either", left);
    return refuse(fault, path);
}

/* Writes the pieces into `file`, which is named `partial`, and puts that in its place. Returns 0,
 * or an errno. */
static int store_and_rename(int file, const char *partial, const char *path,
                            const struct piece *piece, int count) {
    return store(file, piece, count) && rename(partial, path) == 0 ? 0 : errno;
}

static bool replace(const char *path, const struct piece *piece, int count, struct faults *faults) {
    char *partial = NULL;
    int file = sealed_partial_open(path, &partial);
    int error = file >= 0 ? store_and_rename(file, partial, path, piece, count) : errno;
    bool left = error != 0 && partial != NULL && unlink(partial) != 0;
    if (error != 0)
        refuse_write(faults, path, piece, count, error, left ? partial : NULL);
    free(partial);
    if (error != 0)
        return false;
    if (!sealed_sync_directory(path))
        return refuse(add_errno(faults, "is written, but its name may not last", errno), path);
    return true;
}

bool sealed_replace_file(const char *path, const void *data, size_t length, struct faults *faults) {
    return replace(path, &(struct piece){data, length}, 1, faults);
}

/* ---- header ---- */

enum { MAGIC_BYTES = 8, KIND_AT = 8, VERSION_AT = 16, LENGTH_AT = 24, CHECKSUM_AT = 32 };

static const char magic[] = "LWseal1\n";

static void put_number(unsigned char *at, uint64_t number) {
    for (int i = 0; i < 8; i++)
        at[i] = (unsigned char)(number >> BYTE_BITS * i);
}

static uint64_t get_number(const unsigned char *at) {
    uint64_t number = 0;
    for (int i = 0; i < 8; i++)
        number |= (uint64_t)at[i] << BYTE_BITS * i;
    return number;
}

static uint64_t checksum_of(const unsigned char *header, const void *data, size_t length) {
    return sealed_checksum(sealed_checksum(0, header, CHECKSUM_AT), data, length);
}

static size_t kind_length(const char *kind) {
    size_t length = strlen(kind);
    require(length >= 1 && length <= SEALED_KIND_LENGTH_MAX);
    return length;
}

static void fill_header(unsigned char header[SEALED_HEADER_BYTES], const char *kind,
                        uint64_t version, const void *data, size_t length) {
    memset(header, 0, SEALED_HEADER_BYTES);
    memcpy(header, magic, MAGIC_BYTES);
    memcpy(header + KIND_AT, kind, kind_length(kind));
    put_number(header + VERSION_AT, version);
    put_number(header + LENGTH_AT, length);
    put_number(header + CHECKSUM_AT, checksum_of(header, data, length));
}

bool sealed_write(const char *path, const char *kind, uint64_t version, const void *data,
                  size_t length, struct faults *faults) {
    unsigned char header[SEALED_HEADER_BYTES];
    fill_header(header, kind, version, data, length);
    struct piece piece[] = {{header, sizeof header}, {data, length}};
    return replace(path, piece, 2, faults);
}

size_t sealed_bytes(const char *kind, uint64_t version, const void *data, size_t length,
                    void **sealed) {
    unsigned char *bytes = require_memory(SEALED_HEADER_BYTES + length, 1);
    fill_header(bytes, kind, version, data, length);
    if (length > 0)
        memcpy(bytes + SEALED_HEADER_BYTES, data, length);
    *sealed = bytes;
    return SEALED_HEADER_BYTES + length;
}

/* ---- reading ---- */

/* How many of `length` bytes could be read before the end of the file; -1: errno says why not. */
static ssize_t read_bytes(int file, void *data, size_t length) {
    size_t done = 0;
    while (done < length) {
        ssize_t got = read(file, (char *)data + done, length - done);
        if (got < 0 && errno != EINTR)
            return -1;
        if (got == 0)
            break;
        if (got > 0)
            done += (size_t)got;
    }
    return (ssize_t)done;
}

static bool refuse_read(struct faults *faults, const char *path, int error) {
    return refuse(add_errno(faults, "cannot be read", error), path);
}

/* A file that is being read: where it comes from, and where its faults go. */
struct reading {
    const char *path, *kind;
    int file;
    uint64_t size; /* of the whole file */
    unsigned char header[SEALED_HEADER_BYTES];
    struct faults *faults;
};

static bool refuse_short(const struct reading *reading, uint64_t there, uint64_t wanted) {
    struct fault *fault =
        faults_add(reading->faults, FAULT_ERROR, "cut short: %llu of %llu bytes are there",
                   (unsigned long long)there, (unsigned long long)wanted);
    return refuse(fault, reading->path);
}

static bool read_size(struct reading *reading) {
    struct stat status;
    if (fstat(reading->file, &status) != 0)
        return refuse_read(reading->faults, reading->path, errno);
    if (!S_ISREG(status.st_mode)) {
        struct fault *fault = faults_add(reading->faults, FAULT_ERROR,
                                         "not a file that could be a %s", reading->kind);
        fault_help(fault, "a pipe or a directory cannot: give the file itself");
        return refuse(fault, reading->path);
    }
    reading->size = (uint64_t)status.st_size;
    return true;
}

static bool read_header(struct reading *reading) {
    ssize_t got = read_bytes(reading->file, reading->header, SEALED_HEADER_BYTES);
    if (got < 0)
        return refuse_read(reading->faults, reading->path, errno);
    size_t magic_bytes = got < MAGIC_BYTES ? (size_t)got : MAGIC_BYTES;
    if (got == 0 || memcmp(reading->header, magic, magic_bytes) != 0)
        return refuse(faults_add(reading->faults, FAULT_ERROR,
                                 "not a %s: it does not begin as one of this program does",
                                 reading->kind),
                      reading->path);
    if (got < SEALED_HEADER_BYTES)
        return refuse_short(reading, (uint64_t)got, SEALED_HEADER_BYTES);
    return true;
}

/* The length in the header has to be that of the file, before memory is taken for it. */
static bool check_length(const struct reading *reading) {
    uint64_t wanted = get_number(reading->header + LENGTH_AT);
    uint64_t there = reading->size > SEALED_HEADER_BYTES ? reading->size - SEALED_HEADER_BYTES : 0;
    if (there < wanted)
        return refuse_short(reading, there, wanted);
    if (there > wanted)
        return refuse(faults_add(reading->faults, FAULT_ERROR, "damaged: %llu bytes too many",
                                 (unsigned long long)(there - wanted)),
                      reading->path);
    return true;
}

static bool check_bytes(const struct reading *reading, const void *data, size_t length) {
    uint64_t checksum = get_number(reading->header + CHECKSUM_AT);
    if (checksum_of(reading->header, data, length) == checksum)
        return true;
    return refuse(faults_add(reading->faults, FAULT_ERROR, "damaged: its checksum does not match"),
                  reading->path);
}

static bool check_kind(const struct reading *reading, uint64_t version) {
    char kind[SEALED_KIND_LENGTH_MAX + 1] = {0};
    memcpy(kind, reading->header + KIND_AT, SEALED_KIND_LENGTH_MAX);
    if (strcmp(kind, reading->kind) != 0)
        return refuse(faults_add(reading->faults, FAULT_ERROR,
                                 "not a %s but another file of this program", reading->kind),
                      reading->path);
    uint64_t found = get_number(reading->header + VERSION_AT);
    if (found == version)
        return true;
    return refuse(faults_add(reading->faults, FAULT_ERROR,
                             "a %s of format %llu, and this program reads format %llu", kind,
                             (unsigned long long)found, (unsigned long long)version),
                  reading->path);
}

static bool read_data(const struct reading *reading, void *data, size_t length) {
    ssize_t got = read_bytes(reading->file, data, length);
    if (got < 0)
        return refuse_read(reading->faults, reading->path, errno);
    if ((size_t)got < length) /* it shrank while it was read */
        return refuse_short(reading, (uint64_t)got, length);
    return true;
}

static bool read_open(struct reading *reading, uint64_t version, void **data, size_t *length) {
    if (!read_size(reading) || !read_header(reading) || !check_length(reading))
        return false;
    size_t bytes = (size_t)get_number(reading->header + LENGTH_AT);
    void *content = require_memory(bytes, 1);
    if (!read_data(reading, content, bytes) || !check_bytes(reading, content, bytes) ||
        !check_kind(reading, version)) {
        free(content);
        return false;
    }
    *data = content;
    *length = bytes;
    return true;
}

bool sealed_read(const char *path, const char *kind, uint64_t version, void **data, size_t *length,
                 struct faults *faults) {
    require(kind_length(kind) > 0);
    /* Not blocking: a pipe without a writer is to be refused, not waited for. */
    int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (file < 0)
        return refuse_read(faults, path, errno);
    struct reading reading = {.path = path, .kind = kind, .file = file, .faults = faults};
    bool whole = read_open(&reading, version, data, length);
    close(file);
    return whole;
}
