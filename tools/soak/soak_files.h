/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_files.h - the files of a finished soak, written one after another. */
#pragma once

#include <stdbool.h>
#include <stddef.h>

#include "tools/soak/soak_journal.h"

/* Where files go. `add` writes one; false: it was reported, and no other is asked for. */
struct soak_files {
    bool (*add)(void *self, const char *name, const void *bytes, size_t length);
    void *self;
};

/* The results of one shard (SOAK_NO_SHARD: of all) as `merge` and --resume read them. */
bool soak_files_add_results(const struct soak_files *files, const struct soak_journal *book,
                            uint64_t shard);
/* The tables of a whole soak, its statistics and its scenario. */
bool soak_files_add_tables(const struct soak_files *files, const struct soak_journal *book);
