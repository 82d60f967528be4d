/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/drain/drain.c - `loopwright drain`: stops the demands and says whether, and when, the loops
 * run empty; if not, what is left and why. */
#include <inttypes.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "sim/estimate.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/base/command.h"
#include "tools/base/directory.h"
#include "tools/base/interrupt.h"
#include "tools/base/load.h"
#include "tools/base/pool.h"
#include "tools/base/progress.h"
#include "tools/base/status.h"
#include "tools/checkpoint/capsule_policy.h"
#include "tools/drain/drain_case.h"
#include "tools/drain/drain_flood.h"
#include "tools/drain/drain_report.h"
#include "tools/record/finish.h"

static const char name[] = "drain";
enum { AFTER_MINUTES = 10, WITHIN_MINUTES = 60, KEEP_MINUTES = 10 };
enum { LIMIT_SEEDS = 20, PER_CENT = 100 };

/* The command line, understood. */
struct wish {
    struct drain_order order;
    int64_t after_ticks;
    int64_t runs, jobs;
    bool many, limit, show_progress;
};

static int64_t minutes(const struct scenario *scenario, int64_t count) {
    return count * 60 * scenario->ticks_per_second;
}

/* ---- the command line ---- */

static int usage(const char *what) {
    fprintf(stderr, "loopwright drain: %s\n    help: loopwright drain --help\n", what);
    return STATUS_USAGE;
}

static int read_flood(const struct options *options, const struct scenario *scenario,
                      struct drain_flood *flood) {
    const char *text = options->value[OPTION_FLOOD], *wrong;
    if (text == NULL)
        drain_flood_init(flood, scenario);
    if (text == NULL || drain_flood_read(text, scenario, flood, &wrong))
        return STATUS_HOLDS;
    fprintf(stderr, "loopwright drain: `--flood %s`: %s\n    help: loopwright drain --help\n", text,
            wrong);
    return STATUS_USAGE;
}

static int read_wish(const struct options *options, const struct scenario *scenario,
                     struct wish *wish) {
    *wish = (struct wish){.order = {.scenario = scenario,
                                    .within_ticks = minutes(scenario, WITHIN_MINUTES),
                                    .supplies_too = options->given[OPTION_SUPPLIES_TOO],
                                    .restart = options->given[OPTION_RESTART]},
                          .after_ticks = scenario->warm_up_ticks + minutes(scenario, AFTER_MINUTES),
                          .runs = 1,
                          .jobs = pool_processors(),
                          .many = options->given[OPTION_RUNS],
                          .limit = options->given[OPTION_FLOOD_UNTIL_IT_FAILS],
                          .show_progress = !options->given[OPTION_QUIET]};
    int64_t rate = scenario->ticks_per_second;
    if (!options_ticks(options, name, OPTION_AFTER, rate, &wish->after_ticks) ||
        !options_ticks(options, name, OPTION_WITHIN, rate, &wish->order.within_ticks) ||
        !options_number(options, name, OPTION_RUNS, &wish->runs) ||
        !options_number(options, name, OPTION_JOBS, &wish->jobs))
        return STATUS_USAGE;
    if (wish->order.within_ticks == 0)
        return usage("`--within` needs a duration longer than 0");
    int64_t longest = wish->after_ticks + DRAIN_SPREAD_SECONDS * scenario->ticks_per_second;
    if (wish->after_ticks > LIMIT_TICKS / 4 || wish->order.within_ticks > LIMIT_TICKS / 4 ||
        longest > LIMIT_TICKS / 4)
        return usage("no run can be that long");
    return read_flood(options, scenario, &wish->order.flood);
}

/* ---- how far it is ---- */

/* Pieces of work that are done, of all, as the line of progress shows them. */
struct pieces {
    struct progress progress;
    atomic_int_fast64_t done;
};

static void pieces_begin(struct pieces *pieces, const struct wish *wish, int64_t count,
                         const char *what) {
    progress_init_count(&pieces->progress, count, what, wish->show_progress);
    atomic_init(&pieces->done, 0);
}

static void pieces_look(struct pieces *pieces) {
    progress_show(&pieces->progress, (int64_t)atomic_load(&pieces->done));
}

/* ---- many cases ---- */

struct cases {
    const struct wish *wish;
    pthread_mutex_t lock; /* of what follows */
    uint64_t drained;
    bool any;
    uint64_t worst_number;
    struct drain_found worst; /* of those that are over; of equals the one of the least number */
    struct pieces pieces;
};

/* Of all runs only the worst is kept, so that memory does not grow with them. */
static void take(struct cases *cases, uint64_t number, struct drain_found *found) {
    const struct drain_order *order = &cases->wish->order;
    pthread_mutex_lock(&cases->lock);
    cases->drained += found->drained;
    bool worse = !cases->any || drain_report_is_worse(order, found, &cases->worst);
    bool same = cases->any && !worse && !drain_report_is_worse(order, &cases->worst, found);
    if (worse || (same && number < cases->worst_number)) {
        struct drain_found better = cases->worst;
        cases->worst = *found;
        cases->worst_number = number;
        cases->any = true;
        *found = better;
    }
    pthread_mutex_unlock(&cases->lock);
    drain_case_free(found);
}

