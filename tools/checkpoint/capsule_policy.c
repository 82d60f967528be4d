/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/capsule_policy.c - the n-th recent moment is of the age of the lowest bit of n:
 * of each age the last two are kept, so that for any time past there is one that is little older
 * than it. */
#include "tools/checkpoint/capsule_policy.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/quantity.h"
#include "model/state/snapshot.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/space.h"

enum {
    EVERY_SECONDS = 600,
    RECENT_SECONDS = 30,
    RECENT_BYTES = 1 << 16,
    NAME_BYTES = QUANTITY_TEXT_SIZE + 32
};

bool capsule_policy_ticks(const struct options *options, const char *command,
                          const struct scenario *scenario, int64_t *ticks) {
    *ticks = EVERY_SECONDS * scenario->ticks_per_second;
    if (!options_ticks(options, command, OPTION_KEEP_EVERY, scenario->ticks_per_second, ticks))
        return false;
    if (*ticks <= 0)
        fprintf(stderr, "loopwright %s: `--keep-every` needs a duration longer than 0\n", command);
    return *ticks > 0;
}

/* ---- uses ---- */

static struct kept *use(struct kept *kept) {
    kept->refcount++;
    return kept;
}

static void drop(struct kept *kept) {
    if (kept == NULL || --kept->refcount > 0)
        return;
    bytes_free(&kept->bytes);
    free(kept);
}

void capsule_policy_free(struct capsule_policy *policy) {
    drop(policy->start);
    for (uint32_t i = 0; i < policy->periodic_count; i++)
        drop(policy->periodic[i]);
    for (int age = 0; age < CAPSULE_POLICY_AGES; age++)
        for (int i = 0; i < 2; i++)
            drop(policy->recent[age][i]);
    for (uint32_t i = 0; i < policy->jam_count; i++)
        drop(policy->jam[i]);
    free(policy->jam);
    *policy = (struct capsule_policy){0};
}

/* ---- taking ---- */

static int64_t multiple_after(int64_t every, int64_t tick) { return (tick / every + 1) * every; }

/* A moment of a tick is taken when the world has executed the tick before. */
static int64_t next_stop(void *self, int64_t tick) {
    const struct capsule_policy *policy = self;
    int64_t taken = tick + 1; /* a moment of this tick has been taken, if it was wanted */
    int64_t periodic = multiple_after(policy->every_ticks, taken);
    int64_t recent = multiple_after(policy->recent_ticks, taken);
    return (periodic < recent ? periodic : recent) - 1;
}

/* The state of its moment, and what the record had kept by then; the bytes of the latter are those
 * of `kept`. */
static struct moment as_moment(const struct capsule_policy *policy, const struct kept *kept) {
    struct moment moment = {.tick = kept->tick};
    const struct bytes *bytes = &kept->bytes;
    snapshot_save(policy->record->world, bytes->data, kept->world_bytes, &moment.state);
    moment.record = (struct bytes){.data = bytes->data + kept->world_bytes,
                                   .length = bytes->length - kept->world_bytes};
    return moment;
}

/* The larger a moment is, the longer to the next recent one, so that they cost little in any run.
 */
static void keep_start(struct capsule_policy *policy, struct kept *kept) {
    struct moment moment = as_moment(policy, kept);
    policy->start = use(kept);
    policy->start_bytes = moment.state.length + moment.record.length;
    policy->recent_ticks *= 1 + (int64_t)(policy->start_bytes / RECENT_BYTES);
    bytes_free(&moment.state);
}

static void keep_periodic(struct capsule_policy *policy, struct kept *kept) {
    policy->periodic[policy->periodic_count++] = use(kept);
    if (policy->periodic_count <= CAPSULE_POLICY_MOST)
        return;
    uint32_t count = 0;
    policy->every_ticks *= 2;
    for (uint32_t i = 0; i < policy->periodic_count; i++) {
        if (policy->periodic[i]->tick % policy->every_ticks == 0)
            policy->periodic[count++] = policy->periodic[i];
        else
            drop(policy->periodic[i]);
    }
    policy->periodic_count = count;
}

static void keep_recent(struct capsule_policy *policy, struct kept *kept) {
    int64_t number = kept->tick / policy->recent_ticks;
    int age = 0;
    for (; age < CAPSULE_POLICY_AGES - 1 && number % 2 == 0; age++)
        number /= 2;
    drop(policy->recent[age][0]);
    policy->recent[age][0] = policy->recent[age][1];
    policy->recent[age][1] = use(kept);
}

/* Gives back what is left of the memory of a moment, where that is much. */
static void trim(struct bytes *bytes) {
    enum { MUCH = 8 };
    if (bytes->capacity - bytes->length <= bytes->length / MUCH)
        return;
    bytes->capacity = bytes->length;
    bytes->data = require_more_memory(bytes->data, bytes->capacity, 1);
}

