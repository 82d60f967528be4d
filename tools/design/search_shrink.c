/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_shrink.c - a smaller plan is tried with two nights, then with all. */
#include "tools/design/search_shrink.h"

#include "tools/base/interrupt.h"

/* Tries a choice, whose memory it takes, with two nights, then all. */
static void take_if_it_holds(struct search *search, struct plan_choice choice) {
    struct search_attempt attempt = {.choice = choice};
    char why[DESIGN_WHY_BYTES];
    bool holds = search_plan(search, &attempt, why) &&
                 search_parts(&attempt.plan) < search_parts(&search->plan);
    for (int depth = TRIALS_SOME; depth <= TRIALS_ALL && holds; depth++) {
        search_try(search, &attempt, (enum trials_depth)depth);
        holds = attempt.trials.whole && attempt.trials.holds;
    }
    if (holds)
        search_take(search, &attempt);
    search_attempt_free(&attempt);
}

void search_shrink(struct search *search) {
    uint32_t stations = search->draft->scenario->station_count;
    for (uint32_t s = 0; s < stations && interrupt_signal() == 0; s++) {
        struct plan_choice choice = plan_choice_copy(&search->choice, search->draft->scenario);
        if (choice.extra_station[s] > 0) {
            choice.extra_station[s]--;
            take_if_it_holds(search, choice);
            choice = plan_choice_copy(&search->choice, search->draft->scenario);
        }
        if (choice.extra_taker[s] > 0) {
            choice.extra_taker[s]--;
            take_if_it_holds(search, choice);
        } else {
            plan_choice_free(&choice);
        }
    }
}

void search_shrink_room(struct search *search) {
    for (int k = 3; k >= 1 && interrupt_signal() == 0; k--) {
        struct plan_choice choice = plan_choice_copy(&search->choice, search->draft->scenario);
        choice.both_sides = choice.both_sides || (k & 1) != 0;
        choice.one_store = choice.one_store || (k & 2) != 0;
        take_if_it_holds(search, choice);
        if (search->choice.both_sides && search->choice.one_store)
            return;
    }
}
