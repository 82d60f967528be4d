/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/variables.c - coordinates one after another, all with the same seeds. */
#include "tools/design/variables.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"

enum { PASSES = 3 };

/* ---- the list ---- */

static struct variable *new_variable(struct variables *list) {
    list->entry = require_more_memory(list->entry, list->count + 1, sizeof *list->entry);
    return &list->entry[list->count++];
}

/* The swing and the hand of one arm, both open, are one variable. */
static bool join_kind(struct variables *list, const struct draft_open *open,
                      const struct may *may) {
    for (uint32_t i = 0; i < list->count; i++)
        if (variable_join_kind(&list->entry[i], open, may))
            return true;
    return false;
}

void variables_add_open(struct variables *list, const struct draft *draft) {
    for (uint32_t i = 0; i < draft->open_count; i++)
        if (!join_kind(list, &draft->open[i], &draft->may))
            variable_init_open(new_variable(list), draft, &draft->open[i]);
}

void variables_add_number(struct variables *list, const struct draft *draft, const char *path,
                          int64_t value) {
    variable_init_number(new_variable(list), draft, path, value);
}

void variables_init(struct variables *list, const char *text, const struct trials_wish *wish,
                    bool show_progress) {
    *list = (struct variables){.text = text, .wish = wish};
    progress_init_open(&list->progress, show_progress);
}

void variables_free(struct variables *list) {
    for (uint32_t i = 0; i < list->count; i++)
        variable_free(&list->entry[i]);
    free(list->entry);
    *list = (struct variables){0};
}

bool variables_differs(const struct variables *list, uint32_t index) {
    return list->entry[index].at != list->entry[index].first_at;
}

const char *variables_change(const struct variables *list, uint32_t index) {
    return list->entry[index].choice[list->entry[index].at];
}

/* ---- trying what is in hand ---- */

/* The scenario with all choices; NULL: they do not go together. */
static struct scenario *read_choices(const struct variables *list) {
    uint32_t count = 0;
    char **change = require_memory(2 * (size_t)list->count + 1, sizeof *change);
    struct faults faults = {0};
    for (uint32_t i = 0; i < list->count; i++) {
        char *text = require_text(variables_change(list, i)), *end = strchr(text, '\n');
        if (end != NULL) {
            *end = '\0';
            change[count++] = require_text(end + 1);
        }
        change[count++] = text;
    }
    struct scenario *scenario = read_scenario(list->text, strlen(list->text), "",
                                              (const char *const *)change, count, &faults);
    for (uint32_t i = 0; i < count; i++)
        free(change[i]);
    free(change);
    faults_free(&faults);
    return scenario;
}

/* ---- places ---- */

static bool same_cell(struct place one, struct place other) {
    return layout_is_track(one) && one.kind == other.kind && one.index == other.index &&
           one.cell == other.cell;
}

/* Whether the end of an arm that is open has come to where another arm works. */
static bool is_taken(const struct scenario *scenario, const struct draft_open *open) {
    const char *name = strchr(open->path, '.') + 1, *key = strrchr(open->path, '.') + 1;
    size_t length = (size_t)(key - 1 - name);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (strlen(arm->name) != length || strncmp(arm->name, name, length) != 0)
            continue;
        struct place place = strcmp(key, "from") == 0 ? arm->from : arm->to;
        for (uint32_t k = 0; k < scenario->arm_count; k++)
            if (k != i &&
                (same_cell(place, scenario->arm[k].from) || same_cell(place, scenario->arm[k].to)))
                return true;
    }
    return false;
}

static bool places_clash(const struct variables *list, const struct scenario *scenario) {
    for (uint32_t i = 0; i < list->count; i++)
        if (!list->entry[i].is_size && is_taken(scenario, list->entry[i].open))
            return true;
    return false;
}

/* Tries it up to a depth; `trials` (NULL: not wanted) is set anew. Returns its score, whole points
 * above 100 where all holds; -1: it cannot be read. */
