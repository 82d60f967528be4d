/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/replay.c - `loopwright replay`: a stretch of a run again, exactly, from a moment that was
 * kept; or, with changes, as it would have gone on. */
#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "model/reader/read.h"
#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/base/command.h"
#include "tools/base/diagnostics.h"
#include "tools/base/interrupt.h"
#include "tools/base/standard_output.h"
#include "tools/base/status.h"
#include "tools/checkpoint/capsule.h"
#include "tools/checkpoint/capsule_policy.h"
#include "tools/checkpoint/replay_view.h"
#include "tools/record/finish.h"

static const char name[] = "replay";

/* A stretch: where it comes from, and its first and last tick. */
struct stretch {
    char *path; /* of the capsule */
    struct capsule capsule;
    struct scenario *scenario; /* as it was run; then with the changes asked for */
    int64_t from, until;
    bool is_part; /* it ends before the run did */
    bool changed; /* something was asked for that may not fit the capsule's state */
};

static void free_stretch(struct stretch *stretch) {
    free(stretch->path);
    capsule_free(&stretch->capsule);
    scenario_free(stretch->scenario);
}

static int refuse(const char *path, const char *what) {
    fprintf(stderr, "loopwright: %s: %s\n", path, what);
    return STATUS_FILE;
}

/* ---- which capsule ---- */

