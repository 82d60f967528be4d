/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/bench/hand.h - an engine written by hand for the benchmark scenario and for nothing else,
 * by which docs/speed.md measures what it costs to be general. It makes the same moves in the same
 * ticks, but has no listener, keeps no totals but the number of moves, can stop nothing, and knows
 * one hand, one length, one swing of each kind of arm, one belt and a hundred ticks a second. */
#pragma once

#include <stdint.h>

#include "tests/bench/ring.h"

struct hand;

/* The workshop before tick 0. 60 cells a sector, a hundred ticks a second, no idle arms, orders in
 * all sectors. Freed with hand_free(). */
struct hand *hand_new(const struct ring *ring);
void hand_free(struct hand *hand);

/* Executes all ticks up to and including `tick`. */
void hand_advance(struct hand *hand, int64_t tick);

/* Picks and places so far. */
uint64_t hand_moves(const struct hand *hand);
