/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/enlarge.c - follows the bottleneck that the budget names. */
#include "tools/design/enlarge.h"

#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/reader/read.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/base/progress.h"
#include "tools/base/status.h"
#include "tools/design/numbers.h"

enum { ROUNDS = 16, CHANGE_BYTES = 4000 };

/* A list of changes. */
struct changes {
    char **text;
    uint32_t count;
};

struct work {
    struct enlarge *enlarge;
    const struct scenario *scenario; /* as it was */
    const struct trials_wish *wish;
    struct progress progress;
    uint32_t item;
    struct changes changes;
};

static void add(struct changes *changes, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
static void add(struct changes *changes, const char *format, ...) {
    char text[CHANGE_BYTES];
    va_list values;
    va_start(values, format);
    vsnprintf(text, sizeof text, format, values);
    va_end(values);
    changes->text = require_more_memory(changes->text, changes->count + 1, sizeof *changes->text);
    changes->text[changes->count++] = require_text(text);
}

static struct changes copy_of(const struct changes *like) {
    struct changes copy = {NULL, 0};
    for (uint32_t i = 0; i < like->count; i++)
        add(&copy, "%s", like->text[i]);
    return copy;
}

static void changes_free(struct changes *changes) {
    for (uint32_t i = 0; i < changes->count; i++)
        free(changes->text[i]);
    free(changes->text);
    *changes = (struct changes){NULL, 0};
}

/* The scenario with changes; NULL: they cannot be. */
static struct scenario *changed(const struct work *work, const struct changes *changes) {
    struct faults faults = {0};
    const char *text = work->scenario->text;
    struct scenario *scenario = read_scenario(
        text, strlen(text), "", (const char *const *)changes->text, changes->count, &faults);
    faults_free(&faults);
    return scenario;
}

/* ---- orders ---- */

static void print_span(const struct span *span, double factor, double tps, char text[200]) {
    double a = span->a * factor, b = span->b * factor, c = span->c * factor;
    switch (span->kind) {
    case SPAN_FIXED: snprintf(text, 200, "%.6g s", (double)span->ticks / tps * factor); return;
    case SPAN_EXPONENTIAL: snprintf(text, 200, "{exponential: %.6g s}", a); return;
    case SPAN_UNIFORM: snprintf(text, 200, "{uniform: [%.6g s, %.6g s]}", a, b); return;
    case SPAN_NORMAL: snprintf(text, 200, "{normal: [%.6g s, %.6g s]}", a, b); return;
    case SPAN_LOGNORMAL: snprintf(text, 200, "{lognormal: [%.6g s, %.6g]}", a, span->b); return;
    case SPAN_GAMMA: snprintf(text, 200, "{gamma: [%.6g s, %.6g]}", a, span->b); return;
    case SPAN_WEIBULL: snprintf(text, 200, "{weibull: [%.6g s, %.6g]}", a, span->b); return;
    case SPAN_TRIANGULAR:
        snprintf(text, 200, "{triangular: [%.6g s, %.6g s, %.6g s]}", a, b, c);
        return;
    case SPAN_GEOMETRIC: break;
    }
    snprintf(text, 200, "{geometric: %.9f}", fmin(span->a / factor, 1));
}

static double ordered_per_minute(const struct scenario *scenario, uint32_t item) {
    double all = 0;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (scenario->demand[i].item == item && !scenario->demand[i].outlet)
            all += 60 * design_need_stream_rate(scenario, &scenario->demand[i]);
    return all;
}

static void order_more(struct work *work, double per_minute) {
    const struct scenario *scenario = work->scenario;
    double factor = ordered_per_minute(scenario, work->item) / per_minute;
    char text[200];
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        if (demand->item != work->item || demand->outlet)
            continue;
        print_span(&demand->every, factor, (double)scenario->ticks_per_second, text);
        add(&work->changes, "demands.%s.every=%s", demand->name, text);
    }
}

/* ---- what may help ---- */

/* The map of a part in the changed scenario, without its name and with other values for some keys;
 * NULL: there is none. Freed by the caller. */
