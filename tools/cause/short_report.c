/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/short_report.c - the way is described from the station that makes the product on. */
#include "tools/cause/short_report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/quantity.h"
#include "tools/base/json_text.h"
#include "tools/cause/orders.h"
#include "tools/cause/remedy_json.h"
#include "tools/cause/remedy_words.h"
#include "tools/cause/wait_words.h"

enum { ROOTS_MOST = 4, LINKS_MOST = 14 };

static const char *const station_word[ACTIVITY_STATES] = {[ACTIVITY_BUSY] = "working",
                                                          [ACTIVITY_ITEM] = "starved",
                                                          [ACTIVITY_ROOM] = "blocked",
                                                          [ACTIVITY_GATE] = "gated",
                                                          [ACTIVITY_STOPPED] = "stopped"};
static const char *const arm_word[ACTIVITY_STATES] = {[ACTIVITY_BUSY] = "busy",
                                                      [ACTIVITY_ITEM] = "waiting_for_item",
                                                      [ACTIVITY_ROOM] = "waiting_for_room",
                                                      [ACTIVITY_GATE] = "gated",
                                                      [ACTIVITY_STOPPED] = "stopped"};

static const char *item_name(const struct short_cases *cases, uint32_t item) {
    return cases->scenario->item[item].name;
}

static bool is_station(const struct short_cases *cases, uint32_t vertex) {
    return waits_thing(&cases->waits, vertex).kind == WAITS_STATION;
}

/* ---- as data ---- */

static json_t *shares_json(const struct short_cases *cases, const struct shortage_link *link) {
    const char *const *word = is_station(cases, link->vertex) ? station_word : arm_word;
    json_t *object = json_object();
    for (int i = 0; i < ACTIVITY_STATES; i++)
        json_text_put(object, word[i], json_text_real(link->shares.share[i]));
    return object;
}

static json_t *link_json(const struct short_cases *cases, const struct shortage_link *link) {
    char text[WAIT_WORDS_BYTES];
    json_t *object = json_object();
    json_text_put(object, "who", json_string(wait_words_name(&cases->waits, link->vertex, text)));
    if (link->has_shares)
        json_text_put(object, "shares", shares_json(cases, link));
    json_text_put(object, "for",
                  link->item != NO_INDEX ? json_string(item_name(cases, link->item)) : json_null());
    json_text_put(object, "on",
                  link->on != WAITS_NOBODY
                      ? json_string(wait_words_name(&cases->waits, link->on, text))
                      : json_null());
    return object;
}

static json_t *chain_json(const struct short_cases *cases, const struct shortage *shortage) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < shortage->chain_count; i++)
        json_text_append(array, link_json(cases, &shortage->chain[i]));
    return array;
}

static json_t *root_json(const struct short_cases *cases, const struct root *root) {
    char text[WAIT_WORDS_BYTES];
    json_t *object = json_object();
    json_text_put(object, "kind", json_string(wait_words_root_word(root->kind)));
    json_text_put(object, "subject",
                  json_string(scenario_part_name(cases->scenario, root->subject)));
    json_text_put(object, "item",
                  root->item != NO_INDEX ? json_string(item_name(cases, root->item)) : json_null());
    json_text_put(object, "since_s", remedy_json_seconds(cases->scenario, root->since));
    if (root->deed.incident != NO_INDEX)
        json_text_put(
            object, "incident",
            json_string(wait_words_incident_path(cases->scenario, root->deed.incident, text)));
    return object;
}

static json_t *roots_json(const struct short_cases *cases, const struct roots *roots) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < roots->count; i++)
        json_text_append(array, root_json(cases, &roots->root[i]));
    return array;
}

static json_t *budget_json(const struct budget_product *product) {
    if (product == NULL || !product->is_known)
        return json_null();
    json_t *object = json_object();
    json_text_put(object, "greatest_per_min", json_text_real(60 * product->greatest));
    json_text_put(object, "bottleneck",
                  product->bottleneck != NULL ? json_string(product->bottleneck) : json_null());
    return object;
}

/* As the search judges it: a jam that the verdict counts, over the run or in the proof. */
static int64_t failed_tick(const struct trial *trial) {
    return trial->run.first_jam != NOT_GIVEN || !trial->proved ? trial->run.first_jam
                                                               : trial->failed_tick;
}

static bool starves(const struct short_cases *cases, const struct trial *trial) {
    for (uint32_t i = 0; i < cases->scenario->station_count; i++)
        if (trial->run.starved[i] || (trial->proved && trial->starved[i]))
            return true;
    return false;
}

static json_t *remedies_json(const struct short_cases *cases, const struct short_remedies *remedies,
                             uint32_t index) {
    const struct remedy_list *list = &remedies->list[index];
    json_t *array = json_array();
    for (uint32_t i = 0; i < remedy_list_shown(list); i++) {
        const struct trial *trial = &remedies->book->trial[list->remedy[i].trial];
        json_text_append(
            array, remedy_json(remedies->book, trial, failed_tick(trial), starves(cases, trial)));
    }
    return array;
}

