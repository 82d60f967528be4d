/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/numbers.h - the numbers of a scenario that can be tuned, by their paths. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct number {
    char *path; /* as --set takes it */
    int64_t value;
};

struct numbers {
    struct number *entry;
    uint32_t count, capacity;
};

/* Kinds of numbers, as a set. */
enum {
    NUMBERS_THRESHOLDS = 1, /* of gates */
    NUMBERS_LIMITS = 2,
    NUMBERS_CAPACITIES = 4,
    NUMBERS_HANDS = 8,
    NUMBERS_TRAYS = 16 /* `ahead` of stations */
};

/* Adds those of a set that stand in the text of a complete scenario, in its order. */
void numbers_list(struct numbers *numbers, const char *text, unsigned set);
void numbers_free(struct numbers *numbers);

/* True for the path of a chest's capacity. */
bool numbers_is_capacity(const char *path);
