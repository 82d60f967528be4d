/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/text_stream.h - a text that is printed piece by piece into memory.
 *
 * In place of open_memstream, which cuts the text short where there is no memory and sets no error:
 * here, running out of memory ends the program as require_memory does. */
#pragma once

#include <stddef.h>
#include <stdio.h>

/* Stays where it is between begin and end. */
struct text_stream {
    FILE *out;
    char *text;
    size_t length;
    size_t capacity;
};

/* Begins an empty text; what is printed to the stream that is returned is added to it. */
FILE *text_stream_begin(struct text_stream *stream);
/* Closes the stream. Returns the text, never NULL, freed with free(). */
char *text_stream_end(struct text_stream *stream);
