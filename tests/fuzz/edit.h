/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/edit.h - changes to a file that is good, written as a few bytes: so a corpus is small,
 * stays deep in the format, and does not go stale when the format changes. */
#pragma once

#include <stddef.h>
#include <stdint.h>

#include "sim/bytes.h"

/* What is left of an input. */
struct edit_input {
    const uint8_t *at;
    size_t left;
};

/* The next `width` bytes as a number; where there are fewer, 0 stands for the rest. */
uint64_t edit_take(struct edit_input *input, uint32_t width);

/* A copy of `length` bytes with all changes made that the input holds; bytes before `first` stay.
 * Freed with bytes_free. */
struct bytes edit_copy(const unsigned char *data, size_t length, size_t first,
                       struct edit_input *input);

/* Writes `number` at data[0..7], lowest byte first; reads it back. */
void edit_put_number(unsigned char *data, uint64_t number);
uint64_t edit_get_number(const unsigned char *data);
