/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/json_text.c - a value that jansson has no memory for is NULL, and is refused where it
 * is put. */
#include "tools/base/json_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

void json_text_put(json_t *object, const char *key, json_t *value) {
    require(json_object_set_new(object, key, value) == 0);
}

void json_text_append(json_t *array, json_t *value) {
    require(json_array_append_new(array, value) == 0);
}

json_t *json_text_whole(int64_t number) { return json_integer((json_int_t)number); }

json_t *json_text_real(double number) { return isfinite(number) ? json_real(number) : json_null(); }

char *json_text_of(json_t *object, size_t digits) {
    char *text = json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(digits));
    require(text != NULL);
    json_decref(object);
    size_t length = strlen(text);
    text = require_more_memory(text, length + 2, 1);
    memcpy(text + length, "\n", 2);
    return text;
}
