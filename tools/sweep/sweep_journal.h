/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/sweep/sweep_journal.h - the results of a sweep on the disk as they come: a line of text for
 * each run that is over, with a checksum, after a first line that stands for all that the sweep is
 * to run. A line that is damaged or cut short, and what follows it, is forgotten. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/base/directory.h"
#include "tools/sweep/sweep_run.h"

struct sweep_journal {
    int file;          /* -1: none is kept */
    uint64_t identity; /* of what is to be run */
    uint32_t width;    /* values of a result */
};

/* That of all long work: what begins and ends a directory looks for it. */
#define SWEEP_JOURNAL_NAME DIRECTORY_JOURNAL

/* A number that two sweeps of the same scenario, values, runs and time have in common, made of one
 * text after another. */
uint64_t sweep_journal_identity(uint64_t identity, const char *text);

/* What was found: nothing, results of this sweep, or those of another one. */
enum sweep_journal_found { SWEEP_JOURNAL_NONE, SWEEP_JOURNAL_SAME, SWEEP_JOURNAL_OTHER };

/* Opens the journal in the open directory `directory`, and reads the results of `count` units that
 * are in it, if it is of this sweep; `result[unit].value` has room for them. Returns 0 or an errno.
 * That of another sweep is left as it is. */
int sweep_journal_open(struct sweep_journal *journal, int directory, struct sweep_result *result,
                       uint64_t count, enum sweep_journal_found *found);
/* Adds a result. Returns 0 or an errno. */
int sweep_journal_add(struct sweep_journal *journal, uint64_t unit,
                      const struct sweep_result *result);
void sweep_journal_close(struct sweep_journal *journal);

/* What a finished sweep keeps in its directory, in the order of units: the same lines. The text is
 * freed by the caller. */
#define SWEEP_RESULTS_NAME "sweep.results"
char *sweep_journal_results(const struct sweep_journal *journal, const struct sweep_result *result,
                            uint64_t count);
/* Reads that file of the open directory `directory`, as far as it is good. */
enum sweep_journal_found sweep_journal_finished(const struct sweep_journal *journal, int directory,
                                                struct sweep_result *result, uint64_t count);
