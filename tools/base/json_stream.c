/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/json_stream.c - jansson lays out each value as if it stood alone; its lines are moved
 * to the right by the depth of the stream. No line feed stands inside a string of JSON. */
#include "tools/base/json_stream.h"

#include <string.h>

#include "sim/require.h"

enum { INDENT = 2 };

static void begin_line(const struct json_stream *stream) {
    fprintf(stream->out, "\n%*s", INDENT * stream->depth, "");
}

/* A callback of jansson. */
static int write_moved(const char *text, size_t length, void *self) {
    const struct json_stream *stream = self;
    const char *end = text + length, *feed;
    while ((feed = memchr(text, '\n', (size_t)(end - text))) != NULL) {
        fwrite(text, 1, (size_t)(feed - text), stream->out);
        begin_line(stream);
        text = feed + 1;
    }
    fwrite(text, 1, (size_t)(end - text), stream->out);
    return 0;
}

static void write_value(struct json_stream *stream, json_t *value) {
    size_t flags = JSON_INDENT(INDENT) | JSON_REAL_PRECISION(stream->digits) | JSON_ENCODE_ANY;
    require(json_dump_callback(value, write_moved, stream, flags) == 0);
    json_decref(value);
}

/* What stands before a value: a comma, a new line, a key. */
static void begin_value(struct json_stream *stream, const char *key) {
    if (stream->holds_value)
        putc(',', stream->out);
    begin_line(stream);
    stream->holds_value = true;
    if (key == NULL)
        return;
    write_value(stream, json_string(key));
    fputs(": ", stream->out);
}

static void open_bracket(struct json_stream *stream, char bracket) {
    putc(bracket, stream->out);
    stream->depth++;
    stream->holds_value = false;
}

static void close_bracket(struct json_stream *stream, char bracket) {
    stream->depth--;
    if (stream->holds_value)
        begin_line(stream);
    putc(bracket, stream->out);
    stream->holds_value = true;
}

struct json_stream json_stream_begin(FILE *out, size_t digits) {
    struct json_stream stream = {.out = out, .digits = digits};
    open_bracket(&stream, '{');
    return stream;
}

void json_stream_end(struct json_stream *stream) {
    require(stream->depth == 1);
    close_bracket(stream, '}');
    putc('\n', stream->out);
}

void json_stream_put(struct json_stream *stream, const char *key, json_t *value) {
    begin_value(stream, key);
    write_value(stream, value);
}

void json_stream_open_object(struct json_stream *stream, const char *key) {
    begin_value(stream, key);
    open_bracket(stream, '{');
}

void json_stream_close_object(struct json_stream *stream) { close_bracket(stream, '}'); }

void json_stream_open_array(struct json_stream *stream, const char *key) {
    begin_value(stream, key);
    open_bracket(stream, '[');
}

void json_stream_close_array(struct json_stream *stream) { close_bracket(stream, ']'); }
