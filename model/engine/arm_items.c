/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_items.c - searches over an arm's items and over what comes along its track. */
#include "model/engine/arm_items.h"

#include "model/engine/belt.h"
#include "model/engine/line.h"

bool arm_items_have_room(const struct world *world, const struct arm_plan *arm) {
    if (!arm_items_total_has_room(world, arm))
        return false;
    const struct arm_item *item = arm->item;
    for (uint32_t i = 0; i < arm->shape->item_count; i++)
        if (arm_items_item_has_room(world, arm, &item[i]))
            return true;
    return false;
}

/* ---- picking from a track ---- */

bool arm_items_lie_on_lane(const struct world *world, const struct arm_plan *arm) {
    const struct track_kind *kind = world->kind + world->track[arm->from].plan.first_kind;
    const struct arm_item *item = arm->item;
    for (uint32_t i = 0; i < arm->shape->likely_count; i++)
        if (kind[item[i].source].count > 0 && arm_items_item_has_room(world, arm, &item[i]))
            return true;
    return false;
}

uint32_t arm_items_steps_on_lane(const struct world *world, const struct arm_plan *arm,
                                 uint32_t classes, uint32_t slot) {
    const struct lane *lane = &world->track[arm->from].lane;
    for (uint64_t heads = lane_heads(lane, slot, classes); heads != 0; heads &= heads - 1) {
        uint32_t ahead = (uint32_t)__builtin_ctzll(heads);
        if (arm->shape->class_is_kind)
            return ahead;
        uint32_t there = slot + ahead;
        while (there >= lane->slot_count)
            there -= lane->slot_count;
        if (arm_items_wants_kind(world, arm, lane->kind[there]))
            return ahead;
    }
    return LANE_WINDOW;
}

int64_t arm_items_step_on_line(struct world *world, const struct arm_plan *arm, int64_t step) {
    uint32_t number = arm->from - world->scenario->lane_count;
    line_update(world, number);
    const struct line *line = &world->line[number];
    int64_t stop = (int64_t)world->track[arm->from].plan.cell_count - 1;
    for (uint32_t i = 0; i < line->item_count && stop >= arm->from_cell; i++) {
        uint32_t kind = world->line_item[world->line_plan[number].first_item + i].kind;
        int64_t cell = line_item_cell(world, number, i, step, &stop);
        if (cell <= arm->from_cell && arm_items_wanted_slot(world, arm, kind) != NO_INDEX)
            return step + (arm->from_cell - cell);
    }
    return BELT_CLOCK_NEVER;
}

/* ---- picking from a chest or station ---- */

static uint32_t choose_in_turn(const struct world *world, const struct arm_record *self,
                               int64_t *count) {
    const struct arm_plan *arm = &self->plan;
    uint32_t item_slot = self->state.item_slot;
    for (uint32_t i = 0; i < arm->shape->likely_count; i++) {
        item_slot = item_slot + 1 >= arm->shape->likely_count ? 0 : item_slot + 1;
        *count = arm_items_takeable(world, arm, item_slot);
        if (*count > 0)
            return item_slot;
    }
    return NO_INDEX;
}

static uint32_t choose_at_random(struct world *world, const struct arm_plan *arm, int64_t *count) {
    uint32_t choices = 0;
    for (uint32_t i = 0; i < arm->shape->likely_count; i++)
        choices += arm_items_takeable(world, arm, i) > 0;
    if (choices == 0)
        return NO_INDEX;
    uint32_t left = random_below(&world->random[arm->shape->choice_chance], choices);
    uint32_t item_slot = 0;
    while ((*count = arm_items_takeable(world, arm, item_slot)) == 0 || left-- > 0)
        item_slot++;
    return item_slot;
}

uint32_t arm_items_choose_of_several(struct world *world, const struct arm_record *arm,
                                     int64_t *count) {
    if (arm->plan.shape->choice_chance != NO_INDEX)
        return choose_at_random(world, &arm->plan, count);
    return choose_in_turn(world, arm, count);
}
