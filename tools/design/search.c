/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search.c - plans, tries, mends what failed, tries again. */
#include "tools/design/search.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tools/base/elapsed.h"
#include "tools/base/interrupt.h"
#include "tools/base/table.h"
#include "tools/design/design_text.h"

enum { ROUNDS_MAX = 12 };

/* ---- choices ---- */

/* The same with lists of its own; where it has none yet, with those of a first plan. */
static struct plan_choice choice_copy(const struct plan_choice *like,
                                      const struct scenario *scenario) {
    struct plan_choice copy = *like;
    copy.extra_station = require_memory(scenario->station_count, sizeof *copy.extra_station);
    copy.extra_taker = require_memory(scenario->station_count, sizeof *copy.extra_taker);
    copy.shelf = require_memory(scenario->item_count, sizeof *copy.shelf);
    copy.head_start = require_memory(scenario->item_count, sizeof *copy.head_start);
    bool any = like->shelf != NULL;
    for (uint32_t s = 0; s < scenario->station_count && any; s++) {
        copy.extra_station[s] = like->extra_station[s];
        copy.extra_taker[s] = like->extra_taker[s];
    }
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        copy.shelf[i] = any ? like->shelf[i] : 1;
        copy.head_start[i] = any && like->head_start[i];
    }
    return copy;
}

static void choice_free(struct plan_choice *choice) {
    free(choice->shelf);
    free(choice->head_start);
    free(choice->extra_station);
    free(choice->extra_taker);
    *choice = (struct plan_choice){0};
}

/* ---- one try ---- */

struct attempt {
    struct plan_choice choice;
    struct plan plan;
    bool planned;
    struct trials trials;
    bool tried;
    double score;
};

static void attempt_free(struct attempt *attempt) {
    choice_free(&attempt->choice);
    plan_free(&attempt->plan);
    trials_free(&attempt->trials);
}

/* How far it came: a point for each trial that holds, and parts of points for what nearly does. Of
 * nights the number of those that failed counts, not their share: where few are tried, those are
 * among them in which others have failed. */
static double score_of(const struct trials *trials) {
    const struct trial_result *night = &trials->trial[TRIAL_NIGHT];
    const struct trial_result *disturbed = &trials->trial[TRIAL_DISTURBED];
    double score = (trials->rules_hold ? 1 : -0.1 * trials->broken_count) + trials->demand_met;
    for (int i = 0; i < TRIAL_KINDS; i++)
        score += trials->trial[i].done && trials->trial[i].holds;
    score -= 0.01 * trials->late_count;
    if (night->runs > 0)
        score += 0.5 * night->met + 0.3 / (1 + night->failed);
    if (disturbed->runs > 0)
        score += 0.5 / (1 + disturbed->failed);
    return score;
}

/* How many of its trials the best so far comes through. */
static void tell_best(const struct search *search, char text[80]) {
    uint32_t asked = 0, holds = 0;
    text[0] = '\0';
    for (int i = 0; search->planned && i < TRIAL_KINDS; i++) {
        const struct trial_result *trial = &search->trials.trial[i];
        asked += trial->asked;
        holds += trial->asked && trial->done && trial->holds;
    }
    if (search->planned)
        snprintf(text, 80, ", the best comes through %u of %u trials", holds, asked);
}

static void tell_try(struct search *search, enum trials_depth depth) {
    static const char *const stage[] = {"the rules", "an hour, a drain, a heap", "a night",
                                        "two nights", "all nights"};
    char best[80], left[60] = "";
    uint32_t to_come = search->to_come > 0 ? search->to_come : 1;
    tell_best(search, best);
    if (search->pace_ms[depth] > 0)
        snprintf(left, sizeof left, ", about %.0f s left for %u of these",
                 (double)search->pace_ms[depth] * to_come / 1000, to_come);
    progress_say(&search->progress, "%u tr%s so far%s; now %s%s", search->tries,
                 search->tries == 1 ? "y" : "ies", best, stage[depth], left);
}

static bool make_plan(struct search *search, struct attempt *attempt, char why[DESIGN_WHY_BYTES]) {
    attempt->planned =
        plan_init(&attempt->plan, search->draft->scenario, search->wish.may, &attempt->choice, why);
    return attempt->planned;
}

