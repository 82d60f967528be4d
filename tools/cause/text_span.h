/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/text_span.h - stretches of a scenario's text, found and replaced without reading it
 * as YAML. Private to this room. */
#pragma once

#include <stddef.h>

/* Bytes from start to end, the latter not included. */
struct text_span {
    size_t start, end;
};

/* Where the line after the one at `at` begins; the end of the text where there is none. */
size_t text_span_next_line(const char *text, size_t at);
/* The byte after whatever begins at `at`: a quoted text or a comment as a whole, else one byte. */
size_t text_span_step_over(const char *text, size_t at);
/* The end of the flow map or list that begins at `at`, after its closing bracket. */
size_t text_span_end_of_flow(const char *text, size_t at);
/* The first byte from `at` on, before `end`, that is no blank, line end or comment. */
size_t text_span_skip_blanks(const char *text, size_t at, size_t end);
/* The end of a value within a flow collection that ends at `end`. */
size_t text_span_end_of_value(const char *text, size_t at, size_t end);

/* The text with a stretch of it replaced, or with three texts put in at a place; the old one is
 * given back. */
char *text_span_replace(char *text, struct text_span span, const char *with);
char *text_span_insert(char *text, size_t at, const char *first, const char *second,
                       const char *third);
