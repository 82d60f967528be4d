/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/additions.h - what a command adds to a scenario before it runs it: incidents and other
 * parts, written as --set writes them. So the text of the scenario holds them, and whoever runs
 * that text gets the same. */
#pragma once

#include <stddef.h>
#include <stdint.h>

#include "model/scenario.h"

struct additions {
    const struct scenario *scenario;
    char *prefix;    /* of the names of added parts; no name of the scenario begins so */
    uint32_t number; /* of the last part that was added */
    char **override; /* PATH=VALUE */
    size_t count, capacity;
};

/* None so far. Names of parts will be PREFIX-1, PREFIX-2, ...; where the scenario has names like
 * that, another prefix that begins with this one is taken. The scenario must outlive it. */
void additions_init(struct additions *additions, const struct scenario *scenario,
                    const char *prefix);
void additions_free(struct additions *additions);

/* Adds a part to a section ("incidents"), given as a YAML map without its name. */
void additions_part(struct additions *additions, const char *section, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* Adds an item one cell long; its name is to be freed. */
char *additions_item(struct additions *additions);
/* Changes anything else: "run.seed=7". */
void additions_change(struct additions *additions, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* The scenario with what was added, in order. Freed with scenario_free. What is added must be
 * right. */
struct scenario *additions_read(const struct additions *additions);
