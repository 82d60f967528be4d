/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/design_text.c - parts as flow maps, wrapped, with their comments above. */
#include "tools/design/design_text.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/design/arm_text.h"
#include "tools/design/part_words.h"
#include "tools/design/yaml_lines.h"

enum { PATH_BYTES = 300 };

struct writing {
    const struct plan *plan;
    struct draft *draft;
    const struct design_notes *notes;
    FILE *out;
};

/* ---- how far numbers may vary ---- */

/* What is known of the numbers of a part ("arms.feeder."): a sentence, freed by the caller; NULL:
 * nothing. */
static char *ranges_of(const struct writing *writing, const char *path) {
    const struct tolerances *list = writing->notes->tolerance;
    size_t bytes = strlen(path), found = 0;
    struct text_stream stream;
    if (list == NULL)
        return NULL;
    FILE *out = text_stream_begin(&stream);
    for (uint32_t i = 0; i < list->count; i++) {
        if (strncmp(list->entry[i].path, path, bytes) != 0)
            continue;
        fputs(found++ > 0 ? "; " : TOLERANCE_MARK, out);
        tolerance_print(&list->entry[i], list->entry[i].path + bytes, out);
    }
    char *text = text_stream_end(&stream);
    if (found > 0)
        return text;
    free(text);
    return NULL;
}

static void put_ranges(const struct writing *writing, const char *section, const char *name) {
    char path[PATH_BYTES];
    snprintf(path, sizeof path, "%s.%s.", section, name);
    char *text = ranges_of(writing, path);
    if (text != NULL)
        yaml_lines_put_comment(writing->out, "  ", text);
    free(text);
}

/* ---- reasons ---- */

/* What is needed of a part and what it can do, and why it is as it is. */
static void put_reason(const struct writing *writing, const char *section, const char *name,
                       const char *why) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    if (writing->notes->budget != NULL)
        part_words(writing->notes->budget, section, name, out);
    char *words = text_stream_end(&stream);
    out = text_stream_begin(&stream);
    fprintf(out, "%s%s%s", words, words[0] != '\0' && why[0] != '\0' ? "; " : "", why);
    char *text = text_stream_end(&stream);
    yaml_lines_put_comment(writing->out, "  ", text);
    free(text);
    free(words);
}

/* ---- parts ---- */

/* The map of a part, made by a callback into a stream. */
static void put_part(const struct writing *writing, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
static void put_part(const struct writing *writing, const char *format, ...) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    va_list values;
    va_start(values, format);
    vfprintf(out, format, values);
    va_end(values);
    char *text = text_stream_end(&stream);
    yaml_lines_put_flow(writing->out, "  - ", "     ", text);
    free(text);
}

static void put_section(const struct writing *writing, const char *section) {
    const struct node *node = yaml_tree_find(writing->draft->tree.root, section);
    struct node root = {.kind = NODE_MAP, .count = 1};
    struct node key = {.kind = NODE_SCALAR, .plain = true, .count = (uint32_t)strlen(section)};
    if (node == NULL)
        return;
    key.text = require_text(section);
    struct node *child[2] = {&key, (struct node *)(uintptr_t)node};
    root.child = child;
    char *text = yaml_tree_write(&root);
    fputs(text, writing->out);
    free(text);
    free(key.text);
}

static const struct node *part_of(const struct writing *writing, const char *section,
                                  uint32_t index) {
    const struct node *list = yaml_tree_find(writing->draft->tree.root, section);
    require(list != NULL && list->kind == NODE_LIST && index < list->count);
    return list->child[index];
}

/* The keys of a part as they are written, but for some. */
static char *keys_of(const struct node *part, const char *const *but, uint32_t but_count) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    for (uint32_t i = 0; i < part->count; i++) {
        bool left_out = false;
        for (uint32_t k = 0; k < but_count; k++)
            left_out = left_out || strcmp(part->child[2 * i]->text, but[k]) == 0;
        if (left_out)
            continue;
        char *value = yaml_tree_write_flow(part->child[2 * i + 1]);
        fprintf(out, ", %s: %s", part->child[2 * i]->text, value);
        free(value);
    }
    return text_stream_end(&stream);
}

/* ---- belts ---- */

