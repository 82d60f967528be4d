/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/json_text.h - what a command prints as data: JSON by jansson, keys in the order in
 * which they are put. No memory is our own stop (sim/require.h), so that callers need not ask. */
#pragma once

#include <stddef.h>
#include <stdint.h>

#include <jansson.h>

enum { JSON_TEXT_DIGITS = 15 }; /* as many as every decimal of that length survives in a double */

/* Adds a key, or an element at the end; the object or array takes the value. */
void json_text_put(json_t *object, const char *key, json_t *value);
void json_text_append(json_t *array, json_t *value);

json_t *json_text_whole(int64_t number);
/* A real number; null where it is none: a mean of nothing, say. */
json_t *json_text_real(double number);

/* The text of an object, ended by a line feed, its real numbers with at most so many digits. The
 * object is given up; the text is the caller's. */
char *json_text_of(json_t *object, size_t digits);
