/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/shop.h - builds a scenario part by part as YAML text, which the real reader
 * reads. An error in it ends the program, because then the test is wrong. */
#pragma once

#include <stddef.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

enum shop_section {
    SHOP_LOOPS,
    SHOP_LINES,
    SHOP_CHESTS,
    SHOP_STATIONS,
    SHOP_ARMS,
    SHOP_SUPPLIES,
    SHOP_DEMANDS,
    SHOP_INCIDENTS
};
enum { SHOP_SECTIONS = SHOP_INCIDENTS + 1 };

struct shop_text {
    char *bytes;
    size_t length, capacity;
};

/* Starts as {.ticks_per_second = ...}. */
struct shop {
    int64_t ticks_per_second;
    struct shop_text items, section[SHOP_SECTIONS];
};

/* An item of `length` cells. */
void shop_item(struct shop *shop, const char *name, int64_t length);

/* A part of a section: what stands between its braces, as "name: bin, capacity: 3". */
void shop_part(struct shop *shop, enum shop_section section, const char *keys, ...)
    __attribute__((format(printf, 3, 4)));

/* The scenario, freed with scenario_free; the shop is empty again. */
struct scenario *shop_open(struct shop *shop);

/* Indices by name, for the questions to a world; a name that is not there ends the program. */
uint32_t shop_chest(const struct scenario *scenario, const char *name);
uint32_t shop_station(const struct scenario *scenario, const char *name);
uint32_t shop_arm(const struct scenario *scenario, const char *name);
uint32_t shop_kind(const struct scenario *scenario, const char *name);
