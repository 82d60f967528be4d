/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_expect.c - reads the section `expect`: what should come out of a run. */
#include <stdlib.h>
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

static enum expect_flag read_flag(struct reading *reading, const struct fields *fields,
                                  const char *key) {
    bool flag;
    if (!read_key_flag(reading, fields, key, &flag))
        return EXPECT_OPEN;
    return flag ? EXPECT_YES : EXPECT_NO;
}

static bool read_bound(struct reading *reading, struct node *node, struct expect_bound *bound) {
    struct fields fields;
    if (!reading_open(reading, node, CATALOGUE_BOUND, &fields))
        return false;
    bound->has_least = read_key_ratio(reading, &fields, "at_least", INT64_MAX, &bound->least);
    bound->has_most = read_key_ratio(reading, &fields, "at_most", INT64_MAX, &bound->most);
    reading_one_of(reading, &fields, "at_least");
    if (bound->has_least && bound->has_most && quantity_compare(bound->least, bound->most) > 0)
        reading_error(reading, reading_get(&fields, "at_most"), "`at_most` is below `at_least`");
    return true;
}

/* True for a map, whose pairs are then read one by one. */
static bool is_map_of_bounds(struct reading *reading, const struct node *node, const char *key,
                             const char *of) {
    if (reading_told(node))
        return false;
    if (node->kind == NODE_MAP)
        return true;
    fault_note(
        reading_error(reading, node, "`%s` wants a map, not %s", key, reading_found(node).text),
        "%s: {at_least: x, at_most: y}, either or both", of);
    return false;
}

static void read_item_bounds(struct reading *reading, const struct fields *fields, const char *key,
                             struct expect_item **list, uint32_t *count) {
    const struct node *node = reading_get(fields, key);
    if (!is_map_of_bounds(reading, node, key, "ITEM"))
        return;
    *list = require_memory(node->count, sizeof **list);
    for (uint32_t i = 0; i < node->count; i++) {
        struct expect_item entry = {.item = reading_item(reading, node->child[2 * i], key)};
        if (read_bound(reading, node->child[2 * i + 1], &entry.bound) && entry.item != NO_INDEX)
            (*list)[(*count)++] = entry;
    }
}

static void read_lane_bounds(struct reading *reading, const struct fields *fields,
                             struct scenario_expect *expect) {
    const struct node *node = reading_get(fields, "on_lane");
    if (!is_map_of_bounds(reading, node, "on_lane", "LOOP/LANE"))
        return;
    expect->on_lane = require_memory(node->count, sizeof *expect->on_lane);
    bool *bounded = require_memory(reading->scenario->lane_count, sizeof *bounded);
    for (uint32_t i = 0; i < node->count; i++) {
        const struct node *name = node->child[2 * i];
        struct expect_lane entry = {.lane = NO_INDEX};
        bool found = read_place_lane(reading, name, name->text, &entry.lane);
        if (!read_bound(reading, node->child[2 * i + 1], &entry.bound) || !found)
            continue;
        if (bounded[entry.lane]) /* by another way to write it */
            reading_error(reading, name, "lane `%s` has a bound already",
                          reading->scenario->lane[entry.lane].full_name);
        else
            expect->on_lane[expect->on_lane_count++] = entry;
        bounded[entry.lane] = true;
    }
    free(bounded);
}

static void read_starved(struct reading *reading, const struct fields *fields,
                         struct scenario_expect *expect) {
    const struct node *list = reading_get(fields, "starved");
    struct names seen = {0};
    if (!read_value_list(reading, list, "starved", false))
        return;
    expect->has_starved = true;
    expect->starved = require_memory(list->count, sizeof *expect->starved);
    for (uint32_t i = 0; i < list->count; i++) {
        const struct thing *station = reading_thing(reading, list->child[i], "starved",
                                                    THING_SET(THING_STATION), "a station");
        if (station != NULL && names_add(&seen, station->name, i) != NO_INDEX)
            reading_error(reading, list->child[i], "`%s` is in the list already", station->name);
        else if (station != NULL)
            expect->starved[expect->starved_count++] = station->index;
    }
    names_free(&seen);
}

void read_expect(struct reading *reading, struct node *node) {
    struct fields fields;
    struct scenario_expect *expect = &reading->scenario->expect;
    if (!reading_open(reading, node, CATALOGUE_EXPECT, &fields))
        return;
    expect->present = true;
    expect->deadlock = read_flag(reading, &fields, "deadlock");
    expect->jam = read_flag(reading, &fields, "jam");
    if (expect->jam == EXPECT_OPEN)
        expect->jam = expect->deadlock == EXPECT_YES ? EXPECT_YES : EXPECT_NO;
    expect->drained = read_flag(reading, &fields, "drained");
    expect->rest = read_flag(reading, &fields, "rest");
    expect->clogged = read_flag(reading, &fields, "clogged");
    read_starved(reading, &fields, expect);
    read_item_bounds(reading, &fields, "made", &expect->made, &expect->made_count);
    read_item_bounds(reading, &fields, "demand_met", &expect->demand_met,
                     &expect->demand_met_count);
    read_lane_bounds(reading, &fields, expect);
}