static char *map_of(const struct scenario *scenario, const char *section, const char *name,
                    const char *key, const char *value) {
    struct faults faults = {0};
    struct draft *draft = read_draft(scenario->text, strlen(scenario->text), "", NULL, 0, &faults);
    const struct node *list = yaml_tree_find(draft->tree.root, section), *found = NULL;
    for (uint32_t i = 0; list != NULL && i < list->count; i++)
        if (strcmp(yaml_tree_find(list->child[i], "name")->text, name) == 0)
            found = list->child[i];
    char *text = found != NULL ? require_memory(CHANGE_BYTES, 1) : NULL;
    size_t used = 0;
    for (uint32_t i = 0; found != NULL && i < found->count; i++) {
        const char *own = found->child[2 * i]->text;
        if (strcmp(own, "name") == 0 || used + 1 >= CHANGE_BYTES)
            continue;
        char *flow = yaml_tree_write_flow(found->child[2 * i + 1]);
        bool other = key != NULL && strcmp(own, key) == 0;
        used += (size_t)snprintf(text + used, CHANGE_BYTES - used, "%s%s: %s",
                                 used == 0 ? "{" : ", ", own, other ? value : flow);
        free(flow);
    }
    if (text != NULL && used + 2 < CHANGE_BYTES)
        strcat(text, "}");
    draft_free(draft);
    faults_free(&faults);
    return text;
}

static void new_name(const struct scenario *scenario, const char *like, char name[100]) {
    unsigned number = 2;
    do
        snprintf(name, 100, "%.60s-%u", like, number++);
    while (scenario_has_name(scenario, name));
}

/* A second arm beside one; `key` and `value` put its other end elsewhere. */
static void second_arm(struct changes *changes, const struct scenario *scenario, uint32_t arm,
                       const char *key, const char *value) {
    char name[100];
    char *map = map_of(scenario, "arms", scenario->arm[arm].name, key, value);
    if (map == NULL)
        return;
    new_name(scenario, scenario->arm[arm].name, name);
    add(changes, "arms.%s=%s", name, map);
    free(map);
}

/* A second station beside one, with arms like those that work at it. */
static void second_station(struct changes *changes, const struct scenario *scenario,
                           uint32_t station) {
    char name[100];
    char *map = map_of(scenario, "stations", scenario->station[station].name, NULL, NULL);
    if (map == NULL)
        return;
    new_name(scenario, scenario->station[station].name, name);
    add(changes, "stations.%s=%s", name, map);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (arm->to.kind == PLACE_STATION && arm->to.index == station)
            second_arm(changes, scenario, i, "to", name);
        else if (arm->from.kind == PLACE_STATION && arm->from.index == station)
            second_arm(changes, scenario, i, "from", name);
    }
    free(map);
}

/* All thresholds half as large again, all limits twice as large, and capacities as far as there are
 * such chests. */
static void more_room(struct changes *changes, const struct scenario *scenario,
                      const struct may *may, bool thresholds, bool rooms) {
    struct numbers numbers = {0};
    unsigned set =
        (thresholds ? NUMBERS_THRESHOLDS : 0u) | (rooms ? NUMBERS_LIMITS | NUMBERS_CAPACITIES : 0u);
    numbers_list(&numbers, scenario->text, set);
    for (uint32_t i = 0; i < numbers.count; i++) {
        const struct number *own = &numbers.entry[i];
        bool threshold = strstr(own->path, ".gate.") != NULL;
        int64_t value = threshold ? own->value + (own->value + 1) / 2 : 2 * own->value;
        if (numbers_is_capacity(own->path))
            value = may_capacity_for(may, value);
        if (value != NOT_GIVEN) /* no chest may be so large */
            add(changes, "%s=%" PRId64, own->path, value);
    }
    numbers_free(&numbers);
}

/* ---- one step ---- */

static double score_of(const struct trials *trials, const struct budget *budget, uint32_t item) {
    double score = trials_score(trials);
    for (uint32_t i = 0; i < budget->product_count; i++)
        if (budget->product[i].item == item && budget->product[i].is_known)
            score += fmin(budget->product[i].greatest / budget->product[i].needed, 1.2);
    return score;
}

