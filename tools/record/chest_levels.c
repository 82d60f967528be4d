/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/chest_levels.c - a row for each count, found once. */
#include "tools/record/chest_levels.h"

#include <stdlib.h>

#include "sim/array.h"
#include "sim/require.h"

/* ---- which ones ---- */

static void add_level(struct chest_levels *levels, uint32_t *capacity, uint32_t chest,
                      uint32_t item, bool is_gated) {
    levels->level = array_with_room(levels->level, levels->count, capacity, sizeof *levels->level);
    levels->level[levels->count++] =
        (struct chest_level){chest, item, NO_INDEX, is_gated, NOT_GIVEN, NOT_GIVEN};
}

static bool reads_chest(const struct scenario_gate *gate) {
    return gate->first_child == NO_INDEX && gate->reads == READS_CHEST;
}

static void list_levels(struct chest_levels *levels) {
    const struct scenario *scenario = levels->scenario;
    uint32_t capacity = 0;
    for (uint32_t i = 0; i < scenario->chest_count; i++) {
        const struct item_counts *limits = &scenario->chest[i].limits;
        if (scenario->chest[i].capacity != NO_LIMIT)
            add_level(levels, &capacity, i, NO_INDEX, false);
        for (uint32_t j = 0; j < limits->count; j++)
            add_level(levels, &capacity, i, limits->entry[j].item, false);
    }
    for (uint32_t i = 0; i < scenario->gate_count; i++)
        if (reads_chest(&scenario->gate[i]))
            add_level(levels, &capacity, scenario->gate[i].subject, scenario->gate[i].item, true);
}

static int level_order(const void *a, const void *b) {
    const struct chest_level *first = a, *second = b;
    if (first->chest != second->chest)
        return first->chest < second->chest ? -1 : 1;
    return (first->item > second->item) - (first->item < second->item);
}

/* Several gates may read one count, and a limit may stand beside them. */
static void leave_each_once(struct chest_levels *levels) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < levels->count; i++) {
        if (i == 0 || level_order(&levels->level[kept - 1], &levels->level[i]) != 0)
            levels->level[kept++] = levels->level[i];
        levels->level[kept - 1].is_gated |= levels->level[i].is_gated;
    }
    levels->count = kept;
}

void chest_levels_init(struct chest_levels *levels, const struct scenario *scenario,
                       const struct world *world) {
    *levels = (struct chest_levels){.scenario = scenario};
    list_levels(levels);
    if (levels->count > 0)
        qsort(levels->level, levels->count, sizeof *levels->level, level_order);
    leave_each_once(levels);
    for (uint32_t i = 0; i < levels->count; i++)
        levels->level[i].stock =
            world_chest_stock(world, levels->level[i].chest, levels->level[i].item);
}

void chest_levels_free(struct chest_levels *levels) {
    free(levels->level);
    *levels = (struct chest_levels){0};
}

int64_t chest_levels_bound(const struct chest_levels *levels, uint32_t index) {
    const struct chest_level *level = &levels->level[index];
    const struct scenario_chest *chest = &levels->scenario->chest[level->chest];
    if (level->item == NO_INDEX)
        return chest->capacity;
    for (uint32_t i = 0; i < chest->limits.count; i++)
        if (chest->limits.entry[i].item == level->item)
            return chest->limits.entry[i].count;
    return NO_LIMIT;
}

/* ---- looking ---- */

void chest_levels_look(struct chest_levels *levels, const struct world *world) {
    for (uint32_t i = 0; i < levels->count; i++) {
        struct chest_level *level = &levels->level[i];
        int64_t count = world_stock_count(world, level->stock);
        if (level->lowest == NOT_GIVEN || count < level->lowest)
            level->lowest = count;
        if (count > level->highest)
            level->highest = count;
    }
}

void chest_levels_forget(struct chest_levels *levels) {
    for (uint32_t i = 0; i < levels->count; i++)
        levels->level[i].lowest = levels->level[i].highest = NOT_GIVEN;
}

/* ---- kept in a capsule ---- */

void chest_levels_save(const struct chest_levels *levels, struct bytes *bytes) {
    enum { LEVEL_BYTES = 4 + 4 + 8 + 8 };
    unsigned char *at = bytes_begin(bytes, 4 + (size_t)levels->count * LEVEL_BYTES);
    at = bytes_put_4(at, levels->count);
    for (const struct chest_level *level = levels->level; level < levels->level + levels->count;
         level++) {
        at = bytes_put_4(bytes_put_4(at, level->chest), level->item);
        at = bytes_put_8(at, (uint64_t)level->lowest);
        at = bytes_put_8(at, (uint64_t)level->highest);
    }
    bytes_end(bytes, at);
}

/* A changed scenario may have other gates and limits: what is known of others is left out. Both are
 * in the same order. */
bool chest_levels_restore(struct chest_levels *levels, struct bytes_reader *reader) {
    uint64_t count = bytes_take(reader, 4);
    uint32_t at = 0;
    for (uint64_t i = 0; i < count && !reader->failed; i++) {
        struct chest_level saved = {.chest = (uint32_t)bytes_take(reader, 4),
                                    .item = (uint32_t)bytes_take(reader, 4)};
        saved.lowest = (int64_t)bytes_take(reader, 8);
        saved.highest = (int64_t)bytes_take(reader, 8);
        while (at < levels->count && level_order(&levels->level[at], &saved) < 0)
            at++;
        if (at < levels->count && level_order(&levels->level[at], &saved) == 0) {
            levels->level[at].lowest = saved.lowest;
            levels->level[at].highest = saved.highest;
        }
    }
    return !reader->failed;
}
