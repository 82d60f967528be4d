/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/budget/mend_search.c - makes the first change that may mend each finding of a rule, reads
 * the scenario again, and judges it; where findings are left, their next changes are made in place
 * of those, until the rule holds or nothing is left to try. */
#include "tools/budget/mend_search.h"

#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/progress.h"

enum { ROUNDS_MAX = 8, FINDINGS_MAX = 64, CHANGES_MAX = 6 };

/* A change that was made for a finding. */
struct step {
    struct budget_finding finding;
    char *change; /* lines of PATH=VALUE; NULL: none */
    char *why;    /* what is to be mended, where the rule as it is does not say it; else NULL */
    struct budget_texts tried;
};

struct search {
    const struct budget *budget; /* of the scenario as it is */
    enum budget_rule_kind rule;
    struct step *step;
    uint32_t step_count, step_capacity;
};

/* ---- changes made together ---- */

/* Adds the lines of all steps. */
static void list_sets(const struct search *search, struct budget_texts *set) {
    for (uint32_t i = 0; i < search->step_count; i++) {
        const char *line = search->step[i].change;
        while (line != NULL && *line != '\0') {
            int length = (int)strcspn(line, "\n");
            budget_texts_add(set, "%.*s", length, line);
            line += length + (line[length] == '\n');
        }
    }
}

/* Whether some other step changes the same path. */
static bool is_in_conflict(const struct search *search, const char *change) {
    size_t length = strcspn(change, "=");
    for (uint32_t i = 0; i < search->step_count; i++)
        if (search->step[i].change != NULL &&
            strncmp(search->step[i].change, change, length + 1) == 0)
            return true;
    return false;
}

/* The scenario with the changes made; NULL: they are no good. */
static struct scenario *changed(const struct search *search) {
    struct budget_texts set = {0};
    struct faults faults = {0};
    const char *text = search->budget->scenario->text;
    list_sets(search, &set);
    struct scenario *scenario = read_scenario(text, strlen(text), "mend",
                                              (const char *const *)set.text, set.count, &faults);
    faults_free(&faults);
    budget_texts_free(&set);
    return scenario;
}

/* ---- the search ---- */

static bool is_told(const struct search *search, const struct budget_finding *finding) {
    const struct budget_rule *rule = &search->budget->rule[search->rule];
    for (uint32_t i = 0; i < rule->finding_count; i++)
        if (budget_same_finding(&rule->finding[i], finding))
            return true;
    return false;
}

/* The step for a finding of a budget: a new one where there is none yet. */
static struct step *step_for(struct search *search, const struct budget *budget,
                             const struct budget_finding *finding) {
    for (uint32_t i = 0; i < search->step_count; i++)
        if (budget_same_finding(&search->step[i].finding, finding))
            return &search->step[i];
    search->step = array_with_room(search->step, search->step_count, &search->step_capacity,
                                   sizeof *search->step);
    const char *why = budget->rule[search->rule].whys.text[finding->why];
    search->step[search->step_count] = (struct step){
        .finding = *finding, .why = is_told(search, finding) ? NULL : require_text(why)};
    return &search->step[search->step_count++];
}

static bool was_tried(const struct step *step, const char *change) {
    for (uint32_t i = 0; i < step->tried.count; i++)
        if (strcmp(step->tried.text[i], change) == 0)
            return true;
    return false;
}

/* Lists what may mend a finding: by the numbers of the scenario as it is, if it is there already,
 * since the change that was made for it is taken back; then by those of the budget that has it. */
static void list_changes(const struct search *search, const struct budget *budget,
                         const struct budget_finding *finding, struct budget_texts *changes) {
    const struct budget_rule *rule = &search->budget->rule[search->rule];
    for (uint32_t i = 0; i < rule->finding_count; i++)
        if (budget_same_finding(&rule->finding[i], finding))
            budget_mends(search->budget, search->rule, &rule->finding[i], changes);
    budget_mends(budget, search->rule, finding, changes);
}

/* Takes a change that was not tried yet for a finding that is left; false: there is none. One whose
 * path another step changes may yet be taken later. */
static bool take_next(struct search *search, const struct budget *budget,
                      const struct budget_finding *finding) {
    struct budget_texts changes = {0};
    struct step *step = step_for(search, budget, finding);
    list_changes(search, budget, finding, &changes);
    free(step->change);
    step->change = NULL;
    for (uint32_t i = 0; i < changes.count && step->change == NULL; i++)
        if (step->tried.count < CHANGES_MAX && !was_tried(step, changes.text[i]) &&
            !is_in_conflict(search, changes.text[i])) {
            step->change = require_text(changes.text[i]);
            budget_texts_add(&step->tried, "%s", changes.text[i]);
        }
    budget_texts_free(&changes);
    return step->change != NULL;
}

/* Takes a change for each finding that a budget has; false: for none there is any. */
static bool take_changes(struct search *search, const struct budget *budget) {
    const struct budget_rule *rule = &budget->rule[search->rule];
    bool found = false;
    for (uint32_t i = 0; i < rule->finding_count; i++)
        found = take_next(search, budget, &rule->finding[i]) || found;
    return found;
}

/* True when the rule holds with the steps as they are; else takes other steps, and *more says
 * whether there are any. */
static bool try_steps(struct search *search, bool *more) {
    struct scenario *scenario = changed(search);
    *more = scenario != NULL;
    if (scenario == NULL)
        return false;
    struct budget *budget = budget_judge(scenario);
    bool holds = budget->rule[search->rule].verdict == BUDGET_HOLDS;
    if (!holds)
        *more = take_changes(search, budget);
    budget_free(budget);
    scenario_free(scenario);
    return holds;
}

static void list_whys(const struct search *search, struct budget_texts *also) {
    for (uint32_t i = 0; i < search->step_count; i++)
        if (search->step[i].why != NULL && search->step[i].change != NULL)
            budget_texts_add(also, "%s", search->step[i].why);
}

static void find(struct search *search, struct progress *progress, struct mend_search *mend) {
    bool more = take_changes(search, search->budget), holds = false;
    for (int round = 0; round < ROUNDS_MAX && more && !holds; round++) {
        progress_show(progress, search->rule);
        holds = try_steps(search, &more);
    }
    if (holds) {
        list_sets(search, &mend->set[search->rule]);
        list_whys(search, &mend->also[search->rule]);
    }
    for (uint32_t i = 0; i < search->step_count; i++) {
        free(search->step[i].change);
        free(search->step[i].why);
        budget_texts_free(&search->step[i].tried);
    }
    free(search->step);
}

void mend_search_find(struct mend_search *mend, const struct budget *budget, bool show_progress) {
    struct progress progress;
    progress_init_count(&progress, BUDGET_RULES, "rules mended", show_progress);
    for (int i = 0; i < BUDGET_RULES; i++) {
        const struct budget_rule *rule = &budget->rule[i];
        struct search search = {.budget = budget, .rule = (enum budget_rule_kind)i};
        if (rule->verdict != BUDGET_HOLDS && rule->finding_count <= FINDINGS_MAX)
            find(&search, &progress, mend);
    }
    progress_end(&progress);
}

void mend_search_free(struct mend_search *mend) {
    for (int i = 0; i < BUDGET_RULES; i++) {
        budget_texts_free(&mend->set[i]);
        budget_texts_free(&mend->also[i]);
    }
}
