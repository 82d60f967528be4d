/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/drain/drain_flood.c - makes the heap: draws the items, shuffles them, and writes
 * neighbours of one kind as one drop. */
#include "tools/drain/drain_flood.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "model/scenario/reach.h"
#include "sim/random.h"
#include "sim/require.h"

/* So many blocks are shuffled at most: of a long lane a block is several items or free cells. */
enum { BLOCKS_MOST = 2000 };
/* Parts of a lane that a share may be cut into. */
enum { SHARE_PARTS = 1000000000 };

struct dealing {
    const struct drain_flood *flood;
    struct scenario_edit *additions;
    const char *filler; /* name of the item that keeps cells free */
    uint32_t lane;
    uint32_t *kind;
    uint32_t kind_count;
    uint32_t *unit; /* items one after another; NO_INDEX: a free cell */
    uint32_t unit_count;
    uint32_t block; /* so many units are shuffled as one */
    struct random_stream chance;
    int64_t item_count;
};

/* ---- where it falls ---- */

static bool comes_to(const struct reach *reach, uint32_t lane, uint32_t item) {
    const struct scenario *scenario = reach->scenario;
    return scenario->item[item].length <= layout_track_cells(scenario, lane) &&
           reach_comes_to(reach, layout_track_place(scenario, lane), item);
}

static bool falls_on(const struct drain_flood *flood, const struct reach *reach, uint32_t lane) {
    const struct scenario *scenario = reach->scenario;
    if (flood->lane != NO_INDEX && flood->lane != lane)
        return false;
    if (flood->item != NO_INDEX && flood->lane != NO_INDEX)
        return scenario->item[flood->item].length <= layout_track_cells(scenario, lane);
    if (flood->item != NO_INDEX)
        return comes_to(reach, lane, flood->item);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (comes_to(reach, lane, i))
            return true;
    return false;
}

/* True when it falls anywhere. */
static bool find_lanes(struct drain_flood *flood, const struct scenario *scenario) {
    struct reach reach = reach_of(scenario, REACH_WITHOUT_DROPS, REACH_NO_STEPS_LIMIT);
    bool any = false;
    flood->falls_on = require_memory(scenario->lane_count, sizeof *flood->falls_on);
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        flood->falls_on[i] = falls_on(flood, &reach, i);
        any = any || flood->falls_on[i];
    }
    reach_free(&reach);
    return any;
}

void drain_flood_init(struct drain_flood *flood, const struct scenario *scenario) {
    *flood = (struct drain_flood){.lane = NO_INDEX, .item = NO_INDEX};
    find_lanes(flood, scenario);
}

void drain_flood_free(struct drain_flood *flood) {
    free(flood->falls_on);
    flood->falls_on = NULL;
}

int64_t drain_flood_most(const struct drain_flood *flood, const struct scenario *scenario) {
    int64_t most = 0;
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        int64_t fits = layout_track_cells(scenario, i) / scenario->item[flood->item].length;
        most = flood->falls_on[i] && fits > most ? fits : most;
    }
    return most;
}

/* ---- what --flood says ---- */

static bool is_name(const char *name, const char *text, size_t length) {
    return strlen(name) == length && strncmp(name, text, length) == 0;
}

static uint32_t item_named(const struct scenario *scenario, const char *text, size_t length) {
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (is_name(scenario->item[i].name, text, length))
            return i;
    return NO_INDEX;
}

/* LOOP/LANE, or LOOP with one lane. */
static uint32_t lane_named(const struct scenario *scenario, const char *text, size_t length) {
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        const struct scenario_loop *loop = &scenario->loop[scenario->lane[i].loop];
        if (is_name(scenario->lane[i].full_name, text, length) ||
            (loop->lane_count == 1 && is_name(loop->name, text, length)))
            return i;
    }
    return NO_INDEX;
}

/* ITEM=N. */
static bool read_heap(const struct scenario *scenario, const char *text, const char *equals,
                      struct drain_flood *flood) {
    struct decimal decimal;
    flood->item = item_named(scenario, text, (size_t)(equals - text));
    return flood->item != NO_INDEX && quantity_decimal(equals + 1, &decimal) == QUANTITY_FITS &&
           quantity_integer(&decimal, &flood->count) && flood->count >= 1 &&
           flood->count <= LIMIT_COUNT;
}

static bool read_share(const char *text, struct drain_flood *flood) {
    struct decimal decimal;
    uint32_t places;
    return quantity_decimal(text, &decimal) == QUANTITY_FITS && decimal.whole <= 1 &&
           quantity_ratio(&decimal, SHARE_PARTS, &flood->share, &places) &&
           flood->share.numerator > 0 && flood->share.numerator <= flood->share.denominator;
}

bool drain_flood_read(const char *text, const struct scenario *scenario, struct drain_flood *flood,
                      const char **wrong) {
    const char *colon = strchr(text, ':'), *heap = colon != NULL ? colon + 1 : text;
    const char *equals = strchr(heap, '=');
    *flood = (struct drain_flood){.wanted = true, .lane = NO_INDEX, .item = NO_INDEX};
    if (colon != NULL)
        flood->lane = lane_named(scenario, text, (size_t)(colon - text));
    *wrong = "before the colon stands no lane of the scenario";
    if (colon != NULL && flood->lane == NO_INDEX)
        return false;
    *wrong = "it needs ITEM=N with an item of the scenario, or a share above 0 and at most 1, with "
             "LANE: before it or without";
    if (equals != NULL ? !read_heap(scenario, heap, equals, flood) : !read_share(heap, flood))
        return false;
    if (find_lanes(flood, scenario) || (flood->item == NO_INDEX && flood->lane == NO_INDEX))
        return true;
    *wrong = flood->item == NO_INDEX ? "nothing is ever placed on this lane"
             : flood->lane != NO_INDEX
                 ? "the item is longer than the lane"
                 : "no arm brings this item onto a lane; name one, as in ring/outer:spring=40";
    drain_flood_free(flood);
    return false;
}

