/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/schema.c - a definition for each map of the catalogue, a property for each key. */
#include "tools/manual/schema.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/catalogue.h"
#include "model/scenario/limits.h"
#include "sim/require.h"
#include "tools/base/command.h"
#include "tools/base/json_text.h"
#include "tools/base/status.h"

#define NAME_PATTERN "[A-Za-z][A-Za-z0-9_-]*"
#define NUMBER_PATTERN "(0|[1-9][0-9]*)(\\.[0-9]+)?"

/* ---- pieces ---- */

static json_t *text(const char *string) { return json_string(string); }

static json_t *of_type(const char *type) {
    json_t *schema = json_object();
    json_text_put(schema, "type", text(type));
    return schema;
}

static json_t *pattern(const char *expression) {
    json_t *schema = of_type("string");
    json_text_put(schema, "pattern", text(expression));
    return schema;
}

static json_t *name_schema(void) {
    json_t *schema = pattern("^" NAME_PATTERN "$");
    json_text_put(schema, "maxLength", json_integer(LIMIT_NAME_LENGTH));
    return schema;
}

/* One of two or three schemas. */
static json_t *any_of(json_t *first, json_t *second, json_t *third) {
    json_t *schema = json_object(), *list = json_array();
    json_text_append(list, first);
    json_text_append(list, second);
    if (third != NULL)
        json_text_append(list, third);
    json_text_put(schema, "anyOf", list);
    return schema;
}

/* The name of a map without its article and marks: "loop". */
static const char *definition_name(enum catalogue_kind kind, char name[CATALOGUE_WANTS_SIZE]) {
    const char *from = catalogue_map(kind)->name;
    const char *blank = strchr(from, ' ');
    size_t length = 0;
    for (from = blank != NULL ? blank + 1 : from; *from != '\0'; from++)
        if (*from != '`')
            name[length++] = *from;
    name[length] = '\0';
    return name;
}

static json_t *reference(enum catalogue_kind kind) {
    char path[CATALOGUE_WANTS_SIZE + 20] = "#/definitions/", name[CATALOGUE_WANTS_SIZE];
    json_t *schema = json_object();
    strcat(path, definition_name(kind, name));
    json_text_put(schema, "$ref", text(path));
    return schema;
}

static json_t *map_of(json_t *key, json_t *value) {
    json_t *schema = of_type("object");
    json_text_put(schema, "propertyNames", key);
    json_text_put(schema, "additionalProperties", value);
    return schema;
}

static json_t *list_of(json_t *member, int64_t least, int64_t most) {
    json_t *schema = of_type("array");
    json_text_put(schema, "items", member);
    if (least > 0)
        json_text_put(schema, "minItems", json_integer(least));
    if (most > 0)
        json_text_put(schema, "maxItems", json_integer(most));
    return schema;
}

/* ---- values ---- */

static json_t *number_schema(const char *type, const struct catalogue_key *key) {
    json_t *schema = of_type(type);
    json_text_put(schema, key->above_least ? "exclusiveMinimum" : "minimum",
                  json_integer(key->least));
    if (key->most > 0)
        json_text_put(schema, "maximum", json_integer(key->most));
    return schema;
}

static json_t *seconds_schema(bool above_0) {
    json_t *schema = of_type("number");
    json_text_put(schema, above_0 ? "exclusiveMinimum" : "minimum", json_integer(0));
    return schema;
}

static json_t *duration_text_schema(void) {
    return pattern("^(" NUMBER_PATTERN " ?(ms|s|min|h|d)|" NUMBER_PATTERN
                   "|[0-9]+:[0-5][0-9]:[0-5][0-9](\\.[0-9]+)?)$");
}

static json_t *duration_schema(const struct catalogue_key *key) {
    return any_of(seconds_schema(key->above_least), duration_text_schema(), NULL);
}

static json_t *span_schema(const struct catalogue_key *key) {
    return any_of(seconds_schema(key->above_least), duration_text_schema(),
                  reference(CATALOGUE_SPAN));
}

/* Parameters of a distribution that are no times, by name, with the bounds that the reader has. */
static const struct {
    const char *name;
    double least;
    bool above_least;
    int64_t most;
} parameter_table[] = {
    {"CV", 0, true, LIMIT_VARIATION}, {"SHAPE", 0.05, false, LIMIT_SHAPE}, {"P", 0, true, 1}};

