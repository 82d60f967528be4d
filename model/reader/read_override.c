/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_override.c - applies one change to a scenario, "section.name.key.key=VALUE".
 * It changes the tree before anything is checked, so that what it sets is checked like the rest. */
#include <stdlib.h>
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

enum { PIECES_MAX = LIMIT_DEPTH };

/* An override taken apart. */
struct change {
    struct node *piece[PIECES_MAX]; /* of the path, each at its own place */
    uint32_t count;
    struct node *value; /* NULL: what the path names is to be taken away */
};

/* ---- taking an override apart ---- */

/* The place of `bytes` bytes of an override from byte `start` on. */
static struct node place_in(uint32_t source, const char *text, size_t start, size_t bytes) {
    struct node place = {.source = source, .line = 1, .column = 1};
    for (size_t i = 0; i < start + bytes; i++)
        if (((unsigned char)text[i] & 0xC0) != 0x80)
            *(i < start ? &place.column : &place.width) += 1;
    return place;
}

static bool split_path(struct reading *reading, uint32_t source, const char *text, size_t length,
                       struct change *change) {
    size_t start = 0;
    while (start <= length) {
        size_t bytes = 0;
        while (start + bytes < length && text[start + bytes] != '.')
            bytes++;
        struct node place = place_in(source, text, start, bytes);
        if (bytes == 0 || change->count == PIECES_MAX) {
            reading_error(reading, &place, "a path is section.name.key, with no piece left empty");
            return false;
        }
        char *piece = memcpy(require_memory(bytes + 1, 1), text + start, bytes);
        change->piece[change->count++] = yaml_tree_new_text(&reading->tree, &place, piece);
        free(piece);
        start += bytes + 1;
    }
    return true;
}

static bool read_change(struct reading *reading, const char *override, struct change *change) {
    size_t length = strlen(override);
    char *name = require_memory(length + 8, 1);
    memcpy(name, "--set ", 6);
    memcpy(name + 6, override, length);
    uint32_t source = yaml_tree_add_source(&reading->tree, name, override, length, false);
    free(name);
    const char *equals = strchr(override, '=');
    struct node all = place_in(source, override, 0, length);
    if (equals == NULL) {
        fault_help(reading_error(reading, &all, "a change is written PATH=VALUE"),
                   "loopwright paths SCENARIO lists all paths");
        return false;
    }
    size_t path_length = (size_t)(equals - override);
    bool readable;
    struct node *value =
        yaml_tree_parse(&reading->tree, source, path_length + 1, reading->faults, &readable);
    if (!readable || (value != NULL && value->kind == NODE_BROKEN) ||
        !split_path(reading, source, override, path_length, change))
        return false;
    if (value == NULL || (value->plain && value->count == 0)) {
        fault_help(reading_error(reading, &all, "there is no value after `=`"),
                   "`null` removes what the path names");
        return false;
    }
    change->value = yaml_tree_is_null(value) ? NULL : value;
    return true;
}

/* Incidents may be meant by their position. */
static bool is_position(const struct node *section_piece, const struct node *piece) {
    return strcmp(section_piece->text, "incidents") == 0 && piece->text[0] >= '0' &&
           piece->text[0] <= '9';
}

/* ---- words to suggest ---- */
static const char *key_of_map(const void *from, uint32_t index) {
    const struct node *map = from;
    return map->child[2 * index]->text;
}

static const char *name_of_part(const void *from, uint32_t index) {
    const struct node *section = from;
    const struct node *part = section->child[index];
    const struct node *name = part->kind == NODE_MAP ? yaml_tree_find(part, "name") : NULL;
    return name != NULL && name->kind == NODE_SCALAR ? name->text : NULL;
}

static const char *key_of_catalogue(const void *from, uint32_t index) {
    const struct catalogue_map *map = from;
    return map->key[index].name;
}

/* ---- changing what a path names ---- */
static uint32_t find_key(const struct node *map, const char *key) {
    for (uint32_t i = 0; i < map->count; i++)
        if (strcmp(map->child[2 * i]->text, key) == 0)
            return i;
    return NO_INDEX;
}

/* The member of a list that a piece of a path means by its number; NO_INDEX, reported, when none.
 */
static uint32_t find_member(struct reading *reading, const struct node *list,
                            const struct node *piece) {
    struct decimal decimal;
    int64_t index;
    if (quantity_decimal(piece->text, &decimal) == QUANTITY_FITS &&
        quantity_integer(&decimal, &index) && index >= 0 && index < (int64_t)list->count)
        return (uint32_t)index;
    struct fault *fault = reading_error(reading, piece, "a list has no member `%s`",
                                        yaml_tree_shown(piece->text).text);
    if (list->count == 0)
        fault_note(fault, "it is empty");
    else
        fault_note(fault, "its members are 0 to %u", list->count - 1);
    return NO_INDEX;
}