static void put_loop(const struct writing *writing, const struct plan_belt *belt) {
    const struct may *may = writing->plan->may;
    char lanes[200] = "";
    static const char *const name[] = {"outer", "inner"};
    for (uint32_t k = 0; belt->lanes > 1 && k < belt->lanes; k++) {
        size_t used = strlen(lanes);
        if (belt->lanes == 2)
            snprintf(lanes + used, sizeof lanes - used, "%s%s", k == 0 ? ", lanes: [" : ", ",
                     name[k]);
        else
            snprintf(lanes + used, sizeof lanes - used, "%slane-%u", k == 0 ? ", lanes: [" : ", ",
                     k + 1);
    }
    put_reason(writing, belt->is_line ? "lines" : "loops", belt->name, belt->why);
    if (belt->given != NO_INDEX) {
        const char *section = belt->is_line ? "lines" : "loops";
        char *given = yaml_tree_write_flow(part_of(writing, section, belt->given));
        put_part(writing, "%s", given);
        free(given);
        return;
    }
    put_part(writing, "{name: %s, cells: %u, rate: %s%s%s}", belt->name, belt->cells,
             belt->is_line ? may->line_rates.rate[belt->rate].text
                           : may->loop_rates.rate[belt->rate].text,
             lanes, belt->lanes > 1 ? "]" : "");
}

static void put_belts(const struct writing *writing, const char *section, bool lines) {
    bool any = false;
    for (uint32_t b = 0; b < writing->plan->belt_count; b++) {
        if (writing->plan->belt[b].is_line != lines)
            continue;
        if (!any)
            fprintf(writing->out, "%s:\n", section);
        any = true;
        put_loop(writing, &writing->plan->belt[b]);
    }
}

/* ---- chests ---- */

static const char *item_name(const struct writing *writing, uint32_t item) {
    return writing->plan->scenario->item[item].name;
}

static void add_counts(const struct writing *writing, const struct plan_chest *chest, bool start,
                       FILE *out) {
    bool any = false;
    for (uint32_t i = 0; i < chest->stock_count; i++) {
        const struct plan_stock *stock = &chest->stock[i];
        if (start && stock->start == 0)
            continue;
        fprintf(out, "%s%s: %" PRId64, any ? ", " : "", item_name(writing, stock->item),
                start ? stock->start : stock->limit);
        any = true;
    }
}

static char *counts_of(const struct writing *writing, const struct plan_chest *chest, bool start) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    add_counts(writing, chest, start, out);
    return text_stream_end(&stream);
}

/* A chest of the brief, as it is written there, but for what starts and is limited in it. */
static void put_given_chest(const struct writing *writing, const struct plan_chest *chest,
                            const char *limits, const char *start) {
    static const char *const but[] = {"name", "limits", "start"};
    char *keys = keys_of(part_of(writing, "chests", chest->given), but, 3);
    put_part(writing, "{name: %s%s%s%s%s%s%s%s}", chest->name, keys,
             limits[0] != '\0' ? ", limits: {" : "", limits, limits[0] != '\0' ? "}" : "",
             start[0] != '\0' ? ", start: {" : "", start, start[0] != '\0' ? "}" : "");
    free(keys);
}

static void put_chest(const struct writing *writing, const struct plan_chest *chest) {
    for (uint32_t i = 0; i < chest->stock_count; i++) {
        char text[PLAN_WHY_BYTES + 100];
        snprintf(text, sizeof text, "%s: %s", item_name(writing, chest->stock[i].item),
                 chest->stock[i].why);
        yaml_lines_put_comment(writing->out, "  ", text);
    }
    put_ranges(writing, "chests", chest->name);
    char *start = counts_of(writing, chest, true);
    char *limits = counts_of(writing, chest, false);
    bool limited = chest->stock_count > 1;
    if (chest->given != NO_INDEX)
        put_given_chest(writing, chest, limited ? limits : "", start);
    else
        put_part(writing, "{name: %s, capacity: %" PRId64 "%s%s%s%s%s%s}", chest->name,
                 chest->capacity, limited ? ", limits: {" : "", limited ? limits : "",
                 limited ? "}" : "", start[0] != '\0' ? ", start: {" : "", start,
                 start[0] != '\0' ? "}" : "");
    free(start);
    free(limits);
}

/* ---- stations, supplies and demands: as written, with what is added ---- */