static void look_at_cases(void *self) { pieces_look(&((struct cases *)self)->pieces); }

static bool run_case(void *self, uint64_t number) {
    struct cases *cases = self;
    const struct wish *wish = cases->wish;
    const struct scenario *scenario = wish->order.scenario;
    int64_t stop = drain_case_stop(scenario, wish->after_ticks, number, (uint64_t)wish->runs);
    struct drain_found found;
    if (!drain_case_run(&wish->order, drain_case_seed(scenario, number), stop, &found))
        return false;
    take(cases, number, &found);
    atomic_fetch_add(&cases->pieces.done, 1);
    return true;
}

/* ---- the greatest flood ---- */

struct search {
    const struct wish *wish;
    struct greatest {
        int64_t items, level;
    } greatest[LIMIT_SEEDS];
    struct pieces pieces;
};

static void look_at_search(void *self) { pieces_look(&((struct search *)self)->pieces); }

/* A flood of a level: so many of its item, or per cent of the cells. */
static struct drain_flood flood_of(const struct drain_flood *like, int64_t level) {
    struct drain_flood flood = *like;
    flood.wanted = true;
    if (flood.item != NO_INDEX)
        flood.count = level;
    else
        flood.share = (struct ratio){level, PER_CENT};
    return flood;
}

static bool recovers(const struct wish *wish, uint64_t seed, int64_t level, int64_t *items,
                     bool *whole) {
    struct drain_order order = wish->order;
    struct drain_found found;
    order.restart = false;
    order.flood = flood_of(&wish->order.flood, level);
    *whole = drain_case_run(&order, seed, wish->after_ticks, &found);
    if (!*whole)
        return false;
    bool recovered = found.recovered;
    *items = found.flood_items;
    drain_case_free(&found);
    return recovered;
}

static int64_t level_most(const struct wish *wish) {
    const struct drain_flood *flood = &wish->order.flood;
    return flood->item != NO_INDEX ? drain_flood_most(flood, wish->order.scenario) : PER_CENT;
}

/* Halves between a flood that it recovers from (none at all, to begin with) and one that it does
 * not. */
static bool search_seed(void *self, uint64_t number) {
    struct search *search = self;
    const struct wish *wish = search->wish;
    const struct scenario *scenario = wish->order.scenario;
    int64_t good = 0, bad = level_most(wish) + 1;
    while (bad - good > 1) {
        int64_t level = good + (bad - good) / 2, items;
        bool whole;
        bool recovered = recovers(wish, drain_case_seed(scenario, number), level, &items, &whole);
        if (!whole)
            return false;
        if (recovered) {
            good = level;
            search->greatest[number] = (struct greatest){items, level};
        } else {
            bad = level;
        }
    }
    atomic_fetch_add(&search->pieces.done, 1);
    return true;
}

static int greatest_order(const void *a, const void *b) {
    const struct greatest *one = a, *other = b;
    return (one->items > other->items) - (one->items < other->items);
}

static bool all_reach(const struct search *search, int64_t level) {
    for (int i = 0; i < LIMIT_SEEDS; i++)
        if (search->greatest[i].level < level)
            return false;
    return true;
}

/* Where no flood was named, the one that is reported is one that it recovers from with every seed.
 * False: a signal was noted. */
static bool find_limit(struct wish *wish, struct drain_limit *limit) {
    bool named = wish->order.flood.wanted;
    struct search search = {.wish = wish};
    struct pool_task task = {&search, LIMIT_SEEDS, (uint32_t)wish->jobs, search_seed,
                             look_at_search};
    pieces_begin(&search.pieces, wish, LIMIT_SEEDS, "seeds searched for the greatest heap");
    bool whole = pool_run(&task);
    progress_end(&search.pieces.progress);
    if (!whole)
        return false;
    qsort(search.greatest, LIMIT_SEEDS, sizeof *search.greatest, greatest_order);
    *limit = (struct drain_limit){.known = true,
                                  .every = all_reach(&search, level_most(wish)),
                                  .seeds = LIMIT_SEEDS,
                                  .greatest = search.greatest[(LIMIT_SEEDS - 1) / 2].items,
                                  .low = search.greatest[0].items,
                                  .high = search.greatest[LIMIT_SEEDS - 1].items};
    if (!named)
        wish->order.flood = flood_of(&wish->order.flood, search.greatest[0].level);
    return true;
}

/* ---- files ---- */