/* The scenario of a plan; what was written is always right. */
static struct scenario *scenario_of(const struct search *search, const struct plan *plan) {
    struct design_notes notes = {NULL, NULL, NULL};
    struct faults faults = {0};
    char *text = design_text_of(plan, search->draft, &notes);
    struct scenario *scenario = read_scenario(text, strlen(text), "the design", NULL, 0, &faults);
    if (scenario == NULL)
        fprintf(stderr, "%s\n%s\n", text, faults.fault[0].what);
    require(scenario != NULL);
    free(text);
    faults_free(&faults);
    return scenario;
}

static void try_it(struct search *search, struct attempt *attempt, enum trials_depth depth) {
    int64_t begun_ms = elapsed_ms();
    tell_try(search, depth);
    struct scenario *scenario = scenario_of(search, &attempt->plan);
    if (attempt->tried)
        trials_free(&attempt->trials);
    trials_run(scenario, &search->wish, depth, &attempt->trials);
    attempt->tried = true;
    attempt->score = score_of(&attempt->trials);
    search->tries++;
    search->pace_ms[depth] = elapsed_ms() - begun_ms;
    scenario_free(scenario);
}

/* ---- what may mend a failure ---- */

struct race {
    struct search *search;
    struct attempt *attempt;
    uint32_t count;
};

static struct plan_choice *enter(struct race *race, const struct plan_choice *like) {
    race->attempt = require_more_memory(race->attempt, race->count + 1, sizeof *race->attempt);
    struct attempt *attempt = &race->attempt[race->count++];
    *attempt = (struct attempt){.choice = choice_copy(like, race->search->draft->scenario)};
    return &attempt->choice;
}

/* Items of whose orders too few were met in some night. */
static bool is_short(const struct race *race, uint32_t item) {
    const struct search *search = race->search;
    const struct may *may = search->wish.may;
    double met = search->trials.met_of[item];
    return met < (double)may->met.numerator / (double)may->met.denominator;
}

/* More on the shelf of what is short. */
static void more_on_shelves(const struct race *race, struct plan_choice *choice, double factor) {
    for (uint32_t i = 0; i < race->search->draft->scenario->item_count; i++)
        choice->shelf[i] *= is_short(race, i) ? factor : 1;
}

/* More in bins and on shelves, where too little comes: that costs no part. */
static void enter_stocks(struct race *race, const struct plan_choice *like) {
    if (race->search->wish.may->belts)
        enter(race, like)->belt_more++;
    enter(race, like)->threshold *= 1.5;
    enter(race, like)->full_trays = true;
    more_on_shelves(race, enter(race, like), 2);
    more_on_shelves(race, enter(race, like), 4);
    enter(race, like)->bin *= 2;
    struct plan_choice *all = enter(race, like);
    all->bin *= 1.5;
    all->threshold *= 1.5;
    all->full_trays = true;
    more_on_shelves(race, all, 2);
    all = enter(race, like);
    all->bin *= 3;
    all->threshold *= 2.5;
    all->full_trays = true;
    more_on_shelves(race, all, 2);
    enter(race, like)->feeder_margin *= 1.25;
}

/* Orders a second of an item. */
static double ordered(const struct scenario *scenario, uint32_t item) {
    double orders = 0;
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        if (demand->item == item && !demand->outlet && demand->every.mean_ticks > 0)
            orders += (double)scenario->ticks_per_second / (double)demand->every.mean_ticks;
    }
    return orders;
}

/* All but the product that is ordered most often begin with more than they stop at. */
static void all_but_one_ahead(const struct race *race, struct plan_choice *choice) {
    const struct scenario *scenario = race->search->draft->scenario;
    uint32_t most = 0;
    for (uint32_t i = 1; i < scenario->item_count; i++)
        most = ordered(scenario, i) > ordered(scenario, most) ? i : most;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        choice->head_start[i] = i != most;
}

