/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/names.h - a map from names to numbers, as fast with a million names as with ten.
 */
#pragma once

#include <stdbool.h>
#include <stdint.h>

/* Starts as {0}. Texts are borrowed and must outlive it. */
struct names {
    struct name_entry *entry; /* open addressing, a power of two of places */
    uint32_t places, count;
};

/* Adds `text` with `value` (not NO_INDEX) and returns NO_INDEX; if the name is there already, its
 * value is returned and nothing is changed. */
uint32_t names_add(struct names *names, const char *text, uint32_t value);

/* The value of a name, NO_INDEX when there is none. */
uint32_t names_find(const struct names *names, const char *text);

void names_free(struct names *names);