/* Tries changes; -1: they cannot be. `trials` is set when it is not NULL. */
static double try_changes(struct work *work, const struct changes *changes, enum trials_depth depth,
                          struct trials *trials) {
    struct scenario *scenario = changed(work, changes);
    struct trials own;
    if (scenario == NULL)
        return -1;
    progress_say(&work->progress, "%u tries so far", work->enlarge->tries);
    trials_run(scenario, work->wish, depth, &own);
    struct budget *budget = budget_new(scenario);
    double score = score_of(&own, budget, work->item) + (own.holds && own.whole ? 100 : 0);
    budget_free(budget);
    work->enlarge->tries++;
    if (trials != NULL) {
        trials_free(trials);
        *trials = own;
    } else {
        trials_free(&own);
    }
    scenario_free(scenario);
    return score;
}

/* The part that limits the item, by its budget; "" when it does not say. */
static void bottleneck_of(const struct scenario *scenario, uint32_t item, char name[100]) {
    struct budget *budget = budget_new(scenario);
    name[0] = '\0';
    for (uint32_t i = 0; i < budget->product_count; i++)
        if (budget->product[i].item == item && budget->product[i].bottleneck != NULL)
            snprintf(name, 100, "%s", budget->product[i].bottleneck);
    budget_free(budget);
}

struct option {
    struct changes changes;
    double score;
};

static void enter(struct option *option, uint32_t *count, const struct work *work,
                  const struct changes *more) {
    option[*count] = (struct option){copy_of(&work->changes), -1};
    for (uint32_t i = 0; i < more->count; i++)
        add(&option[*count].changes, "%s", more->text[i]);
    (*count)++;
}

/* With faster kinds of an arm there are so many at most, before a second arm or station. */
enum { OPTIONS_MOST = 16, KINDS_MOST = OPTIONS_MOST - 2 };

static void enter_kind(struct option *option, uint32_t *count, const struct work *work,
                       const struct scenario_arm *arm, const struct may_arm *kind) {
    struct changes more = {NULL, 0};
    if (kind->hand != arm->hand)
        add(&more, "arms.%s.hand=%u", arm->name, kind->hand);
    add(&more, "arms.%s.swing=%s", arm->name, kind->swing);
    enter(option, count, work, &more);
    changes_free(&more);
}

/* A larger hand, or a quarter less time for a swing, where any arm can be had; else each kind that
 * carries more. */
static void enter_faster(struct option *option, uint32_t *count, const struct work *work,
                         const struct scenario *scenario, uint32_t arm) {
    const struct may *may = work->wish->may;
    const struct scenario_arm *own = &scenario->arm[arm];
    struct changes hand = {NULL, 0}, swing = {NULL, 0};
    char seconds[QUANTITY_TEXT_SIZE];
    for (uint32_t i = 0; may->arms_given && i < may->arm_count && *count < KINDS_MOST; i++)
        if ((double)may->arm[i].hand * (double)own->swing.mean_ticks >
            (double)own->hand * (double)may->arm[i].swing_ticks)
            enter_kind(option, count, work, own, &may->arm[i]);
    if (may->arms_given)
        return;
    add(&hand, "arms.%s.hand=%u", own->name, own->hand + 1);
    enter(option, count, work, &hand);
    changes_free(&hand);
    quantity_seconds(own->swing.mean_ticks * 3 / 4, scenario->ticks_per_second, seconds);
    add(&swing, "arms.%s.swing=%s s", own->name, seconds);
    enter(option, count, work, &swing);
    changes_free(&swing);
}

static void enter_second_arm(struct option *option, uint32_t *count, const struct work *work,
                             const struct scenario *scenario, uint32_t arm) {
    struct changes more = {NULL, 0};
    second_arm(&more, scenario, arm, NULL, NULL);
    enter(option, count, work, &more);
    changes_free(&more);
}

/* The changes that may help now, small ones first. */
static uint32_t list_options(struct work *work, struct option option[OPTIONS_MOST]) {
    struct scenario *scenario = changed(work, &work->changes);
    const struct may *may = work->wish->may;
    char name[100];
    uint32_t count = 0;
    require(scenario != NULL);
    bottleneck_of(scenario, work->item, name);
    for (int k = 0; k < 3; k++) {
        struct changes more = {NULL, 0};
        more_room(&more, scenario, may, k != 1, k != 0);
        enter(option, &count, work, &more);
        changes_free(&more);
    }
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (strcmp(scenario->arm[i].name, name) == 0) {
            enter_faster(option, &count, work, scenario, i);
            enter_second_arm(option, &count, work, scenario, i);
        }
    for (uint32_t i = 0; i < scenario->station_count; i++)
        if (strcmp(scenario->station[i].name, name) == 0) {
            struct changes more = {NULL, 0};
            second_station(&more, scenario, i);
            enter(option, &count, work, &more);
            changes_free(&more);
        }
    scenario_free(scenario);
    return count;
}