static json_t *parameter_schema(const char *name) {
    for (size_t i = 0; i < sizeof parameter_table / sizeof *parameter_table; i++) {
        if (strcmp(parameter_table[i].name, name) != 0)
            continue;
        json_t *schema = of_type("number");
        json_text_put(schema, parameter_table[i].above_least ? "exclusiveMinimum" : "minimum",
                      json_text_real(parameter_table[i].least));
        json_text_put(schema, "maximum", json_integer(parameter_table[i].most));
        return schema;
    }
    return any_of(seconds_schema(false), duration_text_schema(), NULL);
}

static json_t *parameters_schema(const struct catalogue_key *key) {
    if (key->word[1] == NULL)
        return parameter_schema(key->word[0]);
    json_t *members = json_array();
    for (int i = 0; i < CATALOGUE_WORDS_MAX && key->word[i] != NULL; i++)
        json_text_append(members, parameter_schema(key->word[i]));
    int64_t count = (int64_t)json_array_size(members);
    return list_of(members, count, count);
}

static json_t *words_schema(const struct catalogue_key *key) {
    json_t *schema = json_object(), *words = json_array();
    for (int i = 0; i < CATALOGUE_WORDS_MAX && key->word[i] != NULL; i++)
        json_text_append(words, text(key->word[i]));
    json_text_put(schema, "enum", words);
    return schema;
}

static json_t *lane_schema(void) { return pattern("^" NAME_PATTERN "(/" NAME_PATTERN ")?$"); }

/* What is left to `design`. */
static json_t *open_schema(void) {
    json_t *schema = json_object();
    json_text_put(schema, "const", text("find"));
    return schema;
}

static json_t *or_open(json_t *schema, const struct catalogue_key *key) {
    return key->may_be_open ? any_of(schema, open_schema(), NULL) : schema;
}

static json_t *counts_schema(const struct catalogue_key *key) {
    return map_of(name_schema(), or_open(number_schema("integer", key), key));
}

static json_t *place_schema(const struct catalogue_key *key) {
    return pattern(key->may_be_open ? "^" NAME_PATTERN "(/" NAME_PATTERN ")?(@([0-9]+|find))?$"
                                    : "^" NAME_PATTERN "(/" NAME_PATTERN ")?(@[0-9]+)?$");
}

static json_t *value_schema(const struct catalogue_key *key) {
    switch (key->type) {
    case WANTS_TEXT: return of_type("string");
    case WANTS_NAME: return name_schema();
    case WANTS_NAMES: return list_of(name_schema(), key->least, key->most);
    case WANTS_FLAG: return of_type("boolean");
    case WANTS_WORD: return words_schema(key);
    case WANTS_COUNT: return or_open(number_schema("integer", key), key);
    case WANTS_COUNT_OR_NULL:
        return any_of(number_schema("integer", key), of_type("null"),
                      key->may_be_open ? open_schema() : NULL);
    case WANTS_NUMBER: return or_open(number_schema("number", key), key);
    case WANTS_COUNT_LIST: return list_of(number_schema("integer", key), 1, 0);
    case WANTS_NUMBER_LIST: return list_of(number_schema("number", key), 1, 0);
    case WANTS_DURATION: return duration_schema(key);
    case WANTS_SPAN: return or_open(span_schema(key), key);
    case WANTS_PARAMETERS: return parameters_schema(key);
    case WANTS_PLACE: return place_schema(key);
    case WANTS_LANE: return lane_schema();
    case WANTS_MAP: return reference(key->map);
    case WANTS_MAPS: return list_of(reference(key->map), key->least, key->most);
    case WANTS_ITEMS:
        return any_of(list_of(name_schema(), 0, 0), map_of(name_schema(), reference(key->map)),
                      NULL);
    case WANTS_COUNTS: return counts_schema(key);
    case WANTS_OUTPUTS:
        return map_of(name_schema(),
                      any_of(number_schema("integer", key), reference(key->map), NULL));
    case WANTS_ROOM:
        return any_of(or_open(number_schema("integer", key), key), counts_schema(key), NULL);
    case WANTS_BOUNDS: return map_of(name_schema(), reference(key->map));
    case WANTS_LANE_BOUNDS: return map_of(lane_schema(), reference(key->map));
    }
    require(false);
    return NULL;
}

