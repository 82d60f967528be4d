/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/common/dice.h - random numbers for tests: splitmix64 (G. Steele, D. Lea, C. Flood, "Fast
 * splittable pseudorandom number generators", OOPSLA 2014), which shares nothing with the generator
 * that is tested. The state is a single number, and any number is a good seed. */
#pragma once

#include <stdint.h>

/* The next 64 bits. */
uint64_t dice_bits(uint64_t *state);

/* One of 0 .. count-1, as good as equally likely where `count` is far below 2^64; count >= 1. */
uint64_t dice_below(uint64_t *state, uint64_t count);
