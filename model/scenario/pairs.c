/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/pairs.c - a hash table with linear probing, at most half full. */
#include "model/scenario/pairs.h"

#include <stdlib.h>

#include "model/scenario/scenario.h"
#include "sim/require.h"

/* Mixes all bits (finalizer of MurmurHash3, A. Appleby, public domain). */
static uint64_t mixed(uint64_t bits) {
    bits = (bits ^ bits >> 33) * UINT64_C(0xff51afd7ed558ccd);
    bits = (bits ^ bits >> 33) * UINT64_C(0xc4ceb9fe1a85ec53);
    return bits ^ bits >> 33;
}

static uint32_t *find_slot(const struct pairs *pairs, uint64_t pair) {
    uint32_t at = (uint32_t)mixed(pair) & (pairs->slots - 1);
    while (pairs->slot[at] != 0 && pairs->pair[pairs->slot[at] - 1] != pair)
        at = (at + 1) & (pairs->slots - 1);
    return &pairs->slot[at];
}

static void grow(struct pairs *pairs) {
    pairs->capacity = pairs->capacity > 0 ? 2 * pairs->capacity : 64;
    pairs->pair = require_more_memory(pairs->pair, pairs->capacity, sizeof *pairs->pair);
    pairs->value = require_more_memory(pairs->value, pairs->capacity, sizeof *pairs->value);
    free(pairs->slot);
    pairs->slots = 2 * pairs->capacity;
    pairs->slot = require_memory(pairs->slots, sizeof *pairs->slot);
    for (uint32_t i = 0; i < pairs->count; i++)
        *find_slot(pairs, pairs->pair[i]) = i + 1;
}

bool pairs_add(struct pairs *pairs, uint32_t first, uint32_t second, uint32_t value) {
    uint64_t pair = (uint64_t)first << 32 | second;
    if (pairs->count == pairs->capacity)
        grow(pairs);
    uint32_t *slot = find_slot(pairs, pair);
    if (*slot != 0)
        return false;
    pairs->pair[pairs->count] = pair;
    pairs->value[pairs->count] = value;
    *slot = ++pairs->count;
    return true;
}

uint32_t pairs_find(const struct pairs *pairs, uint32_t first, uint32_t second) {
    if (pairs->slots == 0)
        return NO_INDEX;
    uint32_t slot = *find_slot(pairs, (uint64_t)first << 32 | second);
    return slot != 0 ? slot - 1 : NO_INDEX;
}

void pairs_free(struct pairs *pairs) {
    free(pairs->pair);
    free(pairs->value);
    free(pairs->slot);
    *pairs = (struct pairs){0};
}
