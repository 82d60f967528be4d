/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/capsule_policy.h - the moments of a run that are kept for replay: where it
 * starts, one at every multiple of a time, and for every jam one from before its `since`.
 *
 * When a jam is told its `since` is past; so moments are taken all the time and forgotten again,
 * the thinner the older they are. All stay in memory until the run is written. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/base/directory.h"
#include "tools/base/options.h"
#include "tools/checkpoint/capsule.h"

struct record;

/* Periodic moments that remain at most, and ages of passing ones, each twice the one before. */
enum { CAPSULE_POLICY_MOST = 64, CAPSULE_POLICY_AGES = 16 };

/* A moment with as many uses as it has names. */
struct kept {
    struct moment moment;
    uint32_t users;
};

struct capsule_policy {
    const struct scenario *scenario;
    int64_t every_ticks; /* doubled whenever there are too many */
    int64_t pass_ticks;  /* from one passing moment to the next */
    struct kept *start;
    struct kept *periodic[CAPSULE_POLICY_MOST + 1]; /* in the order of time */
    uint32_t periodic_count;
    struct kept *passing[CAPSULE_POLICY_AGES][2]; /* the last two of each age */
    struct kept **jam;                            /* in the order of the jams */
    uint32_t jam_count, jam_capacity;
};

/* What --keep-every asks for, else ten minutes, in ticks. False: it is wrong, and that was told. */
bool capsule_policy_ticks(const struct options *options, const char *command,
                          const struct scenario *scenario, int64_t *ticks);

/* Begins to keep moments of a run of `scenario`, one every `every_ticks` > 0. */
void capsule_policy_init(struct capsule_policy *keeper, const struct scenario *scenario,
                         int64_t every_ticks);
void capsule_policy_free(struct capsule_policy *keeper);

/* The next tick whose moment is wanted when `world_tick` is the last one executed; the start has
 * been taken. */
int64_t capsule_policy_next(const struct capsule_policy *keeper, int64_t world_tick);
/* Takes the moment at which a world is with what the record has kept so far, if it is wanted; the
 * first one is the start. One behind the end of the run is not wanted: nothing could be replayed
 * from it. */
void capsule_policy_take(struct capsule_policy *keeper, const struct record *record);
/* A jam was met whose last move was in tick `since`. May be called from inside a tick. */
void capsule_policy_note_jam(struct capsule_policy *keeper, int64_t since);

/* Writes them: start.capsule (of tick 0; else named like the others), at-SECONDS.capsule,
 * jam-NUMBER.capsule from 1. False: told. */
bool capsule_policy_write(const struct capsule_policy *keeper, const struct directory *directory);