static bool tell_nothing_there(struct reading *reading, const struct node *map,
                               const struct node *piece) {
    struct fault *fault = reading_error(reading, piece, "there is no `%s` to remove",
                                        yaml_tree_shown(piece->text).text);
    reading_suggest(reading, fault, piece->text, key_of_map, map, map->count);
    return false;
}

/* Sets or takes away the key that is the last piece of the path. */
static bool change_key(struct reading *reading, struct node *map, struct node *piece,
                       struct node *value) {
    uint32_t index = find_key(map, piece->text);
    if (index != NO_INDEX && value != NULL)
        map->child[2 * index + 1] = value;
    else if (index != NO_INDEX)
        yaml_tree_remove(map, index);
    else if (value != NULL)
        yaml_tree_append_pair(&reading->tree, map, piece, value);
    else
        return tell_nothing_there(reading, map, piece);
    return true;
}

/* The value that one more piece of the path leads to, made when it is missing in a map. */
static struct node *step_down(struct reading *reading, struct node *node, struct node *piece) {
    if (node->kind == NODE_LIST) {
        uint32_t member = find_member(reading, node, piece);
        return member != NO_INDEX ? node->child[member] : NULL;
    }
    struct node *found = yaml_tree_find(node, piece->text);
    if (found == NULL) {
        found = yaml_tree_new_map(&reading->tree, piece);
        yaml_tree_append_pair(&reading->tree, node, piece, found);
    }
    return found;
}

/* Changes what the pieces from `next` on name within `node`. */
static bool change_within(struct reading *reading, struct node *node, const struct change *change,
                          uint32_t next) {
    for (; node != NULL; node = step_down(reading, node, change->piece[next++])) {
        struct node *piece = change->piece[next];
        if (node->kind == NODE_BROKEN)
            return false;
        if (node->kind == NODE_SCALAR) {
            reading_error(reading, piece, "`%s` has no parts: it is %s here",
                          yaml_tree_shown(change->piece[next - 1]->text).text,
                          reading_found(node).text);
            return false;
        }
        if (next + 1 < change->count)
            continue;
        if (node->kind == NODE_MAP)
            return change_key(reading, node, piece, change->value);
        uint32_t member = find_member(reading, node, piece);
        if (member != NO_INDEX && change->value != NULL)
            node->child[member] = change->value;
        else if (member != NO_INDEX)
            yaml_tree_remove(node, member);
        return member != NO_INDEX;
    }
    return false;
}

/* ---- whole parts ---- */
static bool wants_map(struct reading *reading, const struct node *value) {
    if (value->kind != NODE_MAP)
        reading_error(reading, value, "a part is written as a map, not %s",
                      reading_found(value).text);
    return value->kind == NODE_MAP;
}

/* Tells a part that is not in its section. */
static bool tell_no_part(struct reading *reading, const struct node *section,
                         const struct node *section_piece, const struct node *piece) {
    struct fault *fault = reading_error(reading, piece, "there is no `%s` in `%s`",
                                        yaml_tree_shown(piece->text).text, section_piece->text);
    bool list = section->kind == NODE_LIST;
    if (is_position(section_piece, piece) && section->count > 0)
        fault_note(fault, "positions are 0 to %u", section->count - 1);
    reading_suggest(reading, fault, piece->text, list ? name_of_part : key_of_map, section,
                    section->count);
    return false;
}

/* Gives a map the name that the path says; another name in it is an error. */
static bool name_part(struct reading *reading, struct node *part, struct node *piece) {
    struct node *name = yaml_tree_find(part, "name");
    if (name == NULL) {
        struct node *key = yaml_tree_new_text(&reading->tree, piece, "name");
        yaml_tree_insert_pair(&reading->tree, part, key, piece);
        return true;
    }
    bool same = name->kind == NODE_SCALAR && strcmp(name->text, piece->text) == 0;
    if (!same)
        reading_error(reading, name, "the path and `name` differ");
    return same;
}

/* Index of the part that a piece names, NO_INDEX: none. */
static uint32_t find_part(const struct node *section, const struct node *section_piece,
                          const struct node *piece) {
    struct decimal decimal;
    int64_t position;
    for (uint32_t i = 0; i < section->count; i++) {
        const char *name = name_of_part(section, i);
        if (name != NULL && strcmp(name, piece->text) == 0)
            return i;
    }
    if (is_position(section_piece, piece) &&
        quantity_decimal(piece->text, &decimal) == QUANTITY_FITS &&
        quantity_integer(&decimal, &position) && position < (int64_t)section->count)
        return (uint32_t)position;
    return NO_INDEX;
}