/* ---- keys ---- */

/* The default as data: a number, true or false, a list; else as the text that one would write. */
static json_t *default_of(const struct catalogue_key *key) {
    json_t *value = json_loads(key->preset, JSON_DECODE_ANY, NULL);
    return value != NULL ? value : text(key->preset);
}

/* What it means, what it wants, and what holds without it. */
static json_t *description(const struct catalogue_key *key) {
    char wants[CATALOGUE_WANTS_SIZE];
    const char *absent = key->absent != NULL ? key->absent : key->preset;
    const char *left_open = key->may_be_open ? " `find` leaves its number to `design`." : "";
    if (absent == NULL)
        return json_sprintf("%s. It wants %s.%s", key->says, catalogue_wants(key, wants),
                            left_open);
    return json_sprintf("%s. It wants %s.%s If left out: %s.", key->says,
                        catalogue_wants(key, wants), left_open, absent);
}

/* A schema beside $ref would be passed over, so that a reference stands in a list of one. */
static json_t *key_schema(const struct catalogue_key *key) {
    json_t *schema = value_schema(key), *wrapped = schema;
    if (json_object_get(schema, "$ref") != NULL) {
        json_t *list = json_array();
        wrapped = json_object();
        json_text_append(list, schema);
        json_text_put(wrapped, "allOf", list);
    }
    json_text_put(wrapped, "description", description(key));
    if (key->preset != NULL)
        json_text_put(wrapped, "default", default_of(key));
    return wrapped;
}

/* ---- keys that exclude or need each other ---- */

static json_t *has_key(const char *key) {
    json_t *schema = json_object(), *list = json_array();
    json_text_append(list, text(key));
    json_text_put(schema, "required", list);
    return schema;
}

static json_t *has_one_of(const char *const key[CATALOGUE_RULE_KEYS_MAX]) {
    json_t *schema = json_object(), *list = json_array();
    for (int i = 0; i < CATALOGUE_RULE_KEYS_MAX && key[i] != NULL; i++)
        json_text_append(list, has_key(key[i]));
    json_text_put(schema, "anyOf", list);
    return schema;
}

/* None of the keys from this one on: an editor then marks the one that is too much. */
static json_t *has_none_of(const char *const *key, int count) {
    json_t *schema = json_object(), *properties = json_object();
    for (int i = 0; i < count && key[i] != NULL; i++)
        json_text_put(properties, key[i], json_false());
    json_text_put(schema, "properties", properties);
    return schema;
}

/* Where one of them is there, none of those after it. */
static json_t *excludes(const char *const key[CATALOGUE_RULE_KEYS_MAX]) {
    json_t *schema = json_object(), *dependencies = json_object();
    for (int i = 0; i + 1 < CATALOGUE_RULE_KEYS_MAX && key[i + 1] != NULL; i++)
        json_text_put(dependencies, key[i],
                      has_none_of(&key[i + 1], CATALOGUE_RULE_KEYS_MAX - i - 1));
    json_text_put(schema, "dependencies", dependencies);
    return schema;
}

/* Where another key is there; a flag counts where it is true. */
static json_t *condition(const struct catalogue_map *map, const struct catalogue_rule *rule) {
    json_t *schema = has_one_of(rule->beside);
    if (catalogue_key(map, rule->beside[0])->type != WANTS_FLAG)
        return schema;
    json_t *properties = json_object(), *is_true = json_object();
    json_text_put(is_true, "const", json_true());
    json_text_put(properties, rule->beside[0], is_true);
    json_text_put(schema, "properties", properties);
    return schema;
}

static void add_rule(json_t *all, const struct catalogue_map *map,
                     const struct catalogue_rule *rule, json_t *schema) {
    if (rule->beside[0] == NULL) {
        json_text_append(all, schema);
        return;
    }
    json_t *conditional = json_object();
    json_text_put(conditional, "if", condition(map, rule));
    json_text_put(conditional, "then", schema);
    json_text_append(all, conditional);
}