static void put_station(const struct writing *writing, const struct plan_station *station) {
    static const char *const but[] = {"name", "ahead"};
    uint32_t own = station->ahead != NOT_GIVEN ? 2 : 1;
    char *keys = keys_of(part_of(writing, "stations", station->recipe), but, own);
    char ahead[40] = "", gate[PATH_BYTES] = "";
    if (station->ahead != NOT_GIVEN)
        snprintf(ahead, sizeof ahead, ", ahead: %" PRId64, station->ahead);
    if (station->chest != NO_INDEX)
        snprintf(gate, sizeof gate, ", gate: {chest: %s, item: %s, below: %" PRId64 "}",
                 writing->plan->chest[station->chest].name, item_name(writing, station->item),
                 station->below);
    put_reason(writing, "stations", station->name, station->why);
    yaml_lines_put_comment(writing->out, "  ", station->why_ahead);
    put_ranges(writing, "stations", station->name);
    put_part(writing, "{name: %s%s%s%s}", station->name, keys, ahead, gate);
    free(keys);
}

static void put_streams(const struct writing *writing, const char *section, uint32_t count,
                        const uint32_t *chest) {
    static const char *const but[] = {"name", "chest"};
    for (uint32_t i = 0; i < count; i++) {
        const struct node *part = part_of(writing, section, i);
        char *keys = keys_of(part, but, 2);
        put_part(writing, "{name: %s, chest: %s%s}", yaml_tree_find(part, "name")->text,
                 writing->plan->chest[chest[i]].name, keys);
        free(keys);
    }
}

static void put_outlets(const struct writing *writing) {
    for (uint32_t i = 0; i < writing->plan->outlet_count; i++) {
        const struct plan_outlet *outlet = &writing->plan->outlet[i];
        char text[PLAN_WHY_BYTES];
        snprintf(text, sizeof text,
                 "nobody wants all of %s: what comes is taken away, and more could be",
                 item_name(writing, outlet->item));
        yaml_lines_put_comment(writing->out, "  ", text);
        put_part(writing,
                 "{name: %s, chest: %s, item: %s, every: %" PRId64 " s, batch: %" PRId64
                 ", outlet: true}",
                 outlet->name, writing->plan->chest[outlet->chest].name,
                 item_name(writing, outlet->item), outlet->every_seconds, outlet->batch);
    }
}

/* ---- incidents ---- */

/* What an incident stops or starts, if that is a recipe: its index in the scenario; else
 * NO_INDEX. */
static uint32_t recipe_stopped(const struct writing *writing, const struct node *incident) {
    static const char *const key[] = {"stop", "start"};
    const struct scenario *scenario = writing->plan->scenario;
    for (size_t k = 0; k < sizeof key / sizeof *key; k++) {
        const struct node *value = yaml_tree_find(incident, key[k]);
        for (uint32_t s = 0;
             value != NULL && value->kind == NODE_SCALAR && s < scenario->station_count; s++)
            if (strcmp(scenario->station[s].name, value->text) == 0)
                return s;
    }
    return NO_INDEX;
}

static uint32_t stations_of(const struct plan *plan, uint32_t recipe) {
    uint32_t count = 0;
    for (uint32_t s = 0; s < plan->station_count; s++)
        count += plan->station[s].recipe == recipe;
    return count;
}

/* An incident as it is written (station NULL), or of one of several stations of a recipe, each of
 * which it befalls; that of the first alone has the name that stands in the brief. */
static void put_incident_of(const struct writing *writing, const struct node *incident,
                            const char *station, bool first) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    for (uint32_t i = 0; i < incident->count; i++) {
        const char *key = incident->child[2 * i]->text;
        char *value = yaml_tree_write_flow(incident->child[2 * i + 1]);
        bool stopped = station != NULL && (strcmp(key, "stop") == 0 || strcmp(key, "start") == 0);
        bool named = station != NULL && strcmp(key, "name") == 0 && !first;
        fprintf(out, "%s%s: %s%s%s", i > 0 ? ", " : "", key, stopped ? station : value,
                named ? "-" : "", named ? station : "");
        free(value);
    }
    char *text = text_stream_end(&stream);
    put_part(writing, "{%s}", text);
    free(text);
}

