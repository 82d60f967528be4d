/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/array.h - arrays that grow at their end. */
#pragma once

#include <stddef.h>
#include <stdint.h>

/* As array_with_room, when there is none. */
void *array_grow(void *array, size_t count, uint32_t *capacity, size_t size);

/* The array of elements of `size` bytes, moved if need be, with room for one more than `count`;
 * *capacity says for how many there is room. A new array is NULL with a capacity of 0. What is
 * beyond `count` is not set. Freed with free(). */
static inline void *array_with_room(void *array, size_t count, uint32_t *capacity, size_t size) {
    return count < *capacity ? array : array_grow(array, count, capacity, size);
}
