/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/common/dice.h"

uint64_t dice_bits(uint64_t *state) {
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

uint64_t dice_below(uint64_t *state, uint64_t count) { return dice_bits(state) % count; }
