/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/samples.h - the tables that look at a world at each sample tick: occupancy.csv,
 * lanes.csv, levels.csv, stations.csv, arms.csv. Which rows there are, and what in them never
 * changes, is worked out once. */
#pragma once

#include <stdbool.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "sim/bytes.h"
#include "tools/base/directory.h"

struct samples;

/* The tables of a run of `scenario`, which must outlive them, before any of them is written:
 * samples are only noted, for the first rows of levels.csv to be compared with. They are taken of
 * `world`, or of another world of the scenario. */
struct samples *samples_new(const struct scenario *scenario, const struct world *world);
/* Begins the tables in `directory`, which must outlive the call only. */
void samples_keep(struct samples *samples, const struct directory *directory);
/* The rows of levels.csv, counted from 0. The names are the scenario's. */
struct samples_level {
    const char *place, *stock, *item; /* stock: "/in" or "/out" of a station; "" of a chest */
};
uint32_t samples_level_count(const struct samples *samples);
struct samples_level samples_level(const struct samples *samples, uint32_t row);
/* What is there now. */
int64_t samples_level_now(const struct samples *samples, const struct world *world, uint32_t row);
/* About how many bytes a sample adds to the tables, all together. */
double samples_bytes(const struct samples *samples);
/* Adds the rows of the world's last tick, which is a sample tick. */
void samples_take(struct samples *samples, const struct world *world);
/* Adds to `bytes` what the last sample found; takes that back into new tables. False: not such
 * bytes. What is known of rows that there are no more is left out. */
void samples_save(const struct samples *samples, struct bytes *bytes);
bool samples_restore(struct samples *samples, struct bytes_reader *reader);
/* True when a table could not be written so far: going on is in vain. */
bool samples_failed(const struct samples *samples);
/* Ends the tables and gives everything back. False: a table could not be written, and that was
 * reported. */
bool samples_close(struct samples *samples, const struct directory *directory);
/* Gives everything back, the tables as they are; for a run that is given up. NULL is allowed. */
void samples_discard(struct samples *samples);
