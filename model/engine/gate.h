/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/gate.h - gates: kept up to date at every change of the counts that they read, within
 * a tick too, because a latch remembers. Each tally stores the range in which none of its gates
 * changes, so that a gate costs nothing while its count stays on one side of its threshold. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct world;

/* Updates the gates that read `tally`, and wakes the owners of those that open or close.
 */
void gate_update(struct world *world, uint32_t tally);

/* Works out which counts of a tally concern nobody: no gate changes, and no actor waits. */
void gate_find_quiet_range(struct world *world, uint32_t tally);

/* Where a latch reopens; NOT_GIVEN: it is none. And the gate that a part belongs to in the end. */
int64_t gate_reopen_below(const struct world *world, uint32_t gate);
uint32_t gate_top(const struct world *world, uint32_t gate);

/* True when the gate is open; NO_INDEX (no gate) always is. */
bool gate_is_open(const struct world *world, uint32_t gate);

/* Initial state of all gates at tick 0, from the counts; wakes no actor. */
void gate_init_all(struct world *world);

/* Recomputes combined gates, and the range of each count in which no gate changes, from the leaves
 * as they are; wakes no actor. */
void gate_update_all(struct world *world);

/* Stops the program when a gate is not what its counts make it (invariant 4 of world.h). */
void gate_audit(const struct world *world);
