/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/yaml_tree.c - allocates a YAML tree, records the places of its nodes, and changes
 * it. */
#include "model/reader/yaml_tree.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

/* ---- memory ---- */
enum { BLOCK_BYTES = 1 << 20 };

struct tree_block {
    struct tree_block *next;
    size_t used, size;
    max_align_t memory[];
};

void *yaml_tree_memory(struct yaml_tree *tree, size_t bytes) {
    size_t rounded = (bytes + 7) & ~(size_t)7;
    struct tree_block *block = tree->block;
    if (block == NULL || block->size - block->used < rounded) {
        size_t size = rounded > BLOCK_BYTES ? rounded : BLOCK_BYTES;
        block = require_more_memory(NULL, 1, sizeof *block + size);
        *block = (struct tree_block){.next = tree->block, .size = size};
        tree->block = block;
    }
    void *memory = (char *)block->memory + block->used;
    block->used += rounded;
    return memory;
}

void yaml_tree_free(struct yaml_tree *tree) {
    while (tree->block != NULL) {
        struct tree_block *block = tree->block;
        tree->block = block->next;
        free(block);
    }
    for (uint32_t i = 0; i < tree->source_count; i++) {
        free(tree->source[i].name);
        free(tree->source[i].line_start);
        free(tree->source[i].characters);
    }
    free(tree->source);
    *tree = (struct yaml_tree){0};
}

/* ---- sources and places ---- */
uint32_t yaml_tree_add_source(struct yaml_tree *tree, const char *name, const char *text,
                              size_t length, bool has_lines) {
    tree->source = require_more_memory(tree->source, tree->source_count + 1, sizeof *tree->source);
    tree->source[tree->source_count] = (struct yaml_tree_source){
        .name = require_text(name), .text = text, .length = length, .has_lines = has_lines};
    return tree->source_count++;
}

static bool begins_character(char byte) { return ((unsigned char)byte & 0xC0) != 0x80; }

static void find_lines(struct yaml_tree_source *source) {
    uint32_t capacity = 64;
    source->line_start = require_memory(capacity, sizeof *source->line_start);
    source->line_count = 1;
    const char *end = source->text + source->length, *at = source->text;
    while (at < end && (at = memchr(at, '\n', (size_t)(end - at))) != NULL) {
        if (source->line_count == capacity) {
            capacity *= 2;
            source->line_start =
                require_more_memory(source->line_start, capacity, sizeof *source->line_start);
        }
        source->line_start[source->line_count++] = (size_t)(++at - source->text);
    }
}

/* Moves on by up to `count` characters, not beyond `end`. */
static const char *skip_characters(const char *at, const char *end, uint32_t count) {
    for (; count > 0 && at < end; count--)
        do
            at++;
        while (at < end && !begins_character(*at));
    return at;
}

/* A million faults in one long line are placed without a million walks along it: of every so many
 * bytes it is known how many characters come before them. */
enum { STRETCH_BYTES = 512 };

static void count_characters(struct yaml_tree_source *source) {
    uint32_t count = 0;
    source->characters =
        require_memory(source->length / STRETCH_BYTES + 1, sizeof *source->characters);
    for (size_t i = 0; i <= source->length; i++) {
        if (i % STRETCH_BYTES == 0)
            source->characters[i / STRETCH_BYTES] = count;
        count += i < source->length && begins_character(source->text[i]);
    }
}

/* Characters before byte `at`. */
static uint32_t characters_up_to(const struct yaml_tree_source *source, size_t at) {
    uint32_t count = source->characters[at / STRETCH_BYTES];
    for (size_t i = at - at % STRETCH_BYTES; i < at; i++)
        count += begins_character(source->text[i]);
    return count;
}

/* The last stretch from `first` on, up to byte `end`, before which there are at most `count`
 * characters. */
static size_t stretch_of(const struct yaml_tree_source *source, size_t first, size_t end,
                         uint32_t count) {
    size_t last = end / STRETCH_BYTES;
    while (first < last) {
        size_t middle = first + (last - first + 1) / 2;
        if (source->characters[middle] <= count)
            first = middle;
        else
            last = middle - 1;
    }
    return first;
}

/* The byte at which a character of a line begins, or the line's end. */
static size_t byte_of(const struct yaml_tree_source *source, uint32_t line, uint32_t column,
                      size_t end) {
    const char *text = source->text;
    size_t at = source->line_start[line - 1];
    if (column <= STRETCH_BYTES)
        return (size_t)(skip_characters(text + at, text + end, column - 1) - text);
    uint32_t wanted = characters_up_to(source, at) + column - 1;
    size_t near = stretch_of(source, at / STRETCH_BYTES, end, wanted) * STRETCH_BYTES;
    for (at = near > at ? near : at; at < end && !begins_character(text[at]);)
        at++; /* the rest of a character that begins in the stretch before */
    return (size_t)(skip_characters(text + at, text + end, wanted - characters_up_to(source, at)) -
                    text);
}

/* The byte after the last of a line, its CR and LF left out. */
static size_t line_end(const struct yaml_tree_source *source, uint32_t line) {
    size_t start = source->line_start[line - 1];
    size_t end = line < source->line_count ? source->line_start[line] - 1 : source->length;
    return end > start && source->text[end - 1] == '\r' ? end - 1 : end;
}

static uint32_t characters_of(const struct yaml_tree_source *source, uint32_t line) {
    uint32_t count = 0;
    for (size_t i = source->line_start[line - 1]; i < line_end(source, line); i++)
        count += begins_character(source->text[i]);
    return count;
}

