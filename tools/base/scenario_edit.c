/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/scenario_edit.c - a list of overrides, with names that nobody has yet. */
#include "tools/base/scenario_edit.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/array.h"
#include "sim/require.h"

enum { ADDITION_BYTES = 1024, PREFIX_BYTES = 32, NAME_BYTES = 48 };

/* ---- names ---- */

static bool begins(const char *name, const char *prefix) {
    return name != NULL && strncmp(name, prefix, strlen(prefix)) == 0;
}

/* True when some name of the scenario begins with `prefix`. */
static bool is_taken(const struct scenario *scenario, const char *prefix) {
    bool taken = false;
#define ANY_NAME(part)                                                                             \
    for (uint32_t i = 0; i < scenario->part##_count && !taken; i++)                                \
    taken = begins(scenario->part[i].name, prefix)
    ANY_NAME(item);
    ANY_NAME(loop);
    ANY_NAME(line);
    ANY_NAME(chest);
    ANY_NAME(station);
    ANY_NAME(arm);
    ANY_NAME(supply);
    ANY_NAME(demand);
    ANY_NAME(incident);
#undef ANY_NAME
    return taken;
}

void scenario_edit_init(struct scenario_edit *additions, const struct scenario *scenario,
                        const char *prefix) {
    *additions = (struct scenario_edit){.scenario = scenario};
    additions->prefix = require_memory(PREFIX_BYTES, 1);
    int length = snprintf(additions->prefix, PREFIX_BYTES, "%s", prefix);
    require(length < PREFIX_BYTES);
    for (uint32_t i = 2; is_taken(scenario, additions->prefix); i++)
        snprintf(additions->prefix, PREFIX_BYTES, "%.16s%u", prefix, i);
}

void scenario_edit_free(struct scenario_edit *additions) {
    for (size_t i = 0; i < additions->count; i++)
        free(additions->override[i]);
    free(additions->override);
    free(additions->prefix);
    *additions = (struct scenario_edit){0};
}

/* ---- adding ---- */

static void append(struct scenario_edit *additions, const char *text) {
    additions->override = array_with_room(additions->override, additions->count,
                                          &additions->capacity, sizeof *additions->override);
    additions->override[additions->count++] = require_text(text);
}

void scenario_edit_part(struct scenario_edit *additions, const char *section, const char *format,
                        ...) {
    char map[ADDITION_BYTES], text[2 * ADDITION_BYTES];
    va_list values;
    va_start(values, format);
    int length = vsnprintf(map, sizeof map, format, values);
    va_end(values);
    require(length > 0 && length < ADDITION_BYTES);
    snprintf(text, sizeof text, "%s.%s-%u=%s", section, additions->prefix, ++additions->number,
             map);
    append(additions, text);
}

void scenario_edit_change(struct scenario_edit *additions, const char *format, ...) {
    char text[ADDITION_BYTES];
    va_list values;
    va_start(values, format);
    int length = vsnprintf(text, sizeof text, format, values);
    va_end(values);
    require(length > 0 && length < ADDITION_BYTES);
    append(additions, text);
}

char *scenario_edit_item(struct scenario_edit *additions) {
    char *name = require_memory(NAME_BYTES, 1);
    scenario_edit_part(additions, "items", "{}");
    snprintf(name, NAME_BYTES, "%s-%u", additions->prefix, additions->number);
    return name;
}

struct scenario *scenario_edit_read(const struct scenario_edit *additions) {
    struct faults faults = {0};
    const char *text = additions->scenario->text;
    struct scenario *scenario =
        read_scenario(text, strlen(text), "", (const char *const *)additions->override,
                      additions->count, &faults);
    require(scenario != NULL);
    faults_free(&faults);
    return scenario;
}
