/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/capsule_policy.c - the n-th passing moment is of the age of the lowest bit of n:
 * of each age the last two are there, so that for any time past there is one that is little older
 * than it. */
#include "tools/checkpoint/capsule_policy.h"

#include <stdio.h>
#include <stdlib.h>

#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/record/record.h"

enum {
    EVERY_SECONDS = 600,
    PASS_SECONDS = 30,
    PASS_BYTES = 1 << 16,
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

void capsule_policy_init(struct capsule_policy *keeper, const struct scenario *scenario,
                         int64_t every_ticks) {
    require(every_ticks > 0);
    *keeper = (struct capsule_policy){.scenario = scenario,
                                      .every_ticks = every_ticks,
                                      .pass_ticks = PASS_SECONDS * scenario->ticks_per_second};
}

/* ---- uses ---- */

static struct kept *use(struct kept *kept) {
    kept->users++;
    return kept;
}

static void drop(struct kept *kept) {
    if (kept == NULL || --kept->users > 0)
        return;
    moment_free(&kept->moment);
    free(kept);
}

void capsule_policy_free(struct capsule_policy *keeper) {
    drop(keeper->start);
    for (uint32_t i = 0; i < keeper->periodic_count; i++)
        drop(keeper->periodic[i]);
    for (int age = 0; age < CAPSULE_POLICY_AGES; age++)
        for (int i = 0; i < 2; i++)
            drop(keeper->passing[age][i]);
    for (uint32_t i = 0; i < keeper->jam_count; i++)
        drop(keeper->jam[i]);
    free(keeper->jam);
    *keeper = (struct capsule_policy){0};
}

/* ---- taking ---- */

static int64_t multiple_behind(int64_t every, int64_t tick) { return (tick / every + 1) * every; }

int64_t capsule_policy_next(const struct capsule_policy *keeper, int64_t world_tick) {
    require(keeper->start != NULL);
    int64_t executed = world_tick + 1; /* a moment of this tick has been taken, if it was wanted */
    int64_t periodic = multiple_behind(keeper->every_ticks, executed);
    int64_t passing = multiple_behind(keeper->pass_ticks, executed);
    return periodic < passing ? periodic : passing;
}

/* The larger a moment is, the longer to the next passing one, so that they cost little in any run.
 */
static void keep_start(struct capsule_policy *keeper, struct kept *kept) {
    size_t bytes = kept->moment.state.length + kept->moment.record.length;
    keeper->start = use(kept);
    keeper->pass_ticks *= 1 + (int64_t)(bytes / PASS_BYTES);
}

static void keep_periodic(struct capsule_policy *keeper, struct kept *kept) {
    keeper->periodic[keeper->periodic_count++] = use(kept);
    if (keeper->periodic_count <= CAPSULE_POLICY_MOST)
        return;
    uint32_t count = 0;
    keeper->every_ticks *= 2;
    for (uint32_t i = 0; i < keeper->periodic_count; i++) {
        if (keeper->periodic[i]->moment.tick % keeper->every_ticks == 0)
            keeper->periodic[count++] = keeper->periodic[i];
        else
            drop(keeper->periodic[i]);
    }
    keeper->periodic_count = count;
}

static void keep_passing(struct capsule_policy *keeper, struct kept *kept) {
    int64_t number = kept->moment.tick / keeper->pass_ticks;
    int age = 0;
    for (; age < CAPSULE_POLICY_AGES - 1 && number % 2 == 0; age++)
        number /= 2;
    drop(keeper->passing[age][0]);
    keeper->passing[age][0] = keeper->passing[age][1];
    keeper->passing[age][1] = use(kept);
}

void capsule_policy_take(struct capsule_policy *keeper, const struct record *record) {
    int64_t tick = world_tick(record->world) + 1;
    bool first = keeper->start == NULL, over = tick > keeper->scenario->run_ticks;
    bool periodic = !first && !over && tick % keeper->every_ticks == 0;
    bool passing = !first && !over && tick % keeper->pass_ticks == 0;
    if (!first && !periodic && !passing)
        return;
    struct kept *kept = use(require_memory(1, sizeof *kept)); /* ours, till it has its names */
    kept->moment = moment_take(record->world);
    record_save(record, &kept->moment.record);
    if (first)
        keep_start(keeper, kept);
    if (periodic)
        keep_periodic(keeper, kept);
    if (passing)
        keep_passing(keeper, kept);
    drop(kept);
}

/* ---- jams ---- */

/* The later one of two moments that are not behind `tick`. */
static struct kept *nearer(struct kept *best, struct kept *kept, int64_t tick) {
    if (kept == NULL || kept->moment.tick > tick || kept->moment.tick < best->moment.tick)
        return best;
    return kept;
}

/* The last moment that is not behind `tick`; the start, where that is behind it already. */
static struct kept *kept_before(const struct capsule_policy *keeper, int64_t tick) {
    struct kept *best = keeper->start;
    for (uint32_t i = 0; i < keeper->periodic_count; i++)
        best = nearer(best, keeper->periodic[i], tick);
    for (int age = 0; age < CAPSULE_POLICY_AGES; age++)
        for (int i = 0; i < 2; i++)
            best = nearer(best, keeper->passing[age][i], tick);
    return best;
}

void capsule_policy_note_jam(struct capsule_policy *keeper, int64_t since) {
    if (keeper->jam_count == keeper->jam_capacity) {
        keeper->jam_capacity = 2 * keeper->jam_capacity + 8;
        keeper->jam = require_more_memory(keeper->jam, keeper->jam_capacity, sizeof(struct kept *));
    }
    keeper->jam[keeper->jam_count++] = use(kept_before(keeper, since));
}

/* ---- writing ---- */

static bool write_moment(const struct capsule_policy *keeper, const struct moment *moment,
                         const struct directory *directory, const char *name) {
    void *bytes;
    size_t length = capsule_bytes(keeper->scenario, moment, &bytes);
    bool written = directory_add(directory, name, bytes, length);
    free(bytes);
    return written;
}

static bool write_by_time(const struct capsule_policy *keeper, const struct moment *moment,
                          const struct directory *directory) {
    char seconds[QUANTITY_TEXT_SIZE], name[NAME_BYTES] = "start.capsule";
    quantity_seconds(moment->tick, keeper->scenario->ticks_per_second, seconds);
    if (moment->tick > 0)
        snprintf(name, sizeof name, "at-%s.capsule", seconds);
    return write_moment(keeper, moment, directory, name);
}

bool capsule_policy_write(const struct capsule_policy *keeper, const struct directory *directory) {
    bool written = write_by_time(keeper, &keeper->start->moment, directory);
    for (uint32_t i = 0; i < keeper->periodic_count && written; i++)
        written = write_by_time(keeper, &keeper->periodic[i]->moment, directory);
    for (uint32_t i = 0; i < keeper->jam_count && written; i++) {
        char name[NAME_BYTES];
        snprintf(name, sizeof name, "jam-%u.capsule", i + 1);
        written = write_moment(keeper, &keeper->jam[i]->moment, directory, name);
    }
    return written;
}
