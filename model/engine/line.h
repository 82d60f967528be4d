/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/line.h - an accumulating line. The position of an item follows from an earlier one:
 * it advances a cell a step until it touches the item in front of it, at min(cell + steps, last
 * cell - lengths of all in front of it), so that a line costs nothing from one pick or place to the
 * next.
 */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct world;

/* Updates the cells of the line's items to the current tick. */
void line_update(struct world *world, uint32_t line);

/* True when an item of `length` could be put with its head at `cell` in the tick at work. */
bool line_is_free(struct world *world, uint32_t line, uint32_t cell, uint32_t length);

/* Kind whose head is at `cell` in the tick at work, NO_INDEX: none. */
uint32_t line_kind_at(struct world *world, uint32_t line, uint32_t cell);

/* The same after `step` steps; the world is not changed. */
uint32_t line_kind_at_step(const struct world *world, uint32_t line, uint32_t cell, int64_t step);

/* Puts an item of `kind` (within the track) at `cell`, which must be free; takes the one there. */
void line_put(struct world *world, uint32_t line, uint32_t cell, uint32_t kind);
void line_take(struct world *world, uint32_t line, uint32_t cell);

/* If nothing is put or taken: the first step, from `step` on, in which room for `length` is at
 * `cell`; BELT_CLOCK_NEVER when none comes. */
int64_t line_step_to_room(struct world *world, uint32_t line, uint32_t cell, uint32_t length,
                          int64_t step);

/* The last tick up to the one at work in which something rolled along, NOT_GIVEN when nothing has;
 * *rolling is true when something will still roll if the line is not stopped. */
int64_t line_rolled_tick(struct world *world, uint32_t line, bool *rolling);

/* The cell of item `item`, from the head end, after `step` steps, for a caller that asks for all of
 * them in turn; the world is not changed. *stop is where it comes to rest: to be the last cell for
 * the first, and moved on. */
uint32_t line_item_cell(const struct world *world, uint32_t line, uint32_t item, int64_t step,
                        int64_t *stop);

/* The last tick up to `step` in which something rolled along; the world is not changed. */
int64_t line_rolled_by_step(const struct world *world, uint32_t line, int64_t step);

/* Stops the program when items overlap or leave the line. */
void line_audit(const struct world *world, uint32_t line);
