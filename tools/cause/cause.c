/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause.c - `loopwright cause`: why a run jammed or starved, and what would have
 * prevented it. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "model/reader/read.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/base/command.h"
#include "tools/base/diagnostics.h"
#include "tools/base/interrupt.h"
#include "tools/base/output.h"
#include "tools/base/status.h"
#include "tools/cause/cause_report.h"
#include "tools/cause/explanation.h"
#include "tools/cause/mended_text.h"
#include "tools/checkpoint/capsule.h"

static const char name[] = "cause";

/* ---- which cases ---- */

static int wrong(const struct options *options, const char *what, const char *value) {
    (void)options;
    fprintf(stderr, "loopwright cause: %s: `%s`\n    help: loopwright cause --help\n", what, value);
    return STATUS_USAGE;
}

static int keep_event(const struct options *options, struct cause_cases *cases) {
    const char *value = options->value[OPTION_EVENT];
    char *end;
    errno = 0;
    unsigned long long row = strtoull(value, &end, 10);
    if (strspn(value, "0123456789") != strlen(value) || errno != 0 || row == 0)
        return wrong(options, "`--event` needs the number of a row of events.csv, from 1", value);
    if (row > cases->rows) {
        fprintf(stderr,
                "loopwright cause: events.csv has no row %llu, only %llu\n"
                "    help: without `--event` all that lasted is explained\n",
                row, (unsigned long long)cases->rows);
        return STATUS_USAGE;
    }
    cause_cases_keep_row(cases, row);
    return STATUS_HOLDS;
}

static int keep_time(const struct options *options, struct cause_cases *cases) {
    struct faults faults = {0};
    int64_t tick =
        read_duration(options->value[OPTION_AT], cases->scenario->ticks_per_second, &faults);
    faults_free(&faults);
    if (tick == NOT_GIVEN)
        return wrong(options, "`--at` needs a time, as in --at 41min or --at 0:41:00",
                     options->value[OPTION_AT]);
    if (tick > cases->scenario->run_ticks) {
        char end[QUANTITY_TEXT_SIZE];
        fprintf(stderr, "loopwright cause: the run ends at %s, before `--at`\n",
                quantity_clock(cases->scenario->run_ticks, cases->scenario->ticks_per_second, end));
        return STATUS_USAGE;
    }
    cause_cases_keep_lasting(cases);
    cause_cases_keep_tick(cases, tick);
    return STATUS_HOLDS;
}

static int choose(const struct options *options, struct cause_cases *cases) {
    if (options->value[OPTION_EVENT] != NULL)
        return keep_event(options, cases);
    if (options->value[OPTION_AT] != NULL)
        return keep_time(options, cases);
    cause_cases_keep_lasting(cases);
    return STATUS_HOLDS;
}

/* ---- telling, writing ---- */

static bool names_standard_output(const struct options *options, enum option option) {
    return options->value[option] != NULL && output_is_standard(options->value[option]);
}

/* A file that goes to standard output stands there alone. */
static bool prints_a_file(const struct options *options) {
    return names_standard_output(options, OPTION_DOT) ||
           names_standard_output(options, OPTION_WRITE);
}

static int usage(const char *what) {
    fprintf(stderr, "loopwright %s: %s\n", name, what);
    return STATUS_USAGE;
}

/* Whether what the options ask for can be written, before the work of hours is done for it. */
static int check_files(const struct options *options) {
    const char *dot = options->value[OPTION_DOT], *mended = options->value[OPTION_WRITE];
    bool force = options->given[OPTION_FORCE], both = dot != NULL && mended != NULL;
    if (both &&
        (strcmp(dot, mended) == 0 || (output_is_standard(dot) && output_is_standard(mended))))
        return usage("`--dot` and `--write` name the same file");
    if (options->given[OPTION_JSON] && prints_a_file(options))
        return usage("`--json` prints to standard output: name a file there");
    bool writable = (dot == NULL || output_may_write(dot, force)) &&
                    (mended == NULL || output_may_write(mended, force));
    return writable ? STATUS_HOLDS : STATUS_FILE;
}

