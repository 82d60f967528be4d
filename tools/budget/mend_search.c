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
    const struct budget *told;    /* of the scenario as it is, whose findings are reported */
    const struct budget *written; /* the same, but of what comes in as it is written */
    enum budget_rule_kind rule;
    struct step *step;
    uint32_t step_count, step_capacity;
    struct budget_texts made; /* the changes with which it was judged last */
};

/* ---- changes made together ---- */

/* Adds the lines of a change; NULL: it has none. */
static void add_lines(struct budget_texts *set, const char *change) {
    while (change != NULL && *change != '\0') {
        int length = (int)strcspn(change, "\n");
        budget_texts_add(set, "%.*s", length, change);
        change += length + (change[length] == '\n');
    }
}

/* Adds the lines of the first so many steps. */
static void list_sets(const struct search *search, uint32_t steps, struct budget_texts *set) {
    for (uint32_t i = 0; i < steps; i++)
        add_lines(set, search->step[i].change);
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

/* The scenario with changes made; NULL: it cannot be read, and *what says why, to be freed. */
static struct scenario *changed(const struct search *search, const struct budget_texts *set,
                                char **what) {
    struct faults faults = {0};
    const char *text = search->told->scenario->text;
    struct scenario *scenario = read_scenario(text, strlen(text), "mend",
                                              (const char *const *)set->text, set->count, &faults);
    for (uint32_t i = 0; i < faults.count && scenario == NULL && *what == NULL; i++)
        if (faults.fault[i].grade == FAULT_ERROR)
            *what = require_text(faults.fault[i].what);
    faults_free(&faults);
    return scenario;
}

/* ---- changes that cannot be read ---- */

static char *why_unreadable(const struct search *search, const struct budget_texts *set) {
    char *what = NULL;
    scenario_free(changed(search, set, &what));
    return what;
}

static void take_back(struct step *step) {
    free(step->change);
    step->change = NULL;
}

/* Takes back what cannot be read even where it was proposed: with the changes with which the
 * scenario was judged last. */
static void take_faults_back(struct search *search, struct mend_search *mend) {
    for (uint32_t i = 0; i < search->step_count; i++) {
        struct step *step = &search->step[i];
        struct budget_texts set = {0};
        for (uint32_t k = 0; k < search->made.count; k++)
            budget_texts_add(&set, "%s", search->made.text[k]);
        add_lines(&set, step->change);
        char *what = step->change != NULL ? why_unreadable(search, &set) : NULL;
        if (what != NULL) {
            budget_texts_add(&mend->unread, "%s: %s", step->change, what);
            take_back(step);
        }
        free(what);
        budget_texts_free(&set);
    }
}

/* Takes back what cannot be read together with what comes before it: it may count on a part that
 * another step adds no more. */
static void take_orphans_back(struct search *search) {
    for (uint32_t i = 0; i < search->step_count; i++) {
        struct budget_texts set = {0};
        list_sets(search, i + 1, &set);
        char *what = search->step[i].change != NULL ? why_unreadable(search, &set) : NULL;
        if (what != NULL)
            take_back(&search->step[i]);
        free(what);
        budget_texts_free(&set);
    }
}

/* The scenario with the steps made, less those that cannot be read, which are taken back. */
static struct scenario *with_steps(struct search *search, struct mend_search *mend) {
    struct budget_texts set = {0};
    char *what = NULL;
    list_sets(search, search->step_count, &set);
    struct scenario *scenario = changed(search, &set, &what);
    if (scenario == NULL) {
        take_faults_back(search, mend);
        take_orphans_back(search);
        budget_texts_free(&set);
        list_sets(search, search->step_count, &set);
        scenario = changed(search, &set, &what);
    }
    require(scenario != NULL);
    free(what);
    budget_texts_free(&search->made);
    search->made = set;
    return scenario;
}

/* ---- the search ---- */

static bool is_told(const struct search *search, const struct budget_finding *finding) {
    const struct budget_rule *rule = &search->told->rule[search->rule];
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
    const struct budget_rule *rule = &search->written->rule[search->rule];
    for (uint32_t i = 0; i < rule->finding_count; i++)
        if (budget_same_finding(&rule->finding[i], finding))
            budget_mends(search->written, search->rule, &rule->finding[i], changes);
    budget_mends(budget, search->rule, finding, changes);
}

/* Takes a change that was not tried yet for a finding that is left; false: there is none. One whose
 * path another step changes may yet be taken later. */
static bool take_next(struct search *search, const struct budget *budget,
                      const struct budget_finding *finding) {
    struct budget_texts changes = {0};
    struct step *step = step_for(search, budget, finding);
    list_changes(search, budget, finding, &changes);
    take_back(step);
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

/* True when the rule holds with the steps as they are, less those that cannot be read; else takes
 * other steps, and *more says whether there are any. */
static bool try_steps(struct search *search, struct mend_search *mend, bool *more) {
    struct scenario *scenario = with_steps(search, mend);
    struct budget *budget = budget_judge_as_written(scenario);
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
    bool more = take_changes(search, search->written), holds = false;
    for (int round = 0; round < ROUNDS_MAX && more && !holds; round++) {
        progress_show(progress, search->rule);
        holds = try_steps(search, mend, &more);
    }
    if (holds) {
        list_sets(search, search->step_count, &mend->set[search->rule]);
        list_whys(search, &mend->also[search->rule]);
    }
    for (uint32_t i = 0; i < search->step_count; i++) {
        free(search->step[i].change);
        free(search->step[i].why);
        budget_texts_free(&search->step[i].tried);
    }
    free(search->step);
    budget_texts_free(&search->made);
}

/* Names the items of which a finding of the rule speaks and that never come there. */
static void list_absent(const struct search *search, struct budget_texts *absent) {
    const struct budget_rule *rule = &search->told->rule[search->rule];
    for (uint32_t i = 0; i < rule->finding_count; i++)
        if (!budget_ever_comes(search->written, &rule->finding[i]))
            budget_texts_add(absent, "%s",
                             search->told->scenario->item[rule->finding[i].item].name);
}

void mend_search_find(struct mend_search *mend, const struct budget *budget, bool show_progress) {
    struct progress progress;
    struct budget *written = budget_judge_as_written(budget->scenario);
    progress_init_count(&progress, BUDGET_RULES, "rules mended", show_progress);
    for (int i = 0; i < BUDGET_RULES; i++) {
        const struct budget_rule *rule = &written->rule[i];
        struct search search = {
            .told = budget, .written = written, .rule = (enum budget_rule_kind)i};
        list_absent(&search, &mend->absent[i]);
        mend->holds_as_written[i] = rule->verdict == BUDGET_HOLDS;
        if (rule->verdict != BUDGET_HOLDS && rule->finding_count <= FINDINGS_MAX)
            find(&search, &progress, mend);
    }
    progress_end(&progress);
    budget_free(written);
}

void mend_search_free(struct mend_search *mend) {
    for (int i = 0; i < BUDGET_RULES; i++) {
        budget_texts_free(&mend->set[i]);
        budget_texts_free(&mend->also[i]);
        budget_texts_free(&mend->absent[i]);
    }
    budget_texts_free(&mend->unread);
}