/* Takes the world and the record as they are into memory of the length that was needed so far. */
static void fill(struct capsule_policy *policy, struct kept *kept) {
    struct bytes *bytes = &kept->bytes;
    bytes->capacity = policy->kept_most;
    bytes->data = require_more_memory(NULL, bytes->capacity, 1);
    snapshot_take(policy->record->world, bytes);
    kept->world_bytes = bytes->length;
    record_save(policy->record, bytes);
    trim(bytes);
    if (policy->kept_most < bytes->length)
        policy->kept_most = bytes->length;
}

/* The moment at which the world is, used once; given back with drop(). */
static struct kept *moment_now(struct capsule_policy *policy) {
    struct kept *kept = use(require_memory(1, sizeof *kept));
    kept->tick = world_tick(policy->record->world) + 1;
    fill(policy, kept);
    return kept;
}

/* A moment after the end of the run is not wanted: nothing could be replayed from it. */
static void take(void *self) {
    struct capsule_policy *policy = self;
    int64_t tick = world_tick(policy->record->world) + 1;
    bool over = tick > policy->scenario->run_ticks;
    bool periodic = !over && tick % policy->every_ticks == 0;
    bool recent = !over && tick % policy->recent_ticks == 0;
    if (!periodic && !recent)
        return;
    struct kept *kept = moment_now(policy);
    if (periodic)
        keep_periodic(policy, kept);
    if (recent)
        keep_recent(policy, kept);
    drop(kept);
}

/* ---- jams ---- */

/* The later one of two moments that are not after `tick`. */
static struct kept *nearer(struct kept *best, struct kept *kept, int64_t tick) {
    if (kept == NULL || kept->tick > tick || kept->tick < best->tick)
        return best;
    return kept;
}

/* The last moment that is not after `tick`; the start, where that is after it already. */
static struct kept *kept_before(const struct capsule_policy *policy, int64_t tick) {
    struct kept *best = policy->start;
    for (uint32_t i = 0; i < policy->periodic_count; i++)
        best = nearer(best, policy->periodic[i], tick);
    for (int age = 0; age < CAPSULE_POLICY_AGES; age++)
        for (int i = 0; i < 2; i++)
            best = nearer(best, policy->recent[age][i], tick);
    return best;
}

static void jam_began(void *self, int64_t since_tick) {
    struct capsule_policy *policy = self;
    policy->jam = array_with_room(policy->jam, policy->jam_count, &policy->jam_capacity,
                                  sizeof(struct kept *));
    policy->jam[policy->jam_count++] = use(kept_before(policy, since_tick));
}

/* ---- writing ---- */

static bool write_moment(const struct capsule_policy *policy, const struct kept *kept,
                         const struct directory *directory, const char *name) {
    void *bytes;
    struct moment moment = as_moment(policy, kept);
    size_t length = capsule_bytes(policy->scenario, &moment, &bytes);
    bytes_free(&moment.state);
    bool written = directory_add(directory, name, bytes, length);
    free(bytes);
    return written;
}

static bool write_by_time(const struct capsule_policy *policy, const struct kept *kept,
                          const struct directory *directory) {
    char seconds[QUANTITY_TEXT_SIZE], name[NAME_BYTES] = "start.capsule";
    quantity_seconds(kept->tick, policy->scenario->ticks_per_second, seconds);
    if (kept->tick > 0)
        snprintf(name, sizeof name, "at-%s.capsule", seconds);
    return write_moment(policy, kept, directory, name);
}

static bool write_all(void *self, const struct directory *directory) {
    const struct capsule_policy *policy = self;
    bool written = write_by_time(policy, policy->start, directory);
    for (uint32_t i = 0; i < policy->periodic_count && written; i++)
        written = write_by_time(policy, policy->periodic[i], directory);
    for (uint32_t i = 0; i < policy->jam_count && written; i++) {
        char name[NAME_BYTES];
        snprintf(name, sizeof name, "jam-%u.capsule", i + 1);
        written = write_moment(policy, policy->jam[i], directory, name);
    }
    return written;
}

/* ---- the keeper ---- */

void capsule_policy_begin(struct capsule_policy *policy, struct record *record,
                          int64_t every_ticks) {
    const struct scenario *scenario = record->scenario;
    require(every_ticks > 0);
    *policy = (struct capsule_policy){.scenario = scenario,
                                      .record = record,
                                      .every_ticks = every_ticks,
                                      .recent_ticks = RECENT_SECONDS * scenario->ticks_per_second};
    record->keeper = (struct record_keeper){policy, jam_began, next_stop, take, write_all};
    struct kept *start = moment_now(policy);
    keep_start(policy, start);
    drop(start);
}

void capsule_policy_check_space(const struct capsule_policy *policy,
                                const struct directory *directory, int64_t last_tick) {
    int64_t ticks = last_tick - policy->start->tick;
    double capsules = 1 + (double)ticks / (double)policy->every_ticks;
    double capsule = (double)(policy->start_bytes + strlen(policy->scenario->text));
    capsules = capsules < CAPSULE_POLICY_MOST ? capsules : CAPSULE_POLICY_MOST;
    space_check(directory, record_bytes(policy->record, ticks) + capsules * capsule);
}
