/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_changes.c - more in stock, other beginnings, other sizes, more parts. */
#include "tools/design/search_changes.h"

#include <stdlib.h>

#include "sim/require.h"

/* More on the shelf of what is short. */
static void more_on_shelves(const struct search_race *race, struct plan_choice *choice,
                            double factor) {
    for (uint32_t i = 0; i < race->search->draft->scenario->item_count; i++)
        choice->shelf[i] *= search_is_short(race->search, i) ? factor : 1;
}

/* More in bins and on shelves, where too little comes: that costs no part. */
static void enter_stocks(struct search_race *race, const struct plan_choice *like) {
    if (race->search->wish.may->belts)
        search_race_enter(race, like)->belt_more++;
    search_race_enter(race, like)->threshold *= 1.5;
    search_race_enter(race, like)->full_trays = true;
    more_on_shelves(race, search_race_enter(race, like), 2);
    more_on_shelves(race, search_race_enter(race, like), 4);
    search_race_enter(race, like)->bin *= 2;
    struct plan_choice *all = search_race_enter(race, like);
    all->bin *= 1.5;
    all->threshold *= 1.5;
    all->full_trays = true;
    more_on_shelves(race, all, 2);
    all = search_race_enter(race, like);
    all->bin *= 3;
    all->threshold *= 2.5;
    all->full_trays = true;
    more_on_shelves(race, all, 2);
    search_race_enter(race, like)->feeder_margin *= 1.25;
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
static void all_but_one_ahead(const struct search_race *race, struct plan_choice *choice) {
    const struct scenario *scenario = race->search->draft->scenario;
    uint32_t most = 0;
    for (uint32_t i = 1; i < scenario->item_count; i++)
        most = ordered(scenario, i) > ordered(scenario, most) ? i : most;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        choice->head_start[i] = i != most;
}

/* Other beginnings, by which it is judged whether a new start is as fast as the first. */
static void enter_starts(struct search_race *race, const struct plan_choice *like) {
    struct plan_choice *ahead = search_race_enter(race, like);
    for (uint32_t i = 0; i < race->search->draft->scenario->item_count; i++)
        ahead->head_start[i] = ahead->head_start[i] || race->search->trials.late[i];
    all_but_one_ahead(race, search_race_enter(race, like));
    search_race_enter(race, like)->shelf_start = 0;
    search_race_enter(race, like)->shelf_start = 0.5;
    search_race_enter(race, like)->full_trays = true;
    for (int k = 0; k < 3; k++) {
        struct plan_choice *quick = search_race_enter(race, like);
        quick->full_trays = true;
        quick->ahead *= k == 0 ? 0.6 : k == 1 ? 1 : 0.3;
        quick->shelf_start = k == 0 ? 1 : 0.5;
    }
    search_race_enter(race, like)->threshold *= 1.5;
}

/* Larger thresholds and trays. */
static void enter_sizes(struct search_race *race, const struct plan_choice *like) {
    search_race_enter(race, like)->threshold *= 1.6;
    search_race_enter(race, like)->ahead *= 0.6;
    search_race_enter(race, like)->ahead *= 2;
    struct plan_choice *both = search_race_enter(race, like);
    both->threshold *= 2;
    both->ahead *= 2;
}

/* Recipes that make what is short, or what goes into it. */
static void mark_makers(const struct search_race *race, bool *marked) {
    const struct scenario *scenario = race->search->draft->scenario;
    bool *wanted = require_memory(scenario->item_count, sizeof *wanted), more = true;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        wanted[i] = search_is_short(race->search, i);
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
static void enter_stations(struct search_race *race, const struct plan_choice *like) {
    uint32_t count = race->search->draft->scenario->station_count, added = 0;
    bool *marked = require_memory(count, sizeof *marked);
    mark_makers(race, marked);
    for (uint32_t s = 0; s < count; s++) {
        if (!marked[s])
            continue;
        added++;
        if (added <= 6)
            search_race_enter(race, like)->extra_station[s]++;
    }
    if (added > 1) {
        struct plan_choice *more = search_race_enter(race, like);
        for (uint32_t s = 0; s < count; s++)
            more->extra_station[s] += marked[s];
        more->threshold *= 1.5;
        more->full_trays = true;
    }
    free(marked);
}

/* More parts: stations where too little comes, room where heaps stay. */
static void enter_parts(struct search_race *race, const struct plan_choice *like, bool stations,
                        bool room) {
    uint32_t count = race->search->draft->scenario->station_count;
    struct plan_choice *takers = search_race_enter(race, like);
    for (uint32_t s = 0; s < count; s++)
        takers->extra_taker[s]++;
    if (stations)
        enter_stations(race, like);
    if (!room)
        return;
    search_race_enter(race, like)->spacing *= 2;
    search_race_enter(race, like)->lanes_least++;
}

void search_changes(struct search_race *race, const struct search *search) {
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
