/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_race.c - an hour or a night for all, two nights for half, all nights for the
 * first. */
#include "tools/design/search_race.h"

#include <stdlib.h>

#include "sim/require.h"
#include "tools/base/interrupt.h"

struct plan_choice *search_race_enter(struct search_race *race, const struct plan_choice *like) {
    race->attempt = require_more_memory(race->attempt, race->count + 1, sizeof *race->attempt);
    struct search_attempt *attempt = &race->attempt[race->count++];
    *attempt =
        (struct search_attempt){.choice = plan_choice_copy(like, race->search->draft->scenario)};
    return &attempt->choice;
}

/* Whether one comes before another: one that holds before one that does not, of those that hold the
 * one with fewer parts, of the others the one that came farther. */
static bool is_before(const struct search_attempt *one, const struct search_attempt *other) {
    if (one->trials.holds != other->trials.holds)
        return one->trials.holds;
    if (!one->trials.holds && one->score != other->score)
        return one->score > other->score;
    return search_parts(&one->plan) < search_parts(&other->plan);
}

/* Plans all and leaves out those that cannot be. */
static void plan_all(struct search_race *race) {
    uint32_t kept = 0;
    char why[DESIGN_WHY_BYTES];
    for (uint32_t i = 0; i < race->count; i++) {
        struct search_attempt attempt = race->attempt[i];
        if (search_plan(race->search, &attempt, why))
            race->attempt[kept++] = attempt;
        else
            search_attempt_free(&attempt);
    }
    race->count = kept;
}

static void keep_half(struct search_race *race) {
    uint32_t kept = (race->count + 1) / 2;
    while (race->count > kept)
        search_attempt_free(&race->attempt[--race->count]);
}

/* A stable order: equal ones as they were entered. */
static void sort_race(struct search_race *race) {
    for (uint32_t i = 1; i < race->count; i++)
        for (uint32_t j = i; j > 0 && is_before(&race->attempt[j], &race->attempt[j - 1]); j--) {
            struct search_attempt other = race->attempt[j];
            race->attempt[j] = race->attempt[j - 1];
            race->attempt[j - 1] = other;
        }
}

/* False: a signal was noted. */
static bool try_all(struct search_race *race, enum trials_depth depth) {
    for (uint32_t i = 0; i < race->count; i++) {
        race->search->to_come = race->count - i;
        search_try(race->search, &race->attempt[i], depth);
        if (interrupt_signal() != 0)
            return false;
    }
    race->search->to_come = 0;
    sort_race(race);
    return true;
}

/* Tries with all nights what held in some, the smallest first, until one holds; of others nothing
 * is known then, and they are left out. False: a signal was noted. */
static bool run_final(struct search_race *race) {
    enum { FINALISTS = 4 };
    uint32_t tried = 0;
    bool found = false;
    while (tried < race->count && tried < FINALISTS && !found &&
           race->attempt[tried].trials.holds) {
        search_try(race->search, &race->attempt[tried], TRIALS_ALL);
        if (interrupt_signal() != 0)
            return false;
        found = race->attempt[tried].trials.holds;
        search_note_hard(race->search, &race->attempt[tried].trials);
        tried++;
    }
    while (tried > 0 && race->count > tried)
        search_attempt_free(&race->attempt[--race->count]);
    sort_race(race);
    return true;
}

bool search_race_run(struct search_race *race) {
    plan_all(race);
    if (!try_all(race, TRIALS_LOOK))
        return false;
    keep_half(race);
    return try_all(race, TRIALS_SOME) && run_final(race);
}

void search_race_free(struct search_race *race) {
    while (race->count > 0)
        search_attempt_free(&race->attempt[--race->count]);
    free(race->attempt);
}
