/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/design_sheet.c - counts the parts of a scenario and puts the figures of its budget
 * and its trials into words. */
#include "tools/design/design_sheet.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/design/design_need.h"
#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/base/json_text.h"
#include "tools/base/table.h"
#include "tools/design/part_words.h"

/* ---- parts ---- */

static int64_t cells_of(const struct scenario *scenario) {
    int64_t cells = 0;
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        cells += scenario->loop[i].cell_count;
    for (uint32_t i = 0; i < scenario->line_count; i++)
        cells += scenario->line[i].cell_count;
    return cells;
}

static bool same_kind(const struct scenario_arm *one, const struct scenario_arm *other) {
    return one->hand == other->hand && one->swing.kind == other->swing.kind &&
           one->swing.mean_ticks == other->swing.mean_ticks;
}

/* How many arms are of the kind of one; 0: one before it is of that kind. */
static uint32_t count_kind(const struct scenario *scenario, uint32_t arm) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        if (!same_kind(&scenario->arm[i], &scenario->arm[arm]))
            continue;
        if (i < arm)
            return 0;
        count++;
    }
    return count;
}

static double swing_s(const struct scenario *scenario, uint32_t arm) {
    return (double)scenario->arm[arm].swing.mean_ticks / (double)scenario->ticks_per_second;
}

static void print_parts(const struct scenario *scenario, FILE *out) {
    fprintf(out, "%u arm%s", scenario->arm_count, plural(scenario->arm_count));
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        uint32_t count = count_kind(scenario, i);
        if (count > 0)
            fprintf(out, "%s%u of %.4g s with a hand of %u", i == 0 ? " (" : ", ", count,
                    swing_s(scenario, i), scenario->arm[i].hand);
    }
    fprintf(out, "%s, %u station%s, %u chest%s, %u loop%s", scenario->arm_count > 0 ? ")" : "",
            scenario->station_count, plural(scenario->station_count), scenario->chest_count,
            plural(scenario->chest_count), scenario->loop_count, plural(scenario->loop_count));
    if (scenario->line_count > 0)
        fprintf(out, ", %u line%s", scenario->line_count, plural(scenario->line_count));
    fprintf(out, ", %" PRId64 " cells", cells_of(scenario));
}

/* ---- loads ---- */

static void print_loads(const struct scenario *scenario, FILE *out) {
    static const struct table_column column[] = {
        {"part", false}, {"can, a minute", true}, {"needed", true}, {"busy", true}};
    struct budget *budget = budget_new(scenario);
    struct table table;
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        const struct budget_station *own = &budget->station[i];
        table_add(&table, "%s", scenario->station[i].name);
        table_add(&table, "%.4g", 60 * own->greatest);
        table_add(&table, "%.4g", 60 * own->needed);
        table_add(&table, "%.0f %%", 100 * own->utilisation);
    }
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct budget_arm *own = &budget->arm[i];
        table_add(&table, "%s", scenario->arm[i].name);
        table_add(&table, "%.4g", 60 * own->steady);
        table_add(&table, "%.4g", 60 * own->needed);
        table_add(&table, "%.0f %%", 100 * own->utilisation);
    }
    table_print(&table, out);
    table_free(&table);
    for (uint32_t i = 0; i < budget->product_count; i++) {
        const struct budget_product *product = &budget->product[i];
        if (!product->is_known || isnan(product->needed))
            continue;
        fprintf(out, "%s: up to %.4g a minute, %.4g are wanted", scenario->item[product->item].name,
                60 * product->greatest, 60 * product->needed);
        fprintf(out, product->bottleneck != NULL ? "; %s limits it\n" : "\n", product->bottleneck);
    }
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        fprintf(out, "%s: ", scenario->lane[i].full_name);
        part_words_track(budget, i, out);
        fputc('\n', out);
    }
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (budget->item[i].surplus > 1e-6)
            fprintf(out, "%s: %.3g a minute are left over\n", scenario->item[i].name,
                    60 * budget->item[i].surplus);
    budget_free(budget);
}