static double try_choices(struct variables *list, enum trials_depth depth, struct trials *trials) {
    struct scenario *scenario = read_choices(list);
    struct trials own;
    if (scenario != NULL && places_clash(list, scenario)) {
        scenario_free(scenario);
        return -1;
    }
    if (scenario == NULL)
        return -1;
    progress_say(&list->progress, "%u tries so far", list->tries);
    trials_run(scenario, list->wish, depth, &own);
    list->tries++;
    double score = trials_score(&own) + (own.holds && own.whole ? 100 : 0);
    if (trials != NULL) {
        trials_free(trials);
        *trials = own;
    } else {
        trials_free(&own);
    }
    scenario_free(scenario);
    return score;
}

static bool holds(double score) { return score >= 100; }

/* ---- a beginning ---- */

/* All open sizes at a level of their choices; arms at their fastest, capacities large, places
 * spread in the order in which they stand in the scenario. */
static void set_level(struct variables *list, double level) {
    uint32_t places = 0, place = 0;
    for (uint32_t i = 0; i < list->count; i++)
        places += !list->entry[i].is_size;
    for (uint32_t i = 0; i < list->count; i++) {
        struct variable *variable = &list->entry[i];
        double last = variable->count - 1, at = level * last;
        if (variable->open == NULL)
            continue;
        if (!variable->is_size)
            at = last * (place++ + 0.5) / places;
        else if (variable->open->kind != DRAFT_COUNT)
            at = variable->open->kind == DRAFT_CELLS ? 0.7 * last : last;
        variable->at = (uint32_t)at;
    }
}

static double race_levels(struct variables *list) {
    static const double level[] = {0.1, 0.2, 0.35, 0.5, 0.75};
    double best = -2, best_level = level[0];
    for (size_t k = 0; k < sizeof level / sizeof *level && !holds(best); k++) {
        set_level(list, level[k]);
        double score = try_choices(list, TRIALS_GLANCE, NULL);
        if (score > best) {
            best = score;
            best_level = level[k];
        }
    }
    set_level(list, best_level);
    return best;
}

/* Changes one number where that brings it nearer; true: it did. */
static bool improve_one(struct variables *list, struct variable *variable, double *best) {
    static const int step[] = {1, -1, 3, -3, 8, -8, 16, -16};
    uint32_t from = variable->at, found = from;
    for (size_t k = 0; k < sizeof step / sizeof *step && !holds(*best); k++) {
        int64_t at = (int64_t)from + step[k];
        if (at < 0 || at >= (int64_t)variable->count || interrupt_signal() != 0)
            continue;
        variable->at = (uint32_t)at;
        double score = try_choices(list, TRIALS_GLANCE, NULL);
        if (score > *best + 1e-6) {
            *best = score;
            found = (uint32_t)at;
        }
    }
    variable->at = found;
    return found != from;
}

static bool begin(struct variables *list) {
    double best = race_levels(list);
    for (int pass = 0; pass < PASSES && !holds(best); pass++) {
        bool better = false;
        for (uint32_t i = 0; i < list->count && !holds(best); i++)
            better = improve_one(list, &list->entry[i], &best) || better;
        if (!better)
            break;
    }
    return holds(best);
}

/* ---- making it smaller ---- */

/* Moves open places that a shorter belt no longer has to its end. */
static void fit_places(struct variables *list, const struct variable *belt) {
    if (belt->open == NULL || belt->open->kind != DRAFT_CELLS)
        return;
    const char *name = strchr(belt->open->path, '.') + 1;
    size_t length = strcspn(name, ".");
    int64_t cells = variable_number(belt, belt->at);
    for (uint32_t i = 0; i < list->count; i++) {
        struct variable *place = &list->entry[i];
        if (place->is_size || place->open == NULL || strncmp(place->open->place, name, length) != 0)
            continue;
        while (place->at > 0 && variable_number(place, place->at) >= cells)
            place->at--;
    }
}

static void copy_places(struct variables *list, uint32_t *at, bool back) {
    for (uint32_t i = 0; i < list->count; i++)
        if (!list->entry[i].is_size && back)
            list->entry[i].at = at[i];
        else
            at[i] = list->entry[i].at;
}

