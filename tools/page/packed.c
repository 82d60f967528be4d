/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/packed.c - zlib does the deflating, without the header and checksum of its own format.
 */
#include "tools/page/packed.h"

#include <string.h>

#include <zlib.h>

#include "sim/require.h"

enum { PAD = 3, LEVEL = 9, WINDOW_BITS = 15, MEMORY_LEVEL = 9 };

void packed_add(struct bytes *bytes, uint64_t number) {
    for (; number >= 0x80; number >>= 7)
        bytes_add(bytes, (number & 0x7f) | 0x80, 1);
    bytes_add(bytes, number, 1);
}

void packed_add_signed(struct bytes *bytes, int64_t number) {
    uint64_t size = number < 0 ? ~(uint64_t)number : (uint64_t)number;
    packed_add(bytes, size << 1 | (number < 0));
}

struct bytes packed_deflate(const struct bytes *raw) {
    z_stream stream = {0};
    /* Minus: deflated data alone. */
    require(deflateInit2(&stream, LEVEL, Z_DEFLATED, -WINDOW_BITS, MEMORY_LEVEL,
                         Z_DEFAULT_STRATEGY) == Z_OK);
    size_t room = deflateBound(&stream, (uLong)raw->length);
    struct bytes deflated = {.data = require_memory(room + PAD, 1), .capacity = room + PAD};
    stream.next_in = raw->data;
    stream.avail_in = (uInt)raw->length;
    stream.next_out = deflated.data;
    stream.avail_out = (uInt)room;
    require(deflate(&stream, Z_FINISH) == Z_STREAM_END);
    deflated.length = stream.total_out;
    deflateEnd(&stream);
    while (deflated.length % PAD != 0)
        bytes_add(&deflated, 0, 1);
    return deflated;
}

void packed_write(const struct bytes *bytes, FILE *out) {
    static const char digit[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    require(bytes->length % PAD == 0);
    for (size_t i = 0; i < bytes->length; i += PAD) {
        uint32_t bits =
            (uint32_t)bytes->data[i] << 16 | (uint32_t)bytes->data[i + 1] << 8 | bytes->data[i + 2];
        const char text[] = {digit[bits >> 18], digit[bits >> 12 & 63], digit[bits >> 6 & 63],
                             digit[bits & 63]};
        fwrite(text, 1, sizeof text, out);
    }
}