static bool is_directory(const char *path) {
    struct stat status;
    return stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

/* Millionths of a second of a time that the command line or a name gives; NOT_GIVEN: it is none. */
static int64_t microseconds(const char *text) {
    struct faults faults = {0};
    int64_t ticks = read_duration(text, LIMIT_TICKS_PER_SECOND, &faults);
    faults_free(&faults);
    return ticks;
}

/* The path of the capsule of a directory that serves: before its first jam, or before `time`; NULL:
 * reported. */
static char *path_in(const char *directory, const char *time) {
    if (!capsule_directory_is_a_run(directory))
        return NULL;
    char *path = capsule_path_in(directory, "jam-1.capsule");
    struct stat status;
    if (time == NULL && stat(path, &status) == 0)
        return path;
    free(path);
    path = capsule_find_before(directory, time != NULL ? microseconds(time) : 0);
    if (path == NULL)
        refuse(directory, errno != 0 ? strerror(errno)
                                     : "holds no capsule\n"
                                       "    help: give the directory of a run: loopwright run "
                                       "SCENARIO --out DIR");
    return path;
}

static int find_capsule(const struct options *options, struct stretch *stretch) {
    const char *time = options->value[OPTION_FROM_TIME];
    int64_t ticks = 0;
    if (!options_ticks(options, name, OPTION_FROM_TIME, LIMIT_TICKS_PER_SECOND, &ticks))
        return STATUS_USAGE;
    stretch->path = is_directory(options->operand) ? path_in(options->operand, time)
                                                   : require_text(capsule_path(options->operand));
    return stretch->path != NULL ? STATUS_HOLDS : STATUS_FILE;
}

/* Reads it and its scenario, as it was run. */
static int read_capsule(struct stretch *stretch) {
    struct faults faults = {0};
    bool read = capsule_read(stretch->path, &stretch->capsule, &faults);
    if (!read)
        diagnostics_print(stderr, &faults);
    faults_free(&faults);
    if (!read)
        return STATUS_FILE;
    faults = (struct faults){0};
    stretch->scenario = capsule_scenario(&stretch->capsule, stretch->path, NULL, 0, &faults);
    faults_free(&faults); /* warnings were given when it was run */
    return stretch->scenario != NULL
               ? STATUS_HOLDS
               : refuse(stretch->path, "damaged: its scenario cannot be read");
}

/* ---- from where to where ---- */

static int refuse_time(const char *what) {
    fprintf(stderr, "loopwright %s: %s\n", name, what);
    return STATUS_USAGE;
}

static int find_ticks(const struct options *options, struct stretch *stretch) {
    int64_t rate = stretch->scenario->ticks_per_second, length = NOT_GIVEN;
    stretch->from = stretch->capsule.moment.tick;
    stretch->until = stretch->scenario->run_ticks;
    if (options->given[OPTION_FOR] && options->given[OPTION_UNTIL])
        return refuse_time("`--for` and `--until` both say where to end: give one of them");
    if (!options_ticks(options, name, OPTION_FROM_TIME, rate, &stretch->from) ||
        !options_ticks(options, name, OPTION_UNTIL, rate, &stretch->until) ||
        !options_ticks(options, name, OPTION_FOR, rate, &length))
        return STATUS_USAGE;
    if (length != NOT_GIVEN)
        stretch->until = stretch->from + length;
    if (stretch->from < stretch->capsule.moment.tick)
        return refuse_time("`--from` is before the capsule's moment\n"
                           "    help: give the directory in its place: the capsule that serves is "
                           "found");
    if (stretch->until < stretch->from)
        return refuse_time(stretch->until == stretch->scenario->run_ticks
                               ? "the run ends before the stretch begins\n"
                                 "    help: with --until or --for it goes on after the end"
                               : "the stretch ends before it begins\n"
                                 "    help: --until is a time of the run, after --from; --for is "
                                 "a length");
    if (stretch->until > LIMIT_TICKS)
        return refuse_time("the stretch ends later than any run can");
    stretch->is_part = stretch->until < stretch->scenario->run_ticks;
    return STATUS_HOLDS;
}

/* ---- changes ---- */

static char *override_text(const char *path, const char *value) {
    size_t room = strlen(path) + strlen(value) + 1;
    char *text = require_memory(room, 1);
    snprintf(text, room, "%s%s", path, value);
    return text;
}

static char *override_of_end(const struct stretch *stretch) {
    char seconds[QUANTITY_TEXT_SIZE];
    quantity_seconds(stretch->until, stretch->scenario->ticks_per_second, seconds);
    return override_text("run.for=", seconds);
}

static int read_changed(struct stretch *stretch, const char *const *override, size_t count) {
    struct faults faults = {0};
    struct scenario *changed =
        capsule_scenario(&stretch->capsule, stretch->path, override, count, &faults);
    diagnostics_print(stderr, &faults);
    faults_free(&faults);
    if (changed == NULL)
        return STATUS_SCENARIO;
    scenario_free(stretch->scenario);
    stretch->scenario = changed;
    return STATUS_HOLDS;
}

/* Reads the scenario again with what --set, --seed and the end of the stretch change in it. */
static int change_scenario(const struct options *options, struct stretch *stretch) {
    struct options changes = *options;
    char *made[2] = {NULL, NULL}, *end = NULL;
    const char **override = require_memory(options->set_count + 3, sizeof *override);
    changes.value[OPTION_FOR] = NULL; /* the stretch's, not the run's */
    int count = options_overrides(&changes, name, override, made);
    stretch->changed = count > 0;
    if (count >= 0 && stretch->until != stretch->scenario->run_ticks)
        override[count++] = end = override_of_end(stretch);
    int status = count < 0 ? STATUS_USAGE : STATUS_HOLDS;
    if (count > 0)
        status = read_changed(stretch, override, (size_t)count);
    free(override);
    free(end);
    free(made[0]);
    free(made[1]);
    return status;
}

/* ---- the stretch ---- */

static int refuse_state(const struct stretch *stretch) {
    if (!stretch->changed)
        return refuse(stretch->path, "damaged: its parts do not fit together");
    fputs("loopwright replay: what `--set` changes does not fit what is there at that moment\n"
          "    note: loops, lines, chests, stations, arms, supplies, demands and items stay as\n"
          "          they are, with their places; and hands, stocks and lanes must be able to\n"
          "          hold what they hold\n"
          "    help: to try it from the start, use loopwright run\n",
          stderr);
    return STATUS_USAGE;
}

/* What is only shown ends when nobody sees it any more; files are written all the same. */
struct showing {
    struct replay_view view;
    bool writes_files;
};

static bool look(void *self) {
    struct showing *showing = self;
    replay_view_look(&showing->view);
    return showing->writes_files || !standard_output_failed();
}

/* Shows it as it goes. */
static void show(const struct stretch *stretch, struct record *record, bool writes_files,
                 struct progress *progress) {
    struct showing showing = {.writes_files = writes_files};
    struct replay_view *view = &showing.view;
    replay_view_open(view, stretch->scenario, record->world, record_listener(record), stdout);
    replay_view_legend(view);
    replay_view_picture(view, "it begins at ", stretch->from);
    const struct record_onlooker onlooker = {&showing, look};
    record_run_until(record, progress, &onlooker, stretch->until);
    replay_view_picture(view, "it ends with ", world_tick(record->world));
    replay_view_free(view, record->world);
    record_listen(record);
}

/* Plays it, the record being where the stretch begins. */
static int play(const struct options *options, const struct stretch *stretch, struct record *record,
                struct directory *directory, struct progress *progress) {
    bool shown = options->given[OPTION_SHOW];
    if (shown)
        show(stretch, record, directory != NULL, progress);
    else
        record_run_until(record, progress, NULL, stretch->until);
    progress_end(progress);
    if (interrupt_signal() != 0)
        return STATUS_SIGNAL + interrupt_signal();
    if (shown && directory == NULL && standard_output_failed())
        return STATUS_SIGNAL + SIGPIPE; /* what else it may be is found at the end */
    struct finish finish = {.options = options,
                            .directory = directory,
                            .explained = stretch->changed ? NULL : options->operand,
                            .is_part = stretch->is_part,
                            .shown = shown};
    return finish_run(&finish, record);
}

/* Goes silently to where the stretch begins; from there on rows are written. */
static int go_and_play(const struct options *options, const struct stretch *stretch,
                       struct record *record, struct directory *directory, int64_t keep_ticks) {
    struct progress progress;
    struct capsule_policy policy;
    progress_init(&progress, stretch->until, stretch->scenario->ticks_per_second,
                  !options->given[OPTION_QUIET]);
    record_run_until(record, &progress, NULL, stretch->from - 1);
    if (directory == NULL || interrupt_signal() != 0)
        return play(options, stretch, record, directory, &progress);
    if (!record_keep(record, directory, options->given[OPTION_MOVES]))
        return STATUS_FILE;
    capsule_policy_begin(&policy, record, keep_ticks);
    capsule_policy_check_space(&policy, directory, stretch->until);
    int status = play(options, stretch, record, directory, &progress);
    capsule_policy_free(&policy);
    return status;
}

static int play_world(const struct options *options, const struct stretch *stretch,
                      struct world *world, int64_t keep_ticks) {
    struct record record;
    struct directory directory, *place = NULL;
    const char *out = options->value[OPTION_OUT];
    record_begin(&record, stretch->scenario, world, out != NULL);
    int status = STATUS_HOLDS;
    if (!record_restore(&record, &stretch->capsule.moment.record))
        status = refuse_state(stretch);
    else if (out != NULL && !directory_begin(&directory, out))
        status = STATUS_FILE;
    else
        place = out != NULL ? &directory : NULL;
    if (status == STATUS_HOLDS)
        status = go_and_play(options, stretch, &record, place, keep_ticks);
    record_free(&record);
    if (place != NULL)
        directory_abandon(place);
    return status;
}

static bool is_what_if(const struct options *options) {
    return options->set_count > 0 || options->given[OPTION_SEED];
}

/* Puts the moment at which the stretch begins in the place of the capsule's. */
static int take_beginning(const struct options *options, struct stretch *stretch,
                          struct world *world) {
    struct record record;
    struct progress progress;
    record_begin(&record, stretch->scenario, world, options->value[OPTION_OUT] != NULL);
    progress_init(&progress, stretch->from, stretch->scenario->ticks_per_second,
                  !options->given[OPTION_QUIET]);
    int status = record_restore(&record, &stretch->capsule.moment.record) ? STATUS_HOLDS
                                                                          : refuse_state(stretch);
    if (status == STATUS_HOLDS) {
        record_run_until(&record, &progress, NULL, stretch->from - 1);
        moment_free(&stretch->capsule.moment);
        stretch->capsule.moment = moment_take(world);
        record_save(&record, &stretch->capsule.moment.record);
    }
    progress_end(&progress);
    record_free(&record);
    return interrupt_signal() != 0 ? STATUS_SIGNAL + interrupt_signal() : status;
}

/* The capsule itself is looked at before what is to be changed; and up to where a change is to
 * begin, all goes as it went. */
static int go_to_change(const struct options *options, struct stretch *stretch) {
    struct world *world = capsule_world(&stretch->capsule, stretch->scenario);
    if (world == NULL)
        return refuse_state(stretch);
    int status = STATUS_HOLDS;
    if (is_what_if(options) && stretch->from > stretch->capsule.moment.tick)
        status = take_beginning(options, stretch, world);
    world_free(world);
    return status;
}

static int replay_stretch(const struct options *options, struct stretch *stretch) {
    int64_t keep_ticks;
    struct world *world;
    int status = find_ticks(options, stretch);
    if (status == STATUS_HOLDS)
        status = go_to_change(options, stretch);
    if (status == STATUS_HOLDS)
        status = change_scenario(options, stretch);
    if (status != STATUS_HOLDS)
        return status;
    if (!capsule_policy_ticks(options, name, stretch->scenario, &keep_ticks))
        return STATUS_USAGE;
    world = capsule_world(&stretch->capsule, stretch->scenario);
    if (world == NULL)
        return refuse_state(stretch);
    status = play_world(options, stretch, world, keep_ticks);
    world_free(world);
    return status;
}

static bool options_fit(const struct options *options) {
    if (!options->given[OPTION_SHOW] || !options->given[OPTION_JSON])
        return finish_may_write(options, name);
    fputs("loopwright replay: `--show` and `--json` cannot be combined: `--show` is for people\n",
          stderr);
    return false;
}

int replay_command(const struct options *options) {
    struct stretch stretch = {0};
    if (!options_fit(options))
        return STATUS_USAGE;
    int status = find_capsule(options, &stretch);
    if (status == STATUS_HOLDS)
        status = read_capsule(&stretch);
    if (status == STATUS_HOLDS)
        status = replay_stretch(options, &stretch);
    free_stretch(&stretch);
    return status;
}
