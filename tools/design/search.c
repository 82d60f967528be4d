/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search.c - plans, tries, and keeps the best. */
#include "tools/design/search.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/design/draw_plan.h"
#include "model/reader/read.h"
#include "sim/require.h"
#include "tools/base/elapsed.h"
#include "tools/design/design_text.h"

/* ---- one try ---- */

void search_attempt_free(struct search_attempt *attempt) {
    plan_choice_free(&attempt->choice);
    plan_free(&attempt->plan);
    trials_free(&attempt->trials);
}

uint64_t search_parts(const struct plan *plan) {
    uint64_t cells = 0;
    for (uint32_t b = 0; b < plan->belt_count; b++)
        cells += plan->belt[b].cells;
    return 1000 * (uint64_t)(plan->arm_count + plan->station_count + plan->chest_count) + cells;
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

/* The scenario of a plan; NULL: what the brief says of the station of a recipe cannot be said where
 * there are several, or none, and `why` says so. */
static struct scenario *scenario_of(const struct search *search, const struct plan *plan,
                                    char why[DESIGN_WHY_BYTES]) {
    struct design_notes notes = {.head = NULL};
    struct faults faults = {0};
    char *text = design_text_of(plan, search->draft, &notes);
    struct scenario *scenario = read_scenario(text, strlen(text), "the design", NULL, 0, &faults);
    if (scenario == NULL)
        snprintf(why, DESIGN_WHY_BYTES,
                 "the brief speaks of a station that is not built, or of which several are, named "
                 "NAME-1, NAME-2: %s",
                 faults.fault[0].what);
    free(text);
    faults_free(&faults);
    return scenario;
}

bool search_plan(struct search *search, struct search_attempt *attempt,
                 char why[DESIGN_WHY_BYTES]) {
    attempt->planned =
        draw_plan(&attempt->plan, search->draft->scenario, search->wish.may, &attempt->choice, why);
    if (attempt->planned) {
        struct scenario *scenario = scenario_of(search, &attempt->plan, why);
        attempt->planned = scenario != NULL;
        scenario_free(scenario);
    }
    return attempt->planned;
}

void search_try(struct search *search, struct search_attempt *attempt, enum trials_depth depth) {
    int64_t begun_ms = elapsed_ms();
    tell_try(search, depth);
    char why[DESIGN_WHY_BYTES];
    struct scenario *scenario = scenario_of(search, &attempt->plan, why);
    require(scenario != NULL); /* search_plan has seen to that */
    if (attempt->tried)
        trials_free(&attempt->trials);
    trials_run(scenario, &search->wish, depth, &attempt->trials);
    attempt->tried = true;
    attempt->score = trials_score(&attempt->trials);
    search->tries++;
    search->pace_ms[depth] = elapsed_ms() - begun_ms;
    scenario_free(scenario);
}

/* ---- the best so far ---- */

void search_take(struct search *search, struct search_attempt *attempt) {
    if (search->planned) {
        plan_free(&search->plan);
        trials_free(&search->trials);
        plan_choice_free(&search->choice);
    }
    search->planned = true;
    search->plan = attempt->plan;
    search->choice = attempt->choice;
    search->trials = attempt->trials;
    *attempt = (struct search_attempt){.planned = false};
}

bool search_is_short(const struct search *search, uint32_t item) {
    const struct may *may = search->wish.may;
    double met = search->trials.met_of[item];
    return met < (double)may->met.numerator / (double)may->met.denominator;
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

void search_note_hard(struct search *search, const struct trials *trials) {
    add_hard(&search->wish.hard_night, &trials->trial[TRIAL_NIGHT].hard);
    add_hard(&search->wish.hard_disturbed, &trials->trial[TRIAL_DISTURBED].hard);
    add_hard(&search->wish.hard_drain, &trials->trial[TRIAL_DRAIN].hard);
    add_hard(&search->wish.hard_drain, &trials->trial[TRIAL_RESTART].hard);
}

void search_free(struct search *search) {
    if (search->planned) {
        plan_free(&search->plan);
        trials_free(&search->trials);
        plan_choice_free(&search->choice);
    }
    free(search->ahead_given);
    free(search->gate_given);
    *search = (struct search){0};
}
