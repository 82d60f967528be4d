/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/trials.c - many runs side by side, the cheap ones first. */
#include "tools/design/trials.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/engine/world.h"
#include "model/reader/read.h"
#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/base/pool.h"
#include "tools/design/night.h"
#include "tools/drain/drain_case.h"
#include "tools/soak/soak_run.h"

enum { HOUR_SECONDS = 3600, AFTER_SECONDS = 600, SOME = 2 };

/* ---- judging ---- */

const char *trials_name(enum trial_kind kind) {
    static const char *const name[TRIAL_KINDS] = {"night", "drain", "restart", "flood",
                                                  "disturbed"};
    require((int)kind < TRIAL_KINDS);
    return name[kind];
}

double trials_score(const struct trials *trials) {
    const struct trial_result *night = &trials->trial[TRIAL_NIGHT];
    const struct trial_result *disturbed = &trials->trial[TRIAL_DISTURBED];
    double score = (trials->rules_hold ? 1 : -0.1 * trials->broken_count) + trials->demand_met;
    for (int i = 0; i < TRIAL_KINDS; i++)
        score += trials->trial[i].done && trials->trial[i].holds;
    for (int i = TRIAL_DRAIN; i <= TRIAL_RESTART; i++)
        if (trials->trial[i].failed > 0)
            score += 0.3 / (1 + trials->trial[i].failed);
    score -= 0.01 * trials->late_count;
    if (night->runs > 0)
        score += 0.5 * night->met + 0.3 / (1 + night->failed);
    return disturbed->runs > 0 ? score + 0.5 / (1 + disturbed->failed) : score;
}

/* ---- the budget ---- */

static void add_rule(struct trials *trials, enum budget_rule_kind rule) {
    const char *name = budget_rule_name(rule);
    size_t used = trials->broken != NULL ? strlen(trials->broken) : 0;
    size_t room = used + strlen(name) + 2;
    trials->broken = require_more_memory(trials->broken, room, 1);
    snprintf(trials->broken + used, room - used, "%s\n", name);
    trials->broken_count++;
}

static void try_rules(const struct scenario *scenario, struct trials *trials) {
    struct budget *budget = budget_new(scenario);
    trials->rules_hold = budget->rules_hold;
    trials->demand_met = budget->demand_met;
    for (int i = 0; i < BUDGET_RULES; i++)
        if (budget->rule[i].verdict == BUDGET_BROKEN)
            add_rule(trials, (enum budget_rule_kind)i);
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        trials->lanes_proven += budget->certificate[i].certified;
    budget_free(budget);
}

/* ---- pieces of work ---- */

struct piece {
    enum trial_kind kind;
    uint64_t run;
    int64_t ticks; /* of a night */
};

struct work {
    const struct scenario *scenario;
    const struct trials_wish *wish;
    struct piece *piece;
    uint32_t count;
    struct night_result *night;    /* [piece] */
    struct drain_found *found;     /* [piece] */
    struct soak_result *disturbed; /* [piece] */
    struct soak_plan plan;         /* of disturbed nights */
    struct soak_measures measures;
};

static bool do_drain(struct work *work, uint64_t number) {
    const struct scenario *scenario = work->scenario;
    struct drain_order order = {.scenario = scenario,
                                .within_ticks = HOUR_SECONDS * scenario->ticks_per_second,
                                .restart = work->piece[number].kind == TRIAL_RESTART};
    drain_flood_init(&order.flood, scenario);
    if (work->piece[number].kind == TRIAL_FLOOD) {
        order.flood.wanted = true;
        order.flood.share = work->wish->may->flood;
    }
    int64_t after = scenario->warm_up_ticks + AFTER_SECONDS * scenario->ticks_per_second;
    uint64_t run = work->piece[number].run, runs = (uint64_t)work->wish->may->seeds;
    bool whole = drain_case_run(&order, drain_case_seed(scenario, run),
                                drain_case_stop(scenario, after, run, runs), &work->found[number]);
    drain_flood_free(&order.flood);
    return whole;
}

