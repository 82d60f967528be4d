/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/budget/budget_view.c - items and batches a minute for people, since nobody counts by the
 * second. */
#include "tools/budget/budget_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/base/table.h"

enum { ROWS_MAX = 12, WIDTH = 80, INDENT = 4, NUMBER_BYTES = 32, TEXT_BYTES = 1024 };

/* ---- words ---- */

static const char *number_text(double number, char text[NUMBER_BYTES]) {
    if (!isfinite(number))
        return "-";
    snprintf(text, NUMBER_BYTES, fabs(number) < 100 ? "%.2f" : "%.1f", number);
    return text;
}

static const char *percent(double share, char text[NUMBER_BYTES]) {
    snprintf(text, NUMBER_BYTES, "%.0f %%", 100 * share);
    return text;
}

/* Prints a text in lines of at most WIDTH, the first set in by `first`, the rest by INDENT. */
static void print_wrapped(const char *text, int first, FILE *out) {
    int column = first;
    fprintf(out, "%*s", first, "");
    while (*text != '\0') {
        int length = (int)strcspn(text, " ");
        if (column > INDENT && column + length > WIDTH) {
            fprintf(out, "\n%*s", INDENT, "");
            column = INDENT;
        }
        fprintf(out, "%.*s", length, text);
        column += length;
        text += length;
        if (*text == ' ' && column + 1 + (int)strcspn(text + 1, " ") <= WIDTH) {
            fputc(' ', out);
            column++;
        } else if (*text == ' ') {
            fprintf(out, "\n%*s", INDENT, "");
            column = INDENT;
        }
        text += *text == ' ';
    }
    fputc('\n', out);
}

static void print_list(const char *heading, const struct budget_texts *texts, FILE *out) {
    for (uint32_t i = 0; i < texts->count && i < ROWS_MAX; i++) {
        size_t bytes = strlen(heading) + strlen(texts->text[i]) + 2;
        char *text = require_memory(bytes, 1);
        snprintf(text, bytes, "%s%s.", heading, texts->text[i]);
        print_wrapped(text, 2, out);
        free(text);
    }
    if (texts->count > ROWS_MAX)
        fprintf(out, "  and %u more: see --json\n", texts->count - ROWS_MAX);
}

static uint32_t rules_with(const struct budget *budget, enum budget_verdict verdict) {
    uint32_t count = 0;
    for (int i = 0; i < BUDGET_RULES; i++)
        count += budget->rule[i].verdict == verdict;
    return count;
}

static const char *demand_text(const struct budget *budget) {
    if (!scenario_has_orders(budget->scenario))
        return "nothing is demanded";
    if (!budget->demand_met)
        return "what is demanded can't be made";
    return budget->demand_sure ? "what is demanded can be made"
                               : "what is demanded can be made where hands fill, see below";
}

/* Prints a sentence that begins with `lead` and names the lanes that are proven, or those that are
 * not; nothing when there are none. */
static void print_lanes_that(const struct budget *budget, bool proven, const char *lead,
                             FILE *out) {
    uint32_t count = 0;
    struct text_stream stream;
    FILE *line = text_stream_begin(&stream);
    fputs(lead, line);
    for (uint32_t i = 0; i < budget->scenario->lane_count; i++)
        if (budget->certificate[i].certified == proven && count++ < ROWS_MAX)
            fprintf(line, "%s %s", count > 1 ? "," : "", layout_track_name(budget->scenario, i));
    if (count > ROWS_MAX)
        fprintf(line, " and %u more", count - ROWS_MAX);
    fputc('.', line);
    char *text = text_stream_end(&stream);
    if (count > 0)
        print_wrapped(text, 0, out);
    free(text);
}

static void print_verdict(const struct budget *budget, FILE *out) {
    uint32_t broken = rules_with(budget, BUDGET_BROKEN);
    char text[TEXT_BYTES], rules[NUMBER_BYTES];
    snprintf(rules, sizeof rules, "%u rule%s", broken, broken == 1 ? "" : "s");
    snprintf(text, sizeof text, "%s: %s; %s of the trade %s broken.",
             budget->demand_met && budget->rules_hold ? "It holds" : "It does not hold",
             demand_text(budget), broken == 0 ? "no rule" : rules, broken > 1 ? "are" : "is");
    print_wrapped(text, 0, out);
    print_lanes_that(budget, true, "Proven never to fill:", out);
    print_lanes_that(budget, false,
                     "Whether they fill depends on what is said of them below:", out);
    print_list("", &budget->notes, out);
    fputc('\n', out);
}

/* ---- tables ---- */

