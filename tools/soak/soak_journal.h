/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_journal.h - the results of a soak: in memory, and in a file to which each result
 * is appended as soon as its run has ended, so that a soak that is stopped in any way loses only
 * the unfinished runs.
 *
 * The file begins with "LWsoak3\n"; pieces follow, each its length, the length with all bits
 * changed, its bytes, and their checksum, all numbers little-endian. The first piece is the text of
 * the plan, the others are results in any order; an empty one says that all are there, and is the
 * end. A piece that is cut short by the end of the file ends what is read, and is written again;
 * anything else that is not as it was written makes the whole file damaged.
 *
 * What comes in: a plan (soak_plan.h), and the result of each run as it is over. What goes out: the
 * results for statistics and reports, and the runs of which capsules are kept.
 *
 *  1. The runs of which capsules are kept are the first ones, plan->keep at most, of the runs of
 *     the first variant that are done and have a jam; each once, ascending.
 *  2. A result that is done has values that a run can come to (soak_result_fits).
 *  3. A result that is not done owns nothing. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "tools/soak/soak_measures.h"
#include "tools/soak/soak_plan.h"

struct soak_journal {
    const struct soak_plan *plan;
    struct soak_measures measures[SOAK_VARIANTS_MAX];
    struct soak_result *result; /* of each unit */
    uint64_t *jammed;      /* runs of the first variant that have a jam, ascending: the first */
    uint64_t jammed_count; /*     plan->keep of those that are done */
    int file;              /* -1: none is written */
};

/* An empty book, without a file. The plan must outlive it. */
void soak_journal_init(struct soak_journal *book, const struct soak_plan *plan);
void soak_journal_free(struct soak_journal *book);

/* What reading a file gave. */
enum soak_reading {
    SOAK_ABSENT,    /* there is no such file, or nothing in it */
    SOAK_FOREIGN,   /* it is no book, or one of another plan */
    SOAK_DAMAGED,   /* something in it is not as it was written */
    SOAK_PARTIAL,   /* results were read; it ends before the mark that all are there */
    SOAK_WHOLE,     /* all are there */
    SOAK_UNREADABLE /* errno says why */
};
/* Reads results of `shard` (SOAK_NO_SHARD: of all) from the file `name` in the open directory
 * `directory`; *length is set to the bytes that are good. Results of other shards, or not all of
 * them before the mark that says so, are damage. */
enum soak_reading soak_journal_read(struct soak_journal *book, uint64_t shard, int directory,
                                    const char *name, int64_t *length);
/* How many results the book has. */
uint64_t soak_journal_done(const struct soak_journal *book);
/* Reads the plan that such a file begins with, whatever plan that is. False: it can't be read. */
bool soak_journal_read_plan(struct soak_plan *plan, int directory, const char *name);

/* From now on results are added to the file `name`, of which the first `length` bytes are kept.
 * Returns 0 or an errno. */
int soak_journal_keep(struct soak_journal *book, int directory, const char *name, int64_t length);

/* Takes over a result, whose memory it owns then, and adds it to the file. Returns 0 or an
 * errno. */
int soak_journal_add(struct soak_journal *book, uint64_t unit, const struct soak_result *result);
/* Makes what was written last on the disk. Returns 0 or an errno. */
int soak_journal_sync(struct soak_journal *book);

/* True when capsules of this run are among those to keep, as far as is known yet. */
bool soak_journal_keeps(const struct soak_journal *book, uint64_t run);

/* Checks the invariants above; ends the program where one does not hold. */
void soak_journal_audit(const struct soak_journal *book);

/* The bytes of a whole file, results in order; of one shard, or of all (SOAK_NO_SHARD). */
struct bytes soak_journal_bytes(const struct soak_journal *book, uint64_t shard);
