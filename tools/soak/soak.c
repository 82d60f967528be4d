/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak.c - `loopwright soak`: many seeds, long times; a whole soak here, a plan for
 * several machines, or a shard of one. */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "sim/estimate.h"
#include "sim/require.h"
#include "sim/sealed_file.h"
#include "sim/text_stream.h"
#include "tools/base/command.h"
#include "tools/base/interrupt.h"
#include "tools/base/load.h"
#include "tools/base/pool.h"
#include "tools/base/status.h"
#include "tools/soak/soak_journal.h"
#include "tools/soak/soak_json.h"
#include "tools/soak/soak_plan.h"
#include "tools/soak/soak_report.h"
#include "tools/soak/soak_run.h"
#include "tools/soak/soak_shards.h"
#include "tools/soak/soak_words.h"
#include "tools/soak/soak_work.h"

static const char name[] = "soak";
enum { RUNS_DEFAULT = 100, KEEP_DEFAULT = 20 };

/* ---- the command line ---- */

static int usage(const char *what) {
    fprintf(stderr, "loopwright soak: %s\n    help: loopwright soak --help\n", what);
    return STATUS_USAGE;
}

/* What goes with --from, and what only goes without. */
static const char *contradiction(const struct options *options) {
    static const enum option plans[] = {OPTION_SEED,    OPTION_FOR,         OPTION_SET,
                                        OPTION_RUNS,    OPTION_KEEP,        OPTION_DISTURB,
                                        OPTION_AGAINST, OPTION_AGAINST_SET, OPTION_PLAN,
                                        OPTION_SHARDS,  OPTION_UNTIL_JAM,   OPTION_OUT};
    bool from = options->given[OPTION_FROM_PLAN];
    for (size_t i = 0; from && i < sizeof plans / sizeof *plans; i++)
        if (options->given[plans[i]])
            return "with `--from DIR` the plan says what is run: only --shard, --jobs, --resume "
                   "and --quiet go with it";
    if (from && options->operand != NULL)
        return "with `--from DIR` there is no SCENARIO: the plan holds it";
    if (!from && options->given[OPTION_SHARD])
        return "`--shard K` needs the plan: add --from DIR";
    if (options->given[OPTION_AGAINST] && options->given[OPTION_AGAINST_SET])
        return "`--against` names another scenario, `--against-set` changes this one: give one of "
               "them";
    if (options->given[OPTION_PLAN] != options->given[OPTION_SHARDS])
        return "`--plan DIR` and `--shards N` go together";
    if (options->given[OPTION_PLAN] && options->given[OPTION_OUT])
        return "a plan runs nothing: leave out --out";
    if (options->given[OPTION_RESUME] && !from && !options->given[OPTION_OUT])
        return "`--resume` needs the directory of the soak: add --out DIR";
    return NULL;
}

/* ---- the plan ---- */

/* A loop that nobody wants anything of does not jam: hours like that say little. */
static void warn_of_idle_hours(const struct scenario *scenario) {
    int64_t last = -1;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!scenario->demand[i].outlet && scenario->demand[i].until_tick > last)
            last = scenario->demand[i].until_tick;
    if (!scenario_has_orders(scenario) || last >= scenario->run_ticks)
        return;
    char end[QUANTITY_TEXT_SIZE], run[QUANTITY_TEXT_SIZE];
    fprintf(stderr,
            "loopwright soak: warning: all demands end by %s, but a run goes on to %s: idle hours "
            "would count as good ones\n    help: remove `until`, or end the runs with --for\n",
            quantity_clock(last, scenario->ticks_per_second, end),
            quantity_clock(scenario->run_ticks, scenario->ticks_per_second, run));
}

static bool same_length(const struct scenario *first, const struct scenario *second) {
    struct ratio one = {first->run_ticks, first->ticks_per_second};
    struct ratio other = {second->run_ticks, second->ticks_per_second};
    return quantity_compare(one, other) == 0;
}

static int read_variant(struct soak_plan *plan, const struct options *options, const char *path,
                        char *variant_name) {
    int status = STATUS_HOLDS;
    uint32_t variant = plan->variant_count;
    plan->name[variant] = variant_name;
    plan->scenario[variant] = load_scenario(options, name, path, &status);
    if (plan->scenario[variant] == NULL)
        return status;
    warn_of_idle_hours(plan->scenario[variant]);
    plan->variant_count++;
    return STATUS_HOLDS;
}

