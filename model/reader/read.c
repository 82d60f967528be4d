/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read.c - reads a scenario: bytes, YAML tree, overrides, names, then the sections. */
#include "model/reader/read.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/array.h"
#include "sim/require.h"

/* ---- sections that are lists of named parts ---- */
static const struct {
    const char *section;
    enum thing_kind kind;
} section_table[] = {{"loops", THING_LOOP},     {"lines", THING_LINE},
                     {"chests", THING_CHEST},   {"stations", THING_STATION},
                     {"arms", THING_ARM},       {"supplies", THING_SUPPLY},
                     {"demands", THING_DEMAND}, {"incidents", THING_INCIDENT}};
enum { SECTIONS = sizeof section_table / sizeof *section_table };

static bool within_things(struct reading *reading, const struct node *node, const char *section) {
    if (node->count <= LIMIT_THINGS)
        return true;
    char limit[QUANTITY_TEXT_SIZE];
    fault_note(reading_error(reading, node, "too many `%s`", section), "at most %s",
               quantity_grouped(LIMIT_THINGS, limit));
    return false;
}

/* A section that is left empty; `[]` or `{}` is how emptiness is written. */
static bool is_left_empty(struct reading *reading, const struct node *node, const char *section,
                          const char *empty) {
    if (!yaml_tree_is_null(node))
        return false;
    fault_help(reading_error(reading, node, "`%s` is left empty", section),
               "take the section out, or write `%s: %s`", section, empty);
    return true;
}

/* ---- declaring names ---- */
static void declare_thing(struct reading *reading, enum thing_kind kind, uint32_t index,
                          const struct node *name) {
    reading->thing = array_with_room(reading->thing, reading->thing_count, &reading->thing_capacity,
                                     sizeof *reading->thing);
    uint32_t before = names_add(&reading->things, name->text, reading->thing_count);
    if (before == NO_INDEX) {
        reading->thing[reading->thing_count++] = (struct thing){kind, index, name->text, name};
        return;
    }
    const struct thing *first = &reading->thing[before];
    bool later = first->node->source == name->source && first->node->line > name->line;
    struct fault *fault = reading_error(reading, later ? first->node : name,
                                        "the name `%s` is taken", yaml_tree_shown(name->text).text);
    fault_note(fault, "by %s, line %u", reading_kind_name(later ? kind : first->kind),
               later ? name->line : first->node->line);
}

/* Declares the name of one part; "" stands for one that is not there or wrong. */
static char *declare_part(struct reading *reading, enum thing_kind kind, uint32_t index) {
    const struct node *part = reading->part[kind][index];
    const struct node *name = part->kind == NODE_MAP ? yaml_tree_find(part, "name") : NULL;
    bool good = name != NULL && reading_check_name(reading, name, "name");
    if (name != NULL && name->kind == NODE_SCALAR)
        declare_thing(reading, kind, index, name);
    if (kind == THING_INCIDENT && !good)
        return NULL;
    return require_text(good ? name->text : "");
}

static bool open_section(struct reading *reading, const struct fields *top, const char *section,
                         enum thing_kind kind) {
    struct node *list = reading_get(top, section);
    if (reading_told(list) || is_left_empty(reading, list, section, "[]"))
        return false;
    if (list->kind != NODE_LIST) {
        reading_error(reading, list, "`%s` wants a list of maps, not %s", section,
                      reading_found(list).text);
        return false;
    }
    if (!within_things(reading, list, section))
        return false;
    reading->part[kind] = list->child;
    reading->part_count[kind] = list->count;
    return true;
}

#define DECLARE(reading, kind, array, counter)                                                     \
    do {                                                                                           \
        struct scenario *declared = (reading)->scenario;                                           \
        declared->counter = (reading)->part_count[kind];                                           \
        declared->array = require_memory(declared->counter, sizeof *declared->array);              \
        for (uint32_t part = 0; part < declared->counter; part++)                                  \
            declared->array[part].name = declare_part(reading, kind, part);                        \
    } while (0)

