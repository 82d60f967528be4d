/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_items.h - which of its items an arm can pick now: what its destination has room
 * for, what lies in its source, and what comes along its track. An item slot is an index in the
 * list of an arm's items; the first `likely_count` of them can be at its source. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/stock.h"

/* ---- room at the destination ---- */

/* Room for one more item of any kind in the place as a whole; for this item, given that. */
static inline bool arm_items_total_has_room(const struct world *world, const struct arm_plan *arm) {
    return arm->shape->to_track || stock_accepts(world, arm->to);
}

static inline bool arm_items_item_has_room(const struct world *world, const struct arm_plan *arm,
                                           const struct arm_item *item) {
    return !arm->shape->bounded_room || item->dest == NO_INDEX || stock_accepts(world, item->dest);
}

/* Room for one more of any of the arm's items. */
bool arm_items_have_room(const struct world *world, const struct arm_plan *arm);

/* ---- picking from a track ---- */

/* The item slot of a kind of the source track; NO_INDEX: the arm does not handle it. */
static inline uint32_t arm_items_slot_of_kind(const struct world *world, const struct arm_plan *arm,
                                              uint32_t kind) {
    if (arm->shape->kind_map != NO_INDEX)
        return world->kind_map[arm->shape->kind_map + kind];
    const struct arm_item *item = arm->item;
    for (uint32_t i = 0; i < arm->shape->likely_count; i++)
        if (item[i].source == kind)
            return i;
    return NO_INDEX;
}

/* Whether the arm has room for a kind of the source track, given that the place as a whole has. */
static inline bool arm_items_wants_kind(const struct world *world, const struct arm_plan *arm,
                                        uint32_t kind) {
    uint32_t item_slot = arm_items_slot_of_kind(world, arm, kind);
    return item_slot != NO_INDEX && arm_items_item_has_room(world, arm, &arm->item[item_slot]);
}

/* The item slot of a kind of the source track that the arm would pick now; NO_INDEX: none. */
static inline uint32_t arm_items_wanted_slot(const struct world *world, const struct arm_plan *arm,
                                             uint32_t kind) {
    uint32_t item_slot = arm_items_slot_of_kind(world, arm, kind);
    if (item_slot == NO_INDEX || !arm_items_item_has_room(world, arm, &arm->item[item_slot]) ||
        !arm_items_total_has_room(world, arm))
        return NO_INDEX;
    return item_slot;
}

/* True when some item that the arm has room for lies on its lane, wherever. */
bool arm_items_lie_on_lane(const struct world *world, const struct arm_plan *arm);

/* How many steps until an item of these classes that it has room for stands at its cell, when the
 * slot that is there first is `slot`; LANE_WINDOW when none comes before. */
uint32_t arm_items_steps_on_lane(const struct world *world, const struct arm_plan *arm,
                                 uint32_t classes, uint32_t slot);

/* The first step, from `step` on, in which an item that it can pick stands at its cell on a line if
 * nobody puts or takes; BELT_CLOCK_NEVER when none comes. */
int64_t arm_items_step_on_line(struct world *world, const struct arm_plan *arm, int64_t step);

/* ---- picking from a chest or station ---- */

/* How many of an item can be picked now: not more than lie there, nor than there is room for. */
static inline int64_t arm_items_takeable(const struct world *world, const struct arm_plan *arm,
                                         uint32_t item_slot) {
    const struct arm_item *item = &arm->item[item_slot];
    int64_t count = world->tally[item->source].count;
    if (count == 0 || arm->shape->to_track)
        return count;
    int64_t room = stock_room(world, item->dest == NO_INDEX ? arm->to : item->dest, arm->to);
    return count < room ? count : room;
}

/* The item slot to pick next by the arm's `choose`, and how many can be picked; NO_INDEX: none.
 * Draws a number when the choice is random and something can be picked. */
uint32_t arm_items_choose_of_several(struct world *world, const struct arm_record *arm,
                                     int64_t *count);
__attribute__((always_inline)) static inline uint32_t
arm_items_choose(struct world *world, const struct arm_record *arm, int64_t *count) {
    if (!arm->plan.shape->one_item)
        return arm_items_choose_of_several(world, arm, count);
    *count = arm_items_takeable(world, &arm->plan, 0);
    return *count > 0 ? 0 : NO_INDEX;
}
