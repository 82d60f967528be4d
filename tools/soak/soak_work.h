/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_work.h - does the runs of a soak, many at once, keeps each as soon as it is over,
 * and puts the finished files in their place.
 *
 * The room tools/soak is the commands `soak` and `merge`. What comes in: a scenario, or a plan
 * (soak_plan.h). What goes out: a result for each run (soak_run.h), kept in a journal that survives
 * a kill (soak_journal.h); statistics, tables and a text of all results; evidence of jams. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/soak/soak_journal.h"

struct soak_order {
    const char *path; /* the directory of the files; NULL: none are written */
    uint64_t shard;   /* which runs; SOAK_NO_SHARD: all of them */
    uint32_t jobs;    /* runs at once */
    bool resume;      /* go on where an earlier soak to the same place was stopped */
    bool quiet;       /* no progress */
    void (*tell_resume)(
        const void *self); /* prints the command line that goes on, and a line end */
    const void *self;
};

/* Fills the book, and writes the files: of a whole soak its tables and soak.json, of a shard its
 * results, which `merge` reads. Returns a status: STATUS_HOLDS when all is done, whatever came of
 * it. What went wrong was reported. */
int soak_work(struct soak_journal *book, const struct soak_order *order);
