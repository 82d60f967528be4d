/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/totals.c - differences of totals. */
#include "tools/record/totals.h"

#include <math.h>
#include <stdlib.h>

#include "model/scenario/layout.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

void totals_init(struct measured_totals *window, const struct scenario *scenario,
                 const struct world *world) {
    *window = (struct measured_totals){
        .scenario = scenario,
        .world = world,
        .arm = require_memory(scenario->arm_count, sizeof *window->arm),
        .station = require_memory(scenario->station_count, sizeof *window->station),
        .item = require_memory(scenario->item_count, sizeof *window->item),
        .cell_ticks = require_memory(layout_track_count(scenario), sizeof *window->cell_ticks),
        .in_hand = require_memory(scenario->arm_count, sizeof *window->in_hand)};
}

void totals_free(struct measured_totals *window) {
    free(window->arm);
    free(window->station);
    free(window->item);
    free(window->cell_ticks);
    free(window->in_hand);
    *window = (struct measured_totals){0};
}

static double cell_ticks(const struct measured_totals *window, uint32_t track) {
    struct place place = layout_track_as_place(window->scenario, track);
    return world_track_totals(window->world, place).cell_ticks;
}

void totals_open(struct measured_totals *window) {
    const struct scenario *scenario = window->scenario;
    window->open = true;
    window->start_tick = world_tick(window->world);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        window->arm[i] = world_arm_totals(window->world, i);
        window->in_hand[i] = world_hand_count(window->world, i, NO_INDEX);
    }
    for (uint32_t i = 0; i < scenario->station_count; i++)
        window->station[i] = world_station_totals(window->world, i);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        window->item[i] = world_item_totals(window->world, i);
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        window->cell_ticks[i] = cell_ticks(window, i);
}

/* ---- kept in a capsule ---- */

/* Every total is a row of numbers, whichever struct it is. */
static void add_numbers(struct bytes *bytes, const int64_t *number, size_t count) {
    unsigned char *at = bytes_begin(bytes, count * sizeof *number);
    for (size_t i = 0; i < count; i++)
        at = bytes_put_8(at, (uint64_t)number[i]);
    bytes_end(bytes, at);
}

static void take_numbers(struct bytes_reader *reader, int64_t *number, size_t count) {
    for (size_t i = 0; i < count; i++)
        number[i] = (int64_t)bytes_take(reader, 8);
}

enum {
    ARM_NUMBERS = sizeof(struct arm_totals) / sizeof(int64_t),
    STATION_NUMBERS = sizeof(struct station_totals) / sizeof(int64_t),
    ITEM_NUMBERS = sizeof(struct item_totals) / sizeof(int64_t)
};
_Static_assert(ARM_NUMBERS == 2 + ARM_STATES, "struct arm_totals is numbers only");
_Static_assert(STATION_NUMBERS == 1 + STATION_STATES, "struct station_totals is numbers only");
_Static_assert(ITEM_NUMBERS == 9, "struct item_totals is numbers only");

void totals_save(const struct measured_totals *window, struct bytes *bytes) {
    const struct scenario *scenario = window->scenario;
    bytes_add(bytes, window->open, 1);
    if (!window->open)
        return;
    add_numbers(bytes, &window->start_tick, 1);
    add_numbers(bytes, &window->arm->swings, (size_t)ARM_NUMBERS * scenario->arm_count);
    add_numbers(bytes, window->in_hand, scenario->arm_count);
    add_numbers(bytes, &window->station->batches,
                (size_t)STATION_NUMBERS * scenario->station_count);
    add_numbers(bytes, &window->item->made, (size_t)ITEM_NUMBERS * scenario->item_count);
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        bytes_add_real(bytes, window->cell_ticks[i]);
}

/* ---- what totals can be ---- */

/* Each is counted from 0 on, and none falls. */
static bool have_risen(const int64_t *before, const int64_t *now, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (before[i] < 0 || before[i] > now[i])
            return false;
    return true;
}

/* What is owed rises and falls; all other totals of an item only rise. */
static bool item_has_risen(const struct item_totals *before, struct item_totals now) {
    now.owed = INT64_MAX;
    return have_risen(&before->made, &now.made, ITEM_NUMBERS);
}

