/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_run.c - plans, tries, mends what failed, tries again. */
#include "tools/design/search_run.h"

#include <stdio.h>
#include <string.h>

#include "model/design/given_belts.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/design/search_changes.h"
#include "tools/design/search_shrink.h"
#include "tools/design/search_why.h"

enum { ROUNDS_MAX = 12 };

/* Mends what failed; true: the winner is better than what there was. */
static bool mend(struct search *search) {
    struct search_race race = {.search = search};
    double before = trials_score(&search->trials);
    search_changes(&race, search);
    bool whole = search_race_run(&race), better = false;
    if (whole && race.count > 0 &&
        (race.attempt[0].trials.holds || race.attempt[0].score > before + 1e-4)) {
        search_take(search, &race.attempt[0]);
        better = true;
    }
    search_race_free(&race);
    return better;
}

/* Tries what there is with all nights. */
static bool prove(struct search *search) {
    struct search_attempt attempt = {
        .choice = plan_choice_copy(&search->choice, search->draft->scenario)};
    char why[DESIGN_WHY_BYTES];
    bool planned = search_plan(search, &attempt, why);
    require(planned);
    search_try(search, &attempt, TRIALS_ALL);
    bool holds = attempt.trials.whole && attempt.trials.holds;
    if (attempt.trials.whole)
        search_take(search, &attempt);
    search_attempt_free(&attempt);
    return holds;
}

/* ---- a beginning ---- */

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
    struct search_attempt attempt = {.choice = plan_choice_copy(&first, search->draft->scenario)};
    bool planned = search_plan(search, &attempt, search->why);
    if (planned) {
        search_try(search, &attempt, TRIALS_SOME);
        search_take(search, &attempt);
    }
    search_attempt_free(&attempt);
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
    given_belts_use(&draft->may, draft->scenario, !has_open_loops(draft));
    if (!begin(search))
        return;
    if (search->trials.holds)
        search->found = prove(search);
    search_note_hard(search, &search->trials);
    for (int round = 0; round < ROUNDS_MAX && interrupt_signal() == 0 && !search->found; round++) {
        if (search_why_only_batches(search) || !mend(search))
            break;
        search->found = search->trials.holds;
    }
    if (search->found) {
        search_shrink(search);
        search_shrink_room(search);
    } else
        search_why(search);
    progress_end(&search->progress);
}
