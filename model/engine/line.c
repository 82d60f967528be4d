/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/line.c - invariant: items are in order from the head end, none overlaps
 * the next, none leaves the line, and roll_until is the last step that moves any of them if no arm
 * or incident interferes. */
#include "model/engine/line.h"

#include <string.h>

#include "model/engine/belt.h"
#include "model/engine/parts.h"
#include "sim/require.h"

static uint32_t track_of(const struct world *world, uint32_t line) {
    return world->scenario->lane_count + line;
}

static struct line_item *items_of(const struct world *world, uint32_t line) {
    return world->line_item + world->line_plan[line].first_item;
}

static uint32_t length_of(const struct world *world, uint32_t line, uint32_t kind) {
    return world->kind[world->track[track_of(world, line)].plan.first_kind + kind].length;
}

/* Where an item is at `step`, given where it comes to rest. */
static int64_t cell_at(const struct line *line, const struct line_item *item, int64_t stop,
                       int64_t step) {
    int64_t cell = item->cell + (step - line->step);
    return cell < stop ? cell : stop;
}

static int64_t last_cell(const struct world *world, uint32_t line) {
    return (int64_t)world->track[track_of(world, line)].plan.cell_count - 1;
}

static void find_roll_until(struct world *world, uint32_t index) {
    struct line *line = &world->line[index];
    const struct line_item *item = items_of(world, index);
    int64_t stop = last_cell(world, index), longest = 0;
    for (uint32_t i = 0; i < line->item_count; i++) {
        if (stop - item[i].cell > longest)
            longest = stop - item[i].cell;
        stop -= length_of(world, index, item[i].kind);
    }
    line->roll_until = line->step + longest;
}

void line_update(struct world *world, uint32_t index) {
    struct line *line = &world->line[index];
    struct line_item *item = items_of(world, index);
    int64_t step = belt_step(world, belt_of_line(world, index));
    if (step == line->step)
        return;
    bool rolling;
    line->rolled_tick = line_rolled_tick(world, index, &rolling);
    int64_t stop = last_cell(world, index);
    for (uint32_t i = 0; i < line->item_count; i++) {
        item[i].cell = (uint32_t)cell_at(line, &item[i], stop, step);
        stop -= length_of(world, index, item[i].kind);
    }
    line->step = step;
}

int64_t line_rolled_by_step(const struct world *world, uint32_t index, int64_t step) {
    const struct line *line = &world->line[index];
    int64_t last = step < line->roll_until ? step : line->roll_until;
    if (last <= line->step)
        return line->rolled_tick;
    return belt_clock_tick_of(&world->belt[belt_of_line(world, index)].state.clock, last);
}

int64_t line_rolled_tick(struct world *world, uint32_t index, bool *rolling) {
    const struct belt *belt = &world->belt[belt_of_line(world, index)].state;
    int64_t step = belt_step(world, belt_of_line(world, index));
    *rolling = belt->clock.running && world->line[index].roll_until > step;
    return line_rolled_by_step(world, index, step);
}

uint32_t line_item_cell(const struct world *world, uint32_t index, uint32_t item, int64_t step,
                        int64_t *stop) {
    const struct line_item *self = &items_of(world, index)[item];
    int64_t cell = cell_at(&world->line[index], self, *stop, step);
    *stop -= length_of(world, index, self->kind);
    return (uint32_t)cell;
}

/* Index of the first item, from the head end, whose head is at or before `cell`. */
static uint32_t first_at_or_before(const struct world *world, uint32_t line, uint32_t cell) {
    const struct line_item *item = items_of(world, line);
    uint32_t low = 0, high = world->line[line].item_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (item[middle].cell > cell)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

bool line_is_free(struct world *world, uint32_t line, uint32_t cell, uint32_t length) {
    line_update(world, line);
    if (cell + 1 < length)
        return false;
    const struct line_item *item = items_of(world, line);
    uint32_t next = first_at_or_before(world, line, cell);
    if (next < world->line[line].item_count && item[next].cell + length > cell)
        return false;
    return next == 0 || item[next - 1].cell >= cell + length_of(world, line, item[next - 1].kind);
}

uint32_t line_kind_at(struct world *world, uint32_t line, uint32_t cell) {
    line_update(world, line);
    uint32_t at = first_at_or_before(world, line, cell);
    const struct line_item *item = items_of(world, line);
    return at < world->line[line].item_count && item[at].cell == cell ? item[at].kind : NO_INDEX;
}

uint32_t line_kind_at_step(const struct world *world, uint32_t index, uint32_t cell, int64_t step) {
    const struct line *line = &world->line[index];
    const struct line_item *item = items_of(world, index);
    int64_t stop = last_cell(world, index);
    for (uint32_t i = 0; i < line->item_count; i++) {
        if (cell_at(line, &item[i], stop, step) == cell)
            return item[i].kind;
        stop -= length_of(world, index, item[i].kind);
    }
    return NO_INDEX;
}

void line_put(struct world *world, uint32_t index, uint32_t cell, uint32_t kind) {
    require(line_is_free(world, index, cell, length_of(world, index, kind)));
    struct line *line = &world->line[index];
    struct line_item *item = items_of(world, index);
    uint32_t at = first_at_or_before(world, index, cell);
    memmove(&item[at + 1], &item[at], (line->item_count - at) * sizeof *item);
    item[at] = (struct line_item){.cell = cell, .kind = kind};
    line->item_count++;
    find_roll_until(world, index);
}

void line_take(struct world *world, uint32_t index, uint32_t cell) {
    line_update(world, index);
    struct line *line = &world->line[index];
    struct line_item *item = items_of(world, index);
    uint32_t at = first_at_or_before(world, index, cell);
    require(at < line->item_count && item[at].cell == cell);
    line->item_count--;
    memmove(&item[at], &item[at + 1], (line->item_count - at) * sizeof *item);
    find_roll_until(world, index);
}

int64_t line_step_to_room(struct world *world, uint32_t index, uint32_t cell, uint32_t length,
                          int64_t step) {
    line_update(world, index);
    const struct line *line = &world->line[index];
    const struct line_item *item = items_of(world, index);
    int64_t stop = last_cell(world, index);
    for (uint32_t i = 0; i < line->item_count; i++) {
        int64_t own = length_of(world, index, item[i].kind);
        int64_t at = cell_at(line, &item[i], stop, step);
        if (at + length <= cell) /* not there yet, nor is any upstream of it */
            return step;
        if (at - own < cell) { /* over the room: when is its tail past? */
            if (stop < cell + own)
                return BELT_CLOCK_NEVER;
            step += cell + own - at;
        }
        stop -= own;
    }
    return step;
}

void line_audit(const struct world *world, uint32_t index) {
    const struct line_item *item = items_of(world, index);
    int64_t above = last_cell(world, index) + 1; /* lowest cell held in front */
    for (uint32_t i = 0; i < world->line[index].item_count; i++) {
        require(item[i].cell < above);
        above = (int64_t)item[i].cell + 1 - length_of(world, index, item[i].kind);
        require(above >= 0);
    }
}