/* Stations without a reserve, a line each. */
static void print_busy(const struct scenario *scenario, FILE *out) {
    struct budget *budget = budget_new(scenario);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        if (budget->station[i].utilisation > DESIGN_BUSY_MOST)
            fprintf(out, "%s is busy for %.0f %% of the time: after a stop it %s catches up\n",
                    scenario->station[i].name, 100 * budget->station[i].utilisation,
                    budget->station[i].utilisation < 0.9995 ? "hardly" : "never");
    budget_free(budget);
}

/* ---- trials ---- */

static void print_night(const struct trial_result *night, const char *hours, FILE *out) {
    fprintf(out, "%u night%s of %s: ", night->runs, plural(night->runs), hours);
    if (night->jams == 0)
        fputs("no jam", out);
    else
        fprintf(out, "%" PRIu64 " jam%s", night->jams, plural(night->jams));
    fprintf(out, ", at least %.4g %% of each demand met", 100 * night->met);
    if (night->failed > 0)
        fprintf(out, "; %u failed", night->failed);
}

static void print_disturbed(const struct trial_result *trial, const char *hours, FILE *out) {
    fprintf(out, "%u disturbed night%s of %s: ", trial->runs, plural(trial->runs), hours);
    if (trial->failed == 0)
        fputs("none stuck at its end", out);
    else
        fprintf(out, "%u stuck at the end", trial->failed);
    if (trial->jams > 0)
        fprintf(out, ", %" PRIu64 " jams on the way", trial->jams);
}

/* A drain, or a restart, was tried at several moments at which the demands stop: after how many
 * seconds it was `so`, or how often it was not. */
static void print_moments(const struct trial_result *trial, const char *name, const char *so,
                          FILE *out) {
    fprintf(out, "%s: stopped at %u moment%s, ", name, trial->runs, plural(trial->runs));
    if (trial->failed > 0)
        fprintf(out, "%u time%s not %s", trial->failed, plural(trial->failed), so);
    else
        fprintf(out, "%s after %s%.4g s", so, trial->runs > 1 ? "at most " : "", trial->seconds);
}

static void print_trial(const struct design_sheet *sheet, enum trial_kind kind, FILE *out) {
    const struct trial_result *trial = &sheet->trials->trial[kind];
    char hours[QUANTITY_TEXT_SIZE];
    quantity_clock(sheet->may->survive_ticks, sheet->scenario->ticks_per_second, hours);
    switch (kind) {
    case TRIAL_NIGHT: print_night(trial, hours, out); return;
    case TRIAL_DISTURBED: print_disturbed(trial, hours, out); return;
    case TRIAL_DRAIN: print_moments(trial, "drain", "empty", out); return;
    case TRIAL_RESTART: print_moments(trial, "restart", "as fast as before", out); return;
    case TRIAL_FLOOD: break;
    }
    fprintf(out, "flood: a heap of %" PRId64, trial->items);
    if (trial->holds)
        fprintf(out, ", no lane congested after %.4g s, and drained", trial->seconds);
    else
        fputs(", which stays", out);
}

/* What a proof lacks that lanes never fill: gates that count them; with those `budget` says it. */
static const char *proof_lacks(const struct design_sheet *sheet) {
    if (sheet->trials->lanes_proven == sheet->scenario->lane_count)
        return "";
    if (!sheet->may->belts)
        return ": that needs gates that count belts (`may.gates: belts`)";
    return ": `loopwright budget` says what that lacks";
}

static void print_trials(const struct design_sheet *sheet, FILE *out) {
    const struct trials *trials = sheet->trials;
    for (int i = 0; i < TRIAL_KINDS; i++) {
        const struct trial_result *trial = &trials->trial[i];
        if (!trial->asked)
            continue;
        fprintf(out, "  %-7s ", !trial->done ? "-" : trial->holds ? "holds" : "fails");
        if (trial->done)
            print_trial(sheet, (enum trial_kind)i, out);
        else
            fprintf(out, "%s: not tried", trials_name((enum trial_kind)i));
        fputc('\n', out);
    }
    fprintf(out, "  %-7s budget: %s", trials->rules_hold && trials->demand_met ? "holds" : "fails",
            trials->rules_hold ? "no rule of the trade is broken" : "rules are broken");
    fprintf(out, ", %u of %u lane%s proven never to fill%s\n", trials->lanes_proven,
            sheet->scenario->lane_count, plural(sheet->scenario->lane_count), proof_lacks(sheet));
}