static void put_incidents(const struct writing *writing) {
    const struct node *list = yaml_tree_find(writing->draft->tree.root, "incidents");
    const struct plan *plan = writing->plan;
    bool several = false;
    for (uint32_t i = 0; list != NULL && list->kind == NODE_LIST && i < list->count; i++) {
        uint32_t recipe = recipe_stopped(writing, list->child[i]);
        several = several || (recipe != NO_INDEX && stations_of(plan, recipe) > 1);
    }
    if (!several) {
        put_section(writing, "incidents");
        return;
    }
    fputs("incidents:\n", writing->out);
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t recipe = recipe_stopped(writing, list->child[i]);
        if (recipe == NO_INDEX)
            put_incident_of(writing, list->child[i], NULL, true);
        for (uint32_t s = 0, done = 0; s < plan->station_count; s++)
            if (plan->station[s].recipe == recipe)
                put_incident_of(writing, list->child[i], plan->station[s].name, done++ == 0);
    }
}

/* ---- arms ---- */

static void put_arm(const struct writing *writing, const struct plan_arm *arm) {
    char *text = arm_text(writing->plan, arm);
    put_reason(writing, "arms", arm->name, arm->why);
    put_ranges(writing, "arms", arm->name);
    put_part(writing, "%s", text);
    free(text);
}

/* ---- what should come out ---- */

static void put_expect(const struct writing *writing) {
    const struct scenario *scenario = writing->plan->scenario;
    if (scenario->expect.present) {
        put_section(writing, "expect");
        return;
    }
    char share[QUANTITY_TEXT_SIZE];
    const char *met = writing->notes->met;
    if (met == NULL)
        met = quantity_ratio_text(writing->plan->may->met, share);
    fputs("expect:\n  jam: false\n  clogged: false\n  demand_met:\n", writing->out);
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        bool wanted = false;
        for (uint32_t d = 0; d < scenario->demand_count; d++)
            wanted = wanted || (scenario->demand[d].item == i && !scenario->demand[d].outlet);
        if (wanted)
            fprintf(writing->out, "    %s: {at_least: %s}\n", scenario->item[i].name, met);
    }
}

/* ---- all of it ---- */

static void put_head(const struct writing *writing) {
    const char *text = writing->notes->head;
    for (; text != NULL && *text != '\0'; text += strcspn(text, "\n"), text += *text == '\n') {
        char *line = require_text(text);
        line[strcspn(line, "\n")] = '\0';
        if (line[0] == '\0')
            fputs("#\n", writing->out);
        else
            yaml_lines_put_text(writing->out, "# ", "#   ", line);
        free(line);
    }
}

static void begin_section(const struct writing *writing, const char *section, uint32_t parts) {
    if (parts > 0)
        fprintf(writing->out, "%s:\n", section);
}

static void put_all(const struct writing *writing) {
    static const char *const settings[] = {"title", "clock", "run", "watch", "items"};
    const struct plan *plan = writing->plan;
    put_head(writing);
    for (size_t i = 0; i < sizeof settings / sizeof *settings; i++)
        put_section(writing, settings[i]);
    put_belts(writing, "loops", false);
    put_belts(writing, "lines", true);
    begin_section(writing, "chests", plan->chest_count);
    for (uint32_t i = 0; i < plan->chest_count; i++)
        put_chest(writing, &plan->chest[i]);
    begin_section(writing, "stations", plan->station_count);
    for (uint32_t i = 0; i < plan->station_count; i++)
        put_station(writing, &plan->station[i]);
    begin_section(writing, "arms", plan->arm_count);
    for (uint32_t i = 0; i < plan->arm_count; i++)
        put_arm(writing, &plan->arm[i]);
    begin_section(writing, "supplies", plan->scenario->supply_count);
    put_streams(writing, "supplies", plan->scenario->supply_count, plan->supply_chest);
    begin_section(writing, "demands", plan->scenario->demand_count);
    put_streams(writing, "demands", plan->scenario->demand_count, plan->demand_chest);
    put_outlets(writing);
    put_incidents(writing);
    put_expect(writing);
}

char *design_text_of(const struct plan *plan, struct draft *draft,
                     const struct design_notes *notes) {
    struct writing writing = {plan, draft, notes, NULL};
    struct text_stream stream;
    writing.out = text_stream_begin(&stream);
    put_all(&writing);
    return text_stream_end(&stream);
}
