/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/fuzz/edit.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

enum { NUMBER_BYTES = 8 };

uint64_t edit_take(struct edit_input *input, uint32_t width) {
    uint64_t number = 0;
    for (uint32_t i = 0; i < width; i++) {
        number <<= 8;
        if (input->left == 0)
            continue;
        number |= *input->at++;
        input->left--;
    }
    return number;
}

void edit_put_number(unsigned char *data, uint64_t number) {
    for (int i = 0; i < NUMBER_BYTES; i++)
        data[i] = (unsigned char)(number >> 8 * i);
}

uint64_t edit_get_number(const unsigned char *data) {
    uint64_t number = 0;
    for (int i = 0; i < NUMBER_BYTES; i++)
        number |= (uint64_t)data[i] << 8 * i;
    return number;
}

/* Numbers at which formats break. */
static const uint64_t corner[] = {0,
                                  1,
                                  2,
                                  3,
                                  8,
                                  255,
                                  256,
                                  65535,
                                  65536,
                                  1000000,
                                  INT32_MAX,
                                  UINT32_MAX,
                                  UINT64_C(1) << 32,
                                  UINT64_C(1) << 53,
                                  UINT64_C(1000000000000),
                                  INT64_MAX,
                                  UINT64_C(1) << 63,
                                  UINT64_MAX,
                                  UINT64_MAX - 1,
                                  UINT64_C(0x7ff0000000000000),  /* infinity */
                                  UINT64_C(0x7ff8000000000000)}; /* not a number */
enum { CORNERS = sizeof corner / sizeof *corner };

static void cut_out(struct bytes *bytes, size_t at, size_t count) {
    if (count > bytes->length - at)
        count = bytes->length - at;
    memmove(bytes->data + at, bytes->data + at + count, bytes->length - at - count);
    bytes->length -= count;
}

/* Puts `count` bytes from `from` before byte `at`. */
static void put_in(struct bytes *bytes, size_t at, size_t from, size_t count) {
    if (count > bytes->length - from)
        count = bytes->length - from;
    unsigned char *copy = require_memory(count, 1);
    memcpy(copy, bytes->data + from, count);
    bytes->data = require_more_memory(bytes->data, bytes->length + count, 1);
    bytes->capacity = bytes->length + count;
    memmove(bytes->data + at + count, bytes->data + at, bytes->length - at);
    memcpy(bytes->data + at, copy, count);
    bytes->length += count;
    free(copy);
}

static void set_number(struct bytes *bytes, size_t at, uint64_t number) {
    if (bytes->length - at >= NUMBER_BYTES)
        edit_put_number(bytes->data + at, number);
}

static void add_number(struct bytes *bytes, size_t at, uint64_t number) {
    if (bytes->length - at >= NUMBER_BYTES)
        edit_put_number(bytes->data + at, edit_get_number(bytes->data + at) + number);
}

enum { CHANGES = 8 };

static void change(struct bytes *bytes, size_t first, struct edit_input *input) {
    uint64_t kind = edit_take(input, 1) % CHANGES;
    size_t at = first + edit_take(input, 2) % (bytes->length - first);
    uint64_t value = edit_take(input, 1);
    switch (kind) {
    case 0: bytes->data[at] ^= (unsigned char)(1U << value % 8); break;
    case 1: bytes->data[at] = (unsigned char)value; break;
    case 2: set_number(bytes, at, corner[value % CORNERS]); break;
    case 3: add_number(bytes, at, value < 128 ? value : value - 256); break;
    case 4: cut_out(bytes, at, value); break;
    case 5: put_in(bytes, at, first, value); break;
    case 6: put_in(bytes, at, at, value); break;
    default: cut_out(bytes, at, value < 250 ? 8 : bytes->length); break;
    }
}

struct bytes edit_copy(const unsigned char *data, size_t length, size_t first,
                       struct edit_input *input) {
    struct bytes bytes = {.data = require_memory(length, 1), .length = length, .capacity = length};
    memcpy(bytes.data, data, length);
    while (input->left > 0 && bytes.length > first)
        change(&bytes, first, input);
    return bytes;
}
