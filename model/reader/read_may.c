/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_may.c - reads the section `may` of a draft. */
#include <stdlib.h>

#include "model/reader/draft.h"
#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* ---- arms ---- */

static void read_kind(struct reading *reading, struct node *node) {
    struct fields fields;
    int64_t hand, ticks;
    if (!reading_open(reading, node, CATALOGUE_MAY_ARM, &fields))
        return;
    const struct node *swing = reading_get(&fields, "swing");
    read_key_count(reading, &fields, "hand", &hand);
    if (read_key_ticks(reading, &fields, "swing", &ticks))
        may_add_arm(&reading->draft->may, ticks, swing->text, (uint32_t)hand);
}

static void read_kinds(struct reading *reading, const struct node *list) {
    if (!read_value_list(reading, list, "arms", true))
        return;
    for (uint32_t i = 0; i < list->count; i++)
        read_kind(reading, list->child[i]);
}

/* ---- belts ---- */

static void read_rates(struct reading *reading, const struct node *list, struct may_rates *rates) {
    int64_t most = reading->scenario->ticks_per_second;
    if (!read_value_list(reading, list, "rates", true))
        return;
    for (uint32_t i = 0; i < list->count; i++) {
        struct ratio rate;
        if (read_value_ratio(reading, list->child[i], "rates", 0, true, most, &rate))
            may_add_rate(rates, rate, list->child[i]->text);
    }
}

static void read_loops(struct reading *reading, struct node *node) {
    struct fields fields;
    struct may *may = &reading->draft->may;
    if (!reading_open(reading, node, CATALOGUE_MAY_LOOPS, &fields))
        return;
    read_rates(reading, reading_get(&fields, "rates"), &may->loop_rates);
    read_key_count(reading, &fields, "cells_at_most", &may->loop_cells_most);
    read_key_count(reading, &fields, "lanes_at_most", &may->lanes_most);
    read_key_count(reading, &fields, "at_most", &may->loops_most);
}

static void read_lines(struct reading *reading, struct node *node) {
    struct fields fields;
    struct may *may = &reading->draft->may;
    if (!reading_open(reading, node, CATALOGUE_MAY_LINES, &fields))
        return;
    read_rates(reading, reading_get(&fields, "rates"), &may->line_rates);
    read_key_count(reading, &fields, "cells_at_most", &may->line_cells_most);
}

/* ---- chests ---- */

static int by_size(const void *first, const void *second) {
    int64_t a = *(const int64_t *)first, b = *(const int64_t *)second;
    return (a > b) - (a < b);
}

static void read_capacities(struct reading *reading, const struct node *list) {
    struct may *may = &reading->draft->may;
    if (!read_value_list(reading, list, "capacities", true))
        return;
    may->capacity = require_memory(list->count, sizeof *may->capacity);
    for (uint32_t i = 0; i < list->count; i++)
        may->capacity_count += read_value_count(reading, list->child[i], "capacities", 1,
                                                LIMIT_COUNT, &may->capacity[may->capacity_count]);
    if (may->capacity_count == 0)
        return;
    qsort(may->capacity, may->capacity_count, sizeof *may->capacity, by_size);
    may->capacity_most = may->capacity[may->capacity_count - 1];
}

static void read_chests(struct reading *reading, struct node *node) {
    struct fields fields;
    if (reading_open(reading, node, CATALOGUE_MAY_CHESTS, &fields))
        read_capacities(reading, reading_get(&fields, "capacities"));
}

/* ---- what it has to survive ---- */

static void read_survive(struct reading *reading, struct node *node) {
    struct fields fields;
    struct may *may = &reading->draft->may;
    if (!reading_open(reading, node, CATALOGUE_MAY_SURVIVE, &fields))
        return;
    read_key_ticks(reading, &fields, "for", &may->survive_ticks);
    read_key_count(reading, &fields, "seeds", &may->seeds);
    read_key_flag(reading, &fields, "drain", &may->drain);
    read_key_flag(reading, &fields, "restart", &may->restart);
    read_key_flag(reading, &fields, "disturb", &may->disturb);
    read_key_ratio(reading, &fields, "flood", INT64_MAX, &may->flood);
}

/* ---- all of it ---- */

static void read_rest(struct reading *reading, const struct fields *fields) {
    struct may *may = &reading->draft->may;
    may->belts = read_key_word(reading, fields, "gates") == 1;
    read_key_count(reading, fields, "stations_at_most", &may->stations_most);
    read_key_ratio(reading, fields, "met", INT64_MAX, &may->met);
}

static void fill_up(struct may *may, int64_t ticks_per_second) {
    int64_t swing = (8 * ticks_per_second + 5) / 10;
    may->arms_given = may->arm_count > 0;
    if (!may->arms_given)
        may_add_arm(may, swing > 0 ? swing : 1, "0.8 s", 1);
    int64_t rate = ticks_per_second < 6 ? ticks_per_second : 6;
    if (may->loop_rates.count == 0)
        may_add_rate(&may->loop_rates, (struct ratio){rate, 1}, rate == 6 ? "6" : "1");
}

void read_may(struct reading *reading, struct node *node) {
    struct fields fields;
    struct may *may = &reading->draft->may;
    may_init(may, reading->scenario->ticks_per_second);
    if (node != NULL && reading_open(reading, node, CATALOGUE_MAY, &fields)) {
        read_kinds(reading, reading_get(&fields, "arms"));
        read_loops(reading, reading_get(&fields, "loops"));
        read_lines(reading, reading_get(&fields, "lines"));
        read_chests(reading, reading_get(&fields, "chests"));
        read_survive(reading, reading_get(&fields, "survive"));
        read_rest(reading, &fields);
    }
    fill_up(may, reading->scenario->ticks_per_second);
}
