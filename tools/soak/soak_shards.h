/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_shards.h - the directory of a plan: plan.json, and a directory for each shard
 * that is done. Run k belongs to shard k mod N, and is the same run whatever N is. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/soak/soak_files.h"
#include "tools/soak/soak_journal.h"
#include "tools/soak/soak_plan.h"

/* Writes a plan into a directory, which must be new, or empty, or hold the same plan. Returns a
 * status; what went wrong was reported. `talks`: says how to go on. */
int soak_shards_write_plan(const struct soak_plan *plan, const char *path, bool talks);
/* Reads the plan of a directory. Returns a status; STATUS_HOLDS: to be freed. */
int soak_shards_read_plan(struct soak_plan *plan, const char *path);
/* The directory of a shard; to be freed. */
char *soak_shards_path(const char *path, uint64_t shard);
/* Adds what the shards kept of the jams that the book keeps. False: reported. */
bool soak_shards_add_kept(const struct soak_files *files, const struct soak_journal *book,
                          const char *path);
