/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/json_stream.h - an object of JSON written as it is made, so that a long one is never
 * held as a whole. The text is that of json_text_of (json_text.h): small values are made with
 * jansson and put in one after the other; what is long is opened, filled and closed. A stream that
 * cannot be written is noticed where it is closed, as with all of stdio. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include <jansson.h>

struct json_stream {
    FILE *out;
    size_t digits;    /* at most so many in a real number */
    int depth;        /* objects and arrays that are open */
    bool holds_value; /* the innermost of them has one already */
};

/* Begins an object; ends it with a line feed. */
struct json_stream json_stream_begin(FILE *out, size_t digits);
void json_stream_end(struct json_stream *stream);

/* Puts a value into what is open innermost, and takes it. `key` is NULL in an array. */
void json_stream_put(struct json_stream *stream, const char *key, json_t *value);

/* Opens an object or an array in what is open innermost; closes it. */
void json_stream_open_object(struct json_stream *stream, const char *key);
void json_stream_close_object(struct json_stream *stream);
void json_stream_open_array(struct json_stream *stream, const char *key);
void json_stream_close_array(struct json_stream *stream);
