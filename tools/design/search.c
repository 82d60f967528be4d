/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search.c - plans, tries, mends what failed, tries again. */
#include "tools/design/search.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/base/table.h"
#include "tools/design/design_text.h"

enum { ROUNDS_MAX = 12 };

/* ---- choices ---- */

static struct plan_choice choice_copy(const struct plan_choice *like, uint32_t stations) {
    struct plan_choice copy = *like;
    copy.extra_station = require_memory(stations, sizeof *copy.extra_station);
    copy.extra_taker = require_memory(stations, sizeof *copy.extra_taker);
    for (uint32_t s = 0; s < stations && like->extra_station != NULL; s++) {
        copy.extra_station[s] = like->extra_station[s];
        copy.extra_taker[s] = like->extra_taker[s];
    }
    return copy;
}

static void choice_free(struct plan_choice *choice) {
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

/* How far it came: a point for each trial that holds, and parts of points for what nearly does. */
static double score_of(const struct trials *trials) {
    const struct trial_result *night = &trials->trial[TRIAL_NIGHT];
    const struct trial_result *disturbed = &trials->trial[TRIAL_DISTURBED];
    double score = (trials->rules_hold ? 1 : -0.1 * trials->broken_count) + trials->demand_met;
    for (int i = 0; i < TRIAL_KINDS; i++)
        score += trials->trial[i].done && trials->trial[i].holds;
    if (night->runs > 0)
        score += 0.5 * night->met + 0.3 * (1 - (double)night->failed / night->runs);
    if (disturbed->runs > 0)
        score += 0.5 * (1 - (double)disturbed->failed / disturbed->runs);
    return score;
}

static void tell_try(struct search *search, enum trials_depth depth) {
    static const char *const stage[] = {"the rules", "an hour, a drain, a heap", "a night",
                                        "two nights", "all nights"};
    progress_say(&search->progress, "%u tr%s so far, now %s", search->tries,
                 search->tries == 1 ? "y" : "ies", stage[depth]);
}

static bool make_plan(struct search *search, struct attempt *attempt, char why[DESIGN_WHY_BYTES]) {
    attempt->planned = plan_init(&attempt->plan, search->draft->scenario, search->wish->may,
                                 &attempt->choice, why);
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
    tell_try(search, depth);
    struct scenario *scenario = scenario_of(search, &attempt->plan);
    if (attempt->tried)
        trials_free(&attempt->trials);
    trials_run(scenario, search->wish, depth, &attempt->trials);
    attempt->tried = true;
    attempt->score = score_of(&attempt->trials);
    search->tries++;
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
    *attempt =
        (struct attempt){.choice = choice_copy(like, race->search->draft->scenario->station_count)};
    return &attempt->choice;
}

/* Larger bins and shelves, where too little comes: they cost no part. */
static void enter_stocks(struct race *race, const struct plan_choice *like) {
    enter(race, like)->shelf *= 2;
    enter(race, like)->bin *= 2;
    struct plan_choice *both = enter(race, like);
    both->bin *= 2;
    both->shelf *= 2;
    both->threshold *= 1.5;
    enter(race, like)->feeder_margin *= 1.25;
}

/* Other beginnings, by which it is judged whether a new start is as fast as the first. */
static void enter_starts(struct race *race, const struct plan_choice *like) {
    enter(race, like)->shelf_start = 0;
    enter(race, like)->shelf_start = 0.5;
    enter(race, like)->shelf *= 0.5;
    struct plan_choice *both = enter(race, like);
    both->shelf *= 0.5;
    both->shelf_start = 0;
}

/* Larger thresholds and trays. */
static void enter_sizes(struct race *race, const struct plan_choice *like) {
    enter(race, like)->threshold *= 1.6;
    enter(race, like)->ahead *= 2;
    struct plan_choice *both = enter(race, like);
    both->threshold *= 2;
    both->ahead *= 2;
}

/* More parts: stations where too little comes, room where heaps stay. */
static void enter_parts(struct race *race, const struct plan_choice *like, bool stations,
                        bool room) {
    uint32_t count = race->search->draft->scenario->station_count;
    struct plan_choice *takers = enter(race, like);
    for (uint32_t s = 0; s < count; s++)
        takers->extra_taker[s]++;
    for (uint32_t s = 0; stations && s < count && count <= 8; s++)
        enter(race, like)->extra_station[s]++;
    if (stations && count > 1) {
        struct plan_choice *more = enter(race, like);
        for (uint32_t s = 0; s < count; s++)
            more->extra_station[s]++;
    }
    if (!room)
        return;
    enter(race, like)->spacing *= 2;
    enter(race, like)->lanes_least++;
}

static uint64_t parts_of(const struct plan *plan) {
    uint64_t cells = 0;
    for (uint32_t b = 0; b < plan->belt_count; b++)
        cells += plan->belt[b].cells;
    return 1000 * (uint64_t)(plan->arm_count + plan->station_count) + cells;
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

/* The winner comes first. False: a signal was noted. */
static bool run_race(struct race *race) {
    static const enum trials_depth depths[] = {TRIALS_LOOK, TRIALS_SOME, TRIALS_ALL};
    plan_all(race);
    for (size_t k = 0; k < sizeof depths / sizeof *depths && race->count > 0; k++) {
        while (k == 2 && race->count > 1) /* of all nights there are many: one is enough */
            attempt_free(&race->attempt[--race->count]);
        for (uint32_t i = 0; i < race->count; i++) {
            try_it(race->search, &race->attempt[i], depths[k]);
            if (interrupt_signal() != 0)
                return false;
        }
        /* A stable order: equal ones as they were entered. */
        for (uint32_t i = 1; i < race->count; i++)
            for (uint32_t j = i; j > 0 && is_before(&race->attempt[j], &race->attempt[j - 1]);
                 j--) {
                struct attempt other = race->attempt[j];
                race->attempt[j] = race->attempt[j - 1];
                race->attempt[j - 1] = other;
            }
        keep_half(race);
        if (k == 1 && !race->attempt[0].trials.holds)
            return true; /* nearer, and not there yet */
    }
    return true;
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
    struct attempt attempt = {
        .choice = choice_copy(&search->choice, search->draft->scenario->station_count)};
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

/* What was added, one by one, the last mended first. */
static void shrink(struct search *search) {
    uint32_t stations = search->draft->scenario->station_count;
    for (uint32_t s = 0; s < stations && interrupt_signal() == 0; s++) {
        struct plan_choice choice = choice_copy(&search->choice, stations);
        if (choice.extra_station[s] > 0) {
            choice.extra_station[s]--;
            take_if_it_holds(search, choice);
            choice = choice_copy(&search->choice, stations);
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

/* A product that is seldom ordered cannot be made nine times in the hour that a restart has. */
static bool explain_restart(struct search *search) {
    enum { MAKINGS = 9, HOUR_SECONDS = 3600 };
    const struct scenario *scenario = search->draft->scenario;
    const struct trial_result *restart = &search->trials.trial[TRIAL_RESTART];
    for (uint32_t i = 0; restart->done && !restart->holds && i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        double seconds = (double)demand->every.mean_ticks / (double)scenario->ticks_per_second;
        if (demand->outlet || MAKINGS * seconds < 0.8 * HOUR_SECONDS)
            continue;
        snprintf(search->why, DESIGN_WHY_BYTES,
                 "%s is ordered once in %.4g s on average, so that the nine that a restart waits "
                 "for take %.4g s, and it has 3600 s; `may.survive.restart: false` leaves it out",
                 scenario->item[demand->item].name, seconds, MAKINGS * seconds);
        return true;
    }
    return false;
}

static void explain(struct search *search) {
    const struct trials *trials = &search->trials;
    const struct trial_result *night = &trials->trial[TRIAL_NIGHT];
    const struct trial_result *disturbed = &trials->trial[TRIAL_DISTURBED];
    char *why = search->why;
    if (!trials->rules_hold)
        snprintf(why, DESIGN_WHY_BYTES, "the nearest of %u tries breaks %u rule%s of the trade: %s",
                 search->tries, trials->broken_count, plural(trials->broken_count), trials->broken);
    else if (!trials->demand_met)
        snprintf(why, DESIGN_WHY_BYTES,
                 "the arms and stations of the nearest of %u tries cannot bring what is demanded",
                 search->tries);
    else if (night->done && !night->holds)
        snprintf(why, DESIGN_WHY_BYTES,
                 "in %u of %u nights of the nearest of %u tries %.4g %% of the demand were met at "
                 "least, with %llu jams",
                 night->failed, night->runs, search->tries, 100 * night->met,
                 (unsigned long long)night->jams);
    else if (disturbed->done && !disturbed->holds)
        snprintf(why, DESIGN_WHY_BYTES,
                 "the nearest of %u tries was stuck at the end of %u of %u disturbed nights",
                 search->tries, disturbed->failed, disturbed->runs);
    else if (!explain_restart(search))
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

static bool begin(struct search *search) {
    uint32_t stations = search->draft->scenario->station_count;
    struct plan_choice first = {.threshold = 1,
                                .ahead = 1,
                                .bin = 1,
                                .shelf = 1,
                                .shelf_start = 1,
                                .feeder_margin = 1.2,
                                .spacing = 1,
                                .lanes_least = 1,
                                .ahead_given = search->ahead_given,
                                .gate_given = search->gate_given};
    for (uint32_t s = 0; s < stations; s++) {
        search->ahead_given[s] = has_key(search, s, "ahead");
        search->gate_given[s] = has_key(search, s, "gate");
    }
    struct attempt attempt = {.choice = choice_copy(&first, stations)};
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
                              .wish = wish,
                              .ahead_given = require_memory(stations, sizeof(bool)),
                              .gate_given = require_memory(stations, sizeof(bool))};
    progress_init_open(&search->progress, show_progress);
    if (draft->open_count == 0)
        plan_use_given_loops(&draft->may, draft->scenario);
    if (!begin(search))
        return;
    if (search->trials.holds)
        search->found = prove(search);
    for (int round = 0; round < ROUNDS_MAX && interrupt_signal() == 0 && !search->found; round++) {
        if (!mend(search))
            break;
        search->found = search->trials.holds;
    }
    if (search->found)
        shrink(search);
    else
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