static void declare_things(struct reading *reading, const struct fields *top) {
    for (size_t i = 0; i < SECTIONS; i++)
        open_section(reading, top, section_table[i].section, section_table[i].kind);
    DECLARE(reading, THING_LOOP, loop, loop_count);
    DECLARE(reading, THING_LINE, line, line_count);
    DECLARE(reading, THING_CHEST, chest, chest_count);
    DECLARE(reading, THING_STATION, station, station_count);
    DECLARE(reading, THING_ARM, arm, arm_count);
    DECLARE(reading, THING_SUPPLY, supply, supply_count);
    DECLARE(reading, THING_DEMAND, demand, demand_count);
    DECLARE(reading, THING_INCIDENT, incident, incident_count);
}

static void declare_item(struct reading *reading, const struct node *name) {
    struct scenario *scenario = reading->scenario;
    if (!reading_check_name(reading, name, "items") && name->kind != NODE_SCALAR)
        return;
    uint32_t before = names_add(&reading->items, name->text, scenario->item_count);
    if (before != NO_INDEX) {
        fault_note(reading_error(reading, name, "item `%s` is in the list already",
                                 yaml_tree_shown(name->text).text),
                   "first on line %u", reading->item_node[before]->line);
        return;
    }
    reading->item_node[scenario->item_count] = name;
    scenario->item[scenario->item_count++] =
        (struct scenario_item){.name = require_text(name->text), .length = 1};
}

static void declare_items(struct reading *reading, const struct node *node) {
    if (reading_told(node) || is_left_empty(reading, node, "items", "[]"))
        return;
    if (node->kind == NODE_SCALAR) {
        reading_error(reading, node, "`items` wants a list of names or a map, not %s",
                      reading_found(node).text);
        return;
    }
    if (!within_things(reading, node, "items"))
        return;
    reading->scenario->item = require_memory(node->count, sizeof *reading->scenario->item);
    reading->item_node = require_memory(node->count, sizeof(struct node *));
    uint32_t step = node->kind == NODE_MAP ? 2 : 1;
    for (uint32_t i = 0; i < node->count; i++)
        declare_item(reading, node->child[i * step]);
}

/* ---- all of it ---- */

/* What is useless in a complete scenario may be what a draft leaves open. */
static void check_whole(struct reading *reading) {
    if (faults_failed(reading->faults))
        return;
    if (reading->draft == NULL || !draft_is_open(reading->draft))
        read_sense(reading);
    else if (reading->draft->is_brief)
        read_draft_check_brief(reading);
}

static void read_sections(struct reading *reading) {
    struct fields top;
    struct node *may = NULL;
    if (reading->draft == NULL)
        read_draft_refuse(reading);
    else
        may = read_draft_open(reading);
    if (!reading_open(reading, reading->tree.root, CATALOGUE_SCENARIO, &top))
        return;
    read_settings(reading, &top);
    if (reading->draft != NULL)
        read_may(reading, may);
    declare_items(reading, reading_get(&top, "items"));
    declare_things(reading, &top);
    read_parts_items(reading, reading_get(&top, "items"));
    read_parts_loops(reading);
    read_parts_lines(reading);
    read_parts_chests(reading);
    read_parts_stations(reading);
    read_parts_station_gates(reading);
    read_arms(reading);
    read_streams_supplies(reading);
    read_streams_demands(reading);
    read_incidents(reading);
    read_expect(reading, reading_get(&top, "expect"));
    check_whole(reading);
}

static void reading_free(struct reading *reading) {
    names_free(&reading->items);
    names_free(&reading->things);
    pairs_free(&reading->takes);
    pairs_free(&reading->makes);
    free(reading->item_node);
    free(reading->thing);
    free(reading->station_known);
    free(reading->gate_node);
    free(reading->bounds);
    yaml_tree_free(&reading->tree);
}

