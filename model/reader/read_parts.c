/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_parts.c - reads items, loops, lines, chests and stations. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* ---- items; their names are declared before ---- */
void read_parts_items(struct reading *reading, struct node *node) {
    if (reading_told(node) || node->kind != NODE_MAP)
        return;
    for (uint32_t i = 0; i < node->count; i++) {
        struct fields fields;
        uint32_t item = names_find(&reading->items, node->child[2 * i]->text);
        int64_t length;
        reading_open(reading, node->child[2 * i + 1], CATALOGUE_ITEM, &fields);
        read_key_count(reading, &fields, "length", &length);
        reading->scenario->item[item].length = (uint32_t)length;
    }
}

/* ---- loops and lines ---- */

/* Cells of a loop or line; 0 when they are wrong. */
static uint32_t read_cells(struct reading *reading, const struct fields *fields) {
    int64_t cells = 0;
    read_key_count(reading, fields, "cells", &cells);
    return (uint32_t)cells;
}

static void read_rate(struct reading *reading, const struct fields *fields, struct ratio *rate) {
    const struct node *node = reading_get(fields, "rate");
    int64_t ticks_per_second = reading->scenario->ticks_per_second;
    *rate = (struct ratio){1, 1};
    /* Steps are counted in such parts of a tick. */
    if (!read_key_ratio(reading, fields, "rate", INT64_MAX / ticks_per_second, rate))
        return;
    if (quantity_compare(*rate, (struct ratio){ticks_per_second, 1}) <= 0)
        return;
    struct fault *fault = reading_error(reading, node, "`rate` is above the tick rate: %s",
                                        yaml_tree_shown(node->text).text);
    fault_note(fault, "a belt makes at most one step a tick, %lld a second",
               (long long)ticks_per_second);
    fault_help(fault, "raise `ticks_per_second` of `clock`");
}

static const char default_lane[] = "lane";

static char *joined(const char *loop, const char *lane) {
    size_t bytes = strlen(loop) + strlen(lane) + 2;
    char *text = require_memory(bytes, 1);
    snprintf(text, bytes, "%s/%s", loop, lane);
    return text;
}

static void add_lane(struct scenario *scenario, uint32_t loop_index, const char *name) {
    struct scenario_loop *loop = &scenario->loop[loop_index];
    scenario->lane[scenario->lane_count++] = (struct scenario_lane){
        .name = require_text(name), .full_name = joined(loop->name, name), .loop = loop_index};
    loop->lane_count++;
}

/* True when no name before that of index `i` in the list is the same; else it is reported. */
static bool is_new_name(struct reading *reading, const struct node *list, uint32_t i) {
    const char *name = list->child[i]->text;
    for (uint32_t before = 0; before < i; before++)
        if (strcmp(list->child[before]->text, name) == 0) {
            reading_error(reading, list->child[i], "there is already a lane `%s`", name);
            return false;
        }
    return true;
}

static void read_lanes(struct reading *reading, uint32_t loop_index, const struct node *list) {
    struct scenario *scenario = reading->scenario;
    if (list == NULL) {
        add_lane(scenario, loop_index, default_lane);
        return;
    }
    if (!read_value_list(reading, list, "lanes", true))
        return;
    if (list->count > LANES_OF_LOOP_MAX) {
        reading_error(reading, list, "a loop has 1 to %d lanes, not %u", LANES_OF_LOOP_MAX,
                      list->count);
        return;
    }
    bool good = true;
    for (uint32_t i = 0; i < list->count; i++)
        good &= reading_check_name(reading, list->child[i], "lanes");
    for (uint32_t i = 0; good && i < list->count; i++)
        good = is_new_name(reading, list, i);
    for (uint32_t i = 0; good && i < list->count; i++)
        add_lane(scenario, loop_index, list->child[i]->text);
}

void read_parts_loops(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    scenario->lane =
        require_memory((size_t)scenario->loop_count * LANES_OF_LOOP_MAX, sizeof *scenario->lane);
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        struct fields fields;
        struct scenario_loop *loop = &scenario->loop[i];
        loop->first_lane = scenario->lane_count;
        loop->breaks = &scenario_never_breaks;
        if (!reading_open(reading, reading->part[THING_LOOP][i], CATALOGUE_LOOP, &fields))
            continue;
        loop->cell_count = read_cells(reading, &fields);
        read_rate(reading, &fields, &loop->rate);
        read_lanes(reading, i, reading_get(&fields, "lanes"));
        loop->breaks = read_span_breaks(reading, reading_get(&fields, "breaks"));
    }
}

void read_parts_lines(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    for (uint32_t i = 0; i < scenario->line_count; i++) {
        struct fields fields;
        struct scenario_line *line = &scenario->line[i];
        line->breaks = &scenario_never_breaks;
        if (!reading_open(reading, reading->part[THING_LINE][i], CATALOGUE_LINE, &fields))
            continue;
        line->cell_count = read_cells(reading, &fields);
        read_rate(reading, &fields, &line->rate);
        line->breaks = read_span_breaks(reading, reading_get(&fields, "breaks"));
    }
}

