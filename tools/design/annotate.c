/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/annotate.c - goes through the lines: a section begins at the left edge, a part with
 * `- {name: ...` or `- name: ...`. */
#include "tools/design/annotate.h"

#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/design/numbers.h"
#include "tools/design/part_words.h"

enum { WIDTH = 98, PATH_BYTES = 300, NAME_BYTES = 130 };

/* ---- what is said of a part ---- */

/* The value that a number had before; NOT_GIVEN: it was none. */
static int64_t value_before(const struct numbers *before, const char *path, size_t length) {
    for (uint32_t i = 0; i < before->count; i++)
        if (strlen(before->entry[i].path) == length &&
            strncmp(before->entry[i].path, path, length) == 0)
            return before->entry[i].value;
    return NOT_GIVEN;
}

/* Whether a later change is of the same number. */
static bool is_superseded(const struct annotation *annotation, uint32_t index) {
    const char *own = annotation->changed[index];
    size_t length = strcspn(own, "=") + 1;
    for (uint32_t i = index + 1; i < annotation->changed_count; i++)
        if (strncmp(annotation->changed[i], own, length) == 0)
            return true;
    return false;
}

static const struct tolerance *tolerance_of(const struct annotation *annotation, const char *path,
                                            size_t length) {
    const struct tolerances *list = annotation->tolerance;
    for (uint32_t i = 0; list != NULL && i < list->count; i++)
        if (strncmp(list->entry[i].path, path, length) == 0 && list->entry[i].path[length] == '\0')
            return &list->entry[i];
    return NULL;
}

/* Whether a number was written `find`. */
static bool is_open(const struct annotation *annotation, const char *path, size_t length) {
    const struct draft *draft = annotation->draft;
    for (uint32_t i = 0; i < draft->open_count; i++)
        if (strlen(draft->open[i].path) == length &&
            strncmp(draft->open[i].path, path, length) == 0)
            return true;
    return false;
}

/* "gate.below is 9 (it was 15), the least that survives; gate.below may be 9 to 31" */
static void print_change(const struct annotation *annotation, const struct numbers *before,
                         const char *change, size_t part, FILE *out) {
    size_t length = strcspn(change, "=");
    int64_t old = value_before(before, change, length);
    if (length + 1 == part) { /* the part itself */
        fprintf(out, "added: %s", annotation->why);
        return;
    }
    fprintf(out, "%.*s is %s", (int)(length - part), change + part, change + length + 1);
    if (is_open(annotation, change, length))
        fputs(", found with all trials", out);
    else if (old != NOT_GIVEN)
        fprintf(out, " (it was %" PRId64 "), %s", old, annotation->why);
    else
        fprintf(out, ", %s", annotation->why);
    const struct tolerance *entry = tolerance_of(annotation, change, length);
    if (entry != NULL) {
        fputs("; ", out);
        tolerance_print(entry, entry->path + part, out);
    }
}

static bool is_changed(const struct annotation *annotation, const char *path) {
    size_t length = strlen(path);
    for (uint32_t i = 0; i < annotation->changed_count; i++)
        if (strncmp(annotation->changed[i], path, length) == 0 &&
            annotation->changed[i][length] == '=')
            return true;
    return false;
}

/* What is needed of a part, "arms.feeder.", of which a number was open. Returns whether it says
 * anything. */
static bool print_needs(const struct annotation *annotation, const char *part, FILE *out) {
    const struct draft *draft = annotation->draft;
    char section[NAME_BYTES], name[NAME_BYTES];
    bool any = false;
    for (uint32_t i = 0; i < draft->open_count; i++)
        any = any || strncmp(draft->open[i].path, part, strlen(part)) == 0;
    if (!any || sscanf(part, "%129[^.].%129[^.]", section, name) != 2)
        return false;
    struct text_stream stream;
    FILE *words = text_stream_begin(&stream);
    part_words(annotation->budget, section, name, words);
    char *text = text_stream_end(&stream);
    fputs(text, out);
    any = text[0] != '\0';
    free(text);
    return any;
}

/* All that is said of a part, "arms.feeder."; "": nothing. Freed by the caller. */
static char *words_of(const struct annotation *annotation, const struct numbers *before,
                      const char *part) {
    size_t bytes = strlen(part), said = 0;
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    said += print_needs(annotation, part, out);
    for (uint32_t i = 0; i < annotation->changed_count; i++) {
        const char *change = annotation->changed[i];
        bool whole = strncmp(change, part, bytes - 1) == 0 && change[bytes - 1] == '=';
        if ((!whole && strncmp(change, part, bytes) != 0) || is_superseded(annotation, i))
            continue;
        fputs(said++ > 0 ? "; " : "", out);
        print_change(annotation, before, change, bytes, out);
    }
    const struct tolerances *list = annotation->tolerance;
    for (uint32_t i = 0; list != NULL && i < list->count; i++) {
        if (strncmp(list->entry[i].path, part, bytes) != 0 ||
            is_changed(annotation, list->entry[i].path))
            continue;
        fputs(said++ > 0 ? "; " : "", out);
        tolerance_print(&list->entry[i], list->entry[i].path + bytes, out);
    }
    return text_stream_end(&stream);
}

