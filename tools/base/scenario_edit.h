/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/scenario_edit.h - what a command adds to a scenario before it runs it: incidents and
 * other parts, written as --set writes them. So the text of the scenario holds them, and whoever
 * runs that text gets the same. */
#pragma once

#include <stddef.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

struct scenario_edit {
    const struct scenario *scenario;
    char *prefix;    /* of the names of added parts; no name of the scenario begins so */
    uint32_t number; /* of the last part that was added */
    char **override; /* PATH=VALUE */
    uint32_t count, capacity;
};

/* None so far. Names of parts will be PREFIX-1, PREFIX-2, ...; where the scenario has names like
 * that, another prefix that begins with this one is taken. The scenario must outlive it. */
void scenario_edit_init(struct scenario_edit *additions, const struct scenario *scenario,
                        const char *prefix);
void scenario_edit_free(struct scenario_edit *additions);

/* Adds a part to a section ("incidents"), given as a YAML map without its name. */
void scenario_edit_part(struct scenario_edit *additions, const char *section, const char *format,
                        ...) __attribute__((format(printf, 3, 4)));
/* Adds an item one cell long; its name is to be freed. */
char *scenario_edit_item(struct scenario_edit *additions);
/* Changes anything else: "run.seed=7". */
void scenario_edit_change(struct scenario_edit *additions, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* The scenario with what was added, in order. Freed with scenario_free. What is added must be
 * right. */
struct scenario *scenario_edit_read(const struct scenario_edit *additions);