static bool write_files(struct record *record, const struct directory *directory,
                        const char *drain) {
    record_end(record);
    struct outcome outcome = record_outcome(record);
    char *summary = summary_as_json(&outcome);
    bool written = record_write(record, summary) &&
                   record->keeper.write(record->keeper.self, directory) &&
                   directory_add(directory, "drain.json", drain, strlen(drain));
    free(summary);
    return written;
}

/* Runs it once more, as `run` would, with all its tables. */
static int run_into(const struct scenario *scenario, struct world *world,
                    const struct directory *directory, const char *drain) {
    struct record record;
    struct capsule_policy policy;
    struct progress progress;
    if (!record_open(&record, scenario, world, directory, false))
        return STATUS_FILE;
    capsule_policy_begin(&policy, &record, minutes(scenario, KEEP_MINUTES));
    capsule_policy_check_space(&policy, directory, scenario->run_ticks);
    progress_init(&progress, scenario->run_ticks, scenario->ticks_per_second, false);
    record_run_until(&record, &progress, NULL, scenario->run_ticks);
    int status = interrupt_signal() != 0 ? STATUS_SIGNAL + interrupt_signal() : STATUS_HOLDS;
    if (status == STATUS_HOLDS && !write_files(&record, directory, drain))
        status = STATUS_FILE;
    capsule_policy_free(&policy);
    record_free(&record);
    return status;
}

static int write_directory(struct directory *directory, const struct drain_outcome *outcome) {
    const struct scenario *scenario = outcome->worst->scenario;
    struct world *world = world_new(scenario);
    char *drain = drain_report_json(outcome);
    int status = run_into(scenario, world, directory, drain);
    free(drain);
    world_free(world);
    if (status == STATUS_HOLDS && !directory_commit(directory))
        status = STATUS_FILE;
    return status;
}

/* ---- all together ---- */

/* The same command line with a directory, and `cause` of that. */
static char *way_on(const struct options *options) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    options_print_words(options, name, out);
    fputs(" --out drained; loopwright cause drained", out);
    return text_stream_end(&stream);
}

static void tell_in_words(const struct options *options, const struct drain_outcome *outcome) {
    char *again = way_on(options);
    drain_report_print(outcome, options->value[OPTION_OUT], again, stdout);
    free(again);
}

static void tell(const struct options *options, const struct drain_outcome *outcome) {
    if (options->given[OPTION_JSON]) {
        char *text = drain_report_json(outcome);
        fputs(text, stdout);
        free(text);
    } else if (!options->given[OPTION_QUIET]) {
        tell_in_words(options, outcome);
    }
}

static bool all_hold(const struct drain_outcome *outcome) {
    return drain_report_found_holds(outcome->order, outcome->worst);
}

static int conclude(const struct options *options, struct directory *directory,
                    const struct drain_outcome *outcome) {
    int status = directory != NULL ? write_directory(directory, outcome) : STATUS_HOLDS;
    if (status != STATUS_HOLDS)
        return status;
    tell(options, outcome);
    return all_hold(outcome) ? STATUS_HOLDS : STATUS_FAILS;
}

static int run_wish(const struct options *options, struct wish *wish, struct directory *directory) {
    struct cases cases = {.wish = wish};
    struct pool_task task = {&cases, (uint64_t)wish->runs, (uint32_t)wish->jobs, run_case,
                             look_at_cases};
    struct drain_outcome outcome = {.order = &wish->order,
                                    .worst = &cases.worst,
                                    .run_count = (uint64_t)wish->runs,
                                    .many = wish->many};
    pthread_mutex_init(&cases.lock, NULL);
    bool whole = !wish->limit || find_limit(wish, &outcome.limit);
    pieces_begin(&cases.pieces, wish, wish->runs, "runs drained");
    whole = whole && pool_run(&task);
    progress_end(&cases.pieces.progress);
    outcome.drained_count = cases.drained;
    int status =
        whole ? conclude(options, directory, &outcome) : STATUS_SIGNAL + interrupt_signal();
    pthread_mutex_destroy(&cases.lock);
    drain_case_free(&cases.worst);
    return status;
}

static int drain_scenario(const struct options *options, struct wish *wish) {
    struct directory directory;
    const char *path = options->value[OPTION_OUT];
    if (path != NULL && !directory_begin(&directory, path))
        return STATUS_FILE;
    int status = run_wish(options, wish, path != NULL ? &directory : NULL);
    if (path != NULL)
        directory_abandon(&directory);
    return status;
}

static int drain_as_asked(const struct options *options, const struct scenario *scenario) {
    struct wish wish;
    int status = read_wish(options, scenario, &wish);
    if (status == STATUS_HOLDS)
        status = drain_scenario(options, &wish);
    drain_flood_free(&wish.order.flood);
    return status;
}

int drain_command(const struct options *options) {
    int status;
    struct scenario *scenario = load_scenario(options, name, options->operand, &status);
    if (scenario == NULL)
        return status;
    status = drain_as_asked(options, scenario);
    scenario_free(scenario);
    return status;
}