/* ---- lines ---- */

/* Writes a comment, cut at blanks, at the indent of a line. */
static void put_comment(FILE *out, int indent, const char *words) {
    char *text = require_memory(strlen(words) + sizeof TOLERANCE_MARK, 1);
    sprintf(text, "%s%s", TOLERANCE_MARK, words);
    const char *rest = text;
    while (*rest != '\0') {
        size_t room = WIDTH - (size_t)indent - 2, cut = strlen(rest);
        if (cut > room)
            for (cut = room; cut > 0 && rest[cut] != ' ';)
                cut--;
        cut = cut > 0 ? cut : strlen(rest);
        fprintf(out, "%*s# %.*s\n", indent, "", (int)cut, rest);
        rest += cut + (rest[cut] == ' ');
    }
    free(text);
}

/* The name of the part that begins in a line; false: none does. */
static bool begins_part(const char *line, char name[NAME_BYTES]) {
    const char *at = line + strspn(line, " ");
    if (*at++ != '-')
        return false;
    at += strspn(at, " {");
    if (strncmp(at, "name:", 5) != 0)
        return false;
    at += 5 + strspn(at + 5, " \"'");
    size_t length = strcspn(at, " ,}\"'\n");
    if (length == 0 || length >= NAME_BYTES)
        return false;
    memcpy(name, at, length);
    name[length] = '\0';
    return true;
}

static bool is_comment(const char *line, const char *begin) {
    line += strspn(line, " ");
    return line[0] == '#' && strncmp(line + strspn(line, "# "), begin, strlen(begin)) == 0;
}

/* Comment lines are held back until it is known whether a part follows. */
struct held {
    const char **line;
    uint32_t count, mark; /* where the marked comment begins; count: there is none */
};

static void put_line(FILE *out, const char *line) {
    size_t bytes = strcspn(line, "\n");
    fwrite(line, 1, bytes + (line[bytes] == '\n'), out);
}

static void let_go(struct held *held, bool all, FILE *out) {
    if (held->line == NULL)
        return; /* nothing was held so far */
    for (uint32_t i = 0; i < held->count && (all || i < held->mark); i++)
        put_line(out, held->line[i]);
    held->count = held->mark = 0;
}

static void hold(struct held *held, const char *line) {
    bool marked = held->mark < held->count;
    held->line = require_more_memory(held->line, held->count + 1, sizeof *held->line);
    held->line[held->count++] = line;
    if (!marked && !is_comment(line, TOLERANCE_MARK))
        held->mark = held->count;
}

static void copy_line(const struct annotation *annotation, const struct numbers *before,
                      const char *line, const char *section, struct held *held, FILE *out) {
    char name[NAME_BYTES], part[PATH_BYTES];
    if (!begins_part(line, name)) {
        let_go(held, true, out);
        put_line(out, line);
        return;
    }
    snprintf(part, sizeof part, "%s.%s.", section, name);
    char *words = words_of(annotation, before, part);
    let_go(held, words[0] == '\0', out);
    if (words[0] != '\0')
        put_comment(out, (int)strspn(line, " "), words);
    put_line(out, line);
    free(words);
}

char *annotate_text(const char *text, const struct annotation *annotation) {
    struct numbers before = {0};
    struct held held = {NULL, 0, 0};
    struct text_stream stream;
    char section[NAME_BYTES] = "";
    numbers_list(&before, annotation->draft->scenario->text,
                 NUMBERS_THRESHOLDS | NUMBERS_LIMITS | NUMBERS_CAPACITIES | NUMBERS_HANDS |
                     NUMBERS_TRAYS);
    FILE *out = text_stream_begin(&stream);
    for (const char *line = text; *line != '\0';) {
        size_t bytes = strcspn(line, "\n"), key = strcspn(line, ":\n");
        if (line[0] >= 'a' && line[0] <= 'z' && key < sizeof section) {
            memcpy(section, line, key);
            section[key] = '\0';
        }
        if (is_comment(line, ""))
            hold(&held, line);
        else
            copy_line(annotation, &before, line, section, &held, out);
        line += bytes + (line[bytes] == '\n');
    }
    let_go(&held, true, out);
    free(held.line);
    numbers_free(&before);
    return text_stream_end(&stream);
}
