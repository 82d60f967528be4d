/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/capsule.h - one file with all that is needed to go on from a moment exactly: the
 * scenario, the state of the world, and what the tables and the summary of the whole run need of
 * the time before.
 *
 * A capsule is a sealed file (sim/sealed_file.h) of kind "capsule". One of tick t is taken before
 * phase 1 of t, when the world has executed t - 1. It is refused whole when a bit of it is wrong,
 * and when another version of the program wrote it, because that may run otherwise.
 *
 * The room tools/checkpoint keeps moments of a run. What comes in: a world and its record. What
 * goes out: capsules, which of them a run keeps (capsule_policy.h), and stretches to be read by a
 * person (replay_view.h). */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "sim/bytes.h"
#include "sim/fault.h"

/* A moment of a run of one scenario, in memory. Owns its bytes; moment_free gives them back. */
struct moment {
    int64_t tick;        /* the first one that is not executed yet */
    struct bytes state;  /* model/state/state.h */
    struct bytes record; /* tools/record/record.h, record_save; empty: none */
};

/* The moment at which a world is, between ticks. */
struct moment moment_take(const struct world *world);
void moment_free(struct moment *moment);

/* What a file holds. */
struct capsule {
    char *text; /* the scenario as it was run */
    uint64_t seed;
    struct moment moment;
};

/* Makes PATH a capsule. False: a fault was added, and PATH is as it was. */
bool capsule_write(const char *path, const struct scenario *scenario, const struct moment *moment,
                   struct faults *faults);
/* The bytes of that file, in *bytes (free() it); returns their number. */
size_t capsule_bytes(const struct scenario *scenario, const struct moment *moment, void **bytes);

/* Reads a capsule; freed with capsule_free. False: a fault was added, and *capsule is as it was.
 * That its scenario reads and its state fits is only seen by the next two. */
bool capsule_read(const char *path, struct capsule *capsule, struct faults *faults);
void capsule_free(struct capsule *capsule);

/* Its scenario, with overrides as of read_scenario; `path` is named in messages. NULL: errors were
 * added; without overrides that is the capsule's fault. Freed with scenario_free. */
struct scenario *capsule_scenario(const struct capsule *capsule, const char *path,
                                  const char *const *override, size_t override_count,
                                  struct faults *faults);

/* A new world of `scenario` at the capsule's moment, nobody listening; NULL: the state does not fit
 * it, because it is forged or the scenario has other parts (model/state/state.h). Freed with
 * world_free.
 */
struct world *capsule_world(const struct capsule *capsule, const struct scenario *scenario);

/* ---- in the directory of a run, by the times in their names ---- */

/* False, and reported: the directory is that of a soak, which is no run that could be explained or
 * replayed, but keeps capsules of several. */
bool capsule_directory_is_a_run(const char *directory);
/* The path of the last capsule in a directory that is not after `microseconds`; the first of all,
 * where all are after it; freed by the caller. NULL: it holds none, or errno, else 0, says why it
 * cannot be read. Those kept for jams are not looked at. */
char *capsule_find_before(const char *directory, int64_t microseconds);
/* Where the capsule is that a command line names: `-` is standard input, which must be a file. */
const char *capsule_path(const char *operand);
/* DIRECTORY/FILE; freed by the caller. */
char *capsule_path_in(const char *directory, const char *file);
