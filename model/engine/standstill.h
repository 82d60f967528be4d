/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/standstill.h - a standstill of the whole workshop: since when nothing has moved and
 * no actor was at work, in the sense of `rest` and in that of `deadlock` (rules 11). Nothing is
 * kept while things move; the question is answered from the parts as they are. That is enough
 * because between two moves only incidents and breakdowns change anything from outside, and these
 * call the two functions below. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/parts.h"

/* What was found. */
struct standstill_finding {
    int64_t since;    /* from when it has been still, NOT_GIVEN: it is not */
    int64_t retry;    /* if not, or not long enough: the tick of the next look that can find more */
    bool long_enough; /* every belt that runs has made its revolution or step since */
};

/* Finds out, in phase 6 of the current tick, since when the workshop has been still. */
struct standstill_finding standstill_find(struct world *world, enum standstill_kind kind);

/* Before the first incident or breakdown of a tick changes anything; and after all of them, in
 * phase 6: carries over what has been still in between, and forgets what has not. */
void standstill_before_outside(struct world *world);
void standstill_after_outside(struct world *world);

/* True when help from the edge is still to come: deadlock, 5 to 7. */
bool standstill_help_comes(const struct world *world);

/* The first tick in which a standstill that began with the last move can be long enough. */
int64_t standstill_earliest(struct world *world);