/* Other beginnings, by which it is judged whether a new start is as fast as the first. */
static void enter_starts(struct race *race, const struct plan_choice *like) {
    struct plan_choice *ahead = enter(race, like);
    for (uint32_t i = 0; i < race->search->draft->scenario->item_count; i++)
        ahead->head_start[i] = ahead->head_start[i] || race->search->trials.late[i];
    all_but_one_ahead(race, enter(race, like));
    enter(race, like)->shelf_start = 0;
    enter(race, like)->shelf_start = 0.5;
    enter(race, like)->full_trays = true;
    for (int k = 0; k < 3; k++) {
        struct plan_choice *quick = enter(race, like);
        quick->full_trays = true;
        quick->ahead *= k == 0 ? 0.6 : k == 1 ? 1 : 0.3;
        quick->shelf_start = k == 0 ? 1 : 0.5;
    }
    enter(race, like)->threshold *= 1.5;
}

/* Larger thresholds and trays. */
static void enter_sizes(struct race *race, const struct plan_choice *like) {
    enter(race, like)->threshold *= 1.6;
    enter(race, like)->ahead *= 0.6;
    enter(race, like)->ahead *= 2;
    struct plan_choice *both = enter(race, like);
    both->threshold *= 2;
    both->ahead *= 2;
}

/* Recipes that make what is short, or what goes into it. */
static void mark_makers(const struct race *race, bool *marked) {
    const struct scenario *scenario = race->search->draft->scenario;
    bool *wanted = require_memory(scenario->item_count, sizeof *wanted), more = true;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        wanted[i] = is_short(race, i);
    while (more) {
        more = false;
        for (uint32_t s = 0; s < scenario->station_count; s++) {
            const struct scenario_station *station = &scenario->station[s];
            for (uint32_t k = 0; k < station->makes_count && !marked[s]; k++)
                if (wanted[station->makes[k].item])
                    more = marked[s] = true;
            for (uint32_t k = 0; k < station->takes.count && marked[s]; k++)
                wanted[station->takes.entry[k].item] = true;
        }
    }
    free(wanted);
}

/* More stations where too little comes: of each recipe that may be why, and of all of these. */
static void enter_stations(struct race *race, const struct plan_choice *like) {
    uint32_t count = race->search->draft->scenario->station_count, added = 0;
    bool *marked = require_memory(count, sizeof *marked);
    mark_makers(race, marked);
    for (uint32_t s = 0; s < count; s++) {
        if (!marked[s])
            continue;
        added++;
        if (added <= 6)
            enter(race, like)->extra_station[s]++;
    }
    if (added > 1) {
        struct plan_choice *more = enter(race, like);
        for (uint32_t s = 0; s < count; s++)
            more->extra_station[s] += marked[s];
        more->threshold *= 1.5;
        more->full_trays = true;
    }
    free(marked);
}

/* More parts: stations where too little comes, room where heaps stay. */
static void enter_parts(struct race *race, const struct plan_choice *like, bool stations,
                        bool room) {
    uint32_t count = race->search->draft->scenario->station_count;
    struct plan_choice *takers = enter(race, like);
    for (uint32_t s = 0; s < count; s++)
        takers->extra_taker[s]++;
    if (stations)
        enter_stations(race, like);
    if (!room)
        return;
    enter(race, like)->spacing *= 2;
    enter(race, like)->lanes_least++;
}

static uint64_t parts_of(const struct plan *plan) {
    uint64_t cells = 0;
    for (uint32_t b = 0; b < plan->belt_count; b++)
        cells += plan->belt[b].cells;
    return 1000 * (uint64_t)(plan->arm_count + plan->station_count + plan->chest_count) + cells;
}

/* Whether one comes before another: one that holds before one that does not, of those that hold the
 * one with fewer parts, of the others the one that came farther. */
static bool is_before(const struct attempt *one, const struct attempt *other) {
    if (one->trials.holds != other->trials.holds)
        return one->trials.holds;
    if (!one->trials.holds && one->score != other->score)
        return one->score > other->score;
    return parts_of(&one->plan) < parts_of(&other->plan);
}