/* "ring.yaml with arms.feeder.swing=1s, ..." */
static char *changed_name(const struct options *options) {
    char *text = require_text(options->operand);
    for (size_t i = 0; i < options->against_set_count; i++) {
        const char *change = options->against_set[i];
        size_t used = strlen(text), room = strlen(change) + sizeof " with ";
        text = require_more_memory(text, used + room, 1);
        snprintf(text + used, room, "%s%s", i == 0 ? " with " : ", ", change);
    }
    return text;
}

/* The same scenario, changed further. */
static int read_changed(struct soak_plan *plan, const struct options *options) {
    struct options changed = *options;
    changed.set_count = options->set_count + options->against_set_count;
    changed.set = require_memory(changed.set_count, sizeof *changed.set);
    for (size_t i = 0; i < options->set_count; i++)
        changed.set[i] = options->set[i];
    for (size_t i = 0; i < options->against_set_count; i++)
        changed.set[options->set_count + i] = options->against_set[i];
    int status = read_variant(plan, &changed, options->operand, changed_name(options));
    free(changed.set);
    return status;
}

static int read_scenarios(struct soak_plan *plan, const struct options *options) {
    const char *against = options->value[OPTION_AGAINST];
    int status = read_variant(plan, options, options->operand, require_text(options->operand));
    if (status == STATUS_HOLDS && against != NULL)
        status = read_variant(plan, options, against, require_text(against));
    if (status == STATUS_HOLDS && options->against_set_count > 0)
        status = read_changed(plan, options);
    if (status == STATUS_HOLDS && plan->variant_count > 1 &&
        !same_length(plan->scenario[0], plan->scenario[1]))
        return usage("the two scenarios run for different times: give --for");
    return status;
}

/* One run says all where nothing is left to chance. */
static int64_t runs_by_default(const struct soak_plan *plan) {
    for (uint32_t i = 0; i < plan->variant_count; i++)
        if (soak_plan_has_chance(plan, i))
            return RUNS_DEFAULT;
    return 1;
}

/* Disturbances need time before the end to have been got over, and some time for themselves. */
static int check_length(const struct soak_plan *plan) {
    for (uint32_t i = 0; i < plan->variant_count && plan->disturb; i++) {
        const struct scenario *scenario = plan->scenario[i];
        struct soak_measures measures;
        int64_t least = 0;
        soak_measures_init(&measures, scenario);
        bool whole = soak_run_least_ticks(plan, &measures, i, &least);
        soak_measures_free(&measures);
        if (!whole)
            return STATUS_SIGNAL + interrupt_signal();
        if (least <= scenario->run_ticks)
            continue;
        char run[QUANTITY_TEXT_SIZE], text[QUANTITY_TEXT_SIZE];
        fprintf(stderr,
                "loopwright soak: a run of %s is too short for `--disturb`, whose last disturbance "
                "ends an hour, 30 revolutions and 20 intervals of each product before its end\n"
                "    help: give --for %s at least\n",
                quantity_clock(scenario->run_ticks, scenario->ticks_per_second, run),
                quantity_clock(least, scenario->ticks_per_second, text));
        return STATUS_USAGE;
    }
    return STATUS_HOLDS;
}

static int read_numbers(struct soak_plan *plan, const struct options *options) {
    int64_t runs = runs_by_default(plan), keep = KEEP_DEFAULT, shards = 0;
    if (!options_number(options, name, OPTION_RUNS, &runs) ||
        !options_number(options, name, OPTION_KEEP, &keep) ||
        !options_number(options, name, OPTION_SHARDS, &shards))
        return STATUS_USAGE;
    if (shards > runs)
        return usage("there are more shards than runs");
    plan->run_count = (uint64_t)runs;
    plan->keep = (uint64_t)keep;
    plan->shard_count = (uint64_t)shards;
    return STATUS_HOLDS;
}

static int make_plan(struct soak_plan *plan, const struct options *options) {
    *plan = (struct soak_plan){.until_jam = options->given[OPTION_UNTIL_JAM],
                               .disturb = options->given[OPTION_DISTURB]};
    int status = read_scenarios(plan, options);
    if (status == STATUS_HOLDS)
        status = read_numbers(plan, options);
    if (status == STATUS_HOLDS)
        status = check_length(plan);
    if (status == STATUS_HOLDS)
        soak_plan_write(plan);
    return status;
}

/* ---- a whole soak ---- */

static void tell_resume(const void *self) {
    const struct options *options = self;
    options_print_words(options, name, stderr);
    bool needed = !options->given[OPTION_RESUME] && !options->given[OPTION_FROM_PLAN];
    fputs(needed ? " --resume\n" : "\n", stderr);
}

/* What names the first scenario on a command line: that of its files where there are any. */
static char *scenario_words(const struct options *options) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    if (options->value[OPTION_OUT] != NULL)
        fprintf(out, "%s/scenario.yaml", options->value[OPTION_OUT]);
    else
        options_print_scenario(options, out);
    return text_stream_end(&stream);
}

