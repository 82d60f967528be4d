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

#include "sim/bytes.h"
#include "sim/require.h"

/* ---- checksum ---- */

enum { BYTE_BITS = 8, WORD_BYTES = 8 };

/* table[k]: what a byte that leaves the register does to the rest once k more have left it, by the
 * reversed polynomial of ECMA-182, c96c5795d7870f42. A checksum is linear: of a byte it is that of
 * its bits together, and of eight bytes what each of them does (M. E. Kounavis, F. L. Berry, "Novel
 * table lookup-based algorithms for high-performance CRC generation", IEEE Transactions on
 * Computers 57 (2008) 1550-1560). */
#define OF_BIT(byte, bit, rest) (((byte) >> (bit)&1) != 0 ? (rest) : 0)
#define OF_BYTE(byte, b0, b1, b2, b3, b4, b5, b6, b7)                                              \
    (OF_BIT(byte, 0, b0) ^ OF_BIT(byte, 1, b1) ^ OF_BIT(byte, 2, b2) ^ OF_BIT(byte, 3, b3) ^       \
     OF_BIT(byte, 4, b4) ^ OF_BIT(byte, 5, b5) ^ OF_BIT(byte, 6, b6) ^ OF_BIT(byte, 7, b7))
#define OF_4(byte, ...)                                                                            \
    OF_BYTE(byte, __VA_ARGS__), OF_BYTE((byte) + 1, __VA_ARGS__),                                  \
        OF_BYTE((byte) + 2, __VA_ARGS__), OF_BYTE((byte) + 3, __VA_ARGS__)
#define OF_16(byte, ...)                                                                           \
    OF_4(byte, __VA_ARGS__), OF_4((byte) + 4, __VA_ARGS__), OF_4((byte) + 8, __VA_ARGS__),         \
        OF_4((byte) + 12, __VA_ARGS__)
#define OF_64(byte, ...)                                                                           \
    OF_16(byte, __VA_ARGS__), OF_16((byte) + 16, __VA_ARGS__), OF_16((byte) + 32, __VA_ARGS__),    \
        OF_16((byte) + 48, __VA_ARGS__)
#define TABLE(...)                                                                                 \
    {                                                                                              \
        OF_64(0, __VA_ARGS__), OF_64(64, __VA_ARGS__), OF_64(128, __VA_ARGS__),                    \
            OF_64(192, __VA_ARGS__)                                                                \
    }
static const uint64_t table[WORD_BYTES][1 << BYTE_BITS] = {
    TABLE(UINT64_C(0xb32e4cbe03a75f6f), UINT64_C(0xf4843657a840a05b), UINT64_C(0x7bd0c384ff8f5e33),
          UINT64_C(0xf7a18709ff1ebc66), UINT64_C(0x7d9ba13851336649), UINT64_C(0xfb374270a266cc92),
          UINT64_C(0x64b62bcaebc387a1), UINT64_C(0xc96c5795d7870f42)),
    TABLE(UINT64_C(0x54e979925cd0f10d), UINT64_C(0xa9d2f324b9a1e21a), UINT64_C(0xc17d4962dc4ddab1),
          UINT64_C(0x10223dee1795abe7), UINT64_C(0x20447bdc2f2b57ce), UINT64_C(0x4088f7b85e56af9c),
          UINT64_C(0x8111ef70bcad5f38), UINT64_C(0x90fb71cad654a0f5)),
    TABLE(UINT64_C(0x3f0be14a916a6dcb), UINT64_C(0x7e17c29522d4db96), UINT64_C(0xfc2f852a45a9b72c),
          UINT64_C(0x6a87a57f245d70dd), UINT64_C(0xd50f4afe48bae1ba), UINT64_C(0x38c63ad73e7bddf1),
          UINT64_C(0x718c75ae7cf7bbe2), UINT64_C(0xe318eb5cf9ef77c4)),
    TABLE(UINT64_C(0x1dee8a5e222ca1dc), UINT64_C(0x3bdd14bc445943b8), UINT64_C(0x77ba297888b28770),
          UINT64_C(0xef7452f111650ee0), UINT64_C(0x4c300ac98dc40345), UINT64_C(0x986015931b88068a),
          UINT64_C(0xa218840d981e1391), UINT64_C(0xd6e9a7309f3239a7)),
    TABLE(UINT64_C(0x5c2d776033c4205e), UINT64_C(0xb85aeec0678840bc), UINT64_C(0xe26d72ab601e9ffd),
          UINT64_C(0x56024a7d6f33217f), UINT64_C(0xac0494fade6642fe), UINT64_C(0xcad186de13c29b79),
          UINT64_C(0x077ba297888b2877), UINT64_C(0x0ef7452f111650ee)),
    TABLE(UINT64_C(0x6184d55f721267c6), UINT64_C(0xc309aabee424cf8c), UINT64_C(0x14cbfa566747819d),
          UINT64_C(0x2997f4acce8f033a), UINT64_C(0x532fe9599d1e0674), UINT64_C(0xa65fd2b33a3c0ce8),
          UINT64_C(0xde670a4ddb760755), UINT64_C(0x2e16bbb019e2102f)),
    TABLE(UINT64_C(0x22ef0d5934f964ec), UINT64_C(0x45de1ab269f2c9d8), UINT64_C(0x8bbc3564d3e593b0),
          UINT64_C(0x85a0c5e208c539e5), UINT64_C(0x999924efbe846d4f), UINT64_C(0xa1eae6f4d206c41b),
          UINT64_C(0xd10d62c20b0396b3), UINT64_C(0x30c26aafb90933e3)),
    TABLE(UINT64_C(0xdabe95afc7875f40), UINT64_C(0x27a584742000a005), UINT64_C(0x4f4b08e84001400a),
          UINT64_C(0x9e9611d080028014), UINT64_C(0xaff48c8aaf0b1ead), UINT64_C(0xcd31b63ef11823df),
          UINT64_C(0x08bbc3564d3e593b), UINT64_C(0x117786ac9a7cb276)),
};

/* Eight bytes that leave the register. */
static inline uint64_t leave(uint64_t rest) {
    uint64_t sum = 0;
    for (int byte = 0; byte < WORD_BYTES; byte++)
        sum ^= table[WORD_BYTES - 1 - byte][rest >> (byte * BYTE_BITS) & 0xff];
    return sum;
}

uint64_t sealed_checksum(uint64_t before, const void *data, size_t length) {
    uint64_t rest = ~before;
    const unsigned char *byte = data;
    for (; length >= WORD_BYTES; length -= WORD_BYTES, byte += WORD_BYTES)
        rest = leave(rest ^ bytes_get_8(byte));
    for (size_t i = 0; i < length; i++)
        rest = table[0][(rest ^ byte[i]) & 0xff] ^ rest >> BYTE_BITS;
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
