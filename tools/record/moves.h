/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/moves.h - moves.csv: a row for every pick and place, in the order in which they
 * happened. */
#pragma once

#include <stdbool.h>

#include "model/engine/listener.h"
#include "tools/base/directory.h"

struct moves;

/* Begins the table of a run of `scenario`, which must outlive it. */
struct moves *moves_open(const struct scenario *scenario, const struct directory *directory);
/* Adds a row; to be called by a listener. */
void moves_add(struct moves *moves, const struct move *move);
/* True when the table could not be written so far: going on is in vain. */
bool moves_failed(const struct moves *moves);
/* Ends the table and gives everything back. False: it could not be written, and that was reported.
 */
bool moves_close(struct moves *moves, const struct directory *directory);
/* Gives everything back, the table as it is. NULL is allowed. */
void moves_discard(struct moves *moves);
