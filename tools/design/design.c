/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/design.c - `loopwright design`: completes a brief or a scenario that leaves numbers
 * open, or makes a complete one smaller or faster; writes it and says what it is made of. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tools/base/command.h"
#include "tools/base/diagnostics.h"
#include "tools/base/interrupt.h"
#include "tools/base/load.h"
#include "tools/base/output.h"
#include "tools/base/pool.h"
#include "tools/base/status.h"
#include "tools/design/annotate.h"
#include "tools/design/design_sheet.h"
#include "tools/design/design_text.h"
#include "tools/design/fill.h"
#include "tools/design/night.h"
#include "tools/design/search_run.h"

static const char name[] = "design";

/* What is in hand. */
struct design {
    const struct options *options;
    struct draft *draft;
    struct trials_wish wish;
    bool show_progress;
    struct search search; /* of a brief */
    struct fill fill;     /* of anything else */
    struct tolerances tolerance;
    char *text; /* the scenario that is written; NULL: there is none */
    struct design_sheet sheet;
    struct scenario *scenario; /* of the text */
    char met[32];              /* what `expect` asks for of each demand */
};

/* ---- the command line ---- */

static int usage(const char *what) {
    fprintf(stderr, "loopwright design: %s\n    help: loopwright design --help\n", what);
    return STATUS_USAGE;
}

static const char *contradiction(const struct options *options) {
    int ways = options->given[OPTION_TUNE] + options->given[OPTION_TIGHTEN] +
               options->given[OPTION_FOR_DEMAND];
    if (ways > 1)
        return "`--tune`, `--tighten` and `--for-demand` exclude each other: keep one of "
               "them";
    return NULL;
}

static struct draft *read_it(const struct options *options, int *status) {
    char *made[2] = {NULL, NULL};
    const char **override = require_memory(options->set_count + 2, sizeof *override);
    int count = options_overrides(options, name, override, made);
    struct faults faults = {0};
    bool unreadable = false;
    struct draft *draft = NULL;
    interrupt_leave(); /* a pipe may keep us waiting, and nothing is begun yet */
    if (count >= 0)
        draft = read_draft_file(options->operand, override, (size_t)count, &faults, &unreadable);
    interrupt_watch();
    if (unreadable)
        load_help_with_name(options->operand, &faults);
    *status = count < 0 ? STATUS_USAGE : unreadable ? STATUS_FILE : STATUS_SCENARIO;
    diagnostics_print(stderr, &faults);
    faults_free(&faults);
    free(override);
    free(made[0]);
    free(made[1]);
    return draft;
}

/* ---- what `expect` may ask for ---- */

struct own_runs {
    const struct scenario *scenario;
    struct night_result *result;
};

static bool run_own(void *self, uint64_t run) {
    const struct own_runs *runs = self;
    return night_run(runs->scenario, runs->scenario->seed + run, runs->scenario->run_ticks,
                     &runs->result[run]);
}

/* A run as long as the scenario says may be much shorter than a night, so that its beginning weighs
 * more: what `expect` asks for has to come true in it as well. */
static void find_expectation(struct design *design) {
    const struct may *may = &design->draft->may;
    struct scenario *scenario = fill_read(design->text);
    uint64_t count = (uint64_t)may->seeds;
    struct own_runs runs = {scenario, require_memory(count, sizeof *runs.result)};
    struct pool_task task = {&runs, count, design->wish.jobs, run_own, NULL};
    double least = (double)may->met.numerator / (double)may->met.denominator;
    bool whole = pool_run(&task), lower = false;
    for (uint64_t i = 0; i < count; i++) {
        if (whole && runs.result[i].met < least) {
            least = runs.result[i].met;
            lower = true;
        }
        night_free(&runs.result[i]);
    }
    if (lower)
        snprintf(design->met, sizeof design->met, "0.%02d", (int)(least * 100));
    free(runs.result);
    scenario_free(scenario);
}

/* ---- a brief ---- */

/* Writes the plan as it is known now; the figures are those of the scenario written last. */
static void write_plan(struct design *design, const char *head) {
    struct budget *budget = design->scenario != NULL ? budget_new(design->scenario) : NULL;
    struct design_notes notes = {.head = head,
                                 .tolerance = &design->tolerance,
                                 .met = design->met[0] != '\0' ? design->met : NULL,
                                 .budget = budget};
    free(design->text);
    design->text = design_text_of(&design->search.plan, design->draft, &notes);
    if (budget != NULL)
        budget_free(budget);
}

static void look_for_tolerances(struct design *design) {
    bool wanted = design->sheet.found && !design->options->given[OPTION_NO_TOLERANCES];
    if (!wanted || interrupt_signal() != 0)
        return;
    if (tolerances_find(&design->tolerance, design->text, &design->wish, design->show_progress))
        design->sheet.tolerance = &design->tolerance;
    else
        tolerances_free(&design->tolerance);
}

static void set_scenario(struct design *design) {
    scenario_free(design->scenario);
    design->scenario = fill_read(design->text);
    design->sheet.scenario = design->scenario;
}

static void design_brief(struct design *design) {
    struct search *search = &design->search;
    search_run(search, design->draft, &design->wish, design->show_progress);
    design->sheet = (struct design_sheet){.found = search->found,
                                          .tries = search->tries,
                                          .may = &design->draft->may,
                                          .trials = search->planned ? &search->trials : NULL,
                                          .why = search->why};
    if (!search->planned)
        return;
    write_plan(design, NULL);
    if (search->found && interrupt_signal() == 0) {
        find_expectation(design);
        write_plan(design, NULL);
    }
    set_scenario(design);
    look_for_tolerances(design);
    char *head = design_sheet_evidence(&design->sheet);
    write_plan(design, head);
    free(head);
    set_scenario(design);
}