/* How much of a long line is shown, and how much of that before the mark. */
enum { EXCERPT_CHARACTERS = 160, EXCERPT_BEFORE = 60 };

void yaml_tree_place_fault(struct yaml_tree *tree, const struct node *node, struct fault *fault) {
    struct yaml_tree_source *source = &tree->source[node->source];
    if (source->line_start == NULL) {
        find_lines(source);
        count_characters(source);
    }
    require(node->line >= 1);
    uint32_t line = node->line, column = node->column;
    if (line > source->line_count) { /* the parser puts what is missing on a line of its own */
        line = source->line_count;
        column = characters_of(source, line) + 1;
    }
    uint32_t left_out = column > EXCERPT_CHARACTERS ? column - EXCERPT_BEFORE : 0;
    size_t end = line_end(source, line);
    const char *start = source->text + byte_of(source, line, left_out + 1, end);
    size_t bytes = (size_t)(skip_characters(start, source->text + end, EXCERPT_CHARACTERS) - start);
    free(fault->source);
    free(fault->excerpt);
    fault->source = require_text(source->name);
    fault->line = source->has_lines ? line : 0;
    fault->column = column;
    fault->width = node->width > 0 ? node->width : 1;
    fault->excerpt = require_memory(bytes + 1, 1);
    memcpy(fault->excerpt, start, bytes);
    fault->excerpt_column = left_out + 1;
}

/* ---- asking ---- */
struct node *yaml_tree_find(const struct node *map, const char *key) {
    require(map->kind == NODE_MAP);
    for (uint32_t i = 0; i < map->count; i++)
        if (yaml_tree_same(map->child[2 * i]->text, key))
            return map->child[2 * i + 1];
    return NULL;
}

enum { SHOWN_BYTES = 60 };

struct yaml_tree_shown yaml_tree_shown(const char *text) {
    struct yaml_tree_shown shown = {{0}};
    size_t length = strlen(text), kept = length;
    if (length > SHOWN_BYTES)
        for (kept = SHOWN_BYTES; kept > 0 && !begins_character(text[kept]);)
            kept--;
    for (size_t i = 0; i < kept; i++) {
        unsigned char byte = (unsigned char)text[i], next = (unsigned char)text[i + 1];
        bool controls = byte < 0x20 || byte == 0x7F || (byte == 0xC2 && next < 0xA0);
        shown.text[i] = controls ? '?' : text[i];
        if (byte == 0xC2 && controls)
            shown.text[++i] = '?';
    }
    if (kept < length)
        memcpy(shown.text + kept, "...", 4);
    return shown;
}

bool yaml_tree_is_null(const struct node *node) {
    return node->kind == NODE_SCALAR && node->plain &&
           (node->count == 0 || yaml_tree_same(node->text, "~") ||
            yaml_tree_same(node->text, "null"));
}

/* ---- making and changing ---- */
static struct node *new_node(struct yaml_tree *tree, const struct node *like, enum node_kind kind) {
    struct node *node = yaml_tree_memory(tree, sizeof *node);
    *node = *like;
    node->kind = kind;
    node->plain = false;
    node->count = 0;
    node->child = NULL;
    return node;
}

struct node *yaml_tree_new_text(struct yaml_tree *tree, const struct node *like, const char *text) {
    struct node *node = new_node(tree, like, NODE_SCALAR);
    node->plain = true;
    node->count = (uint32_t)strlen(text);
    node->text = memcpy(yaml_tree_memory(tree, node->count + 1), text, node->count + 1);
    return node;
}

struct node *yaml_tree_new_list(struct yaml_tree *tree, const struct node *like) {
    return new_node(tree, like, NODE_LIST);
}

struct node *yaml_tree_new_map(struct yaml_tree *tree, const struct node *like) {
    return new_node(tree, like, NODE_MAP);
}

/* Puts `added` nodes (1 or 2) before child number `at`. */
static void insert_children(struct yaml_tree *tree, struct node *node, uint32_t at,
                            uint32_t children, struct node *const *added, uint32_t added_count) {
    struct node **child =
        yaml_tree_memory(tree, (size_t)(children + added_count) * sizeof(struct node *));
    for (uint32_t i = 0; i < children; i++)
        child[i < at ? i : i + added_count] = node->child[i];
    for (uint32_t i = 0; i < added_count; i++)
        child[at + i] = added[i];
    node->child = child;
    node->count++;
}

void yaml_tree_append(struct yaml_tree *tree, struct node *list, struct node *member) {
    require(list->kind == NODE_LIST);
    insert_children(tree, list, list->count, list->count, &member, 1);
}

void yaml_tree_append_pair(struct yaml_tree *tree, struct node *map, struct node *key,
                           struct node *value) {
    require(map->kind == NODE_MAP);
    insert_children(tree, map, 2 * map->count, 2 * map->count, (struct node *[]){key, value}, 2);
}

void yaml_tree_insert_pair(struct yaml_tree *tree, struct node *map, struct node *key,
                           struct node *value) {
    require(map->kind == NODE_MAP);
    insert_children(tree, map, 0, 2 * map->count, (struct node *[]){key, value}, 2);
}

void yaml_tree_remove(struct node *node, uint32_t index) {
    require(index < node->count);
    uint32_t width = node->kind == NODE_MAP ? 2 : 1;
    for (uint32_t i = index * width; i + width < node->count * width; i++)
        node->child[i] = node->child[i + width];
    node->count--;
}
