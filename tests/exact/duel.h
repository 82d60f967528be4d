/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/duel.h - the engine and the literal engine on the same scenario, side by side. */
#pragma once

#include <stdint.h>
#include <stdio.h>

#include "model/engine/listener.h"

/* What happened in a run, to see that a comparison covered something. */
struct duel_tally {
    uint64_t moves;
    uint64_t streams; /* of chance */
    uint64_t events[EVENT_KINDS];
};

/* Runs both to the end of the scenario and compares every move in order, every event, and at
 * checkpoints (at ticks that `seed` draws) all counts, states and totals; checks the identities of
 * section 13 on both. Writes the first difference to `report` and returns false, or returns true.
 */
bool duel_agrees(const struct scenario *scenario, uint64_t seed, FILE *report,
                 struct duel_tally *tally);
