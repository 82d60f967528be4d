/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/scatter.h - random scenarios that are small, busy and unusual on purpose: all
 * kinds of arms, gates, stations, supplies, demands, incidents and breakdowns mixed. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* A valid scenario as YAML text, freed with free(); the same seed gives the same text. With
 * `chance` it has random elements too (durations, choices, outputs, breakdowns). */
char *scatter_scenario(uint64_t seed, bool chance);

/* The same from bytes, which are used up draw by draw: one that changes changes one draw. What is
 * drawn after the last of them comes from their number as a seed. */
char *scatter_from_bytes(const unsigned char *byte, size_t length, bool chance);

/* Writes ticks as seconds with nine places, which read back to the same number of ticks. */
void scatter_write_ticks(FILE *out, int64_t ticks, int64_t ticks_per_second);
