/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_draft.c - what a draft leaves open. In a draft it is noted and replaced by
 * something valid, so that all else is read and checked like any scenario; elsewhere it is refused.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/draft.h"
#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/array.h"
#include "sim/require.h"
#include "sim/text_stream.h"

static const char open_word[] = "find";
static const char may_key[] = "may";

/* ---- numbers that may be open ---- */

/* The keys whose values may be `find`, with what stands in for it. */
static const struct {
    const char *key;
    enum draft_open_kind kind;
    const char *stand_in;
} open_table[] = {
    {"below", DRAFT_COUNT, "1000000"},  {"at_least", DRAFT_COUNT, "1000000"},
    {"reopen_below", DRAFT_COUNT, "1"}, {"ahead", DRAFT_COUNT, "2"},
    {"room", DRAFT_COUNT, "2"},         {"capacity", DRAFT_CAPACITY, "1000000"},
    {"cells", DRAFT_CELLS, "1000000"},  {"rate", DRAFT_RATE, "1"},
    {"hand", DRAFT_HAND, "1"},          {"swing", DRAFT_SWING, "1 s"},
    {"from", DRAFT_PLACE, NULL},        {"to", DRAFT_PLACE, NULL},
};
enum { OPEN_KEYS = sizeof open_table / sizeof *open_table };

/* Maps of items whose counts may be open. */
static const struct {
    const char *key, *stand_in;
} open_map_table[] = {{"limits", "1000000"}, {"start", "0"}, {"room", "1000000"}};
enum { OPEN_MAPS = sizeof open_map_table / sizeof *open_map_table };

/* A member on the way from the root to a node: by its name, or by its number in a list. */
struct step {
    const struct step *before; /* NULL: a member of the root */
    const char *name;          /* NULL: `number` */
    uint32_t number;
};

/* A walk through the tree. */
struct walk {
    struct reading *reading;
    const char *map_stand_in; /* of the counts of a map of items; NULL: it is none */
};

static void print_path(FILE *out, const struct step *step) {
    if (step->before != NULL) {
        print_path(out, step->before);
        fputc('.', out);
    }
    if (step->name != NULL)
        fputs(step->name, out);
    else
        fprintf(out, "%" PRIu32, step->number);
}

/* The way to a node as a path, freed with free(). */
static char *path_of(const struct step *step) {
    struct text_stream stream;
    print_path(text_stream_begin(&stream), step);
    return text_stream_end(&stream);
}

/* Few texts do. */
static bool ends_as_open(const struct node *node) {
    size_t length = sizeof open_word - 1;
    return node->count >= length &&
           memcmp(node->text + node->count - length, open_word, length) == 0;
}

/* `find`, or a place that ends with @find. */
static bool is_open(const struct node *node, enum draft_open_kind kind) {
    if (node->kind != NODE_SCALAR || !node->plain)
        return false;
    if (kind != DRAFT_PLACE)
        return strcmp(node->text, open_word) == 0;
    const char *at = strrchr(node->text, '@');
    return at != NULL && strcmp(at + 1, open_word) == 0;
}

static void refuse(struct reading *reading, struct node *node) {
    fault_help(
        reading_error(reading, node, "`%s` leaves a number open", yaml_tree_shown(node->text).text),
        "`loopwright design` finds it and writes a complete scenario");
    node->kind = NODE_BROKEN;
}

static void become(struct reading *reading, struct node *node, const char *text) {
    *node = *yaml_tree_new_text(&reading->tree, node, text);
}

static void note_open(struct walk *walk, const struct step *step, struct node *node,
                      enum draft_open_kind kind, const char *stand_in) {
    struct draft *draft = walk->reading->draft;
    if (draft == NULL) {
        refuse(walk->reading, node);
        return;
    }
    draft->open =
        array_with_room(draft->open, draft->open_count, &draft->open_capacity, sizeof *draft->open);
    struct draft_open *open = &draft->open[draft->open_count++];
    *open = (struct draft_open){.path = path_of(step),
                                .kind = kind,
                                .in_file = node->source == 0,
                                .line = node->line,
                                .column = node->column,
                                .width = node->width};
    if (kind != DRAFT_PLACE) {
        become(walk->reading, node, stand_in);
        return;
    }
    open->place = require_text(node->text);
    *strrchr(open->place, '@') = '\0';
    char *place = require_memory(strlen(open->place) + sizeof "@0", 1);
    sprintf(place, "%s@0", open->place);
    become(walk->reading, node, place);
    free(place);
}