static void finish_table(struct table *table, uint32_t total, FILE *out) {
    table_print(table, out);
    if (total > ROWS_MAX)
        fprintf(out, "and %u more: see --json\n", total - ROWS_MAX);
    if (total > 0)
        fputc('\n', out);
    table_free(table);
}

static void print_products(const struct budget *budget, FILE *out) {
    static const struct table_column column[] = {{"product, a minute", false},
                                                 {"needed", true},
                                                 {"greatest", true},
                                                 {"limited by", false},
                                                 {"then by", false}};
    struct table table;
    char number[NUMBER_BYTES];
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < budget->product_count && i < ROWS_MAX; i++) {
        const struct budget_product *product = &budget->product[i];
        table_add(&table, "%s", budget->scenario->item[product->item].name);
        table_add(&table, "%s", number_text(60 * product->needed, number));
        table_add(&table, "%s",
                  number_text(product->is_known ? 60 * product->greatest : NAN, number));
        table_add(&table, "%s", product->bottleneck != NULL ? product->bottleneck : "-");
        table_add(&table, "%s", product->next != NULL ? product->next : "-");
    }
    finish_table(&table, budget->product_count, out);
}

static void print_tracks(const struct budget *budget, FILE *out) {
    static const struct table_column column[] = {{"lane, cells a second", false},
                                                 {"carries", true},
                                                 {"feeders can", true},
                                                 {"needed", true},
                                                 {"free", true},
                                                 {"share", true}};
    struct table table;
    char number[NUMBER_BYTES];
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < budget->track_count && i < ROWS_MAX; i++) {
        const struct budget_track *track = &budget->track[i];
        table_add(&table, "%s", layout_track_name(budget->scenario, i));
        table_add(&table, "%s", number_text(track->rate, number));
        table_add(&table, "%s", number_text(track->feeders, number));
        table_add(&table, "%s", number_text(track->needed, number));
        table_add(&table, "%s",
                  number_text(fmax(track->rate - track->needed - track->missed, 0), number));
        table_add(&table, "%s", percent(track->share, number));
    }
    finish_table(&table, budget->track_count, out);
}

static void print_stations(const struct budget *budget, FILE *out) {
    static const struct table_column column[] = {
        {"station, batches a minute", false}, {"can", true}, {"needed", true}, {"busy", true}};
    struct table table;
    char number[NUMBER_BYTES];
    uint32_t count = budget->scenario->station_count;
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < count && i < ROWS_MAX; i++) {
        const struct budget_station *station = &budget->station[i];
        table_add(&table, "%s", budget->scenario->station[i].name);
        table_add(&table, "%s", number_text(60 * station->greatest, number));
        table_add(&table, "%s", number_text(60 * station->needed, number));
        table_add(&table, "%s", percent(station->utilisation, number));
    }
    finish_table(&table, count, out);
}

struct busy_arm {
    uint32_t arm;
    double utilisation;
};

static int busier(const void *a, const void *b) {
    const struct busy_arm *first = a, *second = b;
    if (first->utilisation != second->utilisation)
        return first->utilisation > second->utilisation ? -1 : 1;
    return first->arm < second->arm ? -1 : 1;
}

static void print_arms(const struct budget *budget, FILE *out) {
    static const struct table_column column[] = {
        {"arm, items a minute", false}, {"can", true}, {"needed", true}, {"busy", true}};
    struct table table;
    char number[NUMBER_BYTES];
    uint32_t count = budget->scenario->arm_count;
    struct busy_arm *busy = require_memory(count, sizeof *busy);
    for (uint32_t i = 0; i < count; i++)
        busy[i] = (struct busy_arm){i, budget->arm[i].utilisation};
    qsort(busy, count, sizeof *busy, busier);
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < count && i < ROWS_MAX; i++) {
        const struct budget_arm *arm = &budget->arm[busy[i].arm];
        table_add(&table, "%s", budget->scenario->arm[busy[i].arm].name);
        table_add(&table, "%s", number_text(60 * arm->steady, number));
        table_add(&table, "%s", number_text(60 * arm->needed, number));
        table_add(&table, "%s", percent(arm->utilisation, number));
    }
    finish_table(&table, count, out);
    free(busy);
}

/* ---- rules, proofs ---- */