/* The smallest choice with which one night and the rest hold, by halving. */
static void lower_one(struct variables *list, struct variable *variable) {
    uint32_t good = variable->at, bad = 0; /* below `bad` nothing is known to hold */
    uint32_t *places = require_memory(list->count, sizeof *places);
    copy_places(list, places, false);
    while (bad < good && interrupt_signal() == 0) {
        uint32_t middle = bad + (good - bad) / 2;
        variable->at = middle;
        fit_places(list, variable);
        if (holds(try_choices(list, TRIALS_LOOK, NULL))) {
            good = middle;
            copy_places(list, places, false);
        } else {
            bad = middle + 1;
            copy_places(list, places, true);
        }
    }
    variable->at = good;
    free(places);
}

static void lower_all(struct variables *list) {
    for (uint32_t i = 0; i < list->count; i++)
        if (list->entry[i].is_size)
            lower_one(list, &list->entry[i]);
}

/* Halfway back to where each was when it held. */
static bool step_back(struct variables *list, const uint32_t *held) {
    bool moved = false;
    for (uint32_t i = 0; i < list->count; i++) {
        struct variable *variable = &list->entry[i];
        if (variable->at >= held[i])
            continue;
        variable->at += (held[i] - variable->at + 1) / 2;
        moved = true;
    }
    return moved;
}

/* Tries what is in hand with all nights, and goes back by halves where it fails. */
static bool prove(struct variables *list, const uint32_t *held, struct trials *trials) {
    do {
        if (holds(try_choices(list, TRIALS_ALL, trials)))
            return true;
    } while (interrupt_signal() == 0 && step_back(list, held));
    return false;
}

/* Larger by a step, all sizes, where what held in one night does not in all. */
static bool raise_all(struct variables *list) {
    bool moved = false;
    for (uint32_t i = 0; i < list->count; i++) {
        struct variable *variable = &list->entry[i];
        if (variable->open == NULL || !variable->is_size || variable->at + 2 >= variable->count)
            continue;
        variable->at += 2;
        moved = true;
    }
    return moved;
}

/* ---- away from the edge ---- */

/* Whether a larger value of an open number needs no larger part and no more items. */
static bool costs_nothing(const struct variable *variable) {
    return variable->open != NULL && variable->open->kind == DRAFT_COUNT &&
           strstr(variable->open->path, ".start.") == NULL;
}

/* To the middle of the choices up to about twice the number with which one night and the rest
 * hold: the least that holds fails as soon as anything is a little worse than it was thought. */
static void widen_one(struct variables *list, struct variable *variable) {
    uint32_t low = variable->at, high = low;
    int64_t most = 2 * variable_number(variable, low) + 1;
    for (; high + 1 < variable->count && variable_number(variable, high + 1) <= most; high++) {
        variable->at = high + 1;
        if (interrupt_signal() != 0 || !holds(try_choices(list, TRIALS_LOOK, NULL)))
            break;
    }
    variable->at = low + (high - low + 1) / 2;
}

/* Widens all, if that comes through all nights as well; else all stays as it was. */
static void widen_all(struct variables *list, struct trials *trials) {
    uint32_t *least = require_memory(list->count, sizeof *least);
    bool moved = false;
    for (uint32_t i = 0; i < list->count; i++) {
        least[i] = list->entry[i].at;
        if (costs_nothing(&list->entry[i]))
            widen_one(list, &list->entry[i]);
        moved = moved || list->entry[i].at != least[i];
    }
    if (moved && !holds(try_choices(list, TRIALS_ALL, trials))) {
        for (uint32_t i = 0; i < list->count; i++)
            list->entry[i].at = least[i];
        try_choices(list, TRIALS_ALL, trials);
    }
    free(least);
}

bool variables_solve(struct variables *list, bool open, struct trials *trials) {
    uint32_t *held = require_memory(list->count, sizeof *held);
    bool found = (open && !begin(list)) ? false : holds(try_choices(list, TRIALS_ALL, trials));
    if (open && !found && trials->whole == false)
        try_choices(list, TRIALS_ALL, trials);
    for (int k = 0; open && !found && k < PASSES && raise_all(list); k++)
        found = holds(try_choices(list, TRIALS_ALL, trials));
    if (found && list->count > 0) {
        for (uint32_t i = 0; i < list->count; i++)
            held[i] = list->entry[i].at;
        lower_all(list);
        found = prove(list, held, trials);
        if (found && open)
            widen_all(list, trials);
    }
    free(held);
    progress_end(&list->progress);
    return found && interrupt_signal() == 0;
}