/* `step` leads to the node and is NULL at the root; `key` is that of a map that has it. */
static void look_at_value(struct walk *walk, const struct step *step, const char *key,
                          struct node *node) {
    if (step == NULL || !ends_as_open(node))
        return;
    if (walk->map_stand_in != NULL) {
        if (is_open(node, DRAFT_COUNT))
            note_open(walk, step, node, DRAFT_COUNT, walk->map_stand_in);
        return;
    }
    for (int i = 0; i < OPEN_KEYS; i++)
        if (strcmp(open_table[i].key, key) == 0 && is_open(node, open_table[i].kind))
            note_open(walk, step, node, open_table[i].kind, open_table[i].stand_in);
}

static bool is_expect(const struct step *step) {
    return step != NULL && step->before == NULL && step->name != NULL &&
           yaml_tree_same(step->name, "expect");
}

static void look_into(struct walk *walk, const struct step *step, const char *key,
                      struct node *node);

/* What a member of a list is called in a path: by its name in a section, else by its number. */
static void look_into_list(struct walk *walk, const struct step *step, struct node *list) {
    bool section = step == NULL || step->before == NULL;
    for (uint32_t i = 0; i < list->count; i++) {
        struct node *member = list->child[i];
        const struct node *name =
            section && member->kind == NODE_MAP ? yaml_tree_find(member, "name") : NULL;
        bool named = name != NULL && name->kind == NODE_SCALAR;
        struct step next = {step, named ? name->text : NULL, i};
        look_into(walk, &next, "", member);
    }
}

static void look_into_map(struct walk *walk, const struct step *step, const char *key,
                          struct node *map) {
    const char *before = walk->map_stand_in;
    for (int i = 0; i < OPEN_MAPS; i++)
        if (yaml_tree_same(open_map_table[i].key, key))
            walk->map_stand_in = open_map_table[i].stand_in;
    for (uint32_t i = 0; i < map->count; i++) {
        struct step next = {.before = step, .name = map->child[2 * i]->text};
        look_into(walk, &next, next.name, map->child[2 * i + 1]);
    }
    walk->map_stand_in = before;
}

static void look_into(struct walk *walk, const struct step *step, const char *key,
                      struct node *node) {
    if (is_expect(step)) /* what should come out is no number to be found */
        return;
    switch (node->kind) {
    case NODE_SCALAR: look_at_value(walk, step, key, node); break;
    case NODE_LIST: look_into_list(walk, step, node); break;
    case NODE_MAP: look_into_map(walk, step, key, node); break;
    case NODE_BROKEN: break;
    }
}

/* ---- sections ---- */

static uint32_t find_key(const struct node *map, const char *key) {
    for (uint32_t i = 0; i < map->count; i++)
        if (strcmp(map->child[2 * i]->text, key) == 0)
            return i;
    return NO_INDEX;
}

/* Takes `may` out of the tree; NULL: there is none. */
static struct node *take_may(struct draft *draft, struct node *root) {
    uint32_t index = find_key(root, may_key);
    if (index == NO_INDEX)
        return NULL;
    struct node *may = root->child[2 * index + 1];
    draft->has_may = true;
    draft->may_in_file = root->child[2 * index]->source == 0;
    draft->may_line = root->child[2 * index]->line;
    yaml_tree_remove(root, index);
    return may;
}

static bool has_parts(const struct node *root, const char *section) {
    const struct node *list = yaml_tree_find(root, section);
    return list != NULL && (list->kind == NODE_BROKEN || list->count > 0);
}

/* ---- chests that are not named ---- */

static bool name_is_used(const struct node *root, const char *name) {
    for (uint32_t i = 0; i < root->count; i++) {
        const struct node *list = root->child[2 * i + 1];
        for (uint32_t k = 0; list->kind == NODE_LIST && k < list->count; k++) {
            const struct node *own =
                list->child[k]->kind == NODE_MAP ? yaml_tree_find(list->child[k], "name") : NULL;
            if (own != NULL && own->kind == NODE_SCALAR && strcmp(own->text, name) == 0)
                return true;
        }
    }
    return false;
}

static void add_pair(struct reading *reading, struct node *map, const char *key,
                     struct node *value) {
    yaml_tree_append_pair(&reading->tree, map, yaml_tree_new_text(&reading->tree, map, key), value);
}

/* Adds the chest that stands in, last. */
static void add_stand_in(struct reading *reading) {
    struct node *root = reading->tree.root, *list = yaml_tree_find(root, "chests");
    struct draft *draft = reading->draft;
    char name[32] = "unplaced";
    for (unsigned i = 2; name_is_used(root, name); i++)
        snprintf(name, sizeof name, "unplaced-%u", i);
    draft->stand_in = require_text(name);
    if (list == NULL) {
        list = yaml_tree_new_list(&reading->tree, root);
        add_pair(reading, root, "chests", list);
    }
    if (list->kind != NODE_LIST)
        return;
    struct node *chest = yaml_tree_new_map(&reading->tree, root);
    add_pair(reading, chest, "name", yaml_tree_new_text(&reading->tree, root, name));
    yaml_tree_append(&reading->tree, list, chest);
}