static void put_rules(json_t *schema, const struct catalogue_map *map) {
    json_t *all = json_array();
    for (uint32_t i = 0; i < map->rule_count; i++) {
        const struct catalogue_rule *rule = &map->rule[i];
        if (rule->kind == RULE_NONE)
            add_rule(all, map, rule, has_none_of(rule->key, CATALOGUE_RULE_KEYS_MAX));
        else
            add_rule(all, map, rule, has_one_of(rule->key));
        if (rule->kind == RULE_ONE)
            add_rule(all, map, rule, excludes(rule->key));
    }
    if (map->rule_count > 0)
        json_text_put(schema, "allOf", all);
    else
        json_decref(all);
}

/* ---- maps ---- */

/* The keys that must be there: in any scenario, or those that only a brief may lack. */
static json_t *required_keys(const struct catalogue_map *map, bool but_in_a_brief) {
    json_t *required = json_array();
    for (uint32_t i = 0; i < map->key_count; i++)
        if (map->key[i].required && map->key[i].brief_lacks == but_in_a_brief)
            json_text_append(required, text(map->key[i].name));
    return required;
}

static void put_required(json_t *schema, json_t *required) {
    if (json_array_size(required) > 0)
        json_text_put(schema, "required", required);
    else
        json_decref(required);
}

static json_t *map_schema(enum catalogue_kind kind) {
    const struct catalogue_map *map = catalogue_map(kind);
    json_t *schema = of_type("object"), *properties = json_object();
    for (uint32_t i = 0; i < map->key_count; i++)
        json_text_put(properties, map->key[i].name, key_schema(&map->key[i]));
    json_text_put(schema, "description", text(map->says));
    json_text_put(schema, "properties", properties);
    put_required(schema, required_keys(map, false));
    json_text_put(schema, "additionalProperties", json_false());
    put_rules(schema, map);
    if (kind == CATALOGUE_SPAN) {
        json_text_put(schema, "minProperties", json_integer(1));
        json_text_put(schema, "maxProperties", json_integer(1));
    }
    return schema;
}

/* What the parts of a section must have in a scenario with arms, which is no brief. */
static json_t *complete_sections(const struct catalogue_map *map) {
    json_t *schema = json_object(), *properties = json_object();
    for (uint32_t i = 0; i < map->key_count; i++) {
        const struct catalogue_key *key = &map->key[i];
        json_t *part = json_object();
        if (key->type == WANTS_MAPS)
            put_required(part, required_keys(catalogue_map(key->map), true));
        if (json_object_size(part) == 0) {
            json_decref(part);
            continue;
        }
        json_t *section = json_object();
        json_text_put(section, "items", part);
        json_text_put(properties, key->name, section);
    }
    json_text_put(schema, "properties", properties);
    return schema;
}

static json_t *has_arms(void) {
    json_t *schema = has_key("arms"), *properties = json_object(), *arms = json_object();
    json_text_put(arms, "minItems", json_integer(1));
    json_text_put(properties, "arms", arms);
    json_text_put(schema, "properties", properties);
    return schema;
}

json_t *schema_make(void) {
    json_t *schema = json_object(), *definitions = json_object();
    char name[CATALOGUE_WANTS_SIZE];
    json_text_put(schema, "$schema", text("http://json-schema.org/draft-07/schema#"));
    json_text_put(schema, "title", text("A scenario for loopwright"));
    json_t *top = map_schema(CATALOGUE_SCENARIO);
    json_object_update(schema, top);
    json_decref(top);
    json_text_put(schema, "if", has_arms());
    json_text_put(schema, "then", complete_sections(catalogue_map(CATALOGUE_SCENARIO)));
    for (int kind = CATALOGUE_SCENARIO + 1; kind < CATALOGUE_KINDS; kind++)
        json_text_put(definitions, definition_name((enum catalogue_kind)kind, name),
                      map_schema((enum catalogue_kind)kind));
    json_text_put(schema, "definitions", definitions);
    return schema;
}

int schema_command(const struct options *options) {
    (void)options;
    char *printed = json_text_of(schema_make(), JSON_TEXT_DIGITS);
    fputs(printed, stdout);
    free(printed);
    return STATUS_HOLDS;
}