static bool do_piece(void *self, uint64_t number) {
    struct work *work = self;
    const struct piece *piece = &work->piece[number];
    _Atomic int64_t simulated = 0;
    switch (piece->kind) {
    case TRIAL_NIGHT:
        return night_run(work->scenario, soak_plan_seed(&work->plan, piece->run), piece->ticks,
                         &work->night[number]);
    case TRIAL_DISTURBED:
        return soak_run(&work->plan, &work->measures, 0, piece->run, &simulated,
                        &work->disturbed[number]);
    case TRIAL_DRAIN:
    case TRIAL_RESTART:
    case TRIAL_FLOOD: break;
    }
    return do_drain(work, number);
}

/* ---- results ---- */

static void fail(struct trial_result *result, uint64_t run) {
    if (result->hard.count < HARD_RUNS)
        result->hard.run[result->hard.count++] = run;
    result->failed++;
    result->holds = false;
}

/* Holds until a run fails. */
static void begin_trial(struct trial_result *result) {
    result->holds = result->done ? result->holds : true;
    result->done = true;
}

static double seconds_of(const struct scenario *scenario, int64_t ticks) {
    return ticks == NOT_GIVEN ? (double)NAN : (double)ticks / (double)scenario->ticks_per_second;
}

static void note_shares(const struct work *work, const struct night_result *night,
                        struct trials *trials) {
    for (uint32_t i = 0; i < work->scenario->item_count; i++)
        if (isnan(trials->met_of[i]) || night->met_of[i] < trials->met_of[i])
            trials->met_of[i] = night->met_of[i];
}

static void take_night(const struct work *work, uint32_t number, struct trials *trials) {
    struct trial_result *result = &trials->trial[TRIAL_NIGHT];
    const struct night_result *night = &work->night[number];
    const struct may *may = work->wish->may;
    bool whole = work->piece[number].ticks == may->survive_ticks;
    double wanted = (double)may->met.numerator / (double)may->met.denominator;
    if (whole)
        note_shares(work, night, trials);
    result->runs++;
    result->jams += night->jams;
    result->met = isnan(result->met) || night->met < result->met ? night->met : result->met;
    /* In a shorter one its beginning weighs more than it should. */
    if (!night->holds || (whole && night->met < wanted))
        fail(result, work->piece[number].run);
}

static void take_disturbed(const struct work *work, uint32_t number, struct trial_result *result) {
    const struct soak_result *disturbed = &work->disturbed[number];
    result->runs++;
    result->jams += disturbed->jams;
    result->never += disturbed->never;
    if (disturbed->stuck)
        fail(result, work->piece[number].run);
}

static double longer(double one, double other) { return isnan(one) || other > one ? other : one; }

static void take_flood(const struct work *work, uint32_t number, struct trial_result *flood) {
    const struct drain_found *found = &work->found[number];
    flood->runs++;
    flood->seconds = seconds_of(work->scenario, found->recovered_tick);
    flood->items = found->flood_items;
    if (!found->recovered || !found->drained)
        fail(flood, work->piece[number].run);
}

static void note_late(const struct work *work, const struct drain_found *found,
                      struct trials *trials) {
    for (uint32_t i = 0; i < work->scenario->item_count; i++) {
        trials->late_count += found->late[i] && !trials->late[i];
        trials->late[i] = trials->late[i] || found->late[i];
    }
}

/* A restart is a drain as well. */
static void take_drain(const struct work *work, uint32_t number, struct trials *trials) {
    const struct drain_found *found = &work->found[number];
    const struct scenario *scenario = work->scenario;
    struct trial_result *drain = &trials->trial[TRIAL_DRAIN];
    struct trial_result *restart = &trials->trial[TRIAL_RESTART];
    begin_trial(drain);
    drain->runs++;
    if (!found->drained)
        fail(drain, work->piece[number].run);
    else
        drain->seconds =
            longer(drain->seconds, seconds_of(scenario, found->emptied_tick - found->stopped_tick));
    if (work->piece[number].kind != TRIAL_RESTART)
        return;
    begin_trial(restart);
    restart->runs++;
    note_late(work, found, trials);
    if (!found->restarted || !found->drained)
        fail(restart, work->piece[number].run);
    else
        restart->seconds = longer(restart->seconds, seconds_of(scenario, found->restart_ticks));
}