static void place_streams(struct reading *reading, const char *section) {
    struct node *list = yaml_tree_find(reading->tree.root, section);
    for (uint32_t i = 0; list != NULL && list->kind == NODE_LIST && i < list->count; i++) {
        struct node *stream = list->child[i];
        if (stream->kind != NODE_MAP || yaml_tree_find(stream, "chest") != NULL)
            continue;
        if (reading->draft->stand_in == NULL)
            add_stand_in(reading);
        add_pair(reading, stream, "chest",
                 yaml_tree_new_text(&reading->tree, stream, reading->draft->stand_in));
    }
}

/* ---- both ways ---- */

/* The first part of a section that names no chest; NULL: all do. */
static const struct node *unplaced(const struct node *root, const char *section) {
    const struct node *list = yaml_tree_find(root, section);
    for (uint32_t i = 0; list != NULL && list->kind == NODE_LIST && i < list->count; i++)
        if (list->child[i]->kind == NODE_MAP && yaml_tree_find(list->child[i], "chest") == NULL)
            return list->child[i];
    return NULL;
}

/* Of a brief, of which everything would be wrong, this alone is said. */
static bool refuse_brief(struct reading *reading, struct node *root) {
    const struct node *supply = unplaced(root, "supplies"), *demand = unplaced(root, "demands");
    if (has_parts(root, "arms") || (supply == NULL && demand == NULL))
        return false;
    fault_help(reading_error(reading, supply != NULL ? supply : demand,
                             "a brief: there are no arms, and this %s names no `chest`",
                             supply != NULL ? "supply" : "demand"),
               "`loopwright design` makes a scenario of it");
    root->kind = NODE_BROKEN;
    return true;
}

void read_draft_refuse(struct reading *reading) {
    struct node *root = reading->tree.root;
    if (root->kind != NODE_MAP || refuse_brief(reading, root))
        return;
    uint32_t index = find_key(root, may_key);
    if (index != NO_INDEX) {
        fault_help(reading_error(reading, root->child[2 * index],
                                 "`may` says what a design can use, and this is not `design`"),
                   "`loopwright design` completes the scenario and takes `may` out");
        yaml_tree_remove(root, index);
    }
    struct walk walk = {.reading = reading};
    look_into(&walk, NULL, "", root);
}

struct node *read_draft_open(struct reading *reading) {
    struct node *root = reading->tree.root;
    if (root->kind != NODE_MAP)
        return NULL;
    struct node *may = take_may(reading->draft, root);
    struct walk walk = {.reading = reading};
    look_into(&walk, NULL, "", root);
    reading->draft->is_brief = !has_parts(root, "arms");
    if (!reading->draft->is_brief)
        return may;
    place_streams(reading, "supplies");
    place_streams(reading, "demands");
    return may;
}

/* ---- what a brief must have ---- */

static bool comes_from_somewhere(const struct scenario *scenario, uint32_t item) {
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (scenario->supply[i].item == item)
            return true;
    for (uint32_t s = 0; s < scenario->station_count; s++)
        for (uint32_t i = 0; i < scenario->station[s].makes_count; i++)
            if (scenario->station[s].makes[i].item == item)
                return true;
    return false;
}

static void miss_item(struct reading *reading, const struct node *part, const char *key,
                      const char *verb, uint32_t item) {
    const struct node *node = yaml_tree_find(part, key);
    const char *name = reading->scenario->item[item].name;
    for (uint32_t i = 0; node != NULL && node->kind == NODE_MAP && i < node->count; i++)
        if (strcmp(node->child[2 * i]->text, name) == 0) {
            node = node->child[2 * i];
            break;
        }
    fault_help(reading_error(reading, node != NULL ? node : part,
                             "`%s` is %s, but nothing supplies or makes it", name, verb),
               "add a supply of it, or a station that makes it");
}

void read_draft_check_brief(struct reading *reading) {
    const struct scenario *scenario = reading->scenario;
    for (uint32_t s = 0; s < scenario->station_count; s++)
        for (uint32_t i = 0; i < scenario->station[s].takes.count; i++)
            if (!comes_from_somewhere(scenario, scenario->station[s].takes.entry[i].item))
                miss_item(reading, reading->part[THING_STATION][s], "takes", "taken",
                          scenario->station[s].takes.entry[i].item);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!comes_from_somewhere(scenario, scenario->demand[i].item))
            miss_item(reading, reading->part[THING_DEMAND][i], "item", "demanded",
                      scenario->demand[i].item);
}