void design_sheet_print(const struct design_sheet *sheet, FILE *out) {
    if (sheet->found)
        fprintf(out, "A design was found, at try %u.\n", sheet->tries);
    else
        fprintf(out, "No design was found: %s.\n", sheet->why);
    if (sheet->scenario == NULL)
        return;
    fputs(sheet->found ? "\nParts: " : "\nThe nearest: ", out);
    print_parts(sheet->scenario, out);
    fputs("\n\n", out);
    print_loads(sheet->scenario, out);
    print_busy(sheet->scenario, out);
    fputs("\nTrials\n", out);
    print_trials(sheet, out);
    if (sheet->changed_count > 0)
        fputs("\nChanged\n", out);
    for (uint32_t i = 0; i < sheet->changed_count; i++)
        fprintf(out, "  --set '%s'\n", sheet->changed[i]);
}

/* The command lines with which the trials are run again. */
static void print_commands(const struct design_sheet *sheet, FILE *out) {
    const struct may *may = sheet->may;
    double flood = (double)may->flood.numerator / (double)may->flood.denominator;
    char hours[QUANTITY_TEXT_SIZE];
    quantity_clock(may->survive_ticks, sheet->scenario->ticks_per_second, hours);
    fprintf(out, "  loopwright soak FILE --runs %" PRId64 " --for %s\n", may->seeds, hours);
    if (may->disturb)
        fprintf(out, "  loopwright soak FILE --runs %" PRId64 " --for %s --disturb\n", may->seeds,
                hours);
    if (may->drain || may->restart)
        fprintf(out, "  loopwright drain FILE --runs %" PRId64 "%s\n", may->seeds,
                may->restart ? " --restart" : "");
    if (flood > 0)
        fprintf(out, "  loopwright drain FILE --flood %.6g\n", flood);
    fputs("  loopwright budget FILE\n", out);
}

char *design_sheet_evidence(const struct design_sheet *sheet) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    fputs(sheet->found ? "A design that has come through its trials: "
                       : "No design that comes through its trials; the nearest: ",
          out);
    print_parts(sheet->scenario, out);
    fputs(".\n", out);
    print_busy(sheet->scenario, out);
    fputs("\nTrials, each of which can be run again (FILE is this file):\n", out);
    print_commands(sheet, out);
    for (int i = 0; i < TRIAL_KINDS; i++) {
        if (!sheet->trials->trial[i].done || !sheet->trials->trial[i].asked)
            continue;
        fprintf(out, "- %s", sheet->trials->trial[i].holds ? "" : "FAILS: ");
        print_trial(sheet, (enum trial_kind)i, out);
        fputc('\n', out);
    }
    fprintf(out, "- budget: %s\n",
            sheet->trials->rules_hold ? "no rule of the trade is broken"
                                      : "FAILS: rules are broken");
    fprintf(out, "- %u of %u lane%s proven never to fill%s\n", sheet->trials->lanes_proven,
            sheet->scenario->lane_count, plural(sheet->scenario->lane_count), proof_lacks(sheet));
    return text_stream_end(&stream);
}

/* ---- as data ---- */

static json_t *parts_as_json(const struct scenario *scenario) {
    json_t *parts = json_object(), *kinds = json_array();
    json_text_put(parts, "arms", json_text_whole(scenario->arm_count));
    json_text_put(parts, "stations", json_text_whole(scenario->station_count));
    json_text_put(parts, "chests", json_text_whole(scenario->chest_count));
    json_text_put(parts, "loops", json_text_whole(scenario->loop_count));
    json_text_put(parts, "lines", json_text_whole(scenario->line_count));
    json_text_put(parts, "cells", json_text_whole(cells_of(scenario)));
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        uint32_t count = count_kind(scenario, i);
        if (count == 0)
            continue;
        json_t *kind = json_object();
        json_text_put(kind, "swing_s", json_text_real(swing_s(scenario, i)));
        json_text_put(kind, "hand", json_text_whole(scenario->arm[i].hand));
        json_text_put(kind, "count", json_text_whole(count));
        json_text_append(kinds, kind);
    }
    json_text_put(parts, "arms_by_kind", kinds);
    return parts;
}

