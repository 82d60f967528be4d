/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/block_text.c - goes by lines and by how far they are indented. */
#include "tools/cause/block_text.h"

#include <stdio.h>
#include <string.h>

/* ---- lines ---- */

static size_t line_of(const char *text, size_t at) {
    while (at > 0 && text[at - 1] != '\n')
        at--;
    return at;
}

/* Blanks, or nothing but a comment. */
static bool is_empty(const char *text, size_t line) {
    return strchr("#\n\r", text[line + strspn(text + line, " ")]) != NULL;
}

static size_t indent_of(const char *text, size_t line) { return strspn(text + line, " "); }

/* Where what begins in a line ends: before the first line that is indented less than `least` and
 * not empty. Empty lines at its end do not belong to it. */
static size_t end_of_block(const char *text, size_t line, size_t least, size_t end) {
    size_t last = text_span_next_line(text, line);
    for (size_t at = last; at < end; at = text_span_next_line(text, at)) {
        if (is_empty(text, at))
            continue;
        if (indent_of(text, at) < least)
            break;
        last = text_span_next_line(text, at);
    }
    return last < end ? last : end;
}

/* ---- parts ---- */

/* The next part from a line on; `part` begins with its first key, or with its brace. */
static bool next_part(const char *text, size_t line, size_t end, struct text_span *part) {
    for (size_t at = line; at < end; at = text_span_next_line(text, at)) {
        size_t dash = at + indent_of(text, at);
        if (text[dash] != '-' || text[dash + 1] != ' ')
            continue;
        part->start = dash + 1 + strspn(text + dash + 1, " ");
        part->end = end_of_block(text, at, part->start - at, end);
        if (text[part->start] == '{')
            part->end = text_span_next_line(text, text_span_end_of_flow(text, part->start));
        return true;
    }
    return false;
}

bool block_text_find(const char *text, struct text_span section, const char *name,
                     struct text_span *part) {
    struct block_pair pair;
    size_t at = text_span_next_line(text, section.start), length = strlen(name);
    for (; next_part(text, at, section.end, part); at = part->end)
        if (block_text_pair(text, *part, "name", &pair) &&
            pair.value.end - pair.value.start == length &&
            strncmp(text + pair.value.start, name, length) == 0)
            return true;
    return false;
}

/* ---- keys ---- */

/* The value that begins on the line of its key, up to a comment. */
static struct text_span value_on_line(const char *text, size_t at, size_t end) {
    struct text_span value = {at, at};
    if (text[at] == '{' || text[at] == '[') {
        value.end = text_span_end_of_flow(text, at);
        return value;
    }
    while (at < end && text[at] != '\n' && !(text[at] == '#' && text[at - 1] == ' '))
        at = text_span_step_over(text, at);
    while (at > value.start && strchr(" \t\r", text[at - 1]) != NULL)
        at--;
    value.end = at;
    return value;
}

bool block_text_pair(const char *text, struct text_span map, const char *key,
                     struct block_pair *pair) {
    size_t indent = map.start - line_of(text, map.start), length = strlen(key), at = map.start;
    while (at < map.end) {
        size_t line = line_of(text, at), lines_end = end_of_block(text, line, indent + 1, map.end);
        if (strncmp(text + at, key, length) == 0 && text[at + length] == ':') {
            pair->lines = (struct text_span){line, lines_end};
            pair->colon = at + length + 1;
            size_t value = pair->colon + strspn(text + pair->colon, " \t");
            pair->value = value_on_line(text, value, lines_end);
            if (strchr("#\n\r", text[value]) != NULL) { /* a map below it */
                value = text_span_skip_blanks(text, value, lines_end);
                pair->value = (struct text_span){value, lines_end};
            }
            return true;
        }
        for (at = lines_end; at < map.end && is_empty(text, at);)
            at = text_span_next_line(text, at);
        at += at < map.end ? indent_of(text, at) : 0;
    }
    return false;
}

/* ---- changing ---- */

char *block_text_set(char *text, const struct block_pair *pair, const char *value) {
    size_t line_end = pair->colon + strcspn(text + pair->colon, "\n");
    if (pair->value.start < line_end)
        return text_span_replace(text, pair->value, value);
    text = text_span_replace(text, (struct text_span){line_end + 1, pair->lines.end}, "");
    return text_span_insert(text, pair->colon, " ", value, "");
}

char *block_text_add(char *text, struct text_span map, const char *key, const char *value) {
    enum { INDENT_MOST = 60 };
    char begin[INDENT_MOST + 1] = "";
    size_t indent = map.start - line_of(text, map.start);
    if (indent > INDENT_MOST || map.end == 0 || text[map.end - 1] != '\n')
        return text;
    memset(begin, ' ', indent);
    text = text_span_insert(text, map.end, begin, key, ": ");
    return text_span_insert(text, map.end + indent + strlen(key) + 2, value, "\n", "");
}

char *block_text_take_away(char *text, const struct block_pair *pair) {
    size_t first = pair->lines.start + indent_of(text, pair->lines.start);
    if (text[first] == '-') /* the first key of its part, after the dash */
        return text;
    return text_span_replace(text, pair->lines, "");
}

/* A section that has lost its last part says so: nothing at all would be no list. */
char *block_text_remove(char *text, struct text_span section, struct text_span part) {
    struct text_span first, second;
    size_t begin = text_span_next_line(text, section.start);
    bool only = next_part(text, begin, section.end, &first) &&
                !next_part(text, first.end, section.end, &second);
    text = text_span_replace(text, (struct text_span){line_of(text, part.start), part.end}, "");
    return only ? text_span_insert(text, section.start, " []", "", "") : text;
}

static struct text_span last_part(const char *text, struct text_span section) {
    struct text_span own, last = {0, 0};
    size_t at = text_span_next_line(text, section.start);
    for (; next_part(text, at, section.end, &own); at = own.end)
        last = own;
    return last;
}

bool block_text_has_parts(const char *text, struct text_span section) {
    return last_part(text, section).end > 0;
}

char *block_text_add_part(char *text, struct text_span section, const char *part) {
    enum { INDENT_MOST = 60 };
    char begin[INDENT_MOST + 4] = "";
    struct text_span last = last_part(text, section);
    size_t indent = indent_of(text, line_of(text, last.start));
    if (indent > INDENT_MOST)
        return text;
    bool open = text[last.end - 1] != '\n';
    snprintf(begin, sizeof begin, "%s%*s- ", open ? "\n" : "", (int)indent, "");
    return text_span_insert(text, last.end, begin, part, "\n");
}