/* Makes the change that helps most. False: none does. */
static bool step(struct work *work, double *score) {
    struct option option[OPTIONS_MOST];
    uint32_t count = list_options(work, option), best = UINT32_MAX;
    double most = *score + 1e-3;
    for (uint32_t i = 0; i < count && interrupt_signal() == 0; i++) {
        option[i].score = try_changes(work, &option[i].changes, TRIALS_SOME, NULL);
        if (option[i].score > most) {
            most = option[i].score;
            best = i;
        }
        if (most >= 100)
            break;
    }
    if (best != UINT32_MAX) {
        changes_free(&work->changes);
        work->changes = copy_of(&option[best].changes);
        *score = most;
    }
    for (uint32_t i = 0; i < count; i++)
        changes_free(&option[i].changes);
    return best != UINT32_MAX;
}

/* ---- all of it ---- */

static bool supplies_suffice(struct work *work) {
    struct design_need need;
    struct may any = *work->wish->may;
    struct scenario *scenario = changed(work, &work->changes);
    require(scenario != NULL);
    any.stations_most = INT32_MAX;
    bool suffice = design_need_init(&need, scenario, &any, NULL, work->enlarge->why);
    design_need_free(&need);
    scenario_free(scenario);
    return suffice;
}

static bool read_wanted(struct work *work, const char *wanted, double *per_minute) {
    const struct scenario *scenario = work->scenario;
    const char *equals = strchr(wanted, '=');
    size_t length = equals != NULL ? (size_t)(equals - wanted) : 0;
    struct decimal number;
    for (work->item = 0; work->item < scenario->item_count; work->item++)
        if (strlen(scenario->item[work->item].name) == length &&
            strncmp(scenario->item[work->item].name, wanted, length) == 0)
            break;
    if (equals == NULL || quantity_decimal(equals + 1, &number) != QUANTITY_FITS ||
        number.negative || quantity_double(&number) <= 0) {
        fprintf(stderr,
                "loopwright design: `--for-demand` needs an item and how many a minute, as "
                "in --for-demand movement=14, not `%s`\n",
                wanted);
        return false;
    }
    *per_minute = quantity_double(&number);
    if (work->item < scenario->item_count && ordered_per_minute(scenario, work->item) > 0)
        return true;
    fprintf(stderr, "loopwright design: `--for-demand %s`: nothing demands such an item\n", wanted);
    return false;
}

int enlarge_run(struct enlarge *enlarge, const struct scenario *scenario, const char *wanted,
                const struct trials_wish *wish, bool show_progress) {
    struct work work = {.enlarge = enlarge, .scenario = scenario, .wish = wish};
    double per_minute, score;
    *enlarge = (struct enlarge){.found = false};
    progress_init_open(&work.progress, show_progress);
    if (!read_wanted(&work, wanted, &per_minute))
        return STATUS_USAGE;
    order_more(&work, per_minute);
    score = try_changes(&work, &work.changes, TRIALS_SOME, &enlarge->trials);
    if (supplies_suffice(&work))
        for (int round = 0; round < ROUNDS && interrupt_signal() == 0; round++) {
            if (score >= 100)
                score = try_changes(&work, &work.changes, TRIALS_ALL, &enlarge->trials);
            if (score >= 100 || !step(&work, &score))
                break;
        }
    if (score < 100)
        try_changes(&work, &work.changes, TRIALS_SOME, &enlarge->trials);
    enlarge->found = score >= 100 && enlarge->trials.holds;
    struct scenario *result = changed(&work, &work.changes);
    enlarge->text = require_text(result != NULL ? result->text : scenario->text);
    scenario_free(result);
    enlarge->changed = work.changes.text;
    enlarge->changed_count = work.changes.count;
    progress_end(&work.progress);
    return STATUS_HOLDS;
}
