/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/capsule_policy.h - the moments of a run that are kept for replay: where it
 * starts, one at every multiple of a time, and for every jam one from before its `since`.
 *
 * When a jam is reported its `since` is past; so moments are taken all the time and dropped again,
 * the fewer the older they are. All stay in memory until the run is written. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/base/directory.h"
#include "tools/base/options.h"
#include "tools/checkpoint/capsule.h"
#include "tools/record/record.h"

/* Periodic moments that remain at most, and ages of recent ones, each twice the one before. */
enum { CAPSULE_POLICY_MOST = 64, CAPSULE_POLICY_AGES = 16 };

/* A moment that several may hold: one is freed when nobody holds it any more. Most are never
 * written; so the world is kept as a snapshot, of which its state is made when it is. */
struct kept {
    int64_t tick; /* the first one that was not executed yet */
    uint32_t refcount;
    struct bytes bytes; /* a snapshot (model/state/snapshot.h), then what record_save saves */
    size_t world_bytes; /* of the snapshot */
};

struct capsule_policy {
    const struct scenario *scenario;
    const struct record *record; /* of the run; its world is what it was, between calls */
    int64_t every_ticks;         /* doubled whenever there are too many */
    int64_t recent_ticks;        /* from one recent moment to the next */
    size_t start_bytes;          /* of the start in a capsule */
    size_t kept_most;            /* bytes of the longest moment so far */
    struct kept *start;
    struct kept *periodic[CAPSULE_POLICY_MOST + 1]; /* in the order of time */
    uint32_t periodic_count;
    struct kept *recent[CAPSULE_POLICY_AGES][2]; /* the last two of each age */
    struct kept **jam;                           /* in the order of the jams */
    uint32_t jam_count, jam_capacity;
};

/* What --keep-every asks for, else ten minutes, in ticks. False: it is wrong, and that was
 * reported. `command` is named in the message. */
bool capsule_policy_ticks(const struct options *options, const char *command,
                          const struct scenario *scenario, int64_t *ticks);

/* Becomes the keeper of a record (record.h), and takes the moment at which its world is as the
 * start; one every `every_ticks` > 0 follows. Both must outlive the run. The moments are written as
 * start.capsule (of tick 0; else named like the others), at-SECONDS.capsule, jam-NUMBER.capsule
 * from 1. */
void capsule_policy_begin(struct capsule_policy *policy, struct record *record,
                          int64_t every_ticks);
/* Warns where the disk has no room for the capsules and the tables of the record up to `last_tick`.
 */
void capsule_policy_check_space(const struct capsule_policy *policy,
                                const struct directory *directory, int64_t last_tick);
/* Gives the moments back; the record must not be run on. */
void capsule_policy_free(struct capsule_policy *policy);