/* A hand may have held more than it does since a change. */
static bool arms_have_risen(const struct measured_totals *window) {
    static const int64_t most_in_hand = LIMIT_COUNT;
    for (uint32_t i = 0; i < window->scenario->arm_count; i++) {
        struct arm_totals now = world_arm_totals(window->world, i);
        if (!have_risen(&window->arm[i].swings, &now.swings, ARM_NUMBERS) ||
            !have_risen(&window->in_hand[i], &most_in_hand, 1))
            return false;
    }
    return true;
}

/* Whether the window began in the past, with totals from which those of now can have come. */
static bool is_sound(const struct measured_totals *window) {
    const struct scenario *scenario = window->scenario;
    int64_t now_tick = world_tick(window->world);
    if (!have_risen(&window->start_tick, &now_tick, 1) || !arms_have_risen(window))
        return false;
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        struct station_totals now = world_station_totals(window->world, i);
        if (!have_risen(&window->station[i].batches, &now.batches, STATION_NUMBERS))
            return false;
    }
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (!item_has_risen(&window->item[i], world_item_totals(window->world, i)))
            return false;
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        if (!(window->cell_ticks[i] >= 0 && window->cell_ticks[i] <= cell_ticks(window, i)))
            return false;
    return true;
}

void totals_audit(const struct measured_totals *window) {
    require(!window->open || is_sound(window));
}

bool totals_restore(struct measured_totals *window, struct bytes_reader *reader) {
    const struct scenario *scenario = window->scenario;
    window->open = bytes_take(reader, 1) != 0;
    if (!window->open)
        return !reader->failed;
    take_numbers(reader, &window->start_tick, 1);
    take_numbers(reader, &window->arm->swings, (size_t)ARM_NUMBERS * scenario->arm_count);
    take_numbers(reader, window->in_hand, scenario->arm_count);
    take_numbers(reader, &window->station->batches,
                 (size_t)STATION_NUMBERS * scenario->station_count);
    take_numbers(reader, &window->item->made, (size_t)ITEM_NUMBERS * scenario->item_count);
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        window->cell_ticks[i] = bytes_take_real(reader);
    return !reader->failed && is_sound(window);
}

/* ---- what came of it ---- */

int64_t totals_ticks(const struct measured_totals *window) {
    return window->open ? world_tick(window->world) - window->start_tick : 0;
}

double totals_seconds(const struct measured_totals *window) {
    return (double)totals_ticks(window) / (double)window->scenario->ticks_per_second;
}

static double per_tick(const struct measured_totals *window, double total) {
    int64_t ticks = totals_ticks(window);
    return ticks > 0 ? total / (double)ticks : (double)NAN;
}

double totals_arm_share(const struct measured_totals *window, uint32_t arm, enum arm_state state) {
    int64_t now = world_arm_totals(window->world, arm).ticks[state];
    return per_tick(window, (double)(now - window->arm[arm].ticks[state]));
}

double totals_station_share(const struct measured_totals *window, uint32_t station,
                            enum station_state state) {
    int64_t now = world_station_totals(window->world, station).ticks[state];
    return per_tick(window, (double)(now - window->station[station].ticks[state]));
}

double totals_track_share(const struct measured_totals *window, uint32_t track) {
    return per_tick(window, cell_ticks(window, track) - window->cell_ticks[track]) /
           layout_track_cells(window->scenario, track);
}

double totals_made_per_minute(const struct measured_totals *window, uint32_t item) {
    int64_t made = world_item_totals(window->world, item).made - window->item[item].made;
    return per_tick(window, (double)made * (double)(60 * window->scenario->ticks_per_second));
}

int64_t totals_arm_moved(const struct measured_totals *window, uint32_t arm) {
    return world_arm_totals(window->world, arm).moved - window->arm[arm].moved;
}

int64_t totals_arm_picked(const struct measured_totals *window, uint32_t arm) {
    int64_t in_hand = world_hand_count(window->world, arm, NO_INDEX);
    return totals_arm_moved(window, arm) + in_hand - window->in_hand[arm];
}