static int write_graph(const struct options *options, const struct cause_cases *cases) {
    const char *path = options->value[OPTION_DOT];
    if (cases->count == 0) {
        fprintf(stderr, "loopwright cause: there is no graph to write to %s\n", path);
        return STATUS_FAILS;
    }
    char *text = cause_report_dot(cause_cases_first(cases));
    bool written = output_write(path, OUTPUT_DOT, options->given[OPTION_FORCE], text);
    free(text);
    return written ? STATUS_HOLDS : output_failure(path);
}

static const struct trial *cure_of(const struct trial_book *book, const struct remedy_list *list) {
    return list->count > 0 && list->remedy[0].worth.class == REMEDY_CURES
               ? &book->trial[list->remedy[0].trial]
               : NULL;
}

/* The cure of the first case, or of the first product that is short; NULL: there is none. */
static const struct trial *best_cure(const struct cause_report *report) {
    const struct cause_cases *cases = report->cases;
    const struct case_remedies *remedies = report->remedies;
    const struct cause_case *first = cause_cases_first(cases);
    const struct trial *cure = NULL;
    if (first != NULL)
        cure = cure_of(remedies->book, &remedies->list[first - cases->jam_case]);
    for (uint32_t i = 0; i < report->shorts->count && cure == NULL; i++)
        cure = cure_of(remedies->book, &report->short_remedies->list[i]);
    return cure;
}

/* The remedy as a comment, then the scenario with it. To be freed. */
static char *mended_file(const struct case_remedies *remedies, const struct trial *cure) {
    const char *const *set = (const char *const *)cure->set;
    char *mended = mended_text(remedies->book->scenario->text, set, cure->set_count);
    struct scenario *plain = mended == NULL ? trial_scenario(remedies->book, cure) : NULL;
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    require(mended != NULL || plain != NULL);
    fputs("# Mended by `loopwright cause`, with what cured it\n", out);
    for (uint32_t i = 0; i < cure->set_count; i++)
        fprintf(out, "#   --set '%s'\n", cure->set[i]);
    fprintf(out, "\n%s", mended != NULL ? mended : plain->text);
    char *text = text_stream_end(&stream);
    scenario_free(plain);
    free(mended);
    return text;
}

static int write_mended(const struct options *options, const struct cause_report *report) {
    const char *path = options->value[OPTION_WRITE];
    const struct trial *cure = best_cure(report);
    if (cure == NULL) {
        fprintf(stderr, "loopwright cause: no change was found that cures; %s is not written\n",
                path);
        return STATUS_FAILS;
    }
    char *text = mended_file(report->remedies, cure);
    bool written = output_write(path, OUTPUT_YAML, options->given[OPTION_FORCE], text);
    free(text);
    return written ? STATUS_HOLDS : output_failure(path);
}

/* Where the scenario with the best cure is; NULL: it was not asked for. */
static void tell_written(const char *path) {
    if (path != NULL)
        printf("%s is written, with the best of them. Next: loopwright run %s\n", path, path);
}

static int report(const struct options *options, const char *scenario_path,
                  const struct explanation *found) {
    const struct cause_cases *cases = &found->cases;
    struct cause_report report = {.path = options->operand,
                                  .scenario_path = scenario_path,
                                  .event = options->value[OPTION_EVENT],
                                  .at = options->value[OPTION_AT],
                                  .cases = cases,
                                  .remedies = &found->remedies,
                                  .shorts = &found->shorts,
                                  .short_remedies = &found->short_remedies};
    int status = STATUS_HOLDS;
    if (options->value[OPTION_DOT] != NULL)
        status = write_graph(options, cases);
    if (status == STATUS_HOLDS && options->value[OPTION_WRITE] != NULL)
        status = write_mended(options, &report);
    if (options->given[OPTION_JSON]) {
        char *text = cause_report_json(&report);
        fputs(text, stdout);
        free(text);
    } else if (!options->given[OPTION_QUIET] && !prints_a_file(options)) {
        cause_report_text(&report, stdout);
        if (status == STATUS_HOLDS)
            tell_written(options->value[OPTION_WRITE]);
    }
    return status;
}