/* ---- a scenario with arms ---- */

/* Says beside the numbers what came of the trials. */
static void annotate(struct design *design) {
    const struct fill *fill = &design->fill;
    const char *wanted = design->options->value[OPTION_FOR_DEMAND];
    char why[200] = "the least that was found with all trials";
    if (wanted != NULL)
        snprintf(why, sizeof why, "for %.150s a minute", wanted);
    if (!design->sheet.found)
        return;
    struct budget *budget = budget_new(design->scenario);
    struct annotation annotation = {.draft = design->draft,
                                    .changed = fill->changed,
                                    .changed_count = fill->changed_count,
                                    .why = why,
                                    .budget = budget,
                                    .tolerance = design->sheet.tolerance};
    char *text = annotate_text(design->text, &annotation);
    budget_free(budget);
    free(design->text);
    design->text = text;
    set_scenario(design);
}

static int design_scenario(struct design *design) {
    struct fill *fill = &design->fill;
    const struct options *options = design->options;
    struct fill_order order = {.draft = design->draft,
                               .wish = &design->wish,
                               .show_progress = design->show_progress,
                               .tune = options->value[OPTION_TUNE],
                               .tighten = options->given[OPTION_TIGHTEN],
                               .for_demand = options->value[OPTION_FOR_DEMAND],
                               .set = (const char *const *)options->set,
                               .set_count = (uint32_t)options->set_count};
    int status = fill_run(fill, &order);
    if (status != STATUS_HOLDS)
        return status;
    design->text = require_text(fill->text);
    design->sheet = (struct design_sheet){.found = fill->found,
                                          .tries = fill->tries,
                                          .may = &design->draft->may,
                                          .trials = &fill->trials,
                                          .changed = fill->changed,
                                          .changed_count = fill->changed_count,
                                          .why = fill->why};
    set_scenario(design);
    look_for_tolerances(design);
    annotate(design);
    return STATUS_HOLDS;
}

/* ---- what comes of it ---- */

/* What took long is not lost with the file that was to hold it. */
static bool write_text(const struct design *design) {
    const char *path = design->options->value[OPTION_OUT_FILE];
    if (design->text == NULL)
        return true;
    if (path != NULL) {
        if (output_write(path, OUTPUT_YAML, design->options->given[OPTION_FORCE], design->text))
            return true;
        if (output_is_standard(path))
            return false;
        fputs("    help: what was to be written there follows on standard output\n", stderr);
        fputs(design->text, stdout);
        return false;
    }
    if (!design->options->given[OPTION_JSON])
        fputs(design->text, stdout);
    return true;
}

static void tell(const struct design *design) {
    if (design->options->given[OPTION_JSON]) {
        char *text = design_sheet_json(&design->sheet);
        fputs(text, stdout);
        free(text);
    } else if (!design->options->given[OPTION_QUIET]) {
        design_sheet_print(&design->sheet, stderr);
        const char *path = design->options->value[OPTION_OUT_FILE];
        if (path != NULL && design->text != NULL)
            fprintf(stderr, "\n%s is written. Next: loopwright run %s\n", path, path);
    }
}

/* The first number of a brief that is written `find` and that it should rather leave out; NULL:
 * there is none. A design works out itself what may be left out. */
static const char *open_for_nothing(const struct draft *draft) {
    for (uint32_t i = 0; i < draft->open_count; i++) {
        const char *path = draft->open[i].path, *key = strrchr(path, '.');
        bool ahead =
            strncmp(path, "stations.", 9) == 0 && key != NULL && strcmp(key, ".ahead") == 0;
        if (strncmp(path, "loops.", 6) != 0 && !ahead)
            return path;
    }
    return NULL;
}

static int refuse_open(const char *path) {
    fprintf(stderr,
            "loopwright design: a brief leaves out what is to be found: take `%s` out of it\n",
            path);
    return STATUS_SCENARIO;
}

static int work(struct design *design) {
    const struct options *options = design->options;
    bool other = options->given[OPTION_TUNE] || options->given[OPTION_TIGHTEN] ||
                 options->given[OPTION_FOR_DEMAND];
    int status = STATUS_HOLDS;
    if (design->draft->is_brief && other)
        return usage("a brief has no numbers yet to tune: design it first");
    if (design->draft->is_brief && open_for_nothing(design->draft) != NULL)
        return refuse_open(open_for_nothing(design->draft));
    if (design->draft->is_brief)
        design_brief(design);
    else
        status = design_scenario(design);
    if (status != STATUS_HOLDS)
        return status;
    if (!write_text(design))
        return output_failure(options->value[OPTION_OUT_FILE]);
    tell(design);
    if (interrupt_signal() != 0)
        return STATUS_SIGNAL + interrupt_signal();
    return design->sheet.found ? STATUS_HOLDS : STATUS_FAILS;
}

int design_command(const struct options *options) {
    int64_t jobs = pool_processors();
    const char *wrong = contradiction(options), *path = options->value[OPTION_OUT_FILE];
    int status;
    if (wrong != NULL)
        return usage(wrong);
    if (!options_number(options, name, OPTION_JOBS, &jobs))
        return STATUS_USAGE;
    if (path != NULL && !output_may_write(path, options->given[OPTION_FORCE]))
        return STATUS_FILE;
    struct draft *draft = read_it(options, &status);
    if (draft == NULL)
        return status;
    struct design design = {.options = options,
                            .draft = draft,
                            .wish = {.may = &draft->may, .jobs = (uint32_t)jobs},
                            .show_progress = !options->given[OPTION_QUIET]};
    status = work(&design);
    search_free(&design.search);
    fill_free(&design.fill);
    tolerances_free(&design.tolerance);
    scenario_free(design.scenario);
    free(design.text);
    draft_free(draft);
    return status;
}
