/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/catalogue.h - every key that a scenario may hold, with what it wants and what it
 * means: the reader knows no others, and the manual is made from the same table. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct catalogue_key {
    const char *name;
    const char *wants; /* "a duration or a distribution" */
    bool required;
    const char *says;
};

/* One kind of map. */
struct catalogue_map {
    const char *name; /* with its article, as messages put it: "an arm", "`run`" */
    const char *says;
    const struct catalogue_key *key;
    uint32_t key_count;
};

enum catalogue_kind {
    CATALOGUE_SCENARIO,
    CATALOGUE_CLOCK,
    CATALOGUE_RUN,
    CATALOGUE_WATCH,
    CATALOGUE_ITEM,
    CATALOGUE_LOOP,
    CATALOGUE_LINE,
    CATALOGUE_CHEST,
    CATALOGUE_STATION,
    CATALOGUE_OUTPUT,
    CATALOGUE_ARM,
    CATALOGUE_GATE,
    CATALOGUE_SUPPLY,
    CATALOGUE_DEMAND,
    CATALOGUE_INCIDENT,
    CATALOGUE_DROP,
    CATALOGUE_CLEAR,
    CATALOGUE_SET,
    CATALOGUE_BREAKS,
    CATALOGUE_SPAN,
    CATALOGUE_EXPECT,
    CATALOGUE_BOUND
};
enum { CATALOGUE_KINDS = CATALOGUE_BOUND + 1, CATALOGUE_KEYS_MAX = 16 };

const struct catalogue_map *catalogue_map(enum catalogue_kind kind);
