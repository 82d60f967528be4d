/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/tree.h - a YAML text as a tree that remembers where each of its nodes was written.
 *
 * Only what a scenario needs of YAML 1.1 is allowed: one document of scalars, lists and maps with
 * scalar keys. Anchors, aliases, merge keys, tags and directives are refused. A tree has several
 * sources: the file, and each override. All its memory is one arena, given back at once. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "sim/fault.h"

enum node_kind {
    NODE_SCALAR,
    NODE_LIST,
    NODE_MAP,
    NODE_BROKEN /* something refused, an error was added: nothing more need be said about it */
};

struct node {
    enum node_kind kind;
    bool plain;      /* a scalar without quotes: may be a number, true, false or null */
    uint32_t source; /* index in tree.source */
    uint32_t line, column; /* from 1, in that source */
    uint32_t width;  /* characters to mark */
    uint32_t count;  /* bytes of a scalar; members of a list; pairs of a map */
    union {
        char *text;          /* scalar: ends with a NUL and holds no other */
        struct node **child; /* list: members; map: key 0, value 0, key 1, value 1 ... */
    };
};

/* Where nodes come from. */
struct tree_source {
    char *name;       /* for messages */
    const char *text; /* borrowed, UTF-8; outlives the tree */
    size_t length;
    bool has_lines;      /* false: an override, whose faults carry no line number */
    size_t *line_start;  /* made when the first fault is placed */
    uint32_t line_count;
    /* Where the last fault's excerpt began: the next is mostly a little further on. */
    uint32_t cursor_line, cursor_column;
    size_t cursor_byte;
};

struct tree {
    struct node *root; /* NULL: none */
    struct tree_source *source;
    uint32_t source_count;
    struct tree_block *block; /* the arena */
};

/* An empty tree is {0}. */
void tree_free(struct tree *tree);

/* Declares a source and returns its index. */
uint32_t tree_add_source(struct tree *tree, const char *name, const char *text, size_t length,
                         bool has_lines);

/* Reads the YAML that stands in a source from byte `start` on. Returns its root; NULL when there is
 * no content or it is not YAML at all, with *readable false and an error in the latter case. Other
 * errors (duplicate keys, refused features, limits) leave the rest of the tree readable. */
struct node *tree_parse(struct tree *tree, uint32_t source, size_t start, struct faults *faults,
                        bool *readable);

/* Fills in a fault's place from a node. */
void tree_place_fault(struct tree *tree, const struct node *node, struct fault *fault);

/* The value of a key of a map, NULL when there is none. */
struct node *tree_find(const struct node *map, const char *key);

/* A text as messages may quote it: cut to some 60 bytes, control characters replaced. */
struct tree_shown {
    char text[96];
};
struct tree_shown tree_shown(const char *text);

/* True for a plain `null`, `~` or nothing at all. */
bool tree_is_null(const struct node *node);

/* ---- making and changing nodes; a new node stands where `like` stands ---- */
void *tree_memory(struct tree *tree, size_t bytes);
struct node *tree_new_text(struct tree *tree, const struct node *like, const char *text);
struct node *tree_new_list(struct tree *tree, const struct node *like);
struct node *tree_new_map(struct tree *tree, const struct node *like);
/* Adds at the end of a list, or a pair at the end (or the beginning) of a map. */
void tree_append(struct tree *tree, struct node *list, struct node *member);
void tree_append_pair(struct tree *tree, struct node *map, struct node *key, struct node *value);
void tree_insert_pair(struct tree *tree, struct node *map, struct node *key, struct node *value);
/* Takes member or pair number `index` out of a list or map. */
void tree_remove(struct node *node, uint32_t index);

/* ---- tree_write.c: back to YAML, without broken nodes; the caller frees the text ---- */
/* The whole scenario: a section a block, a part of it one flow map. */
char *tree_write(const struct node *root);
/* One node on one line. */
char *tree_write_flow(const struct node *node);