static void take_piece(const struct work *work, uint32_t number, struct trials *trials) {
    enum trial_kind kind = work->piece[number].kind;
    struct trial_result *result = &trials->trial[kind];
    begin_trial(result);
    switch (kind) {
    case TRIAL_NIGHT: take_night(work, number, trials); return;
    case TRIAL_DISTURBED: take_disturbed(work, number, result); return;
    case TRIAL_FLOOD: take_flood(work, number, result); return;
    case TRIAL_DRAIN:
    case TRIAL_RESTART: break;
    }
    take_drain(work, number, trials);
}

/* One that was not done holds nothing. */
static void free_piece(struct work *work, uint32_t number) {
    if (work->piece[number].kind == TRIAL_DISTURBED)
        soak_result_free(&work->disturbed[number]);
    else if (work->piece[number].kind == TRIAL_NIGHT)
        night_free(&work->night[number]);
    else
        drain_case_free(&work->found[number]);
}

/* Runs the pieces side by side and takes their results in order. */
static bool run_pieces(struct work *work, struct trials *trials) {
    work->night = require_memory(work->count, sizeof *work->night);
    work->found = require_memory(work->count, sizeof *work->found);
    work->disturbed = require_memory(work->count, sizeof *work->disturbed);
    struct pool_task task = {work, work->count, work->wish->jobs, do_piece, NULL};
    bool whole = work->count == 0 || pool_run(&task);
    for (uint32_t i = 0; i < work->count; i++) {
        if (whole)
            take_piece(work, i, trials);
        free_piece(work, i);
    }
    free(work->night);
    free(work->found);
    free(work->disturbed);
    trials->whole = trials->whole && whole;
    return whole;
}

/* ---- which pieces ---- */

static void add(struct work *work, enum trial_kind kind, uint64_t run, int64_t ticks) {
    work->piece = require_more_memory(work->piece, work->count + 1, sizeof *work->piece);
    work->piece[work->count++] = (struct piece){kind, run, ticks};
}

static bool has_chance(const struct work *work) { return soak_plan_has_chance(&work->plan, 0); }

/* Those beyond the first `done` runs, which are tried anyway. */
static void add_hard(struct work *work, enum trial_kind kind, const struct hard_runs *hard,
                     uint64_t done) {
    for (uint32_t i = 0; i < hard->count && has_chance(work); i++)
        if (hard->run[i] >= done)
            add(work, kind, hard->run[i], work->wish->may->survive_ticks);
}

static void add_nights(struct work *work, const struct trials *trials, uint64_t from, uint64_t to) {
    const struct may *may = work->wish->may;
    uint64_t most = has_chance(work) ? (uint64_t)may->seeds : 1;
    for (uint64_t run = from; run < to && run < most; run++)
        add(work, TRIAL_NIGHT, run, may->survive_ticks);
    for (uint64_t run = from; run < to && run < (uint64_t)may->seeds; run++)
        if (trials->trial[TRIAL_DISTURBED].asked)
            add(work, TRIAL_DISTURBED, run, may->survive_ticks);
}

/* Drains at some of the moments at which `drain --runs` tries them, one for each night. */
static void add_drains(struct work *work, const struct trials *trials, uint64_t from, uint64_t to) {
    bool restart = trials->trial[TRIAL_RESTART].asked;
    for (uint64_t run = from; run < to && (restart || trials->trial[TRIAL_DRAIN].asked); run++)
        add(work, restart ? TRIAL_RESTART : TRIAL_DRAIN, run, 0);
}

static void add_hard_drains(struct work *work, const struct trials *trials) {
    const struct hard_runs *hard = &work->wish->hard_drain;
    for (uint32_t i = 0; i < hard->count; i++)
        if (hard->run[i] > 0)
            add_drains(work, trials, hard->run[i], hard->run[i] + 1);
}

static void add_glance(struct work *work, const struct trials *trials, int64_t ticks) {
    int64_t night = work->wish->may->survive_ticks;
    add(work, TRIAL_NIGHT, 0, ticks < night ? ticks : night);
    add_drains(work, trials, 0, 1);
    if (trials->trial[TRIAL_FLOOD].asked)
        add(work, TRIAL_FLOOD, 0, 0);
}

static bool holds_so_far(const struct trials *trials) {
    for (int i = 0; i < TRIAL_KINDS; i++)
        if (trials->trial[i].done && trials->trial[i].asked && !trials->trial[i].holds)
            return false;
    return trials->whole && trials->rules_hold && trials->demand_met;
}

