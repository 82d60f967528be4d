/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/snapshot.h - a moment of a world as plain memory: all of its arrays that a state is
 * made of, copied as they are. To take one costs a tenth of what it costs to save a state; so it
 * suits moments of which most are dropped again, and the state is made of those that are wanted.
 *
 * A snapshot is good for the world of which it was taken, as long as no state is restored into that
 * (state.h): it is no file format, and holds addresses. */
#pragma once

#include <stddef.h>

#include "sim/bytes.h"

struct world;

/* Adds a snapshot of a world between two ticks to `bytes`. The world is not changed. */
void snapshot_take(struct world *world, struct bytes *bytes);

/* Adds to `bytes` what state_save would have added when the snapshot of `length` bytes at `data`
 * was taken of this world, which is between two ticks, too, and is as it was when this returns. */
void snapshot_save(struct world *world, const void *data, size_t length, struct bytes *bytes);
