/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/outside/shop.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"

static const char *const section_name[SHOP_SECTIONS] = {
    "loops", "lines", "chests", "stations", "arms", "supplies", "demands", "incidents"};

static void add_bytes(struct shop_text *text, const char *bytes, size_t count) {
    if (text->length + count + 1 > text->capacity) {
        text->capacity = 2 * (text->length + count + 1);
        text->bytes = require_more_memory(text->bytes, text->capacity, 1);
    }
    memcpy(text->bytes + text->length, bytes, count);
    text->length += count;
    text->bytes[text->length] = '\0';
}

static void add(struct shop_text *text, const char *words) {
    add_bytes(text, words, strlen(words));
}

void shop_item(struct shop *shop, const char *name, int64_t length) {
    char line[128];
    snprintf(line, sizeof line, "  %s: {length: %lld}\n", name, (long long)length);
    add(&shop->items, line);
}

void shop_part(struct shop *shop, enum shop_section section, const char *keys, ...) {
    char line[1024];
    va_list words;
    va_start(words, keys);
    int length = vsnprintf(line, sizeof line, keys, words);
    va_end(words);
    require(length > 0 && (size_t)length < sizeof line);
    struct shop_text *text = &shop->section[section];
    add(text, "  - {");
    add(text, line);
    add(text, "}\n");
}

static void show_faults(const struct faults *faults, const char *text) {
    for (uint32_t i = 0; i < faults->count; i++)
        fprintf(stderr, "line %u: %s (%s)\n", faults->fault[i].line, faults->fault[i].what,
                faults->fault[i].excerpt == NULL ? "" : faults->fault[i].excerpt);
    fputs(text, stderr);
    exit(EXIT_FAILURE);
}

struct scenario *shop_open(struct shop *shop) {
    struct shop_text all = {0};
    char head[128];
    snprintf(head, sizeof head, "clock: {ticks_per_second: %lld}\nrun: {for: 1 h}\nitems:\n",
             (long long)shop->ticks_per_second);
    add(&all, head);
    add_bytes(&all, shop->items.bytes, shop->items.length);
    free(shop->items.bytes);
    for (int i = 0; i < SHOP_SECTIONS; i++) {
        if (shop->section[i].length == 0)
            continue;
        add(&all, section_name[i]);
        add(&all, ":\n");
        add_bytes(&all, shop->section[i].bytes, shop->section[i].length);
        free(shop->section[i].bytes);
    }
    *shop = (struct shop){.ticks_per_second = shop->ticks_per_second};
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(all.bytes, all.length, "shop", NULL, 0, &faults);
    if (scenario == NULL)
        show_faults(&faults, all.bytes);
    faults_free(&faults);
    free(all.bytes);
    return scenario;
}

#define FIND(list, count)                                                                          \
    for (uint32_t i = 0; i < (count); i++)                                                         \
        if (strcmp((list)[i].name, name) == 0)                                                     \
            return i;                                                                              \
    require_failed(name, __FILE__, __LINE__)

uint32_t shop_chest(const struct scenario *scenario, const char *name) {
    FIND(scenario->chest, scenario->chest_count);
}

uint32_t shop_station(const struct scenario *scenario, const char *name) {
    FIND(scenario->station, scenario->station_count);
}

uint32_t shop_arm(const struct scenario *scenario, const char *name) {
    FIND(scenario->arm, scenario->arm_count);
}

uint32_t shop_kind(const struct scenario *scenario, const char *name) {
    FIND(scenario->item, scenario->item_count);
}