/* A night that was only glanced at is not one. */
static void forget_night(struct trials *trials) {
    trials->trial[TRIAL_NIGHT] = (struct trial_result){.asked = true, .met = (double)NAN};
}

static bool do_stage(struct work *work, struct trials *trials) {
    bool whole = run_pieces(work, trials);
    free(work->piece);
    work->piece = NULL;
    work->count = 0;
    return whole && holds_so_far(trials);
}

static void run_stages(struct work *work, enum trials_depth depth, struct trials *trials) {
    if (depth == TRIALS_RULES || !holds_so_far(trials))
        return;
    int64_t hour = HOUR_SECONDS * work->scenario->ticks_per_second;
    add_glance(work, trials, depth == TRIALS_LOOK ? INT64_MAX : hour);
    if (depth != TRIALS_ALL)
        add_hard_drains(work, trials);
    if (depth == TRIALS_LOOK)
        add_hard(work, TRIAL_NIGHT, &work->wish->hard_night, 1);
    if (!do_stage(work, trials) || depth == TRIALS_GLANCE || depth == TRIALS_LOOK)
        return;
    forget_night(trials);
    add_nights(work, trials, 0, SOME);
    if (depth == TRIALS_SOME) {
        add_hard(work, TRIAL_NIGHT, &work->wish->hard_night, SOME);
        add_hard(work, TRIAL_DISTURBED, &work->wish->hard_disturbed, SOME);
    }
    if (!do_stage(work, trials) || depth == TRIALS_SOME)
        return;
    add_nights(work, trials, SOME, (uint64_t)work->wish->may->seeds);
    add_drains(work, trials, 1, (uint64_t)work->wish->may->seeds);
    do_stage(work, trials);
}

/* ---- all of it ---- */

static void ask(const struct scenario *scenario, const struct may *may, struct trials *trials) {
    for (int i = 0; i < TRIAL_KINDS; i++)
        trials->trial[i].met = trials->trial[i].seconds = (double)NAN;
    trials->trial[TRIAL_NIGHT].asked = true;
    trials->trial[TRIAL_DRAIN].asked = may->drain;
    trials->trial[TRIAL_RESTART].asked = may->restart;
    trials->trial[TRIAL_FLOOD].asked = may->flood.numerator > 0 && scenario->lane_count > 0;
    trials->trial[TRIAL_DISTURBED].asked = may->disturb;
}

/* The scenario for as long as a night, as --for makes it: in its text too, from which disturbed
 * ones are made. */
static struct scenario *for_a_night(const struct scenario *scenario, const struct may *may) {
    char seconds[QUANTITY_TEXT_SIZE], change[QUANTITY_TEXT_SIZE + 16];
    const char *override[] = {change};
    struct faults faults = {0};
    quantity_seconds(may->survive_ticks, scenario->ticks_per_second, seconds);
    snprintf(change, sizeof change, "run.for=%s s", seconds);
    struct scenario *night =
        read_scenario(scenario->text, strlen(scenario->text), "the design", override, 1, &faults);
    require(night != NULL);
    faults_free(&faults);
    return night;
}

void trials_run(const struct scenario *scenario, const struct trials_wish *wish,
                enum trials_depth depth, struct trials *trials) {
    *trials =
        (struct trials){.whole = true,
                        .met_of = require_memory(scenario->item_count, sizeof *trials->met_of),
                        .late = require_memory(scenario->item_count, sizeof *trials->late)};
    for (uint32_t i = 0; i < scenario->item_count; i++)
        trials->met_of[i] = (double)NAN;
    struct scenario *night = for_a_night(scenario, wish->may);
    struct work work = {.scenario = scenario, .wish = wish};
    work.plan = (struct soak_plan){.scenario = {night},
                                   .variant_count = 1,
                                   .run_count = (uint64_t)wish->may->seeds,
                                   .disturb = true};
    soak_measures_init(&work.measures, night);
    ask(scenario, wish->may, trials);
    try_rules(scenario, trials);
    run_stages(&work, depth, trials);
    trials->holds = holds_so_far(trials);
    soak_measures_free(&work.measures);
    scenario_free(night);
}

void trials_free(struct trials *trials) {
    free(trials->broken);
    free(trials->met_of);
    free(trials->late);
    *trials = (struct trials){0};
}