json_t *short_report_json(const struct short_cases *cases, const struct short_remedies *remedies,
                          uint32_t index) {
    const struct short_case *self = &cases->short_case[index];
    json_t *object = json_object();
    json_text_put(object, "kind", json_string("short"));
    json_text_put(object, "subject", json_string(item_name(cases, self->item)));
    json_text_put(object, "start_s", json_null());
    json_text_put(object, "asked", json_text_whole(self->asked));
    json_text_put(object, "met", json_text_whole(self->met));
    json_text_put(object, "chain", chain_json(cases, &self->shortage));
    json_text_put(object, "budget", budget_json(short_cases_budget(cases, self->item)));
    json_text_put(object, "roots", roots_json(cases, &self->shortage.roots));
    json_text_put(object, "remedies", remedies_json(cases, remedies, index));
    return object;
}

/* ---- to read ---- */

static const char *state_words(bool station, enum activity_state state) {
    static const char *const arm[ACTIVITY_STATES] = {[ACTIVITY_BUSY] = "busy",
                                                     [ACTIVITY_ITEM] = "waits for an item",
                                                     [ACTIVITY_ROOM] = "waits for room",
                                                     [ACTIVITY_GATE] = "held by its gate",
                                                     [ACTIVITY_STOPPED] = "stopped"};
    return station ? station_word[state] : arm[state];
}

static void tell_link(const struct short_cases *cases, const struct shortage_link *link,
                      FILE *out) {
    char text[WAIT_WORDS_BYTES];
    bool some = false;
    fprintf(out, "  %s", wait_words_name(&cases->waits, link->vertex, text));
    for (int i = 0; i < ACTIVITY_STATES && link->has_shares; i++) {
        double percent = 100 * link->shares.share[i];
        if (percent < 0.5)
            continue;
        fprintf(out, "%s %s %.0f %%", some ? "," : ":",
                state_words(is_station(cases, link->vertex), (enum activity_state)i), percent);
        if (i == ACTIVITY_ITEM && link->item != NO_INDEX)
            fprintf(out, " (%s)", item_name(cases, link->item));
        some = true;
    }
    fputc('\n', out);
}

static void tell_chain(const struct short_cases *cases, const struct shortage *shortage,
                       FILE *out) {
    if (shortage->chain_count < 2)
        return;
    fputs("\nThe way to what limits, with shares of time\n", out);
    for (uint32_t i = 0; i < shortage->chain_count && i < LINKS_MOST; i++)
        tell_link(cases, &shortage->chain[i], out);
    if (shortage->chain_count > LINKS_MOST)
        fprintf(out, "  and %u more: --json tells all\n", shortage->chain_count - LINKS_MOST);
}

/* "1 h 20 min" would be read no better. */
static void tell_period(double seconds, FILE *out) {
    if (seconds >= 120)
        fprintf(out, ", %.0f min at a stretch", seconds / 60);
    else
        fprintf(out, ", %.3g s at a stretch", seconds);
}

/* How long it was as the root says. */
static void tell_share(const struct short_cases *cases, const struct root *root, FILE *out) {
    static const char *const words[ROOT_KINDS] = {[ROOT_SLOW_STATION] = "working",
                                                  [ROOT_SLOW_ARM] = "busy",
                                                  [ROOT_LOW_THRESHOLD] = "shut",
                                                  [ROOT_GATE_SHUT] = "shut",
                                                  [ROOT_STOPPED] = "for"};
    static const enum activity_state state[ROOT_KINDS] = {[ROOT_LOW_THRESHOLD] = ACTIVITY_GATE,
                                                          [ROOT_GATE_SHUT] = ACTIVITY_GATE,
                                                          [ROOT_STOPPED] = ACTIVITY_STOPPED};
    uint32_t vertex = shortage_vertex(&cases->waits, root->subject);
    if (words[root->kind] == NULL || vertex == WAITS_NOBODY ||
        waits_thing(&cases->waits, vertex).kind == WAITS_TRACK)
        return;
    struct activity_shares shares = activity_shares(&cases->activity, &cases->waits, vertex);
    fprintf(out, ": %s %.0f %% of the time", words[root->kind],
            100 * shares.share[state[root->kind]]);
    if (state[root->kind] == ACTIVITY_BUSY)
        tell_period(activity_mean_period(&cases->activity, vertex), out);
}

static void tell_root(const struct short_cases *cases, const struct short_case *self,
                      uint32_t index, FILE *out) {
    const struct root *root = &self->shortage.roots.root[index];
    char text[WAIT_WORDS_BYTES], tick[QUANTITY_TEXT_SIZE];
    fprintf(out, "  %s", wait_words_root_sentence(&cases->waits, root, text));
    tell_share(cases, root, out);
    fprintf(out, "  (%s%s)\n", wait_words_root_word(root->kind),
            self->proven[index] ? ", proven" : "");
    if (wait_words_deed_sentence(cases->scenario, root, text)[0] != '\0')
        fprintf(out, "      %s at %s\n", text,
                quantity_clock(root->deed.tick, cases->scenario->ticks_per_second, tick));
}

