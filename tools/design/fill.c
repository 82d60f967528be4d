/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/fill.c - what is asked for, turned into variables (variables.h) and solved by
 * trials; or parts added where more is wanted. */
#include "tools/design/fill.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/base/status.h"
#include "tools/design/enlarge.h"
#include "tools/design/numbers.h"
#include "tools/design/patch.h"
#include "tools/design/trials_why.h"
#include "tools/design/variables.h"

struct scenario *fill_read(const char *text) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "the design", NULL, 0, &faults);
    require(scenario != NULL);
    faults_free(&faults);
    return scenario;
}

/* Adds "PATH=VALUE"; of a kind of arm, "PATH=VALUE\nPATH=VALUE", both. */
static void add_change(struct fill *fill, const char *text) {
    char *own = require_text(text), *rest;
    for (char *line = strtok_r(own, "\n", &rest); line != NULL;
         line = strtok_r(NULL, "\n", &rest)) {
        fill->changed =
            require_more_memory(fill->changed, fill->changed_count + 1, sizeof *fill->changed);
        fill->changed[fill->changed_count++] = require_text(line);
    }
    free(own);
}

static void explain(struct fill *fill, const struct scenario *scenario) {
    if (interrupt_signal() != 0)
        snprintf(fill->why, sizeof fill->why,
                 "a signal stopped it after %u tries, before one was found that comes through all "
                 "trials",
                 fill->tries);
    else
        trials_why(&fill->trials, scenario, fill->tries, fill->why);
}

/* ---- open numbers, and numbers to be tuned ---- */

static bool add_tuned(struct variables *list, const struct fill_order *order,
                      const struct numbers *numbers) {
    const char *paths = order->tune;
    while (*paths != '\0') {
        size_t length = strcspn(paths, ",");
        uint32_t i = 0;
        while (i < numbers->count && (strlen(numbers->entry[i].path) != length ||
                                      strncmp(numbers->entry[i].path, paths, length) != 0))
            i++;
        if (i == numbers->count) {
            fprintf(stderr,
                    "loopwright design: `--tune`: there is no threshold, limit, capacity or hand "
                    "`%.*s`\n"
                    "    help: loopwright paths SCENARIO lists all paths\n",
                    (int)length, paths);
            return false;
        }
        variables_add_number(list, order->draft, numbers->entry[i].path, numbers->entry[i].value);
        paths += length;
        paths += *paths == ',';
    }
    return true;
}

static bool add_variables(struct variables *list, const struct fill_order *order) {
    struct numbers numbers = {0};
    bool good = true;
    variables_add_open(list, order->draft);
    if (order->tune == NULL && !order->tighten)
        return true;
    numbers_list(&numbers, list->text,
                 NUMBERS_THRESHOLDS | NUMBERS_LIMITS | NUMBERS_CAPACITIES | NUMBERS_HANDS);
    if (order->tune != NULL)
        good = add_tuned(list, order, &numbers);
    for (uint32_t i = 0; order->tighten && i < numbers.count; i++)
        variables_add_number(list, order->draft, numbers.entry[i].path, numbers.entry[i].value);
    numbers_free(&numbers);
    return good;
}

static int solve(struct fill *fill, const struct fill_order *order) {
    struct variables list;
    variables_init(&list, order->draft->scenario->text, order->wish, order->show_progress);
    if (!add_variables(&list, order)) {
        variables_free(&list);
        return STATUS_USAGE;
    }
    bool open = order->draft->open_count > 0;
    struct patch_source source = {order->draft, order->set, order->set_count};
    fill->found = variables_solve(&list, open, &fill->trials);
    fill->tries = list.tries;
    fill->text = open || list.count > 0 ? patch_text(&source, &list) : patch_text(&source, NULL);
    for (uint32_t i = 0; i < list.count; i++)
        if (open || variables_differs(&list, i))
            add_change(fill, variables_change(&list, i));
    variables_free(&list);
    if (!fill->found)
        explain(fill, order->draft->scenario);
    return STATUS_HOLDS;
}

/* ---- more of a product ---- */

static int enlarge(struct fill *fill, const struct fill_order *order) {
    struct enlarge enlarge;
    struct patch_source source = {order->draft, order->set, order->set_count};
    int status = enlarge_run(&enlarge, order->draft->scenario, order->for_demand, order->wish,
                             order->show_progress);
    if (status == STATUS_HOLDS) {
        fill->found = enlarge.found;
        fill->tries = enlarge.tries;
        fill->changed = enlarge.changed;
        fill->changed_count = enlarge.changed_count;
        fill->text = patch_changes(&source, enlarge.text, fill->changed, fill->changed_count);
        free(enlarge.text);
        fill->trials = enlarge.trials;
        if (!fill->found && enlarge.why[0] != '\0')
            snprintf(fill->why, sizeof fill->why, "%s", enlarge.why);
        else if (!fill->found)
            explain(fill, order->draft->scenario);
    }
    return status;
}

int fill_run(struct fill *fill, const struct fill_order *order) {
    *fill = (struct fill){.found = false};
    if (order->for_demand == NULL)
        return solve(fill, order);
    if (order->draft->open_count == 0)
        return enlarge(fill, order);
    fputs("loopwright design: `--for-demand` wants a complete scenario: find its numbers first\n",
          stderr);
    return STATUS_USAGE;
}

void fill_free(struct fill *fill) {
    for (uint32_t i = 0; i < fill->changed_count; i++)
        free(fill->changed[i]);
    free(fill->changed);
    free(fill->text);
    trials_free(&fill->trials);
    *fill = (struct fill){.found = false};
}
