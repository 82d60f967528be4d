/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/record.h - all that is kept of a run while it goes: its events, its tables, the
 * totals at the end of its warm-up; and the files that come of it. Without a directory there are no
 * files, but the same numbers.
 *
 * What comes in: a world that is run (model/engine/world.h), which reports to the record, and ticks
 * in which samples are taken. What goes out: an outcome (summary.h) and the tables of a directory.
 *
 * Between ticks, when all that drive.h does at the last tick is done:
 *  1. the world is sound (world_audit);
 *  2. an event is open in the log exactly when it is open in the world, since the same tick;
 *  3. of each kind that is watched the log has counted as many events as its subjects together have
 *     had, and no more count for the verdict than there were;
 *  4. of each subject no event ended before it started, and none lies in the future;
 *  5. a starvation is marked as unwanted exactly as long as it is (starvation.h);
 *  6. totals begin at the end of the warm-up, and no total has fallen since;
 *  7. of a count of a chest that was looked at, the lowest is not above the highest. */
#pragma once

#include <stdbool.h>

#include "model/engine/world.h"
#include "sim/bytes.h"
#include "tools/base/directory.h"
#include "tools/base/progress.h"
#include "tools/record/chest_levels.h"
#include "tools/record/events.h"
#include "tools/record/moves.h"
#include "tools/record/samples.h"
#include "tools/record/starvation.h"
#include "tools/record/summary.h"
#include "tools/record/totals.h"
#include "tools/record/verdict.h"

/* Who keeps moments of a run, for it to be gone on from (tools/checkpoint/capsule_policy.h). */
struct record_keeper {
    void *self; /* given back in each call; NULL: no moments are kept */
    /* A jam began whose last move was in tick `since_tick`; called from inside a tick. */
    void (*jam_began)(void *self, int64_t since_tick);
    /* The next tick, greater than `tick`, after which a moment is wanted. */
    int64_t (*next_stop)(void *self, int64_t tick);
    /* Between ticks: takes the moment, if it is wanted. */
    void (*take)(void *self);
    /* Writes the moments into the directory of the run. False: reported. */
    bool (*write)(void *self, const struct directory *directory);
};

/* Somebody who is called between ticks: `look` is called after each tick in which something was
 * due. False: the run is to stop there. */
struct record_onlooker {
    void *self;
    bool (*look)(void *self);
};

struct record {
    const struct scenario *scenario;
    struct world *world;
    const struct directory *directory; /* NULL: no files, or not yet */
    struct events *events;
    struct starvation *starvation;
    struct samples *samples; /* NULL: no tables are wanted */
    struct moves *moves;     /* NULL: not wanted, or not yet */
    struct record_keeper keeper;
    struct measured_totals window;
    struct chest_levels levels;
    struct verdict verdict;
};

/* Begins to listen to a world before its first tick. `directory` (NULL: none) must be begun, and
 * outlive the record; `with_moves`: also write moves.csv there. False: reported,
 * nothing to be freed. */
bool record_open(struct record *record, const struct scenario *scenario, struct world *world,
                 const struct directory *directory, bool with_moves);

/* The same in two steps, for a run that is followed for a while before its rows begin. First it
 * only counts; `tables`: rows are to come. Then its rows begin, after the world's last tick, with
 * the events that are open. False: reported. */
void record_begin(struct record *record, const struct scenario *scenario, struct world *world,
                  bool tables);
bool record_keep(struct record *record, const struct directory *directory, bool with_moves);

/* About how many bytes its tables grow by over `ticks` more; moves.csv at most. */
double record_bytes(const struct record *record, int64_t ticks);

/* Adds to `bytes` all that it has kept of the time so far, between ticks. Takes that back into a
 * record that has just begun, of a world in the state of that moment. False: they do not fit. */
void record_save(const struct record *record, struct bytes *bytes);
bool record_restore(struct record *record, const struct bytes *saved);

/* How the record listens, for somebody who listens in its place and passes all on. */
struct listener record_listener(struct record *record);
/* Listens again, after somebody else did. */
void record_listen(struct record *record);
/* Gives everything back; files that are not written stay as they are. */
void record_free(struct record *record);

/* Advances the world up to and including `last_tick`, and does all that is due on the way: samples,
 * the end of the warm-up, moments, progress. Stops early where a file cannot be written; then
 * record_failed is true; and where the onlooker wants it. `onlooker`: NULL: nobody. False: a signal
 * was noted, and the run stopped early. */
bool record_run_until(struct record *record, struct progress *progress,
                      const struct record_onlooker *onlooker, int64_t last_tick);

/* For those who run the world themselves: to be called when it has executed a sample tick, and when
 * it has executed the last tick of its warm-up. */
void record_sample(struct record *record);
void record_warm(struct record *record);

/* Checks the invariants above, between ticks; ends the program where one does not hold. */
void record_audit(struct record *record);

/* True when a file could not be written so far: going on is in vain, record_write will tell. */
bool record_failed(const struct record *record);

/* The run is over: ends what is still open and reaches the verdict. */
void record_end(struct record *record);
/* What came of it; good as long as the record. */
struct outcome record_outcome(const struct record *record);
/* Writes all files of the run, `summary` as summary.json. False: reported. */
bool record_write(struct record *record, const char *summary);
