/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/certain.h - random loops of the kinds that can often be proven never to fill. */
#pragma once

#include <stdint.h>

/* A valid scenario as YAML text, freed with free(); the same seed gives the same text. */
char *certain_scenario(uint64_t seed);
/* The same, of a feeder and a taker that work at one cell, which the belt passes at a fraction of a
 * step a tick: some items are taken where they are put down, and others ride a round first. */
char *one_cell_scenario(uint64_t seed);
