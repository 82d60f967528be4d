/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/reading.c - what the readers of all sections share: faults, maps and names. */
#include "model/reader/reading.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/suggest.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* ---- faults ---- */
enum { MESSAGE_BYTES = 1000 };

static struct fault *fault_at(struct reading *reading, const struct node *node,
                              enum fault_grade grade, const char *what, va_list arguments) {
    char message[MESSAGE_BYTES];
    vsnprintf(message, sizeof message, what, arguments);
    struct fault *fault = faults_add(reading->faults, grade, "%s", message);
    if (faults_keeps(reading->faults, fault))
        yaml_tree_place_fault(&reading->tree, node, fault);
    return fault;
}

struct fault *reading_error(struct reading *reading, const struct node *node, const char *what,
                            ...) {
    va_list arguments;
    va_start(arguments, what);
    struct fault *fault = fault_at(reading, node, FAULT_ERROR, what, arguments);
    va_end(arguments);
    return fault;
}

struct fault *reading_warning(struct reading *reading, const struct node *node, const char *what,
                              ...) {
    va_list arguments;
    va_start(arguments, what);
    struct fault *fault = fault_at(reading, node, FAULT_WARNING, what, arguments);
    va_end(arguments);
    return fault;
}

bool reading_told(const struct node *node) { return node == NULL || node->kind == NODE_BROKEN; }

/* True for a scalar that YAML takes for a truth value. */
static bool is_truth(const struct node *node) {
    return node->plain &&
           (yaml_tree_same(node->text, "true") || yaml_tree_same(node->text, "false"));
}

static bool is_number(const struct node *node) {
    struct decimal number;
    return node->plain && quantity_decimal(node->text, &number) != QUANTITY_NO_NUMBER;
}

struct yaml_tree_shown reading_found(const struct node *node) {
    if (node->kind == NODE_LIST)
        return (struct yaml_tree_shown){"a list"};
    if (node->kind == NODE_MAP)
        return (struct yaml_tree_shown){"a map"};
    if (node->plain && node->count == 0)
        return (struct yaml_tree_shown){"nothing"};
    bool bare = yaml_tree_is_null(node) || is_truth(node);
    const char *before = bare ? "" : is_number(node) ? "the number " : "the text `";
    struct yaml_tree_shown found;
    snprintf(found.text, sizeof found.text, "%s%.70s%s", before, yaml_tree_shown(node->text).text,
             before[0] == '\0' || is_number(node) ? "" : "`");
    return found;
}

/* ---- suggestions ---- */
enum { WORDS_LISTED_MAX = 12, NOTE_BYTES = 1000 };

/* Appends a word to a list of words, as far as there is room. */
static void append_word(char list[NOTE_BYTES], const char *word) {
    size_t used = strlen(list);
    snprintf(list + used, NOTE_BYTES - used, "%s%s", used > 0 ? ", " : "", word);
}

/* Names the known words, when they are few. */
static void list_words(struct fault *fault, const char *(*word)(const void *from, uint32_t index),
                       const void *from, uint32_t count) {
    char list[NOTE_BYTES] = "";
    if (fault->note != NULL || count == 0 || count > WORDS_LISTED_MAX)
        return;
    for (uint32_t i = 0; i < count; i++)
        if (word(from, i) != NULL)
            append_word(list, word(from, i));
    if (list[0] != '\0')
        fault_note(fault, "known: %s", list);
}

void reading_suggest(struct reading *reading, struct fault *fault, const char *wanted,
                     const char *(*word)(const void *from, uint32_t index), const void *from,
                     uint32_t count) {
    reading->words_left -= count;
    if (reading->words_left < 0)
        return;
    list_words(fault, word, from, count);
    struct suggestion nearest = suggest_start(wanted);
    for (uint32_t i = 0; i < count; i++)
        if (word(from, i) != NULL)
            suggest_look(&nearest, word(from, i));
    if (suggest_word(&nearest) != NULL)
        fault_help(fault, "did you mean `%s`?", suggest_word(&nearest));
}

/* ---- maps ---- */
static const char *key_word(const void *from, uint32_t index) {
    const struct catalogue_map *map = from;
    return map->key[index].name;
}

/* Index of a key in its catalogue, key_count when it is unknown. */
static uint32_t key_index(const struct catalogue_map *map, const char *key) {
    uint32_t index = 0;
    while (index < map->key_count && !yaml_tree_same(map->key[index].name, key))
        index++;
    return index;
}

static void point_help(struct fault *fault) {
    fault_help(fault, "decimals have a point, as in 1.5");
}

void reading_comma_help(struct fault *fault, const char *text) {
    static const char digits[] = "0123456789";
    size_t whole = strspn(text, digits);
    if (whole > 0 && text[whole] == ',' && strspn(text + whole + 1, digits) > 0)
        point_help(fault);
}

