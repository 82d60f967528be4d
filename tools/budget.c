/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/budget.c - `loopwright budget`: what can be said of a scenario without running it. */
#include <stdlib.h>

#include "model/budget.h"
#include "model/read.h"
#include "sim/require.h"
#include "tools/budget_view.h"
#include "tools/command.h"
#include "tools/complaint.h"
#include "tools/status.h"

static int print_budget(const struct options *options, const struct budget *budget) {
    if (options->given[OPTION_JSON]) {
        char *text = budget_view_json(budget);
        fputs(text, stdout);
        free(text);
    } else if (!options->given[OPTION_QUIET]) {
        budget_view_print(budget, stdout);
    }
    return budget->demand_met && budget->rules_hold ? STATUS_HOLDS : STATUS_FAILS;
}

static int read_and_budget(const struct options *options, const char *const *override, int count) {
    struct faults faults = {0};
    bool unreadable = false;
    struct scenario *scenario =
        read_scenario_file(options->operand, override, (size_t)count, &faults, &unreadable);
    complaint_print(stderr, &faults);
    faults_free(&faults);
    if (scenario == NULL)
        return unreadable ? STATUS_FILE : STATUS_SCENARIO;
    struct budget *budget = budget_new(scenario);
    int status = print_budget(options, budget);
    budget_free(budget);
    scenario_free(scenario);
    return status;
}

int budget_command(const struct options *options) {
    char *made[2] = {NULL, NULL};
    const char **override = require_memory(options->set_count + 2, sizeof *override);
    int count = options_overrides(options, "budget", override, made);
    int status = count < 0 ? STATUS_USAGE : read_and_budget(options, override, count);
    free(override);
    free(made[0]);
    free(made[1]);
    return status;
}