/* ---- chests ---- */
static int64_t total_of(const struct item_counts *counts) {
    int64_t total = 0;
    for (uint32_t i = 0; i < counts->count; i++)
        total += counts->entry[i].count;
    return total;
}

/* The limit of an item in a chest; NO_LIMIT where there is none. */
static int64_t limit_of(const struct names *names, const struct scenario_chest *chest,
                        const char *item) {
    uint32_t index = names_find(names, item);
    return index != NO_INDEX ? chest->limits.entry[index].count : NO_LIMIT;
}

static void check_start(struct reading *reading, const struct scenario_chest *chest,
                        const struct node *start) {
    const struct scenario *scenario = reading->scenario;
    if (total_of(&chest->start) > chest->capacity) {
        struct fault *fault =
            reading_error(reading, start, "`start` holds more than the chest: %lld items",
                          (long long)total_of(&chest->start));
        fault_note(fault, "its capacity is %lld", (long long)chest->capacity);
        fault_help(fault, "raise `capacity`, or start with less");
    }
    struct names limited = {0};
    for (uint32_t i = 0; i < chest->limits.count; i++)
        names_add(&limited, scenario->item[chest->limits.entry[i].item].name, i);
    for (uint32_t i = 0; i < chest->start.count; i++) {
        const struct item_count *entry = &chest->start.entry[i];
        const char *name = scenario->item[entry->item].name;
        int64_t limit = limit_of(&limited, chest, name);
        if (entry->count > limit)
            fault_note(reading_error(reading, start->child[2 * i + 1],
                                     "`start` has more `%s` than the chest may hold: %lld", name,
                                     (long long)entry->count),
                       "its limit is %lld", (long long)limit);
    }
    names_free(&limited);
}

static void read_chest(struct reading *reading, const struct fields *fields,
                       struct scenario_chest *chest) {
    struct node *start = reading_get(fields, "start"), *limits = reading_get(fields, "limits");
    const struct node *capacity = reading_get(fields, "capacity");
    if (capacity != NULL && yaml_tree_is_null(capacity))
        fault_help(reading_error(reading, capacity, "`capacity` wants a whole number, not %s",
                                 reading_found(capacity).text),
                   "leave `capacity` out for a chest without bound");
    else
        read_key_count(reading, fields, "capacity", &chest->capacity);
    bool limited = limits == NULL || read_key_counts(reading, fields, "limits", &chest->limits);
    if (read_key_counts(reading, fields, "start", &chest->start) && limited)
        check_start(reading, chest, start);
}

void read_parts_chests(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    for (uint32_t i = 0; i < scenario->chest_count; i++) {
        struct fields fields;
        scenario->chest[i].capacity = NO_LIMIT;
        if (reading_open(reading, reading->part[THING_CHEST][i], CATALOGUE_CHEST, &fields))
            read_chest(reading, &fields, &scenario->chest[i]);
    }
}

/* ---- stations ---- */
static bool read_output(struct reading *reading, const struct node *name, struct node *node,
                        struct station_output *output) {
    struct fields fields;
    if (node->kind != NODE_MAP)
        return read_value_count(reading, node, yaml_tree_shown(name->text).text, 1, LIMIT_COUNT,
                                &output->count);
    if (!reading_open(reading, node, CATALOGUE_OUTPUT, &fields))
        return false;
    const struct node *chance = reading_get(&fields, "chance");
    output->has_chance = chance != NULL;
    struct ratio share;
    struct decimal decimal;
    uint32_t places;
    if (chance != NULL) {
        if (!read_value_decimal(reading, chance, "chance", &decimal))
            return false;
        output->chance = quantity_double(&decimal);
        if (!quantity_ratio(&decimal, INT64_MAX, &share, &places) ||
            share.numerator > share.denominator) {
            fault_note(reading_error(reading, chance, "`chance` is out of range: %s",
                                     yaml_tree_shown(chance->text).text),
                       "allowed: 0 to 1");
            return false;
        }
    }
    return read_key_count(reading, &fields, "count", &output->count);
}

static bool read_makes(struct reading *reading, const struct node *node,
                       struct scenario_station *station) {
    if (reading_told(node))
        return node == NULL;
    if (node->kind != NODE_MAP) {
        reading_error(reading, node, "`makes` wants a map of items and counts, not %s",
                      reading_found(node).text);
        return false;
    }
    bool good = true;
    station->makes = require_memory(node->count, sizeof *station->makes);
    for (uint32_t i = 0; i < node->count; i++) {
        struct station_output output = {.item = reading_item(reading, node->child[2 * i], "makes")};
        bool counted = read_output(reading, node->child[2 * i], node->child[2 * i + 1], &output);
        if (output.item != NO_INDEX && counted)
            station->makes[station->makes_count++] = output;
        else
            good = false;
    }
    return good;
}