static bool is_small_enough(struct reading *reading, const char *source, size_t length) {
    if (length <= (size_t)LIMIT_FILE_BYTES)
        return true;
    char limit[QUANTITY_TEXT_SIZE];
    struct fault *fault = faults_add(reading->faults, FAULT_ERROR, "the file is too large");
    free(fault->source);
    fault->source = require_text(source);
    fault_note(fault, "at most %s bytes", quantity_grouped(LIMIT_FILE_BYTES, limit));
    return false;
}

/* From text to a tree with the overrides applied; false when there is nothing to read. */
static bool build_tree(struct reading *reading, const char *text, size_t length, const char *source,
                       const char *const *override, size_t override_count) {
    bool readable = is_small_enough(reading, source, length);
    if (!readable)
        return false;
    uint32_t index = yaml_tree_add_source(&reading->tree, source, text, length, true);
    reading->tree.root = yaml_tree_parse(&reading->tree, index, 0, reading->faults, &readable);
    if (!readable)
        return false;
    if (reading->tree.root == NULL || yaml_tree_is_null(reading->tree.root)) {
        struct node place = {.source = index, .line = 1, .column = 1, .width = 1};
        fault_note(reading_error(reading, &place, "the file is empty"),
                   "a scenario is a map with sections such as `items`, `loops` and `arms`");
        return false;
    }
    for (size_t i = 0; i < override_count; i++)
        read_override(reading, override[i]);
    return true;
}

/* A file that is wrong a million times is refused without a million searches for nearest words. */
enum { WORDS_LOOKED_AT_MAX = 3000000 };

/* Bytes of a UTF-8 byte order mark at the start of a text, as some editors write it: 0 or 3. It is
 * no character of the first line, whose columns are counted without it. */
static size_t byte_order_mark(const char *text, size_t length) {
    static const char mark[] = "\xEF\xBB\xBF";
    size_t bytes = sizeof mark - 1;
    return length >= bytes && memcmp(text, mark, bytes) == 0 ? bytes : 0;
}

static char *copy_of(const char *text, size_t length) {
    char *copy = require_memory(length + 1, 1);
    memcpy(copy, text, length);
    return copy;
}

/* Reads into reading->scenario, and into reading->draft where there is one, which then keeps the
 * tree. False: there is an error. */
static bool read_text(struct reading *reading, const char *text, size_t length, const char *source,
                      const char *const *override, size_t override_count) {
    size_t mark = byte_order_mark(text, length);
    text += mark;
    length -= mark;
    reading->words_left = WORDS_LOOKED_AT_MAX;
    reading->scenario = require_memory(1, sizeof *reading->scenario);
    if (build_tree(reading, text, length, source, override, override_count))
        read_sections(reading);
    bool good = !faults_failed(reading->faults);
    if (good)
        reading->scenario->text = override_count > 0 || reading->draft != NULL
                                      ? yaml_tree_write(reading->tree.root)
                                      : copy_of(text, length);
    if (reading->draft != NULL) {
        reading->draft->tree = reading->tree;
        reading->tree = (struct yaml_tree){0};
    }
    reading_free(reading);
    faults_sort(reading->faults);
    return good;
}

struct scenario *read_scenario(const char *text, size_t length, const char *source,
                               const char *const *override, size_t override_count,
                               struct faults *faults) {
    struct reading reading = {.faults = faults};
    if (read_text(&reading, text, length, source, override, override_count))
        return reading.scenario;
    scenario_free(reading.scenario);
    return NULL;
}

struct draft *read_draft(const char *text, size_t length, const char *source,
                         const char *const *override, size_t override_count,
                         struct faults *faults) {
    struct draft *draft = require_memory(1, sizeof *draft);
    struct reading reading = {.faults = faults, .draft = draft};
    draft->text = copy_of(text, length);
    bool good = read_text(&reading, draft->text, length, source, override, override_count);
    draft->scenario = reading.scenario;
    if (good)
        return draft;
    draft_free(draft);
    return NULL;
}

