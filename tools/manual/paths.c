/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/paths.c - the command `paths`: walks the catalogue of keys with the names of a
 * scenario. */
#include <stdio.h>
#include <string.h>

#include "model/scenario/catalogue.h"
#include "tools/base/command.h"
#include "tools/base/load.h"
#include "tools/base/status.h"

enum { PATH_BYTES = 400 };

/* A line for a path, one for each word that its value may be. */
static void print_path(const char *path, const struct catalogue_key *key) {
    static const char *const flags[CATALOGUE_WORDS_MAX] = {"false", "true"};
    const char *const *word = key->type == WANTS_FLAG ? flags : key->word;
    bool has_words = key->type == WANTS_FLAG || key->type == WANTS_WORD;
    for (int i = 0; has_words && i < CATALOGUE_WORDS_MAX && word[i] != NULL; i++)
        printf("%s=%s\n", path, word[i]);
    if (!has_words)
        printf("%s=\n", path);
}

static void print_items(const struct scenario *scenario, const char *path) {
    for (uint32_t i = 0; i < scenario->item_count; i++)
        printf("%s.%s=\n", path, scenario->item[i].name);
}

/* A key below `path`, and what may be below it in turn. */
static void print_key(const struct scenario *scenario, const char *path,
                      const struct catalogue_key *key) {
    char deeper[PATH_BYTES];
    snprintf(deeper, sizeof deeper, "%s.%s", path, key->name);
    print_path(deeper, key);
    if (key->type == WANTS_COUNTS || key->type == WANTS_OUTPUTS || key->type == WANTS_ROOM)
        print_items(scenario, deeper);
    const struct catalogue_map *map = key->type == WANTS_MAP ? catalogue_map(key->map) : NULL;
    for (uint32_t i = 0; map != NULL && i < map->key_count; i++)
        print_key(scenario, deeper, &map->key[i]);
}

/* What is below one part of a section, but its name, which does not change. */
static void print_part(const struct scenario *scenario, const struct catalogue_key *section,
                       const char *name) {
    const struct catalogue_map *map = catalogue_map(section->map);
    char path[PATH_BYTES];
    snprintf(path, sizeof path, "%s.%s", section->name, name);
    for (uint32_t i = 0; i < map->key_count; i++)
        if (strcmp(map->key[i].name, "name") != 0)
            print_key(scenario, path, &map->key[i]);
}

#define PARTS(kind, array, count)                                                                  \
    case kind:                                                                                     \
        for (uint32_t i = 0; i < scenario->count; i++)                                             \
            print_part(scenario, section, scenario->array[i].name);                                \
        break

static void print_incidents(const struct scenario *scenario, const struct catalogue_key *section) {
    char number[16];
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        snprintf(number, sizeof number, "%u", i);
        print_part(scenario, section,
                   scenario->incident[i].name != NULL ? scenario->incident[i].name : number);
    }
}

static void print_section(const struct scenario *scenario, const struct catalogue_key *section) {
    switch ((int)section->map) {
        PARTS(CATALOGUE_ITEM, item, item_count);
        PARTS(CATALOGUE_LOOP, loop, loop_count);
        PARTS(CATALOGUE_LINE, line, line_count);
        PARTS(CATALOGUE_CHEST, chest, chest_count);
        PARTS(CATALOGUE_STATION, station, station_count);
        PARTS(CATALOGUE_ARM, arm, arm_count);
        PARTS(CATALOGUE_SUPPLY, supply, supply_count);
        PARTS(CATALOGUE_DEMAND, demand, demand_count);
    case CATALOGUE_INCIDENT: print_incidents(scenario, section); break;
    default: break;
    }
}

static void print_paths(const struct scenario *scenario) {
    const struct catalogue_map *top = catalogue_map(CATALOGUE_SCENARIO);
    for (uint32_t i = 0; i < top->key_count; i++) {
        const struct catalogue_key *key = &top->key[i];
        const struct catalogue_map *map = catalogue_map(key->map);
        if (key->type == WANTS_TEXT)
            print_path(key->name, key);
        for (uint32_t k = 0; key->type == WANTS_MAP && k < map->key_count; k++)
            print_key(scenario, key->name, &map->key[k]);
        if (key->type == WANTS_MAPS || key->type == WANTS_ITEMS)
            print_section(scenario, key);
    }
}

int paths_command(const struct options *options) {
    int status = STATUS_HOLDS;
    struct scenario *scenario = load_scenario(options, "paths", options->operand, &status);
    if (scenario == NULL)
        return status;
    print_paths(scenario);
    scenario_free(scenario);
    return STATUS_HOLDS;
}
