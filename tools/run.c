/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/run.c - `loopwright run`: a scenario from its first tick to its last, a summary, its
 * files. */
#include <stdlib.h>

#include "model/engine/world.h"
#include "tools/base/command.h"
#include "tools/base/directory.h"
#include "tools/base/interrupt.h"
#include "tools/base/load.h"
#include "tools/base/progress.h"
#include "tools/base/status.h"
#include "tools/checkpoint/capsule_policy.h"
#include "tools/record/finish.h"
#include "tools/record/record.h"

static const char name[] = "run";

static bool audit(void *record) {
    record_audit(record);
    return true;
}

/* From the first tick to the last, then the end of it. */
static int run_record(const struct options *options, struct record *record,
                      struct directory *directory) {
    const struct scenario *scenario = record->scenario;
    struct progress progress;
    progress_init(&progress, scenario->run_ticks, scenario->ticks_per_second,
                  !options->given[OPTION_QUIET]);
    const struct record_onlooker auditor = {record, audit};
    record_run_until(record, &progress, options->given[OPTION_AUDIT] ? &auditor : NULL,
                     scenario->run_ticks);
    progress_end(&progress);
    struct finish finish = {.options = options, .directory = directory};
    return interrupt_signal() != 0 ? STATUS_SIGNAL + interrupt_signal()
                                   : finish_run(&finish, record);
}

static int run_world(const struct options *options, const struct scenario *scenario,
                     struct world *world, struct directory *directory, int64_t keep_ticks) {
    struct record record;
    struct capsule_policy policy;
    if (!record_open(&record, scenario, world, directory, options->given[OPTION_MOVES]))
        return STATUS_FILE;
    if (directory != NULL) {
        capsule_policy_begin(&policy, &record, keep_ticks);
        capsule_policy_check_space(&policy, directory, scenario->run_ticks);
    }
    int status = run_record(options, &record, directory);
    if (directory != NULL)
        capsule_policy_free(&policy);
    record_free(&record);
    return status;
}

static int run_scenario(const struct options *options, const struct scenario *scenario) {
    struct directory directory, *place = NULL;
    int64_t keep_ticks;
    if (!capsule_policy_ticks(options, name, scenario, &keep_ticks))
        return STATUS_USAGE;
    if (options->value[OPTION_OUT] != NULL) {
        if (!directory_begin(&directory, options->value[OPTION_OUT]))
            return STATUS_FILE;
        place = &directory;
    }
    struct world *world = world_new(scenario);
    int status = run_world(options, scenario, world, place, keep_ticks);
    world_free(world);
    if (place != NULL)
        directory_abandon(place);
    return status;
}

int run_command(const struct options *options) {
    int status = STATUS_USAGE;
    if (!finish_may_write(options, name))
        return status;
    struct scenario *scenario = load_scenario(options, name, options->operand, &status);
    if (scenario == NULL)
        return status;
    status = run_scenario(options, scenario);
    scenario_free(scenario);
    return status;
}
