/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/packed.h - numbers as the page keeps them: whole numbers in groups of seven bits, the
 * low ones first, a set eighth bit for "more follows" (LEB128, DWARF 5, 7.6); then deflated (RFC
 * 1951), then in base64 (RFC 4648). The same numbers give the same text with the same zlib. */
#pragma once

#include <stdint.h>
#include <stdio.h>

#include "sim/bytes.h"

void packed_add(struct bytes *bytes, uint64_t number);
/* A number that may be below 0: n as 2n, -n as 2n - 1. */
void packed_add_signed(struct bytes *bytes, int64_t number);

/* `raw` deflated, with as many zero bytes at its end as make its length a multiple of three, so
 * that its base64 can be read by itself in the middle of a long one. Freed with bytes_free. */
struct bytes packed_deflate(const struct bytes *raw);
/* Writes bytes as base64 on one line. */
void packed_write(const struct bytes *bytes, FILE *out);