static void tell_unknown_key(struct reading *reading, const struct catalogue_map *map,
                             const struct node *key) {
    struct fault *fault = reading_error(reading, key, "unknown key `%s` in %s",
                                        yaml_tree_shown(key->text).text, map->name);
    char list[NOTE_BYTES] = "";
    if (key->text[0] >= '0' && key->text[0] <= '9')
        point_help(fault); /* {swing: 1,5 s}: between braces a comma ends the value */
    if (reading->words_left < 0)
        return;
    for (uint32_t i = 0; i < map->key_count; i++)
        append_word(list, map->key[i].name);
    fault_note(fault, "keys of %s: %s", map->name, list);
    reading_suggest(reading, fault, key->text, key_word, map, map->key_count);
}

static void tell_missing_keys(struct reading *reading, const struct fields *fields) {
    char wants[CATALOGUE_WANTS_SIZE];
    for (uint32_t i = 0; i < fields->map->key_count; i++) {
        const struct catalogue_key *key = &fields->map->key[i];
        if (key->required && fields->value[i] == NULL)
            fault_note(
                reading_error(reading, fields->node, "%s lacks `%s`", fields->map->name, key->name),
                "`%s`: %s; %s", key->name, catalogue_wants(key, wants), key->says);
    }
}

/* What a map of this kind looks like. */
static void help_with_keys(struct fault *fault, const struct catalogue_map *map) {
    if (map == catalogue_map(CATALOGUE_SCENARIO))
        fault_help(fault, "a scenario has sections such as `items:`, `loops:` and `arms:`");
    else
        fault_help(fault, "write {%s: ...%s}", map->key[0].name, map->key_count > 1 ? ", ..." : "");
}

bool reading_open(struct reading *reading, struct node *node, enum catalogue_kind kind,
                  struct fields *fields) {
    *fields = (struct fields){.map = catalogue_map(kind), .node = node};
    if (reading_told(node))
        return false;
    if (node->kind != NODE_MAP) {
        struct fault *fault = reading_error(reading, node, "%s is written as a map, not %s",
                                            fields->map->name, reading_found(node).text);
        if (yaml_tree_is_null(node))
            fault_help(fault, "an empty map is written {}");
        else if (node->kind == NODE_SCALAR)
            help_with_keys(fault, fields->map);
        return false;
    }
    for (uint32_t i = 0; i < node->count; i++) {
        uint32_t index = key_index(fields->map, node->child[2 * i]->text);
        if (index == fields->map->key_count) {
            tell_unknown_key(reading, fields->map, node->child[2 * i]);
            continue;
        }
        fields->key[index] = node->child[2 * i];
        fields->value[index] = node->child[2 * i + 1];
    }
    tell_missing_keys(reading, fields);
    return true;
}

struct node *reading_get(const struct fields *fields, const char *key) {
    uint32_t index = key_index(fields->map, key);
    require(index < fields->map->key_count);
    return fields->value[index];
}

const struct node *reading_key(const struct fields *fields, const char *key) {
    uint32_t index = key_index(fields->map, key);
    require(index < fields->map->key_count);
    return fields->key[index];
}

static const struct catalogue_rule *rule_of(const struct catalogue_map *map, const char *first) {
    uint32_t i = 0;
    while (i < map->rule_count &&
           (map->rule[i].kind == RULE_NONE || strcmp(map->rule[i].key[0], first) != 0))
        i++;
    require(i < map->rule_count);
    return &map->rule[i];
}

/* `more` is what to do, or NULL. */
static void help_with(struct fault *fault, const char *more) {
    if (more != NULL)
        fault_help(fault, "%s", more);
}

const char *reading_one_of(struct reading *reading, const struct fields *fields,
                           const char *first) {
    const struct catalogue_rule *rule = rule_of(fields->map, first);
    const char *found = NULL;
    for (int i = 0; i < CATALOGUE_RULE_KEYS_MAX && rule->key[i] != NULL; i++) {
        if (reading_get(fields, rule->key[i]) == NULL)
            continue;
        if (found == NULL)
            found = rule->key[i];
        else if (rule->kind == RULE_ONE) {
            fault_help(reading_error(reading, reading_key(fields, rule->key[i]),
                                     "`%s` and `%s` exclude each other", found, rule->key[i]),
                       "keep one of them");
            return found;
        }
    }
    if (found == NULL)
        help_with(
            reading_error(reading, fields->node, "%s lacks %s", fields->map->name, rule->wanted),
            rule->help);
    return found;
}