static void tell_outcome(const struct soak_journal *book, const struct options *options) {
    char *scenario = scenario_words(options);
    struct soak_words asked = {options->value[OPTION_OUT], scenario};
    if (options->given[OPTION_JSON])
        soak_json_print(book, stdout);
    else if (!options->given[OPTION_QUIET])
        soak_words_print(book, &asked, stdout);
    free(scenario);
}

static int soak_whole(const struct soak_plan *plan, const struct options *options, uint32_t jobs) {
    struct soak_journal book;
    struct soak_order order = {.path = options->value[OPTION_OUT],
                               .shard = SOAK_NO_SHARD,
                               .jobs = jobs,
                               .resume = options->given[OPTION_RESUME],
                               .quiet = options->given[OPTION_QUIET],
                               .tell_resume = tell_resume,
                               .self = options};
    soak_journal_init(&book, plan);
    int status = soak_work(&book, &order);
    if (status == STATUS_HOLDS) {
        tell_outcome(&book, options);
        if (plan->variant_count == 1 && !soak_report_holds(&book))
            status = STATUS_FAILS;
    }
    soak_journal_free(&book);
    return status;
}

/* ---- shards ---- */

/* The number of the shard, from the option or from the array that the program is a task of. */
static int read_shard(const struct options *options, uint64_t count, uint64_t *shard) {
    int64_t number = -1;
    struct options asked = *options;
    if (asked.value[OPTION_SHARD] == NULL)
        asked.value[OPTION_SHARD] = getenv("SLURM_ARRAY_TASK_ID");
    if (asked.value[OPTION_SHARD] == NULL)
        return usage("which shard? Give --shard K, or run it as a task of a job array, which sets "
                     "SLURM_ARRAY_TASK_ID");
    if (!options_number(&asked, name, OPTION_SHARD, &number))
        return STATUS_USAGE;
    if ((uint64_t)number >= count) {
        fprintf(stderr,
                "loopwright soak: there is no shard %" PRId64 " in this plan: its shards are 0 "
                "to %" PRIu64 "\n",
                number, count - 1);
        return STATUS_USAGE;
    }
    *shard = (uint64_t)number;
    return STATUS_HOLDS;
}

static int soak_shard(const struct soak_plan *plan, const struct options *options, uint32_t jobs) {
    uint64_t shard;
    int status = read_shard(options, plan->shard_count, &shard);
    if (status != STATUS_HOLDS)
        return status;
    struct soak_journal book;
    char *path = soak_shards_path(options->value[OPTION_FROM_PLAN], shard);
    struct soak_order order = {.path = path,
                               .shard = shard,
                               .jobs = jobs,
                               .resume = true,
                               .quiet = options->given[OPTION_QUIET],
                               .tell_resume = tell_resume,
                               .self = options};
    soak_journal_init(&book, plan);
    status = soak_work(&book, &order);
    if (status == STATUS_HOLDS && !options->given[OPTION_QUIET])
        printf("Shard %" PRIu64 " of %" PRIu64 " is done: %s\n", shard, plan->shard_count, path);
    soak_journal_free(&book);
    free(path);
    return status;
}

static int soak_from_plan(const struct options *options, uint32_t jobs) {
    struct soak_plan plan;
    int status = soak_shards_read_plan(&plan, options->value[OPTION_FROM_PLAN]);
    if (status != STATUS_HOLDS)
        return status;
    status = soak_shard(&plan, options, jobs);
    soak_plan_free(&plan);
    return status;
}

/* ---- all together ---- */

static int soak_planned(const struct options *options, uint32_t jobs) {
    struct soak_plan plan = {.variant_count = 0};
    int status = make_plan(&plan, options);
    if (status == STATUS_HOLDS && plan.shard_count > 0)
        status = soak_shards_write_plan(&plan, options->value[OPTION_PLAN],
                                        !options->given[OPTION_QUIET]);
    else if (status == STATUS_HOLDS)
        status = soak_whole(&plan, options, jobs);
    soak_plan_free(&plan);
    return status;
}

int soak_command(const struct options *options) {
    int64_t jobs = pool_processors();
    const char *wrong = contradiction(options);
    if (wrong != NULL)
        return usage(wrong);
    if (!options_number(options, name, OPTION_JOBS, &jobs))
        return STATUS_USAGE;
    if (options->given[OPTION_FROM_PLAN])
        return soak_from_plan(options, (uint32_t)jobs);
    return soak_planned(options, (uint32_t)jobs);
}
