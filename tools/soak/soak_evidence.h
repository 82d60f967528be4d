/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_evidence.h - what is kept of a run with a jam: a capsule from before its first
 * jam, and the events that led to it. */
#pragma once

#include <stdbool.h>

#include "tools/base/directory.h"
#include "tools/soak/soak_journal.h"
#include "tools/soak/soak_measures.h"
#include "tools/soak/soak_plan.h"

/* Runs the run again as far as it needs and writes its files into the directory, where they appear
 * whole. False: reported, or a signal was noted. */
bool soak_keep(const struct soak_plan *plan, uint64_t run, const struct soak_result *result,
               const struct directory *directory);
/* Takes the files of a run away again; what cannot be removed is reported. */
void soak_keep_drop(const struct directory *directory, uint64_t run);
/* True when both files of a run are in an open directory. */
bool soak_keep_is_there(int directory, uint64_t run);
/* True when a file of this name is kept of a run that the book keeps. */
bool soak_keep_is_of(const struct soak_journal *book, const char *name);
