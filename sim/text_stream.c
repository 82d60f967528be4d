/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/text_stream.c - the C library hands over what was printed, and the memory is ours. */
#define _GNU_SOURCE /* fopencookie */
#include "sim/text_stream.h"

#include <stdbool.h>
#include <string.h>
#include <sys/types.h>

#include "sim/require.h"

static const char who[] = "a text";

static void make_room(struct text_stream *stream, size_t wanted) {
    enum { CAPACITY_LEAST = 256 };
    size_t capacity = stream->capacity;
    while (capacity < wanted)
        capacity = capacity < CAPACITY_LEAST ? CAPACITY_LEAST : 2 * capacity;
    if (capacity == stream->capacity)
        return;
    stream->text = require_more_memory(stream->text, capacity, 1);
    stream->capacity = capacity;
}

static ssize_t add(void *self, const char *bytes, size_t count) {
    struct text_stream *stream = self;
    make_room(stream, stream->length + count + 1);
    memcpy(stream->text + stream->length, bytes, count);
    stream->length += count;
    return (ssize_t)count;
}

FILE *text_stream_begin(struct text_stream *stream) {
    *stream = (struct text_stream){0};
    stream->out = fopencookie(stream, "w", (cookie_io_functions_t){.write = add});
    if (stream->out == NULL)
        require_no_memory(who);
    return stream->out;
}

char *text_stream_end(struct text_stream *stream) {
    bool failed = ferror(stream->out) != 0;
    failed |= fclose(stream->out) != 0;
    if (failed)
        require_no_memory(who);
    make_room(stream, stream->length + 1);
    stream->text[stream->length] = '\0';
    return stream->text;
}