/* Plans all and leaves out those that cannot be. */
static void plan_all(struct race *race) {
    uint32_t kept = 0;
    char why[DESIGN_WHY_BYTES];
    for (uint32_t i = 0; i < race->count; i++) {
        struct attempt attempt = race->attempt[i];
        if (make_plan(race->search, &attempt, why))
            race->attempt[kept++] = attempt;
        else
            attempt_free(&attempt);
    }
    race->count = kept;
}

static void keep_half(struct race *race) {
    uint32_t kept = (race->count + 1) / 2;
    while (race->count > kept)
        attempt_free(&race->attempt[--race->count]);
}

/* A stable order: equal ones as they were entered. */
static void sort_race(struct race *race) {
    for (uint32_t i = 1; i < race->count; i++)
        for (uint32_t j = i; j > 0 && is_before(&race->attempt[j], &race->attempt[j - 1]); j--) {
            struct attempt other = race->attempt[j];
            race->attempt[j] = race->attempt[j - 1];
            race->attempt[j - 1] = other;
        }
}

/* False: a signal was noted. */
static bool try_all(struct race *race, enum trials_depth depth) {
    for (uint32_t i = 0; i < race->count; i++) {
        race->search->to_come = race->count - i;
        try_it(race->search, &race->attempt[i], depth);
        if (interrupt_signal() != 0)
            return false;
    }
    race->search->to_come = 0;
    sort_race(race);
    return true;
}

static void add_hard(struct hard_runs *hard, const struct hard_runs *more) {
    for (uint32_t i = 0; i < more->count && hard->count < HARD_RUNS; i++) {
        bool known = false;
        for (uint32_t k = 0; k < hard->count; k++)
            known = known || hard->run[k] == more->run[i];
        if (!known)
            hard->run[hard->count++] = more->run[i];
    }
}

/* What failed in all nights is tried first from now on. */
static void note_hard(struct search *search, const struct trials *trials) {
    add_hard(&search->wish.hard_night, &trials->trial[TRIAL_NIGHT].hard);
    add_hard(&search->wish.hard_disturbed, &trials->trial[TRIAL_DISTURBED].hard);
}

/* Tries with all nights what held in some, the smallest first, until one holds; of others nothing
 * is known then, and they are left out. False: a signal was noted. */
static bool run_final(struct race *race) {
    enum { FINALISTS = 4 };
    uint32_t tried = 0;
    bool found = false;
    while (tried < race->count && tried < FINALISTS && !found &&
           race->attempt[tried].trials.holds) {
        try_it(race->search, &race->attempt[tried], TRIALS_ALL);
        if (interrupt_signal() != 0)
            return false;
        found = race->attempt[tried].trials.holds;
        note_hard(race->search, &race->attempt[tried].trials);
        tried++;
    }
    while (tried > 0 && race->count > tried)
        attempt_free(&race->attempt[--race->count]);
    sort_race(race);
    return true;
}

/* The winner comes first. False: a signal was noted. */
static bool run_race(struct race *race) {
    plan_all(race);
    if (!try_all(race, TRIALS_LOOK))
        return false;
    keep_half(race);
    return try_all(race, TRIALS_SOME) && run_final(race);
}

static void race_free(struct race *race) {
    while (race->count > 0)
        attempt_free(&race->attempt[--race->count]);
    free(race->attempt);
}

/* ---- the best so far ---- */

static void take(struct search *search, struct attempt *attempt) {
    if (search->planned) {
        plan_free(&search->plan);
        trials_free(&search->trials);
        choice_free(&search->choice);
    }
    search->planned = true;
    search->plan = attempt->plan;
    search->choice = attempt->choice;
    search->trials = attempt->trials;
    *attempt = (struct attempt){.planned = false};
}

/* The changes that suit what failed, those that cost no part first. */
static void enter_all(struct race *race, const struct search *search) {
    const struct trials *trials = &search->trials;
    const struct trial_result *night = &trials->trial[TRIAL_NIGHT];
    bool slow = night->done && !night->holds && night->jams == 0;
    bool heaps = trials->rules_hold && trials->demand_met && !slow;
    if (trials->trial[TRIAL_RESTART].done && !trials->trial[TRIAL_RESTART].holds)
        enter_starts(race, &search->choice);
    if (!heaps)
        enter_stocks(race, &search->choice);
    enter_sizes(race, &search->choice);
    enter_parts(race, &search->choice, !heaps, heaps);
}