/* How far proofs go, in ticks; NOT_GIVEN: as far as usual. */
static bool read_horizon(const struct options *options, const struct scenario *scenario,
                         int64_t *ticks) {
    *ticks = NOT_GIVEN;
    if (!options_ticks(options, name, OPTION_PROVE, scenario->ticks_per_second, ticks))
        return false;
    if (*ticks > 0 && *ticks < scenario->run_ticks)
        *ticks = scenario->run_ticks;
    return true;
}

static int explain(const struct options *options, const char *scenario_path,
                   const struct scenario *scenario, const struct world *begin) {
    struct explanation found;
    int64_t horizon;
    if (!read_horizon(options, scenario, &horizon))
        return STATUS_USAGE;
    bool whole = explanation_begin(&found, scenario, begin, horizon, !options->given[OPTION_QUIET]);
    int status = whole ? choose(options, &found.cases) : STATUS_HOLDS;
    if (whole && status == STATUS_HOLDS)
        whole = explanation_work_out(&found);
    if (!whole)
        status = STATUS_SIGNAL + interrupt_signal();
    else if (status == STATUS_HOLDS)
        status = report(options, scenario_path, &found);
    explanation_free(&found);
    return status;
}

/* ---- the operand ---- */

static int explain_run(const struct options *options, const char *path) {
    struct faults faults = {0};
    bool unreadable = false;
    struct scenario *scenario = read_scenario_file(path, NULL, 0, &faults, &unreadable);
    if (scenario == NULL) /* warnings were reported by the run */
        diagnostics_print(stderr, &faults);
    faults_free(&faults);
    int status = unreadable ? STATUS_FILE : STATUS_SCENARIO;
    if (scenario != NULL)
        status = explain(options, path, scenario, NULL);
    scenario_free(scenario);
    return status;
}

static int explain_world(const struct options *options, const char *path,
                         const struct capsule *capsule, const struct scenario *scenario) {
    struct world *world = capsule_world(capsule, scenario);
    if (world == NULL) {
        fprintf(stderr, "loopwright: %s: damaged: its state does not fit its scenario\n", path);
        return STATUS_FILE;
    }
    int status = explain(options, path, scenario, world);
    world_free(world);
    return status;
}

/* What happened from the capsule on, to the end of the run from which it was kept. */
static int explain_capsule(const struct options *options, const char *path) {
    struct faults faults = {0};
    struct capsule capsule;
    bool read = capsule_read(path, &capsule, &faults);
    struct scenario *scenario = read ? capsule_scenario(&capsule, path, NULL, 0, &faults) : NULL;
    if (scenario == NULL)
        diagnostics_print(stderr, &faults);
    faults_free(&faults);
    int status = scenario != NULL ? explain_world(options, path, &capsule, scenario) : STATUS_FILE;
    scenario_free(scenario);
    if (read)
        capsule_free(&capsule);
    return status;
}

/* A run is run again from its start. A replay began with a capsule, and perhaps with a change: what
 * happened there can only be had from its own first capsule. */
static int explain_directory(const struct options *options) {
    if (!capsule_directory_is_a_run(options->operand))
        return STATUS_FILE;
    char *first = capsule_find_before(options->operand, 0);
    char *path = capsule_path_in(options->operand, "scenario.yaml");
    bool is_replay = first != NULL && strcmp(strrchr(first, '/') + 1, "start.capsule") != 0;
    int status = is_replay ? explain_capsule(options, first) : explain_run(options, path);
    free(first);
    free(path);
    return status;
}

int cause_command(const struct options *options) {
    struct stat about;
    if (options->given[OPTION_EVENT] && options->given[OPTION_AT])
        return usage("`--event` and `--at` exclude each other\n    help: keep one of them");
    int status = check_files(options);
    if (status != STATUS_HOLDS)
        return status;
    const char *path = capsule_path(options->operand);
    if (stat(path, &about) != 0) {
        fprintf(stderr,
                "loopwright %s: %s: %s\n"
                "    help: give the directory of a run: loopwright run SCENARIO --out DIR\n",
                name, options->operand, strerror(errno));
        return STATUS_FILE;
    }
    return S_ISDIR(about.st_mode) ? explain_directory(options) : explain_capsule(options, path);
}
