/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/bytes.h - numbers as bytes, in one order on every machine: little-endian, of fixed widths.
 * What is written piece by piece is read back piece by piece; a reader never goes past the end. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

/* Bytes that grow. Starts as {0}; owns its memory, bytes_free gives it back. */
struct bytes {
    unsigned char *data;
    size_t length, capacity;
};

void bytes_free(struct bytes *bytes);
/* Adds the lowest `width` bytes of a number, 1 <= width <= 8. */
void bytes_add(struct bytes *bytes, uint64_t number, uint32_t width);
/* Room for at most `most` bytes at the end, to be filled by hand with bytes_put; bytes_end says up
 * to where that was done. */
unsigned char *bytes_begin(struct bytes *bytes, size_t most);
void bytes_end(struct bytes *bytes, const unsigned char *at);
/* Put the lowest bytes of a number at `at`, and return the place after them. */
static inline unsigned char *bytes_put_4(unsigned char *at, uint32_t number);
static inline unsigned char *bytes_put_8(unsigned char *at, uint64_t number);
/* Adds `length` bytes as they are. */
void bytes_append(struct bytes *bytes, const void *data, size_t length);
/* Adds `length` bytes with their number, 8 bytes, before them. */
void bytes_add_block(struct bytes *bytes, const void *data, size_t length);
/* The same of what is added between the two; the second gets what the first returned. */
size_t bytes_begin_block(struct bytes *bytes);
void bytes_end_block(struct bytes *bytes, size_t begin);
/* Adds the bits of a double. */
void bytes_add_real(struct bytes *bytes, double number);

/* Bytes that are read from front to back; they are borrowed. */
struct bytes_reader {
    const unsigned char *data;
    size_t length, at;
    bool failed; /* more was asked for than there is */
};

struct bytes_reader bytes_reader_of(const void *data, size_t length);
/* The next number of `width` bytes; 0 once the reader has failed. */
uint64_t bytes_take(struct bytes_reader *reader, uint32_t width);
/* The next block, in place; NULL and *length 0 once the reader has failed. */
const void *bytes_take_block(struct bytes_reader *reader, size_t *length);
double bytes_take_real(struct bytes_reader *reader);
/* True when all was read, and nothing was asked for in vain. */
bool bytes_at_end(const struct bytes_reader *reader);

/* One store each. */
static inline unsigned char *bytes_put_4(unsigned char *at, uint32_t number) {
#if __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
    number = __builtin_bswap32(number);
#endif
    memcpy(at, &number, sizeof number);
    return at + sizeof number;
}

static inline unsigned char *bytes_put_8(unsigned char *at, uint64_t number) {
#if __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
    number = __builtin_bswap64(number);
#endif
    memcpy(at, &number, sizeof number);
    return at + sizeof number;
}
