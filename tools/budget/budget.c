/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/budget/budget.c - `loopwright budget`: what can be said of a scenario without running it.
 */
#include "model/budget/budget.h"
#include "tools/base/command.h"
#include "tools/base/interrupt.h"
#include "tools/base/load.h"
#include "tools/base/progress.h"
#include "tools/base/status.h"
#include "tools/budget/budget_view.h"

static int print_budget(const struct options *options, const struct budget *budget) {
    struct mend_search mend = {0};
    if (options->given[OPTION_JSON] || !options->given[OPTION_QUIET])
        mend_search_find(&mend, budget, !options->given[OPTION_QUIET]);
    if (options->given[OPTION_JSON]) {
        budget_view_json(budget, &mend, stdout);
    } else if (!options->given[OPTION_QUIET]) {
        budget_view_print(budget, &mend, stdout);
    }
    for (uint32_t i = 0; i < mend.unread.count; i++)
        fprintf(stderr, "this is a bug: a change that was to mend a rule cannot be read: %s\n",
                mend.unread.text[i]);
    mend_search_free(&mend);
    return budget->demand_met && budget->rules_hold ? STATUS_HOLDS : STATUS_FAILS;
}

static void look(void *self, uint32_t done, uint32_t count) {
    struct progress *progress = self;
    progress->last = count;
    progress_show(progress, done);
}

static struct budget *work_out(const struct scenario *scenario, bool show_progress) {
    struct progress progress;
    struct budget_watcher watcher = {&progress, look};
    progress_init_count(&progress, 0, "greatest rates worked out", show_progress);
    struct budget *budget = budget_new_watched(scenario, &watcher);
    progress_end(&progress);
    return budget;
}

int budget_command(const struct options *options) {
    int status;
    interrupt_leave();
    struct scenario *scenario = load_scenario(options, "budget", options->operand, &status);
    if (scenario == NULL)
        return status;
    struct budget *budget = work_out(scenario, !options->given[OPTION_QUIET]);
    status = print_budget(options, budget);
    budget_free(budget);
    scenario_free(scenario);
    return status;
}