static void print_mend(const struct budget_rule *rule, const struct mend_search *mend, int kind,
                       FILE *out) {
    const struct budget_texts *set = &mend->set[kind];
    print_list("What would mend it: ", &rule->advice, out);
    print_list("To be mended with it: ", &mend->also[kind], out);
    print_list("None ever comes there, so nothing is proposed for ", &mend->absent[kind], out);
    if (mend->holds_as_written[kind])
        fputs("  It holds for all that ever comes in: nothing need be changed.\n", out);
    if (set->count > 0)
        fprintf(out, "  Tried, and the rule holds with %s:\n",
                set->count == 1 ? "it" : "these together");
    for (uint32_t i = 0; i < set->count && i < ROWS_MAX; i++)
        fprintf(out, "    --set '%s'\n", set->text[i]);
    if (set->count > ROWS_MAX)
        fprintf(out, "    and %u more: see --json\n", set->count - ROWS_MAX);
}

static void print_rules(const struct budget *budget, const struct mend_search *mend, FILE *out) {
    fputs("Rules of the trade\n", out);
    for (int i = 0; i < BUDGET_RULES; i++) {
        const struct budget_rule *rule = &budget->rule[i];
        fprintf(out, "  %-10s  %s\n", budget_verdict_name(rule->verdict),
                budget_rule_name((enum budget_rule_kind)i));
    }
    fputc('\n', out);
    for (int i = 0; i < BUDGET_RULES; i++) {
        const struct budget_rule *rule = &budget->rule[i];
        if (rule->verdict == BUDGET_HOLDS)
            continue;
        fprintf(out, "%s: %s\n", budget_rule_name((enum budget_rule_kind)i),
                budget_verdict_name(rule->verdict));
        print_list("", &rule->whys, out);
        print_mend(rule, mend, i, out);
        fputc('\n', out);
    }
}

static void print_bounds(const struct budget_certificate *certificate, FILE *out) {
    for (uint32_t i = 0; i < certificate->bound_count && i < ROWS_MAX; i++) {
        const struct budget_bound *bound = &certificate->bound[i];
        size_t bytes = strlen(bound->items) + strlen(bound->why) + NUMBER_BYTES * 4;
        char *text = require_memory(bytes, 1);
        snprintf(text, bytes, "%s: at most %lld, which can spoil %lld places; %s.", bound->items,
                 (long long)bound->at_most, (long long)bound->cells, bound->why);
        print_wrapped(text, 2, out);
        free(text);
    }
    if (certificate->bound_count > ROWS_MAX)
        fprintf(out, "  and %u more: see --json\n", certificate->bound_count - ROWS_MAX);
}

static void print_certificate(const struct budget *budget, uint32_t lane, FILE *out) {
    const struct budget_certificate *certificate = &budget->certificate[lane];
    const char *name = layout_track_name(budget->scenario, lane);
    char text[TEXT_BYTES];
    if (certificate->certified)
        snprintf(text, sizeof text,
                 "%s can never fill: at most %lld items, which can spoil %lld of its %u places.",
                 name, (long long)certificate->at_most, (long long)certificate->cells,
                 budget->track[lane].cells);
    else
        snprintf(text, sizeof text,
                 "%s: whether it fills depends on this, which a proof would need:", name);
    print_wrapped(text, 0, out);
    if (certificate->certified)
        print_bounds(certificate, out);
    else
        print_list("", &certificate->missing, out);
    fputc('\n', out);
}

static void print_kwo(const struct budget *budget, uint32_t lane, FILE *out) {
    const struct budget_track *track = &budget->track[lane];
    if (!track->fits_kwo)
        return;
    const struct budget_kwo *kwo = &track->kwo;
    char text[TEXT_BYTES];
    snprintf(text, sizeof text,
             "Kwo's rules for %s, one feeder and one taker: speed, each place in time for what is "
             "needed: %s; speed, arms in time for each place: %s; capacity: %s; uniformity: %s.",
             layout_track_name(budget->scenario, lane),
             kwo->speed_lower ? "holds" : "does not hold",
             kwo->speed_upper ? "holds" : "does not hold",
             kwo->capacity_holds ? "holds" : "does not hold",
             kwo->uniformity ? "holds" : "does not hold");
    print_wrapped(text, 0, out);
    fputc('\n', out);
}

void budget_view_print(const struct budget *budget, const struct mend_search *mend, FILE *out) {
    print_verdict(budget, out);
    print_products(budget, out);
    print_tracks(budget, out);
    print_stations(budget, out);
    print_arms(budget, out);
    print_rules(budget, mend, out);
    for (uint32_t lane = 0; lane < budget->scenario->lane_count; lane++) {
        print_certificate(budget, lane, out);
        print_kwo(budget, lane, out);
    }
    fputs("Worked out without running; what is said of rates holds in the mean. A budget\n"
          "approves nothing: guarding, lockout and emergency stops follow local codes,\n"
          "standards such as ISO 12100 and ISO 13850, and licensed practice.\n",
          out);
}