bool reading_refuse(struct reading *reading, const struct fields *fields, const char *beside) {
    bool refused = false;
    for (uint32_t i = 0; i < fields->map->rule_count; i++) {
        const struct catalogue_rule *rule = &fields->map->rule[i];
        if (rule->kind != RULE_NONE || !catalogue_lists(rule->beside, beside))
            continue;
        for (int k = 0; k < CATALOGUE_RULE_KEYS_MAX && rule->key[k] != NULL; k++) {
            const struct node *node = reading_key(fields, rule->key[k]);
            if (node != NULL)
                help_with(reading_error(reading, node, "`%s` does not go with `%s`", rule->key[k],
                                        beside),
                          rule->help);
            refused |= node != NULL;
        }
    }
    return refused;
}

/* ---- names ---- */
static bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

static bool is_name(const char *text) {
    if (!is_letter(text[0]))
        return false;
    for (; *text != '\0'; text++)
        if (!is_letter(*text) && !(*text >= '0' && *text <= '9') && *text != '-' && *text != '_')
            return false;
    return true;
}

const char *reading_name(struct reading *reading, const struct node *node, const char *key) {
    if (reading_told(node))
        return NULL;
    if (node->kind == NODE_SCALAR && !yaml_tree_is_null(node) && !is_truth(node) &&
        !is_number(node))
        return node->text;
    struct fault *fault =
        reading_error(reading, node, "`%s` wants a name, not %s", key, reading_found(node).text);
    if (node->kind == NODE_SCALAR && node->plain && is_name(node->text))
        fault_help(fault, "as a name it is written with quotes, \"%s\"", node->text);
    return NULL;
}

bool reading_check_name(struct reading *reading, const struct node *node, const char *what) {
    const char *name = reading_name(reading, node, what);
    if (name == NULL)
        return false;
    struct fault *fault = NULL;
    if (!is_name(name))
        fault = reading_error(reading, node, "`%s` can't be a name", yaml_tree_shown(name).text);
    else if (node->count > LIMIT_NAME_LENGTH)
        fault = reading_error(reading, node, "a name is too long: %u letters", node->count);
    if (fault != NULL)
        fault_note(fault, "a name is at most %d letters, digits, - and _, and starts with a letter",
                   LIMIT_NAME_LENGTH);
    return fault == NULL;
}

static const char *item_word(const void *from, uint32_t index) {
    const struct scenario *scenario = from;
    return scenario->item[index].name;
}

uint32_t reading_item(struct reading *reading, const struct node *node, const char *key) {
    const char *name = reading_name(reading, node, key);
    if (name == NULL)
        return NO_INDEX;
    uint32_t item = names_find(&reading->items, name);
    if (item == NO_INDEX) {
        struct fault *fault =
            reading_error(reading, node, "unknown item `%s`", yaml_tree_shown(name).text);
        reading_suggest(reading, fault, name, item_word, reading->scenario,
                        reading->scenario->item_count);
    }
    return item;
}

const char *reading_kind_name(enum thing_kind kind) {
    static const char *const name[THING_KINDS] = {"a loop", "a line",   "a chest",  "a station",
                                                  "an arm", "a supply", "a demand", "an incident"};
    require((int)kind < THING_KINDS);
    return name[kind];
}

/* The things of some kinds, as words to suggest. */
struct wanted_things {
    const struct thing **thing;
    uint32_t count;
};

static const char *thing_word(const void *from, uint32_t index) {
    const struct wanted_things *wanted = from;
    return wanted->thing[index]->name;
}

static void suggest_thing(struct reading *reading, struct fault *fault, const char *name,
                          unsigned set) {
    reading->words_left -= reading->thing_count;
    if (reading->words_left < 0)
        return;
    struct wanted_things wanted = {.thing =
                                       require_memory(reading->thing_count, sizeof *wanted.thing)};
    for (uint32_t i = 0; i < reading->thing_count; i++)
        if ((set & THING_SET(reading->thing[i].kind)) != 0)
            wanted.thing[wanted.count++] = &reading->thing[i];
    reading_suggest(reading, fault, name, thing_word, &wanted, wanted.count);
    free(wanted.thing);
}

const struct thing *reading_thing_named(struct reading *reading, const struct node *node,
                                        const char *name, unsigned set, const char *wanted) {
    uint32_t index = names_find(&reading->things, name);
    const struct thing *thing = index != NO_INDEX ? &reading->thing[index] : NULL;
    if (thing != NULL && (set & THING_SET(thing->kind)) != 0)
        return thing;
    if (thing != NULL) {
        reading_error(reading, node, "`%s` is %s; expected %s", thing->name,
                      reading_kind_name(thing->kind), wanted);
        return NULL;
    }
    struct fault *fault = reading_error(reading, node, "there is no `%s`; expected %s",
                                        yaml_tree_shown(name).text, wanted);
    suggest_thing(reading, fault, name, set);
    return NULL;
}

const struct thing *reading_thing(struct reading *reading, const struct node *node, const char *key,
                                  unsigned set, const char *wanted) {
    const char *name = reading_name(reading, node, key);
    if (name == NULL)
        return NULL;
    return reading_thing_named(reading, node, name, set, wanted);
}
