/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/yaml_tree.h - a YAML text as a tree that remembers where each of its nodes was
 * written.
 *
 * Only what a scenario needs of YAML 1.1 is allowed: one document of scalars, lists and maps with
 * scalar keys. Anchors, aliases, merge keys, tags and directives are refused. A tree has several
 * sources: the file, and each override. All its memory is one arena, given back at once. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include "sim/fault.h"

enum node_kind {
    NODE_SCALAR,
    NODE_LIST,
    NODE_MAP,
    NODE_BROKEN /* something refused, an error was added: nothing more need be said about it */
};

struct node {
    enum node_kind kind;
    bool plain;            /* a scalar without quotes: may be a number, true, false or null */
    uint32_t source;       /* index in tree.source */
    uint32_t line, column; /* from 1, in that source */
    uint32_t width;        /* characters to mark */
    uint32_t count;        /* bytes of a scalar; members of a list; pairs of a map */
    union {
        char *text;          /* scalar: ends with a NUL and holds no other */
        struct node **child; /* list: members; map: key 0, value 0, key 1, value 1 ... */
    };
};

/* Where nodes come from. */
struct yaml_tree_source {
    char *name;       /* for messages */
    const char *text; /* borrowed, UTF-8; outlives the tree */
    size_t length;
    bool has_lines;     /* false: an override, whose faults carry no line number */
    size_t *line_start; /* made when the first fault is placed */
    uint32_t line_count;
    uint32_t *characters; /* before every so many bytes (yaml_tree.c); made with line_start */
};

struct yaml_tree {
    struct node *root; /* NULL: none */
    struct yaml_tree_source *source;
    uint32_t source_count;
    struct tree_block *block; /* the arena */
};

/* An empty tree is {0}. */
void yaml_tree_free(struct yaml_tree *tree);

/* Declares a source and returns its index. */
uint32_t yaml_tree_add_source(struct yaml_tree *tree, const char *name, const char *text,
                              size_t length, bool has_lines);

/* Reads the YAML that stands in a source from byte `start` on. Returns its root; NULL when there is
 * no content or it is not YAML at all, with *readable false and an error in the latter case. Other
 * errors (duplicate keys, refused features, limits) leave the rest of the tree readable. */
struct node *yaml_tree_parse(struct yaml_tree *tree, uint32_t source, size_t start,
                             struct faults *faults, bool *readable);

/* Fills in a fault's place from a node. */
void yaml_tree_place_fault(struct yaml_tree *tree, const struct node *node, struct fault *fault);

/* Whether two texts are equal. Most texts that are compared differ in their first byte. */
static inline bool yaml_tree_same(const char *a, const char *b) {
    return a[0] == b[0] && strcmp(a, b) == 0;
}

/* The value of a key of a map, NULL when there is none. */
struct node *yaml_tree_find(const struct node *map, const char *key);

/* A text as messages may quote it: cut to some 60 bytes, control characters replaced. */
struct yaml_tree_shown {
    char text[96];
};
struct yaml_tree_shown yaml_tree_shown(const char *text);

/* True for a plain `null`, `~` or nothing at all. */
bool yaml_tree_is_null(const struct node *node);

/* ---- making and changing nodes; a new node stands where `like` stands ---- */
void *yaml_tree_memory(struct yaml_tree *tree, size_t bytes);
struct node *yaml_tree_new_text(struct yaml_tree *tree, const struct node *like, const char *text);
struct node *yaml_tree_new_list(struct yaml_tree *tree, const struct node *like);
struct node *yaml_tree_new_map(struct yaml_tree *tree, const struct node *like);
/* Adds at the end of a list, or a pair at the end (or the beginning) of a map. */
void yaml_tree_append(struct yaml_tree *tree, struct node *list, struct node *member);
void yaml_tree_append_pair(struct yaml_tree *tree, struct node *map, struct node *key,
                           struct node *value);
void yaml_tree_insert_pair(struct yaml_tree *tree, struct node *map, struct node *key,
                           struct node *value);
/* Takes member or pair number `index` out of a list or map. */
void yaml_tree_remove(struct node *node, uint32_t index);

/* ---- yaml_tree_write.c: back to YAML, without broken nodes; the caller frees the text ---- */
/* The whole scenario: a section a block, a part of it one flow map. */
char *yaml_tree_write(const struct node *root);
/* One node on one line. */
char *yaml_tree_write_flow(const struct node *node);
