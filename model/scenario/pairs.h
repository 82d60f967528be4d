/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/pairs.h - a set of pairs of indices (a place and an item), each with a value. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

/* Starts as {0}. Pairs keep the order in which they were added. */
struct pairs {
    uint64_t *pair; /* first << 32 | second */
    uint32_t *value;
    uint32_t count, capacity;
    uint32_t *slot; /* hash table of positions + 1, 0: free */
    uint32_t slots; /* a power of two */
};

/* Adds a pair; false, and nothing is changed, when it is there already. */
bool pairs_add(struct pairs *pairs, uint32_t first, uint32_t second, uint32_t value);

/* The position of a pair in pair[] and value[], NO_INDEX when it is not there. */
uint32_t pairs_find(const struct pairs *pairs, uint32_t first, uint32_t second);

void pairs_free(struct pairs *pairs);