/* ---- what is dealt ---- */

static void list_kinds(struct dealing *dealing, const struct reach *reach) {
    const struct scenario *scenario = dealing->additions->scenario;
    dealing->kind_count = 0;
    if (dealing->flood->item != NO_INDEX)
        dealing->kind[dealing->kind_count++] = dealing->flood->item;
    for (uint32_t i = 0; i < scenario->item_count && dealing->flood->item == NO_INDEX; i++)
        if (comes_to(reach, dealing->lane, i))
            dealing->kind[dealing->kind_count++] = i;
}

/* Cells that the heap may take, and items. */
static void bounds(const struct dealing *dealing, int64_t *cells, int64_t *items) {
    const struct drain_flood *flood = dealing->flood;
    int64_t all = layout_track_cells(dealing->additions->scenario, dealing->lane);
    *items = flood->item != NO_INDEX ? flood->count : all;
    *cells =
        flood->item != NO_INDEX ? all : all * flood->share.numerator / flood->share.denominator;
}

/* Deals items while they fit, each kind equally likely, then free cells for the rest. */
static void deal(struct dealing *dealing) {
    const struct scenario *scenario = dealing->additions->scenario;
    int64_t all = layout_track_cells(scenario, dealing->lane), used = 0, dealt = 0, cells, items;
    uint32_t kind = NO_INDEX;
    bounds(dealing, &cells, &items);
    dealing->unit_count = 0;
    dealing->block = 1 + (uint32_t)(all / BLOCKS_MOST);
    while (dealing->kind_count > 0 && dealt < items) {
        if (dealt % dealing->block == 0)
            kind = dealing->kind[random_below(&dealing->chance, dealing->kind_count)];
        if (used + scenario->item[kind].length > cells)
            break;
        dealing->unit[dealing->unit_count++] = kind;
        used += scenario->item[kind].length;
        dealt++;
    }
    for (; used < all; used++)
        dealing->unit[dealing->unit_count++] = NO_INDEX;
    dealing->item_count += dealt;
}

static void swap_blocks(struct dealing *dealing, uint32_t first, uint32_t second) {
    for (uint32_t i = 0; i < dealing->block; i++) {
        uint32_t *one = &dealing->unit[(size_t)first * dealing->block + i];
        uint32_t *other = &dealing->unit[(size_t)second * dealing->block + i], kept = *one;
        *one = *other;
        *other = kept;
    }
}

static void shuffle(struct dealing *dealing) {
    for (uint32_t left = dealing->unit_count / dealing->block; left > 1; left--)
        swap_blocks(dealing, left - 1, random_below(&dealing->chance, left));
}

/* ---- how it is written ---- */

static void drop_run(const struct dealing *dealing, uint32_t kind, uint32_t count) {
    const struct scenario *scenario = dealing->additions->scenario;
    const char *name = kind == NO_INDEX ? dealing->filler : scenario->item[kind].name;
    scenario_edit_part(dealing->additions, "incidents",
                       "{at: 0, drop: {item: %s, count: %" PRIu32 ", lane: %s}}", name, count,
                       scenario->lane[dealing->lane].full_name);
}

static void write_lane(const struct dealing *dealing) {
    uint32_t begin = 0;
    for (uint32_t i = 1; i <= dealing->unit_count; i++) {
        if (i < dealing->unit_count && dealing->unit[i] == dealing->unit[begin])
            continue;
        drop_run(dealing, dealing->unit[begin], i - begin);
        begin = i;
    }
    scenario_edit_part(dealing->additions, "incidents", "{at: 0, clear: {item: %s, lane: %s}}",
                       dealing->filler,
                       dealing->additions->scenario->lane[dealing->lane].full_name);
}

int64_t drain_flood_add(const struct drain_flood *flood, uint64_t seed,
                        struct scenario_edit *additions) {
    const struct scenario *scenario = additions->scenario;
    struct dealing dealing = {.flood = flood, .additions = additions};
    struct reach reach = reach_of(scenario, REACH_WITHOUT_DROPS, REACH_NO_STEPS_LIMIT);
    char *filler = scenario_edit_item(additions);
    dealing.filler = filler;
    dealing.kind = require_memory(scenario->item_count + 1, sizeof *dealing.kind);
    for (uint32_t lane = 0; lane < scenario->lane_count; lane++) {
        if (!flood->falls_on[lane])
            continue;
        dealing.lane = lane;
        dealing.unit = require_memory(layout_track_cells(scenario, lane), sizeof *dealing.unit);
        random_start(&dealing.chance, seed, scenario->lane[lane].full_name, "flood");
        list_kinds(&dealing, &reach);
        deal(&dealing);
        shuffle(&dealing);
        write_lane(&dealing);
        free(dealing.unit);
    }
    reach_free(&reach);
    free(dealing.kind);
    free(filler);
    return dealing.item_count;
}