/* Sets, adds or takes away a whole part. */
static bool change_part(struct reading *reading, struct node *section, const struct change *change,
                        uint32_t index) {
    struct node *piece = change->piece[1], *value = change->value;
    bool positional = is_position(change->piece[0], piece);
    if (index == NO_INDEX && (value == NULL || positional))
        return tell_no_part(reading, section, change->piece[0], piece);
    if (value == NULL) {
        yaml_tree_remove(section, index);
        return true;
    }
    if (!wants_map(reading, value) || (!positional && !name_part(reading, value, piece)))
        return false;
    if (index == NO_INDEX)
        yaml_tree_append(&reading->tree, section, value);
    else
        section->child[index] = value;
    return true;
}

static bool change_section_of_parts(struct reading *reading, struct node *section,
                                    const struct change *change) {
    uint32_t index = find_part(section, change->piece[0], change->piece[1]);
    if (change->count == 2)
        return change_part(reading, section, change, index);
    if (index == NO_INDEX)
        return tell_no_part(reading, section, change->piece[0], change->piece[1]);
    return change_within(reading, section->child[index], change, 2);
}

/* ---- items ---- */

/* A list of names as the map that it stands for; NULL when it is not all names. */
static struct node *items_as_map(struct reading *reading, const struct node *list) {
    struct node *map = yaml_tree_new_map(&reading->tree, list);
    map->child = yaml_tree_memory(&reading->tree, (size_t)list->count * 2 * sizeof(struct node *));
    for (uint32_t i = 0; i < list->count; i++) {
        if (list->child[i]->kind != NODE_SCALAR)
            return NULL;
        map->child[2 * i] = list->child[i];
        map->child[2 * i + 1] = yaml_tree_new_map(&reading->tree, list->child[i]);
    }
    map->count = list->count;
    return map;
}

static bool change_items(struct reading *reading, struct node *items, const struct change *change) {
    struct node *piece = change->piece[1], *value = change->value;
    uint32_t index = find_key(items, piece->text);
    if (change->count > 2 && index != NO_INDEX)
        return change_within(reading, items->child[2 * index + 1], change, 2);
    if (change->count > 2 || (index == NO_INDEX && value == NULL))
        return tell_no_part(reading, items, change->piece[0], piece);
    if (value != NULL && !wants_map(reading, value))
        return false;
    return change_key(reading, items, piece, value);
}

/* ---- sections ---- */

/* The node of a section, made when it is missing; NULL when it is not of its kind, which is
 * reported when the sections are read. */
static struct node *section_node(struct reading *reading, struct node *piece, bool list) {
    struct node *root = reading->tree.root;
    uint32_t index = find_key(root, piece->text);
    if (index == NO_INDEX) {
        struct node *made = list ? yaml_tree_new_list(&reading->tree, piece)
                                 : yaml_tree_new_map(&reading->tree, piece);
        yaml_tree_append_pair(&reading->tree, root, piece, made);
        return made;
    }
    struct node **section = &root->child[2 * index + 1];
    bool items = strcmp(piece->text, "items") == 0;
    if (items && (*section)->kind == NODE_LIST) {
        struct node *map = items_as_map(reading, *section);
        *section = map != NULL ? map : *section;
    }
    return (*section)->kind == (list ? NODE_LIST : NODE_MAP) ? *section : NULL;
}

static bool is_known_section(struct reading *reading, const struct node *piece) {
    const struct catalogue_map *map = catalogue_map(CATALOGUE_SCENARIO);
    for (uint32_t i = 0; i < map->key_count; i++)
        if (strcmp(map->key[i].name, piece->text) == 0)
            return true;
    struct fault *fault =
        reading_error(reading, piece, "unknown section `%s`", yaml_tree_shown(piece->text).text);
    reading_suggest(reading, fault, piece->text, key_of_catalogue, map, map->key_count);
    return false;
}

static bool is_list_of_parts(const char *section) {
    static const char *const maps[] = {"title", "clock", "run", "watch", "items", "expect", "may"};
    for (size_t i = 0; i < sizeof maps / sizeof *maps; i++)
        if (strcmp(section, maps[i]) == 0)
            return false;
    return true;
}

bool read_override(struct reading *reading, const char *override) {
    struct change change = {.count = 0};
    struct node *root = reading->tree.root;
    if (!read_change(reading, override, &change) || !is_known_section(reading, change.piece[0]) ||
        root->kind != NODE_MAP)
        return false;
    const char *section = change.piece[0]->text;
    if (change.count == 1 || strcmp(section, "title") == 0)
        return change_within(reading, root, &change, 0);
    bool list = is_list_of_parts(section);
    struct node *node = section_node(reading, change.piece[0], list);
    if (node == NULL)
        return false;
    if (list)
        return change_section_of_parts(reading, node, &change);
    if (strcmp(section, "items") == 0)
        return change_items(reading, node, &change);
    return change_within(reading, node, &change, 1);
}