/* Mends what failed; true: the winner is better than what there was. */
static bool mend(struct search *search) {
    struct race race = {.search = search};
    double before = score_of(&search->trials);
    enter_all(&race, search);
    bool whole = run_race(&race), better = false;
    if (whole && race.count > 0 &&
        (race.attempt[0].trials.holds || race.attempt[0].score > before + 1e-4)) {
        take(search, &race.attempt[0]);
        better = true;
    }
    race_free(&race);
    return better;
}

/* Tries what there is with all nights. */
static bool prove(struct search *search) {
    struct attempt attempt = {.choice = choice_copy(&search->choice, search->draft->scenario)};
    char why[DESIGN_WHY_BYTES];
    bool planned = make_plan(search, &attempt, why);
    require(planned);
    try_it(search, &attempt, TRIALS_ALL);
    bool holds = attempt.trials.whole && attempt.trials.holds;
    if (attempt.trials.whole)
        take(search, &attempt);
    attempt_free(&attempt);
    return holds;
}

/* ---- without what is not needed after all ---- */

/* Tries a choice, whose memory it takes, with two nights, then all. */
static void take_if_it_holds(struct search *search, struct plan_choice choice) {
    struct attempt attempt = {.choice = choice};
    char why[DESIGN_WHY_BYTES];
    bool holds =
        make_plan(search, &attempt, why) && parts_of(&attempt.plan) < parts_of(&search->plan);
    for (int depth = TRIALS_SOME; depth <= TRIALS_ALL && holds; depth++) {
        try_it(search, &attempt, (enum trials_depth)depth);
        holds = attempt.trials.whole && attempt.trials.holds;
    }
    if (holds)
        take(search, &attempt);
    attempt_free(&attempt);
}

/* Fewer cells, with an arm on each side, and fewer chests, with bins and shelves in one. */
static void shrink_room(struct search *search) {
    for (int k = 3; k >= 1 && interrupt_signal() == 0; k--) {
        struct plan_choice choice = choice_copy(&search->choice, search->draft->scenario);
        choice.both_sides = choice.both_sides || (k & 1) != 0;
        choice.one_store = choice.one_store || (k & 2) != 0;
        take_if_it_holds(search, choice);
        if (search->choice.both_sides && search->choice.one_store)
            return;
    }
}

/* What was added, one by one, the last mended first. */
static void shrink(struct search *search) {
    uint32_t stations = search->draft->scenario->station_count;
    for (uint32_t s = 0; s < stations && interrupt_signal() == 0; s++) {
        struct plan_choice choice = choice_copy(&search->choice, search->draft->scenario);
        if (choice.extra_station[s] > 0) {
            choice.extra_station[s]--;
            take_if_it_holds(search, choice);
            choice = choice_copy(&search->choice, search->draft->scenario);
        }
        if (choice.extra_taker[s] > 0) {
            choice.extra_taker[s]--;
            take_if_it_holds(search, choice);
        } else {
            choice_free(&choice);
        }
    }
}

/* ---- what stands in the way ---- */

/* Where all products are ordered seldom, none can be made nine times in the hour that a restart
 * has. */
static bool explain_restart(struct search *search) {
    enum { MAKINGS = 9, HOUR_SECONDS = 3600 };
    const struct scenario *scenario = search->draft->scenario;
    const struct trial_result *restart = &search->trials.trial[TRIAL_RESTART];
    const struct scenario_stream *most = NULL;
    for (uint32_t i = 0; restart->done && !restart->holds && i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        if (!demand->outlet && (most == NULL || demand->every.mean_ticks < most->every.mean_ticks))
            most = demand;
    }
    double tps = (double)scenario->ticks_per_second;
    double seconds = most != NULL ? (double)most->every.mean_ticks / tps : 0;
    if (MAKINGS * seconds < 0.8 * HOUR_SECONDS)
        return false;
    snprintf(search->why, DESIGN_WHY_BYTES,
             "%s is ordered most often, once in %.4g s on average, so that the nine makings that a "
             "restart waits for take %.4g s, and it has 3600 s; `may.survive.restart: false` "
             "leaves it out",
             scenario->item[most->item].name, seconds, MAKINGS * seconds);
    return true;
}

