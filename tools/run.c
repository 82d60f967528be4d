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
#include "tools/checkpoint/live_view.h"
#include "tools/record/finish.h"
#include "tools/record/record.h"
#include "tools/record/vcd.h"

static const char name[] = "run";

enum { PACE_SECONDS = 60 };

/* What the options ask for, in ticks. */
struct paces {
    int64_t keep_ticks;  /* between two capsules */
    int64_t watch_ticks; /* in a second that is watched */
};

/* Who looks at the run between ticks. */
struct onlookers {
    struct record *audited; /* NULL: --audit was not given */
    struct vcd *vcd;        /* NULL: --vcd was not given */
    struct live_view *live; /* NULL: --watch was not given */
};

static bool look(void *self) {
    const struct onlookers *onlookers = self;
    if (onlookers->audited != NULL)
        record_audit(onlookers->audited);
    if (onlookers->live != NULL && !live_view_look(onlookers->live))
        return false;
    return onlookers->vcd == NULL || vcd_look(onlookers->vcd);
}

/* A file that is standard output stands there alone. */
static bool prints_a_file(const struct options *options) {
    return options->value[OPTION_VCD] != NULL && output_is_standard(options->value[OPTION_VCD]);
}

/* The end of a run that was not stopped: its files, then its summary. */
static int finish(const struct options *options, struct record *record, struct vcd *vcd,
                  struct directory *directory) {
    struct options printed = *options;
    if (prints_a_file(options))
        printed.given[OPTION_QUIET] = true;
    if (vcd != NULL && record_failed(record)) /* it was stopped early, which is reported below */
        vcd_discard(vcd);
    else if (vcd != NULL && !vcd_close(vcd))
        return output_failure(options->value[OPTION_VCD]);
    const struct finish finish = {.options = &printed, .directory = directory};
    return finish_run(&finish, record);
}

/* From the first tick to the last, on the terminal if `live` is not NULL. */
static void advance(const struct options *options, struct record *record, struct vcd *vcd,
                    struct live_view *live) {
    const struct scenario *scenario = record->scenario;
    struct progress progress;
    progress_init(&progress, scenario->run_ticks, scenario->ticks_per_second,
                  !options->given[OPTION_QUIET] && live == NULL);
    struct onlookers onlookers = {options->given[OPTION_AUDIT] ? record : NULL, vcd, live};
    const struct record_onlooker onlooker = {&onlookers, look};
    bool anybody = onlookers.audited != NULL || vcd != NULL || live != NULL;
    record_run_until(record, &progress, anybody ? &onlooker : NULL, scenario->run_ticks);
    progress_end(&progress);
}

/* The run, then the end of it. */
static int run_record(const struct options *options, struct record *record, struct vcd *vcd,
                      struct directory *directory, struct live_view *live) {
    advance(options, record, vcd, live);
    if (live != NULL)
        live_view_close(live, record->world);
    if (interrupt_signal() == 0)
        return finish(options, record, vcd, directory);
    if (vcd != NULL)
        vcd_discard(vcd);
    return STATUS_SIGNAL + interrupt_signal();
}

static int run_world(const struct options *options, const struct scenario *scenario,
                     struct world *world, struct directory *directory, const struct paces *paces) {
    struct record record;
    struct live_view live;
    bool watched = options->given[OPTION_WATCH];
    struct capsule_policy policy;
    struct vcd vcd;
    const char *dump = options->value[OPTION_VCD];
    if (dump != NULL && !vcd_open(&vcd, scenario, world, dump, options->given[OPTION_FORCE]))
        return STATUS_FILE;
    if (!record_open(&record, scenario, world, directory, options->given[OPTION_MOVES])) {
        if (dump != NULL)
            vcd_discard(&vcd);
        return STATUS_FILE;
    }
    if (directory != NULL) {
        capsule_policy_begin(&policy, &record, paces->keep_ticks);
        capsule_policy_check_space(&policy, directory, scenario->run_ticks);
    }
    if (watched)
        live_view_open(&live, scenario, world, record_listener(&record), paces->watch_ticks);
    int status =
        run_record(options, &record, dump != NULL ? &vcd : NULL, directory, watched ? &live : NULL);
    if (directory != NULL)
        capsule_policy_free(&policy);
    record_free(&record);
    return status;
}

static bool read_paces(const struct options *options, const struct scenario *scenario,
                       struct paces *paces) {
    int64_t rate = scenario->ticks_per_second;
    paces->watch_ticks = PACE_SECONDS * rate;
    if (!capsule_policy_ticks(options, name, scenario, &paces->keep_ticks) ||
        !options_ticks(options, name, OPTION_PACE, rate, &paces->watch_ticks))
        return false;
    if (paces->watch_ticks <= 0)
        fputs("loopwright run: `--pace` needs a duration of a tick or more\n", stderr);
    return paces->watch_ticks > 0;
}

static int run_scenario(const struct options *options, const struct scenario *scenario) {
    struct directory directory, *place = NULL;
    struct paces paces;
    if (!read_paces(options, scenario, &paces))
        return STATUS_USAGE;
    if (options->value[OPTION_OUT] != NULL) {
        if (!directory_begin(&directory, options->value[OPTION_OUT]))
            return STATUS_FILE;
        place = &directory;
    }
    struct world *world = world_new(scenario);
    int status = run_world(options, scenario, world, place, &paces);
    world_free(world);
    if (place != NULL)
        directory_abandon(place);
    return status;
}

/* What is wrong with options that go together; NULL: nothing. */
static const char *contradiction(const struct options *options) {
    bool watched = options->given[OPTION_WATCH];
    if (options->given[OPTION_JSON] && prints_a_file(options))
        return "`--json` prints to standard output: name a file for `--vcd`";
    if (watched && prints_a_file(options))
        return "`--watch` draws on standard output: name a file for `--vcd`";
    if (options->given[OPTION_PACE] && !watched)
        return "`--pace` is that of `--watch`: add it";
    if (watched && !live_view_is_possible())
        return "`--watch` needs a terminal to draw on and to read keys from; replay --show prints "
               "the same to a file";
    return NULL;
}

int run_command(const struct options *options) {
    int status = STATUS_USAGE;
    if (!finish_may_write(options, name))
        return status;
    const char *wrong = contradiction(options);
    if (wrong != NULL) {
        fprintf(stderr, "loopwright %s: %s\n", name, wrong);
        return status;
    }
    struct scenario *scenario = load_scenario(options, name, options->operand, &status);
    if (scenario == NULL)
        return status;
    status = run_scenario(options, scenario);
    scenario_free(scenario);
    return status;
}
