/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_chests.c - those of the scenario first. */
#include "model/design/draw_chests.h"

#include <stdio.h>

#include "sim/require.h"

static struct plan_chest *new_chest(struct drawing *drawing, const char *name) {
    struct plan *plan = drawing->plan;
    plan->chest = require_more_memory(plan->chest, plan->chest_count + 1, sizeof *plan->chest);
    struct plan_chest *chest = &plan->chest[plan->chest_count++];
    *chest = (struct plan_chest){.capacity = NOT_GIVEN, .given = NO_INDEX};
    if (name != NULL)
        drawing_name(drawing, chest->name, "%s", name);
    return chest;
}

/* ---- chests that are there ---- */

static int64_t count_in(const struct item_counts *counts, uint32_t item) {
    for (uint32_t i = 0; i < counts->count; i++)
        if (counts->entry[i].item == item)
            return counts->entry[i].count;
    return NOT_GIVEN;
}

/* Whether some supply or demand, of an item or of any (NO_INDEX), is at a chest. */
static bool has_stream(const struct scenario_stream *stream, uint32_t count, uint32_t chest,
                       uint32_t item) {
    for (uint32_t i = 0; i < count; i++)
        if (stream[i].chest == chest && (item == NO_INDEX || stream[i].item == item))
            return true;
    return false;
}

static bool is_meant_for(const struct scenario *scenario, uint32_t chest, uint32_t item) {
    return has_stream(scenario->supply, scenario->supply_count, chest, item) ||
           has_stream(scenario->demand, scenario->demand_count, chest, item) ||
           count_in(&scenario->chest[chest].start, item) != NOT_GIVEN ||
           count_in(&scenario->chest[chest].limits, item) != NOT_GIVEN;
}

static bool is_meant_for_some(const struct scenario *scenario, uint32_t chest) {
    return has_stream(scenario->supply, scenario->supply_count, chest, NO_INDEX) ||
           has_stream(scenario->demand, scenario->demand_count, chest, NO_INDEX) ||
           scenario->chest[chest].start.count > 0 || scenario->chest[chest].limits.count > 0;
}

static uint32_t plan_chest_of(const struct drawing *drawing, uint32_t given) {
    for (uint32_t c = 0; c < drawing->plan->chest_count; c++)
        if (drawing->plan->chest[c].given == given)
            return c;
    return NO_INDEX;
}

uint32_t draw_chests_use_given(struct drawing *drawing, uint32_t given) {
    uint32_t known = plan_chest_of(drawing, given);
    if (known != NO_INDEX)
        return known;
    struct plan_chest *chest = new_chest(drawing, NULL);
    chest->given = given;
    chest->capacity = drawing->scenario->chest[given].capacity;
    snprintf(chest->name, sizeof chest->name, "%s", drawing->scenario->chest[given].name);
    return drawing->plan->chest_count - 1;
}

/* Whether an item is in a chest already; a second stock of it, what is left over, wants another. */
static bool holds(const struct plan_chest *chest, uint32_t item) {
    for (uint32_t i = 0; i < chest->stock_count; i++)
        if (chest->stock[i].item == item)
            return true;
    return false;
}

/* A chest of the scenario that says that it is for an item; NO_INDEX: none does. */
static uint32_t meant_chest(struct drawing *drawing, uint32_t item) {
    for (uint32_t c = 0; c < drawing->choice->chests_given; c++) {
        if (!is_meant_for(drawing->scenario, c, item))
            continue;
        uint32_t at = draw_chests_use_given(drawing, c);
        if (!holds(&drawing->plan->chest[at], item))
            return at;
    }
    return NO_INDEX;
}

/* One of the scenario that is for nothing yet and has room; NO_INDEX: there is none. */
static uint32_t free_chest(struct drawing *drawing, int64_t room) {
    for (uint32_t c = 0; c < drawing->choice->chests_given; c++)
        if (!is_meant_for_some(drawing->scenario, c) && plan_chest_of(drawing, c) == NO_INDEX &&
            (drawing->scenario->chest[c].capacity == NO_LIMIT ||
             drawing->scenario->chest[c].capacity >= room))
            return draw_chests_use_given(drawing, c);
    return NO_INDEX;
}

/* ---- what goes where ---- */

/* What a chest can hold in all. */
static int64_t most_in(const struct drawing *drawing, const struct plan_chest *chest) {
    if (chest->given == NO_INDEX)
        return drawing->may->capacity_most;
    return chest->capacity == NO_LIMIT ? INT64_MAX / 2 : chest->capacity;
}

/* A stock in a chest of the scenario is as that says, as far as it says something. */
static void keep_given(const struct drawing *drawing, const struct plan_chest *chest,
                       struct plan_stock *stock) {
    const struct scenario_chest *given = &drawing->scenario->chest[chest->given];
    int64_t limit = count_in(&given->limits, stock->item);
    int64_t start = count_in(&given->start, stock->item);
    int64_t room = most_in(drawing, chest) - plan_chest_limits(chest);
    stock->limit = limit != NOT_GIVEN ? limit : stock->limit < room ? stock->limit : room;
    stock->limit = stock->limit > 1 ? stock->limit : 1;
    stock->start = start != NOT_GIVEN ? start : stock->start;
}

/* The chest of the scenario that is for an item and has none yet; else the last one of a kind if it
 * has room, one of the scenario that is free, or a new one. */
static uint32_t chest_for(struct drawing *drawing, uint32_t *last, const char *name, uint32_t item,
                          int64_t room) {
    struct plan *plan = drawing->plan;
    uint32_t meant = meant_chest(drawing, item);
    if (meant != NO_INDEX)
        return meant;
    bool fits =
        *last != NO_INDEX && !holds(&plan->chest[*last], item) &&
        plan_chest_limits(&plan->chest[*last]) + room <= most_in(drawing, &plan->chest[*last]);
    if (!fits)
        *last = free_chest(drawing, room);
    if (*last == NO_INDEX) {
        new_chest(drawing, name);
        *last = plan->chest_count - 1;
    }
    return *last;
}

uint32_t draw_chests_put(struct drawing *drawing, uint32_t *last, const char *name,
                         struct plan_stock stock) {
    int64_t most = drawing->may->capacity_most;
    int64_t room = stock.limit < most ? stock.limit : most;
    uint32_t at = chest_for(drawing, last, name, stock.item, room);
    struct plan_chest *chest = &drawing->plan->chest[at];
    if (chest->given != NO_INDEX)
        keep_given(drawing, chest, &stock);
    else if (room < stock.limit)
        plan_say_also(stock.why, "cut to %lld, the most that a chest may hold", (long long)room);
    if (chest->given == NO_INDEX)
        stock.limit = room;
    stock.start = stock.start < stock.limit ? stock.start : stock.limit;
    chest->stock = require_more_memory(chest->stock, chest->stock_count + 1, sizeof *chest->stock);
    chest->stock[chest->stock_count++] = stock;
    if (chest->given == NO_INDEX)
        chest->capacity = may_capacity_for(drawing->may, plan_chest_limits(chest));
    require(chest->capacity != NOT_GIVEN);
    return at;
}
