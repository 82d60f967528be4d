/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/numbers.c - walks through the tree of a scenario. */
#include "tools/design/numbers.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "model/scenario/quantity.h"
#include "sim/array.h"
#include "sim/require.h"

struct walk {
    struct numbers *numbers;
    unsigned set;
};

static void note(const struct walk *walk, const char *path, const struct node *node) {
    struct numbers *numbers = walk->numbers;
    struct decimal decimal;
    int64_t value;
    if (node->kind != NODE_SCALAR || quantity_decimal(node->text, &decimal) != QUANTITY_FITS ||
        !quantity_integer(&decimal, &value))
        return;
    numbers->entry =
        array_with_room(numbers->entry, numbers->count, &numbers->capacity, sizeof *numbers->entry);
    numbers->entry[numbers->count++] = (struct number){require_text(path), value};
}

/* A path and one piece more, freed by the caller. */
static char *below(const char *path, const char *piece) {
    size_t room = strlen(path) + strlen(piece) + 2;
    char *own = require_memory(room, 1);
    snprintf(own, room, "%s.%s", path, piece);
    return own;
}

static bool is_threshold(const char *key) {
    return strcmp(key, "below") == 0 || strcmp(key, "at_least") == 0 ||
           strcmp(key, "reopen_below") == 0;
}

/* A gate at a path, and those that it is made of. */
static void walk_gate(const struct walk *walk, const char *path, const struct node *gate) {
    for (uint32_t i = 0; gate->kind == NODE_MAP && i < gate->count; i++) {
        const struct node *value = gate->child[2 * i + 1];
        char *own = below(path, gate->child[2 * i]->text), number[16];
        if (is_threshold(gate->child[2 * i]->text))
            note(walk, own, value);
        for (uint32_t k = 0; value->kind == NODE_LIST && k < value->count; k++) {
            snprintf(number, sizeof number, "%u", k);
            char *member = below(own, number);
            walk_gate(walk, member, value->child[k]);
            free(member);
        }
        free(own);
    }
}

static void walk_limits(const struct walk *walk, const char *path, const struct node *limits) {
    for (uint32_t i = 0; limits->kind == NODE_MAP && i < limits->count; i++) {
        char *own = below(path, limits->child[2 * i]->text);
        note(walk, own, limits->child[2 * i + 1]);
        free(own);
    }
}

static void walk_part(const struct walk *walk, const char *section, const struct node *part) {
    const struct node *name = yaml_tree_find(part, "name");
    for (uint32_t i = 0; name != NULL && i < part->count; i++) {
        const char *key = part->child[2 * i]->text;
        const struct node *value = part->child[2 * i + 1];
        char *named = below(section, name->text), *path = below(named, key);
        if (strcmp(key, "gate") == 0 && (walk->set & NUMBERS_THRESHOLDS) != 0)
            walk_gate(walk, path, value);
        if (strcmp(key, "capacity") == 0 && (walk->set & NUMBERS_CAPACITIES) != 0)
            note(walk, path, value);
        if (strcmp(key, "limits") == 0 && (walk->set & NUMBERS_LIMITS) != 0)
            walk_limits(walk, path, value);
        if (strcmp(key, "ahead") == 0 && (walk->set & NUMBERS_TRAYS) != 0)
            note(walk, path, value);
        if (strcmp(key, "hand") == 0 && (walk->set & NUMBERS_HANDS) != 0)
            note(walk, path, value);
        free(path);
        free(named);
    }
}

void numbers_list(struct numbers *numbers, const char *text, unsigned set) {
    static const char *const section[] = {"chests", "stations", "arms", "supplies"};
    struct faults faults = {0};
    struct walk walk = {numbers, set};
    struct draft *draft = read_draft(text, strlen(text), "", NULL, 0, &faults);
    for (size_t k = 0; draft != NULL && k < sizeof section / sizeof *section; k++) {
        const struct node *list = yaml_tree_find(draft->tree.root, section[k]);
        for (uint32_t i = 0; list != NULL && list->kind == NODE_LIST && i < list->count; i++)
            walk_part(&walk, section[k], list->child[i]);
    }
    draft_free(draft);
    faults_free(&faults);
}

void numbers_free(struct numbers *numbers) {
    for (uint32_t i = 0; i < numbers->count; i++)
        free(numbers->entry[i].path);
    free(numbers->entry);
    *numbers = (struct numbers){0};
}

bool numbers_is_capacity(const char *path) {
    static const char end[] = ".capacity";
    size_t length = strlen(path);
    return strncmp(path, "chests.", 7) == 0 && length > sizeof end &&
           strcmp(path + length - (sizeof end - 1), end) == 0;
}
