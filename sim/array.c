/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/array.c - doubles, so that adding costs the same however long the array is. */
#include "sim/array.h"

#include "sim/require.h"

enum { CAPACITY_LEAST = 16 };

void *array_grow(void *array, size_t count, uint32_t *capacity, size_t size) {
    require(count < UINT32_MAX / 2);
    *capacity = count < CAPACITY_LEAST / 2 ? CAPACITY_LEAST : 2 * (uint32_t)count;
    return require_more_memory(array, *capacity, size);
}
