/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/bytes.c - a byte at a time, so that the machine's own order never shows. */
#include "sim/bytes.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

enum { WIDTH_MOST = 8, BYTE_BITS = 8, CAPACITY_LEAST = 256 };

void bytes_free(struct bytes *bytes) {
    free(bytes->data);
    *bytes = (struct bytes){0};
}

unsigned char *bytes_begin(struct bytes *bytes, size_t most) {
    if (bytes->capacity - bytes->length < most) {
        bytes->capacity = 2 * (bytes->length + most) + CAPACITY_LEAST;
        bytes->data = require_more_memory(bytes->data, bytes->capacity, 1);
    }
    return bytes->data + bytes->length;
}

void bytes_end(struct bytes *bytes, const unsigned char *at) {
    bytes->length = (size_t)(at - bytes->data);
    require(bytes->length <= bytes->capacity);
}

static unsigned char *room(struct bytes *bytes, size_t length) {
    unsigned char *at = bytes_begin(bytes, length);
    bytes->length += length;
    return at;
}

void bytes_add(struct bytes *bytes, uint64_t number, uint32_t width) {
    require(width >= 1 && width <= WIDTH_MOST);
    unsigned char *at = room(bytes, width);
    if (width == WIDTH_MOST) { /* most of them */
        bytes_put_8(at, number);
        return;
    }
    for (uint32_t i = 0; i < width; i++)
        at[i] = (unsigned char)(number >> (BYTE_BITS * i));
}

void bytes_append(struct bytes *bytes, const void *data, size_t length) {
    if (length > 0)
        memcpy(room(bytes, length), data, length);
}

void bytes_add_block(struct bytes *bytes, const void *data, size_t length) {
    bytes_add(bytes, length, WIDTH_MOST);
    bytes_append(bytes, data, length);
}

size_t bytes_begin_block(struct bytes *bytes) {
    bytes_add(bytes, 0, WIDTH_MOST);
    return bytes->length;
}

void bytes_end_block(struct bytes *bytes, size_t begin) {
    bytes_put_8(bytes->data + begin - WIDTH_MOST, bytes->length - begin);
}

void bytes_add_real(struct bytes *bytes, double number) {
    uint64_t bits;
    memcpy(&bits, &number, sizeof bits);
    bytes_add(bytes, bits, WIDTH_MOST);
}

struct bytes_reader bytes_reader_of(const void *data, size_t length) {
    return (struct bytes_reader){.data = data, .length = length};
}

static const unsigned char *take(struct bytes_reader *reader, uint64_t length) {
    if (reader->failed || reader->length - reader->at < length) {
        reader->failed = true;
        return NULL;
    }
    const unsigned char *at = reader->data + reader->at;
    reader->at += length;
    return at;
}

uint64_t bytes_take(struct bytes_reader *reader, uint32_t width) {
    require(width >= 1 && width <= WIDTH_MOST);
    const unsigned char *at = take(reader, width);
    uint64_t number = 0;
    for (uint32_t i = 0; at != NULL && i < width; i++)
        number |= (uint64_t)at[i] << (BYTE_BITS * i);
    return number;
}

const void *bytes_take_block(struct bytes_reader *reader, size_t *length) {
    uint64_t wanted = bytes_take(reader, WIDTH_MOST);
    const unsigned char *at = take(reader, wanted);
    *length = at != NULL ? wanted : 0;
    return at;
}

double bytes_take_real(struct bytes_reader *reader) {
    uint64_t bits = bytes_take(reader, WIDTH_MOST);
    double number;
    memcpy(&number, &bits, sizeof number);
    return number;
}

bool bytes_at_end(const struct bytes_reader *reader) {
    return !reader->failed && reader->at == reader->length;
}