static json_t *trial_as_json(const struct trials *trials, enum trial_kind kind) {
    const struct trial_result *trial = &trials->trial[kind];
    json_t *object = json_object();
    json_text_put(object, "trial", json_string(trials_name(kind)));
    json_text_put(object, "holds", trial->done ? json_boolean(trial->holds) : json_null());
    if (kind == TRIAL_NIGHT || kind == TRIAL_DISTURBED) {
        json_text_put(object, "runs", json_text_whole(trial->runs));
        json_text_put(object, "failed", json_text_whole(trial->failed));
        json_text_put(object, "jams", json_text_whole((int64_t)trial->jams));
    } else {
        if (kind != TRIAL_FLOOD) {
            json_text_put(object, "runs", json_text_whole(trial->runs));
            json_text_put(object, "failed", json_text_whole(trial->failed));
        }
        json_text_put(object, "seconds", json_text_real(trial->seconds));
    }
    if (kind == TRIAL_NIGHT)
        json_text_put(object, "met", json_text_real(trial->met));
    if (kind == TRIAL_DISTURBED)
        json_text_put(object, "never_recovered", json_text_whole((int64_t)trial->never));
    if (kind == TRIAL_FLOOD)
        json_text_put(object, "items", json_text_whole(trial->items));
    return object;
}

static json_t *trials_as_json(const struct trials *trials) {
    json_t *list = json_array();
    for (int i = 0; trials != NULL && i < TRIAL_KINDS; i++)
        if (trials->trial[i].asked)
            json_text_append(list, trial_as_json(trials, (enum trial_kind)i));
    return list;
}

static json_t *rules_as_json(const struct trials *trials) {
    json_t *list = json_array();
    const char *at = trials != NULL && trials->broken != NULL ? trials->broken : "";
    for (; *at != '\0'; at += strcspn(at, "\n") + 1)
        json_text_append(list, json_stringn(at, strcspn(at, "\n")));
    return list;
}

static json_t *end_or_null(int64_t end) {
    return end != NOT_GIVEN ? json_text_whole(end) : json_null();
}

static json_t *tolerances_as_json(const struct tolerances *list) {
    json_t *array = json_array();
    for (uint32_t i = 0; list != NULL && i < list->count; i++) {
        json_t *object = json_object();
        json_text_put(object, "path", json_string(list->entry[i].path));
        json_text_put(object, "value", json_text_whole(list->entry[i].value));
        json_text_put(object, "least", end_or_null(list->entry[i].least));
        json_text_put(object, "greatest", end_or_null(list->entry[i].greatest));
        json_text_append(array, object);
    }
    return array;
}

static json_t *loads_as_json(const struct scenario *scenario) {
    json_t *loads = json_object();
    struct budget *budget = budget_new(scenario);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        json_text_put(loads, scenario->station[i].name,
                      json_text_real(budget->station[i].utilisation));
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        json_text_put(loads, scenario->arm[i].name, json_text_real(budget->arm[i].utilisation));
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        json_text_put(loads, scenario->lane[i].full_name, json_text_real(budget->track[i].share));
    budget_free(budget);
    return loads;
}

char *design_sheet_json(const struct design_sheet *sheet) {
    json_t *object = json_object(), *changed = json_array();
    for (uint32_t i = 0; i < sheet->changed_count; i++)
        json_text_append(changed, json_string(sheet->changed[i]));
    json_text_put(object, "found", json_boolean(sheet->found));
    json_text_put(object, "parts",
                  sheet->scenario != NULL ? parts_as_json(sheet->scenario) : json_null());
    json_text_put(object, "trials", trials_as_json(sheet->trials));
    json_text_put(object, "rules_broken", rules_as_json(sheet->trials));
    json_text_put(object, "lanes_proven",
                  json_text_whole(sheet->trials != NULL ? sheet->trials->lanes_proven : 0));
    json_text_put(object, "changed", changed);
    json_text_put(object, "tolerances", tolerances_as_json(sheet->tolerance));
    json_text_put(object, "stands_in_the_way",
                  sheet->found ? json_null() : json_string(sheet->why));
    json_text_put(object, "tries", json_text_whole(sheet->tries));
    json_text_put(object, "loads",
                  sheet->scenario != NULL ? loads_as_json(sheet->scenario) : json_null());
    return json_text_of(object, JSON_TEXT_DIGITS);
}
