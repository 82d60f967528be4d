/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/yaml_write.c - writes a tree as YAML that reads back to an equal tree: a block
 * for each section, one flow map for each of its parts. Comments and layout of the source are
 * lost. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/yaml_tree.h"
#include "sim/require.h"

enum { LINE_WIDTH = 100 };

/* A text that grows. */
struct writing {
    char *text;
    size_t length, capacity;
    size_t line_start; /* of the line being written */
};

static void put_bytes(struct writing *writing, const char *bytes, size_t count) {
    if (writing->length + count + 1 > writing->capacity) {
        writing->capacity = 2 * (writing->length + count + 1);
        writing->text = require_more_memory(writing->text, writing->capacity, 1);
    }
    memcpy(writing->text + writing->length, bytes, count);
    writing->length += count;
    writing->text[writing->length] = '\0';
}

static void put(struct writing *writing, const char *text) {
    put_bytes(writing, text, strlen(text));
}

static void put_line_end(struct writing *writing) {
    put(writing, "\n");
    writing->line_start = writing->length;
}

/* ---- scalars ---- */

/* True for a text that was plain in the source, where its beginning was in order, and that is plain
 * in flow style and on one line too. Whatever is not a text to YAML - numbers, true, false, null -
 * is made of these characters alone. */
static bool stays_plain(const struct node *node) {
    static const char inner[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 ._/@+-~()";
    const char *text = node->text;
    if (!node->plain || node->count == 0)
        return false;
    for (size_t i = 0; i < node->count; i++) {
        bool inside = i > 0 && i + 1 < node->count;
        bool clock_colon = text[i] == ':' && inside && text[i - 1] >= '0' && text[i - 1] <= '9' &&
                           text[i + 1] >= '0' && text[i + 1] <= '9';
        if (!clock_colon && strchr(inner, text[i]) == NULL)
            return false;
    }
    return true;
}

/* The code point at `text` when it would not be read back if written as it is, else 0: what the
 * parser refuses or takes for the end of a line. */
static unsigned odd_code(const char *text) {
    const unsigned char *byte = (const unsigned char *)text;
    if (byte[0] < 0x20 || byte[0] == 0x7F)
        return byte[0];
    if (byte[0] == 0xC2 && byte[1] < 0xA0)
        return byte[1];
    if (byte[0] == 0xE2 && byte[1] == 0x80 && (byte[2] == 0xA8 || byte[2] == 0xA9))
        return 0x2000u + (byte[2] & 0x3Fu);
    bool special = byte[0] == 0xEF &&
                   ((byte[1] == 0xBB && byte[2] == 0xBF) || (byte[1] == 0xBF && byte[2] >= 0xBE));
    return special ? 0xF000u + (byte[1] & 0x3Fu) * 0x40u + (byte[2] & 0x3Fu) : 0;
}

static void put_escaped(struct writing *writing, const struct node *node) {
    put(writing, "\"");
    for (size_t i = 0; i < node->count; i++) {
        char escape[8];
        unsigned odd = odd_code(node->text + i);
        if (odd != 0) {
            snprintf(escape, sizeof escape, "\\u%04X", odd & 0xFFFFu);
            put(writing, escape);
            i += odd < 0x80 ? 0 : odd < 0x800 ? 1 : 2;
            continue;
        }
        if (node->text[i] == '"' || node->text[i] == '\\')
            put(writing, "\\");
        put_bytes(writing, node->text + i, 1);
    }
    put(writing, "\"");
}

static void put_scalar(struct writing *writing, const struct node *node) {
    if (stays_plain(node))
        put_bytes(writing, node->text, node->count);
    else if (yaml_tree_is_null(node))
        put(writing, "null");
    else
        put_escaped(writing, node);
}

/* ---- flow style ---- */
static void put_flow(struct writing *writing, const struct node *node, const char *indent);

/* Breaks the line before what was written from `start` on, after other entries, when that went over
 * its width. */
static void break_before(struct writing *writing, size_t start, const char *indent) {
    if (indent == NULL || writing->length - writing->line_start <= LINE_WIDTH)
        return;
    size_t moved = writing->length - start;
    char *entry = require_memory(moved + 1, 1);
    memcpy(entry, writing->text + start, moved);
    writing->length = start - 1; /* without the blank before it */
    put_line_end(writing);
    put(writing, indent);
    put_bytes(writing, entry, moved);
    free(entry);
}

static void put_entry(struct writing *writing, const struct node *node, uint32_t index) {
    if (node->kind == NODE_LIST) {
        put_flow(writing, node->child[index], NULL);
        return;
    }
    put_scalar(writing, node->child[2 * index]);
    put(writing, ": ");
    put_flow(writing, node->child[2 * index + 1], NULL);
}

/* `indent`: where to go on after a line that is full; NULL: never break. */
static void put_flow(struct writing *writing, const struct node *node, const char *indent) {
    require(node->kind != NODE_BROKEN);
    if (node->kind == NODE_SCALAR) {
        put_scalar(writing, node);
        return;
    }
    put(writing, node->kind == NODE_MAP ? "{" : "[");
    for (uint32_t i = 0; i < node->count; i++) {
        if (i > 0)
            put(writing, ", ");
        size_t start = writing->length;
        put_entry(writing, node, i);
        if (i > 0)
            break_before(writing, start, indent);
    }
    put(writing, node->kind == NODE_MAP ? "}" : "]");
}

/* ---- sections ---- */
static void put_parts(struct writing *writing, const struct node *section) {
    for (uint32_t i = 0; i < section->count; i++) {
        put_line_end(writing);
        if (section->kind == NODE_LIST) {
            put(writing, "  - ");
            put_flow(writing, section->child[i], "     ");
        } else {
            put(writing, "  ");
            put_scalar(writing, section->child[2 * i]);
            put(writing, ": ");
            put_flow(writing, section->child[2 * i + 1], "     ");
        }
    }
}

/* True for a section whose members are maps: each gets a line of its own. */
static bool has_parts(const struct node *section) {
    if (section->kind == NODE_SCALAR || section->count == 0)
        return false;
    uint32_t step = section->kind == NODE_MAP ? 2 : 1;
    for (uint32_t i = 0; i < section->count; i++)
        if (section->child[i * step + step - 1]->kind != NODE_MAP)
            return false;
    return true;
}

char *yaml_tree_write(const struct node *root) {
    struct writing writing = {0};
    require(root->kind == NODE_MAP);
    if (root->count == 0)
        put(&writing, "{}\n");
    for (uint32_t i = 0; i < root->count; i++) {
        put_scalar(&writing, root->child[2 * i]);
        put(&writing, ":");
        if (has_parts(root->child[2 * i + 1])) {
            put_parts(&writing, root->child[2 * i + 1]);
        } else {
            put(&writing, " ");
            put_flow(&writing, root->child[2 * i + 1], "  ");
        }
        put_line_end(&writing);
    }
    return writing.text;
}

char *yaml_tree_write_flow(const struct node *node) {
    struct writing writing = {0};
    put_flow(&writing, node, NULL);
    return writing.text;
}
