/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_evidence.c - repeats a run that jammed to write its capsule and events. Where
 * the jam begins is known only after the run, and saving moments of every run for the few that
 * jam would cost more than repeating those. */
#include "tools/soak/soak_evidence.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "model/engine/world.h"
#include "model/scenario/quantity.h"
#include "tools/base/interrupt.h"
#include "tools/base/progress.h"
#include "tools/base/scenario_edit.h"
#include "tools/checkpoint/capsule.h"
#include "tools/record/record.h"
#include "tools/soak/soak_report.h"
#include "tools/soak/soak_run.h"

/* How long before the last move on the lane that jams the capsule is taken. */
enum { BEFORE_SECONDS = 600 };

/* The scenario of the run alone, with a text that says all of it. */
static struct scenario *scenario_alone(const struct soak_plan *plan, uint64_t run,
                                       const struct soak_result *result) {
    struct scenario *scenario = soak_run_scenario(plan, run, result);
    struct scenario_edit additions;
    char length[QUANTITY_TEXT_SIZE];
    scenario_edit_init(&additions, scenario, "soak");
    scenario_edit_change(&additions, "run.seed=%llu", (unsigned long long)scenario->seed);
    quantity_seconds(result->ticks, scenario->ticks_per_second, length);
    scenario_edit_change(&additions, "run.for=%s s", length);
    struct scenario *alone = scenario_edit_read(&additions);
    scenario_edit_free(&additions);
    soak_run_scenario_free(plan, scenario);
    return alone;
}

/* The two files of a run: their names, and those under which they are written. */
struct names {
    char capsule[SOAK_NAME_BYTES], events[SOAK_NAME_BYTES];
    char capsule_part[SOAK_NAME_BYTES], events_part[SOAK_NAME_BYTES];
};

static struct names names_of(uint64_t run) {
    struct names names;
    soak_capsule_name(run, names.capsule);
    soak_events_name(run, names.events);
    snprintf(names.capsule_part, SOAK_NAME_BYTES, "jam-%" PRIu64 ".capsule.part", run);
    snprintf(names.events_part, SOAK_NAME_BYTES, "jam-%" PRIu64 "-events.csv.part", run);
    return names;
}

/* False: reported. */
static bool remove_file(const struct directory *directory, const char *name) {
    if (unlinkat(directory->work, name, 0) == 0 || errno == ENOENT)
        return true;
    directory_tell(directory, name, errno);
    return false;
}

static bool rename_file(const struct directory *directory, const char *from, const char *to) {
    if (renameat(directory->work, from, directory->work, to) == 0)
        return true;
    directory_tell(directory, to, errno);
    return false;
}

/* Writes the moment before the tick that comes next, and what it took to get there. */
static bool write_capsule(const struct record *record, const char *name,
                          const struct directory *directory) {
    void *bytes;
    struct moment moment = moment_take(record->world);
    record_save(record, &moment.record);
    size_t length = capsule_bytes(record->scenario, &moment, &bytes);
    bool written = directory_add(directory, name, bytes, length);
    free(bytes);
    moment_free(&moment);
    return written;
}

/* The events that are open at the capsule's tick, and those from then on. */
static bool write_events(struct record *record, const char *name, int64_t last_tick,
                         const struct directory *directory) {
    if (!events_keep(record->events, directory))
        return false;
    world_advance(record->world, last_tick);
    events_last(record->events);
    world_report_open(record->world);
    return events_write_as(record->events, directory, name);
}

/* Writes both, and gives them their names when they are whole. */
static bool write_files(struct record *record, uint64_t run, int64_t last_tick,
                        const struct directory *directory) {
    struct names names = names_of(run);
    return remove_file(directory, names.capsule_part) && /* half of it, after a kill */
           remove_file(directory, names.events_part) &&
           write_capsule(record, names.capsule_part, directory) &&
           write_events(record, names.events_part, last_tick, directory) &&
           rename_file(directory, names.events_part, names.events) &&
           rename_file(directory, names.capsule_part, names.capsule);
}

static bool keep_run(const struct scenario *scenario, struct world *world, uint64_t run,
                     const struct soak_result *result, const struct directory *directory) {
    struct record record;
    struct progress progress;
    int64_t tick = result->first_jam_since - BEFORE_SECONDS * scenario->ticks_per_second;
    record_begin(&record, scenario, world, true);
    progress_init(&progress, scenario->run_ticks, scenario->ticks_per_second, false);
    record_run_until(&record, &progress, NULL, (tick > 0 ? tick : 0) - 1);
    bool written =
        interrupt_signal() == 0 && write_files(&record, run, result->first_jam_tick, directory);
    record_free(&record);
    return written;
}

bool soak_keep(const struct soak_plan *plan, uint64_t run, const struct soak_result *result,
               const struct directory *directory) {
    struct scenario *scenario = scenario_alone(plan, run, result);
    struct world *world = world_new(scenario);
    bool kept = keep_run(scenario, world, run, result, directory);
    world_free(world);
    scenario_free(scenario);
    return kept;
}

void soak_keep_drop(const struct directory *directory, uint64_t run) {
    struct names names = names_of(run);
    remove_file(directory, names.capsule);
    remove_file(directory, names.events);
}

bool soak_keep_is_there(int directory, uint64_t run) {
    struct names names = names_of(run);
    return faccessat(directory, names.capsule, F_OK, AT_SYMLINK_NOFOLLOW) == 0 &&
           faccessat(directory, names.events, F_OK, AT_SYMLINK_NOFOLLOW) == 0;
}

bool soak_keep_is_of(const struct soak_journal *book, const char *name) {
    char kept[SOAK_NAME_BYTES];
    for (uint64_t i = 0; i < book->jammed_count; i++)
        if (strcmp(name, soak_capsule_name(book->jammed[i], kept)) == 0 ||
            strcmp(name, soak_events_name(book->jammed[i], kept)) == 0)
            return true;
    return false;
}