/* Orders of several at once, by chance. A product counts as stuck when it was not made for ten of
 * its mean intervals, which are 10 / batch of the orders': with stations busy for a share u of the
 * time, that comes at a moment with probability (1 - u) exp(-10 / batch), whatever is built, since
 * idle times are as random as the orders (M/G/1 with batches). */
static const struct scenario_stream *rare_batches(const struct search *search, double *chance) {
    const struct scenario *scenario = search->draft->scenario;
    const struct scenario_stream *worst = NULL;
    *chance = 0;
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        double own =
            exp(-10 / (double)demand->batch) * plan_idle_share(&search->plan, demand->item);
        if (demand->outlet || demand->every.kind != SPAN_EXPONENTIAL || own <= *chance)
            continue;
        *chance = own;
        worst = demand;
    }
    return *chance >= 0.002 ? worst : NULL;
}

/* Whether the disturbed nights fail, and nothing else, because orders come so. */
static bool only_batches_fail(const struct search *search) {
    const struct trials *trials = &search->trials;
    const struct trial_result *disturbed = &trials->trial[TRIAL_DISTURBED];
    double chance;
    for (int i = 0; i < TRIAL_DISTURBED; i++)
        if (trials->trial[i].asked && !(trials->trial[i].done && trials->trial[i].holds))
            return false;
    return disturbed->done && !disturbed->holds && trials->rules_hold && trials->demand_met &&
           rare_batches(search, &chance) != NULL &&
           disturbed->failed <= 1 + 3 * chance * (double)search->wish.may->seeds;
}

static bool explain_disturbed(struct search *search) {
    const struct trial_result *disturbed = &search->trials.trial[TRIAL_DISTURBED];
    double chance;
    if (!only_batches_fail(search))
        return false;
    const struct scenario_stream *demand = rare_batches(search, &chance);
    snprintf(search->why, DESIGN_WHY_BYTES,
             "orders of %lld %s at once come at random: in about %.2g %% of all nights none comes "
             "before the end for ten of its mean intervals between makings, which counts as stuck "
             "(%u of %u nights here), whatever is built; `may.survive.disturb: false` leaves it "
             "out",
             (long long)demand->batch, search->draft->scenario->item[demand->item].name,
             100 * chance, disturbed->failed, disturbed->runs);
    return true;
}

/* The item of whose orders the least share was met. */
static const char *shortest_item(const struct search *search) {
    const struct scenario *scenario = search->draft->scenario;
    uint32_t least = 0;
    for (uint32_t i = 1; i < scenario->item_count; i++)
        if (search->trials.met_of[i] < search->trials.met_of[least])
            least = i;
    return scenario->item[least].name;
}

static void explain(struct search *search) {
    const struct trials *trials = &search->trials;
    const struct trial_result *night = &trials->trial[TRIAL_NIGHT];
    const struct trial_result *disturbed = &trials->trial[TRIAL_DISTURBED];
    char *why = search->why;
    if (interrupt_signal() != 0)
        snprintf(why, DESIGN_WHY_BYTES,
                 "a signal stopped it at try %u: this is the best so far, and what is not said of "
                 "it was "
                 "not tried",
                 search->tries);
    else if (!trials->rules_hold)
        snprintf(why, DESIGN_WHY_BYTES, "the nearest of %u tries breaks %u rule%s of the trade: %s",
                 search->tries, trials->broken_count, plural(trials->broken_count), trials->broken);
    else if (!trials->demand_met)
        snprintf(why, DESIGN_WHY_BYTES,
                 "the arms and stations of the nearest of %u tries cannot bring what is demanded",
                 search->tries);
    else if (night->done && !night->holds)
        snprintf(why, DESIGN_WHY_BYTES,
                 "in %u of %u nights of the nearest of %u tries as little as %.4g %% of the orders "
                 "for %s were met, with %llu jams",
                 night->failed, night->runs, search->tries, 100 * night->met, shortest_item(search),
                 (unsigned long long)night->jams);
    else if (explain_disturbed(search) || explain_restart(search))
        return;
    else if (disturbed->done && !disturbed->holds)
        snprintf(why, DESIGN_WHY_BYTES,
                 "the nearest of %u tries was stuck at the end of %u of %u disturbed nights",
                 search->tries, disturbed->failed, disturbed->runs);
    else
        for (int i = TRIAL_DRAIN; i <= TRIAL_FLOOD; i++)
            if (trials->trial[i].done && !trials->trial[i].holds)
                snprintf(why, DESIGN_WHY_BYTES,
                         "in an hour the nearest of %u tries does not come through the trial %s",
                         search->tries, trials_name((enum trial_kind)i));
    size_t length = strlen(why);
    if (length > 0 && why[length - 1] == '\n')
        why[length - 1] = '\0';
}

