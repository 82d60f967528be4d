/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_report.h - what came of the runs of a soak: which of them hold, and a row for
 * each. Nothing in it depends on the order in which runs were done, on the machine, or on the place
 * of the files. */
#pragma once

#include <stdbool.h>

#include "tools/soak/soak_journal.h"

/* The confidence of all intervals. */
#define SOAK_CONFIDENCE 0.95

/* The name of the capsule of a run's first jam, and of the events before it. */
enum { SOAK_NAME_BYTES = 48 };
char *soak_capsule_name(uint64_t run, char name[SOAK_NAME_BYTES]);
char *soak_events_name(uint64_t run, char name[SOAK_NAME_BYTES]);

const struct soak_result *soak_report_result(const struct soak_journal *book, uint32_t variant,
                                             uint64_t run);
/* The name of a product, counted as in struct soak_measures. */
const char *soak_report_product(const struct soak_journal *book, uint32_t variant, uint32_t index);

/* True when a run has no jam that counts and came out as expected; of one with disturbances, when
 * it is not stuck at its end. */
bool soak_report_run_holds(const struct soak_journal *book, uint32_t variant, uint64_t run);
/* The first run of a variant that does not; the number of runs, when all do. */
uint64_t soak_report_first_bad(const struct soak_journal *book, uint32_t variant);
/* True when all runs of the first variant hold. */
bool soak_report_holds(const struct soak_journal *book);

/* The text of runs.csv, or of the same table of the second variant; freed by the caller. */
char *soak_report_runs(const struct soak_journal *book, uint32_t variant);