/* ---- room ---- */
static void set_room_by_batches(struct reading *reading, const struct node *node,
                                struct scenario_station *station, int64_t batches) {
    for (uint32_t i = 0; i < station->makes_count; i++) {
        struct station_output *output = &station->makes[i];
        if (output->count > LIMIT_COUNT / batches) {
            char limit[QUANTITY_TEXT_SIZE];
            fault_note(reading_error(reading, node, "room for %lld batches of `%s` is too much",
                                     (long long)batches,
                                     reading->scenario->item[output->item].name),
                       "at most %s items", quantity_grouped(LIMIT_COUNT, limit));
            return;
        }
        output->room = batches * output->count;
    }
}

static void read_room_of_item(struct reading *reading, uint32_t index, const struct node *name,
                              const struct node *node) {
    struct scenario_station *station = &reading->scenario->station[index];
    uint32_t item = reading_item(reading, name, "room");
    int64_t room;
    if (!read_value_count(reading, node, yaml_tree_shown(name->text).text, 1, LIMIT_COUNT, &room) ||
        item == NO_INDEX)
        return;
    uint32_t found = pairs_find(&reading->makes, index, item);
    struct station_output *output =
        found != NO_INDEX ? &station->makes[reading->makes.value[found]] : NULL;
    if (output == NULL && reading->station_known[index])
        reading_error(reading, name, "station `%s` does not make `%s`", station->name, name->text);
    else if (output != NULL && room < output->count)
        fault_note(reading_error(reading, node, "`room` is below one batch of `%s`", name->text),
                   "a batch makes %lld", (long long)output->count);
    else if (output != NULL)
        output->room = room;
}

static void read_room(struct reading *reading, const struct fields *fields, uint32_t index) {
    struct scenario_station *station = &reading->scenario->station[index];
    const struct node *node = reading_get(fields, "room");
    int64_t batches = 1;
    if (node == NULL || node->kind != NODE_LIST)
        read_key_count(reading, fields, "room", &batches);
    else
        reading_error(reading, node, "`room` wants a whole number or a map of counts, not a list");
    set_room_by_batches(reading, node != NULL ? node : reading_get(fields, "makes"), station,
                        batches);
    if (node != NULL && node->kind == NODE_MAP)
        for (uint32_t i = 0; i < node->count; i++)
            read_room_of_item(reading, index, node->child[2 * i], node->child[2 * i + 1]);
}

static void check_ahead(struct reading *reading, const struct fields *fields,
                        const struct scenario_station *station) {
    const struct node *node = reading_get(fields, "ahead");
    for (uint32_t i = 0; node != NULL && i < station->takes.count; i++)
        if (station->takes.entry[i].count > LIMIT_COUNT / station->ahead) {
            char limit[QUANTITY_TEXT_SIZE];
            fault_note(reading_error(reading, node, "stock for %lld batches of `%s` is too much",
                                     (long long)station->ahead,
                                     reading->scenario->item[station->takes.entry[i].item].name),
                       "at most %s items", quantity_grouped(LIMIT_COUNT, limit));
            return;
        }
}

static void know_station(struct reading *reading, uint32_t index) {
    const struct scenario_station *station = &reading->scenario->station[index];
    for (uint32_t i = 0; i < station->takes.count; i++)
        pairs_add(&reading->takes, index, station->takes.entry[i].item, i);
    for (uint32_t i = 0; i < station->makes_count; i++)
        pairs_add(&reading->makes, index, station->makes[i].item, i);
}

/* All of a station but its gate, which may read things that are not known yet. */
static void read_station(struct reading *reading, const struct fields *fields, uint32_t index) {
    struct scenario_station *station = &reading->scenario->station[index];
    struct node *takes = reading_get(fields, "takes"), *makes = reading_get(fields, "makes");
    bool takes_known = takes == NULL || read_key_counts(reading, fields, "takes", &station->takes);
    bool makes_known = read_makes(reading, makes, station);
    reading->station_known[index] = takes_known && makes_known;
    know_station(reading, index);
    if (takes_known && makes_known && station->takes.count + station->makes_count == 0)
        fault_note(reading_error(reading, fields->node, "a station that takes and makes nothing"),
                   "`takes` or `makes` must name an item");
    read_key_span(reading, fields, "time", &station->time);
    read_key_count(reading, fields, "ahead", &station->ahead);
    check_ahead(reading, fields, station);
    read_room(reading, fields, index);
    station->breaks = read_span_breaks(reading, reading_get(fields, "breaks"));
}

void read_parts_stations(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    reading->station_known = require_memory(scenario->station_count, sizeof(bool));
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        struct fields fields;
        scenario->station[i].gate = NO_INDEX;
        scenario->station[i].breaks = &scenario_never_breaks;
        if (reading_open(reading, reading->part[THING_STATION][i], CATALOGUE_STATION, &fields))
            read_station(reading, &fields, i);
    }
}

void read_parts_station_gates(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        struct node *part = reading->part[THING_STATION][i];
        if (part->kind == NODE_MAP)
            scenario->station[i].gate = read_gate(reading, yaml_tree_find(part, "gate"));
    }
}
