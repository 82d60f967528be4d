/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/sweep/sweep_axes.c - a combination is a number whose digits are the values. */
#include "tools/sweep/sweep_axes.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

static bool complain(const char *text, const char *what) {
    fprintf(stderr, "loopwright sweep: `--over %s`: %s\n    help: loopwright sweep --help\n", text,
            what);
    return false;
}

/* Bytes up to the next comma that separates. */
static size_t value_bytes(const char *text) {
    int depth = 0;
    char quote = '\0';
    size_t at = 0;
    for (; text[at] != '\0' && (text[at] != ',' || depth > 0 || quote != '\0'); at++) {
        if (quote != '\0')
            quote = text[at] == quote ? '\0' : quote;
        else if (text[at] == '"' || text[at] == '\'')
            quote = text[at];
        else
            depth += (text[at] == '{' || text[at] == '[') - (text[at] == '}' || text[at] == ']');
    }
    return at;
}

static char *piece_of(const char *text, size_t bytes) {
    char *piece = require_memory(bytes + 1, 1);
    memcpy(piece, text, bytes);
    return piece;
}

static bool is_same(const char *known, const char *text, size_t bytes) {
    return strlen(known) == bytes && memcmp(known, text, bytes) == 0;
}

static bool has_value(const struct sweep_axis *axis, const char *text, size_t bytes) {
    for (uint32_t i = 0; i < axis->count; i++)
        if (is_same(axis->value[i], text, bytes))
            return true;
    return false;
}

static void add_value(struct sweep_axis *axis, const char *text, size_t bytes) {
    axis->value = require_more_memory(axis->value, axis->count + 1, sizeof *axis->value);
    axis->value[axis->count++] = piece_of(text, bytes);
}

/* What is wrong with the values; NULL: nothing. */
static const char *read_values(struct sweep_axis *axis, const char *text) {
    for (const char *at = text;; at++) {
        size_t bytes = value_bytes(at);
        if (bytes == 0)
            return "a value is empty";
        if (has_value(axis, at, bytes))
            return "a value is given twice";
        add_value(axis, at, bytes);
        at += bytes;
        if (*at == '\0')
            return NULL;
    }
}

static bool has_path(const struct sweep_axes *axes, const char *text, size_t bytes) {
    for (uint32_t i = 0; i < axes->count; i++)
        if (is_same(axes->axis[i].path, text, bytes))
            return true;
    return false;
}

bool sweep_axes_add(struct sweep_axes *axes, const char *text) {
    const char *equals = strchr(text, '=');
    if (equals == NULL || equals == text)
        return complain(text, "values are written PATH=V1,V2,...");
    if (has_path(axes, text, (size_t)(equals - text)))
        return complain(text, "this path is swept already: give all its values at once");
    axes->axis = require_more_memory(axes->axis, axes->count + 1, sizeof *axes->axis);
    struct sweep_axis *axis = &axes->axis[axes->count++];
    *axis = (struct sweep_axis){.path = piece_of(text, (size_t)(equals - text))};
    const char *wrong = read_values(axis, equals + 1);
    if (wrong != NULL)
        return complain(text, wrong);
    uint64_t before = axes->count == 1 ? 1 : axes->combinations;
    if (before * axis->count > SWEEP_COMBINATIONS_MOST)
        return complain(text, "with it there are more than 10,000 combinations");
    axes->combinations = (uint32_t)before * axis->count;
    return true;
}

void sweep_axes_free(struct sweep_axes *axes) {
    for (uint32_t i = 0; i < axes->count; i++) {
        for (uint32_t k = 0; k < axes->axis[i].count; k++)
            free(axes->axis[i].value[k]);
        free(axes->axis[i].value);
        free(axes->axis[i].path);
    }
    free(axes->axis);
    *axes = (struct sweep_axes){0};
}

const char *sweep_axes_value(const struct sweep_axes *axes, uint32_t combination, uint32_t axis) {
    for (uint32_t i = axes->count - 1; i > axis; i--)
        combination /= axes->axis[i].count;
    return axes->axis[axis].value[combination % axes->axis[axis].count];
}

void sweep_axes_changes(const struct sweep_axes *axes, uint32_t combination, char **change) {
    for (uint32_t i = 0; i < axes->count; i++) {
        const char *value = sweep_axes_value(axes, combination, i);
        size_t room = strlen(axes->axis[i].path) + strlen(value) + 2;
        change[i] = require_memory(room, 1);
        snprintf(change[i], room, "%s=%s", axes->axis[i].path, value);
    }
}
