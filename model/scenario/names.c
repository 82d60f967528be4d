/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/names.c - a hash table with linear probing, at most half full. */
#include "model/scenario/names.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/scenario.h"
#include "sim/require.h"

struct name_entry {
    const char *text; /* NULL: free */
    uint32_t hash;
    uint32_t value;
};

/* FNV-1a (G. Fowler, L. C. Noll, P. Vo; RFC 9923), folded to 32 bits. */
static uint32_t text_hash(const char *text) {
    uint64_t hash = UINT64_C(14695981039346656037);
    for (; *text != '\0'; text++)
        hash = (hash ^ (unsigned char)*text) * UINT64_C(1099511628211);
    return (uint32_t)(hash ^ hash >> 32);
}

/* The place where `text` is, or where it would go. The table must have a free place. */
static struct name_entry *find_place(const struct names *names, const char *text, uint32_t hash) {
    uint32_t place = hash & (names->places - 1);
    for (;; place = (place + 1) & (names->places - 1)) {
        struct name_entry *entry = &names->entry[place];
        if (entry->text == NULL || (entry->hash == hash && strcmp(entry->text, text) == 0))
            return entry;
    }
}

static void grow(struct names *names) {
    struct names larger = {.places = names->places > 0 ? 2 * names->places : 16,
                           .count = names->count};
    larger.entry = require_memory(larger.places, sizeof *larger.entry);
    for (uint32_t i = 0; i < names->places; i++)
        if (names->entry[i].text != NULL)
            *find_place(&larger, names->entry[i].text, names->entry[i].hash) = names->entry[i];
    free(names->entry);
    *names = larger;
}

uint32_t names_add(struct names *names, const char *text, uint32_t value) {
    require(value != NO_INDEX);
    if (2 * (names->count + 1) > names->places)
        grow(names);
    uint32_t hash = text_hash(text);
    struct name_entry *entry = find_place(names, text, hash);
    if (entry->text != NULL)
        return entry->value;
    *entry = (struct name_entry){text, hash, value};
    names->count++;
    return NO_INDEX;
}

uint32_t names_find(const struct names *names, const char *text) {
    if (names->places == 0)
        return NO_INDEX;
    const struct name_entry *entry = find_place(names, text, text_hash(text));
    return entry->text != NULL ? entry->value : NO_INDEX;
}

void names_free(struct names *names) {
    free(names->entry);
    *names = (struct names){0};
}