/* ---- files ---- */
static void tell_unreadable(struct faults *faults, const char *path, int error) {
    struct fault *fault = faults_add(faults, FAULT_ERROR, "%s", strerror(error));
    free(fault->source);
    fault->source = require_text(path);
    if (error == EISDIR)
        fault_help(fault, "give a file; the scenario of a run is DIR/scenario.yaml");
}

/* A capsule in place of a scenario. */
static bool is_capsule(struct faults *faults, const char *path, const char *text, size_t length) {
    static const char seal[] = "LWseal1\ncapsule";
    if (length < sizeof seal || memcmp(text, seal, sizeof seal - 1) != 0)
        return false;
    struct fault *fault = faults_add(faults, FAULT_ERROR, "a capsule, no scenario");
    free(fault->source);
    fault->source = require_text(path);
    fault_help(fault, "loopwright replay and cause take it");
    return true;
}

/* All bytes of a file, one more than the limit at most; NULL, with errno set, when it fails. */
static char *read_bytes(FILE *file, size_t *length) {
    size_t capacity = 1 << 16;
    char *text = require_memory(capacity, 1);
    *length = 0;
    while (*length <= (size_t)LIMIT_FILE_BYTES) {
        if (*length == capacity) {
            capacity *= 2;
            text = require_more_memory(text, capacity, 1);
        }
        size_t got = fread(text + *length, 1, capacity - *length, file);
        *length += got;
        if (got == 0)
            break;
    }
    if (ferror(file) == 0)
        return text;
    free(text);
    return NULL;
}

static const char *source_of(const char *path) {
    return strcmp(path, "-") == 0 ? "standard input" : path;
}

/* All bytes of a file, freed by the caller; NULL, reported: it can't be read. */
static char *open_and_read(const char *path, struct faults *faults, size_t *length) {
    bool standard = strcmp(path, "-") == 0;
    FILE *file = standard ? stdin : fopen(path, "rb");
    char *text = file != NULL ? read_bytes(file, length) : NULL;
    if (text == NULL)
        tell_unreadable(faults, source_of(path), errno);
    if (file != NULL && !standard)
        fclose(file);
    return text;
}

struct scenario *read_scenario_file(const char *path, const char *const *override,
                                    size_t override_count, struct faults *faults,
                                    bool *unreadable) {
    size_t length = 0;
    char *text = open_and_read(path, faults, &length);
    *unreadable = text == NULL;
    if (text == NULL)
        return NULL;
    struct scenario *scenario = NULL;
    if (!is_capsule(faults, source_of(path), text, length))
        scenario = read_scenario(text, length, source_of(path), override, override_count, faults);
    free(text);
    return scenario;
}

struct draft *read_draft_file(const char *path, const char *const *override, size_t override_count,
                              struct faults *faults, bool *unreadable) {
    size_t length = 0;
    char *text = open_and_read(path, faults, &length);
    *unreadable = text == NULL;
    if (text == NULL)
        return NULL;
    struct draft *draft =
        read_draft(text, length, source_of(path), override, override_count, faults);
    free(text);
    return draft;
}

int64_t read_duration(const char *text, int64_t ticks_per_second, struct faults *faults) {
    struct duration duration;
    enum quantity_fit fit = quantity_duration(text, &duration);
    bool good = fit == QUANTITY_FITS && !duration.number.negative;
    int64_t ticks = good ? quantity_ticks(&duration, ticks_per_second) : NOT_GIVEN;
    if (ticks != NOT_GIVEN)
        return ticks;
    struct fault *fault =
        faults_add(faults, FAULT_ERROR, "`%s` is %s", yaml_tree_shown(text).text,
                   good || fit == QUANTITY_TOO_LARGE ? "too long a time" : "not a duration");
    fault_note(fault, "a duration is a number of seconds, a number with ms, s, min, h or d, or a "
                      "clock time H:MM:SS");
    return NOT_GIVEN;
}
