/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/tolerance.c - the numbers of a scenario one by one, many at a time. */
#include "tools/design/tolerance.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glpk.h>

#include "model/reader/read.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/base/pool.h"
#include "tools/base/progress.h"
#include "tools/design/numbers.h"

struct tolerance *tolerances_add(struct tolerances *list, const char *path, int64_t value) {
    list->entry = array_with_room(list->entry, list->count, &list->capacity, sizeof *list->entry);
    struct tolerance *entry = &list->entry[list->count++];
    *entry = (struct tolerance){require_text(path), value, NOT_GIVEN, NOT_GIVEN};
    return entry;
}

void tolerance_print(const struct tolerance *entry, const char *key, FILE *out) {
    fprintf(out, "%s ", key);
    bool any = entry->least == NOT_GIVEN, capacity = numbers_is_capacity(entry->path);
    if (any && entry->greatest == NOT_GIVEN)
        fputs(capacity ? "may be any that is allowed" : "may be 1 or more", out);
    else if (any && capacity)
        fprintf(out, "may be any that is allowed, up to %" PRId64, entry->greatest);
    else if (any)
        fprintf(out, "may be 1 to %" PRId64, entry->greatest);
    else if (entry->least == entry->greatest)
        fprintf(out, "must be %" PRId64, entry->least);
    else if (entry->greatest == NOT_GIVEN)
        fprintf(out, "may be %" PRId64 " or more", entry->least);
    else
        fprintf(out, "may be %" PRId64 " to %" PRId64, entry->least, entry->greatest);
}

void tolerances_free(struct tolerances *list) {
    for (uint32_t i = 0; i < list->count; i++)
        free(list->entry[i].path);
    free(list->entry);
    *list = (struct tolerances){0};
}

/* ---- looking for the ends ---- */

enum { STEPS = 6 }; /* so many single steps, before they get longer */

struct seeking {
    struct tolerances *list;
    const char *text;
    const struct trials_wish *wish;
    struct progress progress;
    _Atomic uint32_t done; /* numbers whose ends are known */
};

/* Whether all holds with another value. */
static bool holds_with(const struct seeking *seeking, const struct tolerance *entry,
                       int64_t value) {
    char change[400];
    const char *override[] = {change};
    struct faults faults = {0};
    struct trials_wish alone = *seeking->wish;
    struct trials trials;
    snprintf(change, sizeof change, "%s=%" PRId64, entry->path, value);
    struct scenario *scenario =
        read_scenario(seeking->text, strlen(seeking->text), "", override, 1, &faults);
    faults_free(&faults);
    if (scenario == NULL)
        return false; /* a limit below what lies there at the start, say */
    alone.jobs = 1;
    trials_run(scenario, &alone, TRIALS_LOOK, &trials);
    bool holds = trials.whole && trials.holds;
    trials_free(&trials);
    scenario_free(scenario);
    return holds;
}

/* The value that is `steps` steps away; capacities step among those that there are. */
static int64_t step_from(const struct seeking *seeking, const struct tolerance *entry,
                         int64_t steps) {
    const struct may *may = seeking->wish->may;
    if (!numbers_is_capacity(entry->path) || may->capacity_count == 0)
        return entry->value + steps;
    int64_t at = 0;
    while (at < may->capacity_count && may->capacity[at] < entry->value)
        at++;
    at += steps;
    return at < 0 ? 0 : at >= may->capacity_count ? INT64_MAX : may->capacity[at];
}

static bool is_allowed(const struct seeking *seeking, int64_t value) {
    return value >= 1 && value <= seeking->wish->may->capacity_most;
}

/* The farthest value in a direction up to which all hold; NOT_GIVEN: all that may be. */
static int64_t end_of(const struct seeking *seeking, const struct tolerance *entry, int sign) {
    int64_t good = 0, bad, step = 1;
    for (;;) {
        int64_t next = good + step;
        if (!is_allowed(seeking, step_from(seeking, entry, sign * next))) {
            if (step == 1)
                return NOT_GIVEN;
            step /= 2;
            continue;
        }
        if (interrupt_signal() != 0)
            return NOT_GIVEN;
        if (!holds_with(seeking, entry, step_from(seeking, entry, sign * next))) {
            bad = next;
            break;
        }
        good = next;
        step = good < STEPS ? 1 : 2 * step;
    }
    while (bad - good > 1) {
        int64_t middle = good + (bad - good) / 2;
        if (holds_with(seeking, entry, step_from(seeking, entry, sign * middle)))
            good = middle;
        else
            bad = middle;
    }
    return step_from(seeking, entry, sign * good);
}

static bool seek(void *self, uint64_t number) {
    struct seeking *seeking = self;
    struct tolerance *entry = &seeking->list->entry[number];
    entry->least = end_of(seeking, entry, -1);
    entry->greatest = end_of(seeking, entry, 1);
    seeking->done++;
    glp_free_env(); /* that of this thread, which budgets have made */
    return interrupt_signal() == 0;
}

static void show(void *self) {
    struct seeking *seeking = self;
    progress_show(&seeking->progress, seeking->done);
}

bool tolerances_find(struct tolerances *list, const char *text, const struct trials_wish *wish,
                     bool show_progress) {
    struct numbers numbers = {0};
    numbers_list(&numbers, text,
                 NUMBERS_THRESHOLDS | NUMBERS_LIMITS | NUMBERS_CAPACITIES | NUMBERS_TRAYS);
    for (uint32_t i = 0; i < numbers.count; i++)
        tolerances_add(list, numbers.entry[i].path, numbers.entry[i].value);
    numbers_free(&numbers);
    struct seeking seeking = {.list = list, .text = text, .wish = wish};
    struct pool_task task = {&seeking, list->count, wish->jobs, seek, show};
    progress_init_count(&seeking.progress, list->count, "numbers tried how far they may vary",
                        show_progress);
    bool whole = list->count == 0 || pool_run(&task);
    progress_end(&seeking.progress);
    return whole;
}
