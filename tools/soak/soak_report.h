/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_report.h - what came of a soak: a row for each run, the statistics of all of them
 * as data, and the same in words. Nothing in it hangs on the order in which runs were done, on the
 * machine, or on the place of the files. */
#pragma once

#include <stdbool.h>
#include <stdio.h>

#include "tools/soak/soak_journal.h"

/* The confidence of all intervals. */
#define SOAK_CONFIDENCE 0.95

/* The name of the capsule of a run's first jam, and of the events before it. */
enum { SOAK_NAME_BYTES = 48 };
char *soak_capsule_name(uint64_t run, char name[SOAK_NAME_BYTES]);
char *soak_events_name(uint64_t run, char name[SOAK_NAME_BYTES]);

/* The text of runs.csv, or of the same table of the second variant; freed by the caller. */
char *soak_report_runs(const struct soak_journal *book, uint32_t variant);
/* The text of soak.json, LF at its end; freed by the caller. */
char *soak_report_json(const struct soak_journal *book);

/* Prints it to be read. `path`: the directory of the files, NULL: none were written. */
void soak_report_print(const struct soak_journal *book, const char *path, FILE *out);

/* True when no run has a jam that counts and all hold. */
bool soak_report_holds(const struct soak_journal *book);