/* What is found in the run beside what arithmetic says. */
static void tell_budget(const struct short_cases *cases, const struct short_case *self, FILE *out) {
    const struct budget_product *product = short_cases_budget(cases, self->item);
    const struct roots *roots = &self->shortage.roots;
    if (product == NULL || !product->is_known || product->bottleneck == NULL)
        return;
    bool same =
        roots->count > 0 && strcmp(scenario_part_name(cases->scenario, roots->root[0].subject),
                                   product->bottleneck) == 0;
    bool enough = !(product->needed > product->greatest);
    if (enough)
        fprintf(
            out,
            "  By arithmetic (loopwright budget) there could be %.3g a minute, which is enough; "
            "%s would\n  limit at that.\n",
            60 * product->greatest, product->bottleneck);
    else
        fprintf(out, "  By arithmetic (loopwright budget) %s limits%s: %.3g a minute at most.\n",
                product->bottleneck, same ? " as well" : "", 60 * product->greatest);
}

static void tell_roots(const struct short_cases *cases, const struct short_case *self, FILE *out) {
    fputs("Why\n", out);
    for (uint32_t i = 0; i < self->shortage.roots.count && i < ROOTS_MOST; i++)
        tell_root(cases, self, i, out);
    if (self->shortage.roots.count == 0)
        fputs("  What limits cannot be seen from the waits.\n", out);
    tell_budget(cases, self, out);
}

static void tell_met(double met, FILE *out) {
    fprintf(out, "%.0f %% met", met < 1 ? floor(100 * met) : 100.0);
}

/* Over the run all products may be short that later are not. */
static void tell_unchanged(const struct short_remedies *remedies, FILE *out) {
    const struct trial *unchanged = &remedies->book->trial[remedies->unchanged];
    if (!unchanged->proved || unchanged->failed_tick != NOT_GIVEN ||
        !(unchanged->met >= ORDERS_MET))
        return;
    fputs("  It is short at the beginning only: as it is, ", out);
    tell_met(unchanged->met, out);
    remedy_words_proof(remedies->book, unchanged, out);
    fputs(".\n", out);
}

static void tell_remedy(const struct short_case *self, const struct short_remedies *remedies,
                        const struct remedy *remedy, FILE *out) {
    const struct trial *trial = &remedies->book->trial[remedy->trial];
    char *words = short_remedies_words(remedies, trial), text[QUANTITY_TEXT_SIZE];
    const struct scenario *scenario = remedies->book->scenario;
    remedy_words_change(trial, out);
    fprintf(out, "      %s%s%.1f a minute, ", words != NULL ? words : "", words != NULL ? ": " : "",
            trial_per_minute(remedies->book, trial, self->item));
    tell_met(trial->met, out);
    if (trial->proved && failed_tick(trial) == NOT_GIVEN)
        remedy_words_proof(remedies->book, trial, out);
    if (failed_tick(trial) != NOT_GIVEN)
        fprintf(out, ", but it %s at %s",
                failed_tick(trial) == trial->run.first_jam ? "jams" : "jams or clogs",
                quantity_clock(failed_tick(trial), scenario->ticks_per_second, text));
    fputc('\n', out);
    remedy_words_growth(remedies->book, trial, out);
    free(words);
}

static void tell_remedies(const struct short_case *self, const struct short_remedies *remedies,
                          const struct remedy_list *list, FILE *out) {
    uint32_t count = remedy_list_shown(list);
    if (count == 0)
        fputs("\nNone of the changes that were tried brings more.\n", out);
    else if (list->remedy[0].worth.class == REMEDY_CURES)
        fputs("\nWhat would meet the demand, each tried by running again, the best first\n", out);
    else
        fputs("\nWhat would bring more, if not enough, the best first\n", out);
    for (uint32_t i = 0; i < count; i++)
        tell_remedy(self, remedies, &list->remedy[i], out);
}

static void tell_head(const struct short_cases *cases, const struct short_case *self, FILE *out) {
    fprintf(out, "%s is short: of %lld asked for after the warm-up %lld were met, %.0f %%\n",
            item_name(cases, self->item), (long long)self->asked, (long long)self->met,
            floor(100 * (double)self->met / (double)self->asked));
}

void short_report_line(const struct short_cases *cases, uint32_t index, FILE *out) {
    const struct roots *roots = &cases->short_case[index].shortage.roots;
    char text[WAIT_WORDS_BYTES];
    tell_head(cases, &cases->short_case[index], out);
    if (roots->count > 0)
        fprintf(out, "  %s\n", wait_words_root_sentence(&cases->waits, &roots->root[0], text));
}

void short_report_same(const struct short_cases *cases, uint32_t index, const char *other,
                       FILE *out) {
    tell_head(cases, &cases->short_case[index], out);
    fprintf(out, "  for the same reason as with %s above\n\n", other);
}

void short_report_text(const struct short_cases *cases, const struct short_remedies *remedies,
                       uint32_t index, FILE *out) {
    const struct short_case *self = &cases->short_case[index];
    tell_head(cases, self, out);
    fputc('\n', out);
    tell_roots(cases, self, out);
    tell_unchanged(remedies, out);
    tell_chain(cases, &self->shortage, out);
    tell_remedies(self, remedies, &remedies->list[index], out);
    fputc('\n', out);
}
