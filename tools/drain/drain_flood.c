/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/drain/drain_flood.c - deals out items, shuffles them, writes neighbours of a kind as one
 * drop. */
#include "tools/drain/drain_flood.h"

#include <inttypes.h>
#include <stdlib.h>

#include "model/scenario/reach.h"
#include "sim/random.h"
#include "sim/require.h"

/* So many blocks are shuffled at most: of a long lane a block is several items or free cells. */
enum { BLOCKS_MOST = 2000 };

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

int64_t drain_flood_most(const struct scenario *scenario, uint32_t item) {
    int64_t most = 0;
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        int64_t fits = layout_track_cells(scenario, i) / scenario->item[item].length;
        most = fits > most ? fits : most;
    }
    return most;
}

/* ---- what is dealt ---- */

static void list_kinds(struct dealing *dealing, const struct reach *reach) {
    const struct scenario *scenario = dealing->additions->scenario;
    uint32_t place = layout_track_place(scenario, dealing->lane);
    dealing->kind_count = 0;
    if (dealing->flood->item != NO_INDEX)
        dealing->kind[dealing->kind_count++] = dealing->flood->item;
    for (uint32_t i = 0; i < scenario->item_count && dealing->flood->item == NO_INDEX; i++)
        if (reach_comes_to(reach, place, i) &&
            scenario->item[i].length <= layout_track_cells(scenario, dealing->lane))
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