/* ---- all of it ---- */

static bool has_key(const struct search *search, uint32_t station, const char *key) {
    const struct node *list = yaml_tree_find(search->draft->tree.root, "stations");
    return list != NULL && list->kind == NODE_LIST && station < list->count &&
           yaml_tree_find(list->child[station], key) != NULL;
}

/* Whether a number of a station is written `find`. */
static bool is_open(const struct search *search, uint32_t station, const char *key) {
    char path[300];
    snprintf(path, sizeof path, "stations.%s.%s", search->draft->scenario->station[station].name,
             key);
    for (uint32_t i = 0; i < search->draft->open_count; i++)
        if (strcmp(search->draft->open[i].path, path) == 0)
            return true;
    return false;
}

static bool has_open_loops(const struct draft *draft) {
    for (uint32_t i = 0; i < draft->open_count; i++)
        if (strncmp(draft->open[i].path, "loops.", 6) == 0)
            return true;
    return false;
}

static bool begin(struct search *search) {
    uint32_t stations = search->draft->scenario->station_count;
    struct plan_choice first = {.threshold = 1,
                                .ahead = 1,
                                .bin = 1,
                                .shelf_start = 1,
                                .feeder_margin = 1.2,
                                .spacing = 1,
                                .lanes_least = 1,
                                .loops_open = has_open_loops(search->draft),
                                .chests_given = search->draft->scenario->chest_count -
                                                (search->draft->stand_in != NULL),
                                .ahead_given = search->ahead_given,
                                .gate_given = search->gate_given};
    for (uint32_t s = 0; s < stations; s++) {
        search->ahead_given[s] = has_key(search, s, "ahead") && !is_open(search, s, "ahead");
        search->gate_given[s] = has_key(search, s, "gate");
    }
    struct attempt attempt = {.choice = choice_copy(&first, search->draft->scenario)};
    bool planned = make_plan(search, &attempt, search->why);
    if (planned) {
        try_it(search, &attempt, TRIALS_SOME);
        take(search, &attempt);
    }
    attempt_free(&attempt);
    return planned;
}

void search_run(struct search *search, struct draft *draft, const struct trials_wish *wish,
                bool show_progress) {
    uint32_t stations = draft->scenario->station_count;
    *search = (struct search){.draft = draft,
                              .wish = *wish,
                              .ahead_given = require_memory(stations, sizeof(bool)),
                              .gate_given = require_memory(stations, sizeof(bool))};
    progress_init_open(&search->progress, show_progress);
    plan_use_given_belts(&draft->may, draft->scenario, !has_open_loops(draft));
    if (!begin(search))
        return;
    if (search->trials.holds)
        search->found = prove(search);
    note_hard(search, &search->trials);
    for (int round = 0; round < ROUNDS_MAX && interrupt_signal() == 0 && !search->found; round++) {
        if (only_batches_fail(search) || !mend(search))
            break;
        search->found = search->trials.holds;
    }
    if (search->found) {
        shrink(search);
        shrink_room(search);
    } else
        explain(search);
    progress_end(&search->progress);
}

void search_free(struct search *search) {
    if (search->planned) {
        plan_free(&search->plan);
        trials_free(&search->trials);
        choice_free(&search->choice);
    }
    free(search->ahead_given);
    free(search->gate_given);
    *search = (struct search){0};
}
