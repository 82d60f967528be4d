/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/patch.c - copies the text line by line. */
#include "tools/design/patch.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/base/output.h"
#include "tools/cause/mended_text.h"

/* The value that a path has in a choice "PATH=VALUE\nPATH=VALUE"; its length in *length; NULL: the
 * choice is not about it. */
static const char *value_in(const char *choice, const char *path, size_t *length) {
    size_t bytes = strlen(path);
    for (const char *at = choice; at != NULL; at = strchr(at, '\n')) {
        at += *at == '\n';
        if (strncmp(at, path, bytes) == 0 && at[bytes] == '=') {
            *length = strcspn(at + bytes + 1, "\n");
            return at + bytes + 1;
        }
    }
    return NULL;
}

static const char *value_of(const struct variables *list, const char *path, size_t *length) {
    for (uint32_t i = 0; i < list->count; i++) {
        const char *value = value_in(variables_change(list, i), path, length);
        if (value != NULL)
            return value;
    }
    return NULL;
}

/* The open number at a place of the file; NULL: there is none. */
static const struct draft_open *open_at(const struct draft *draft, uint32_t line, uint32_t column) {
    for (uint32_t i = 0; i < draft->open_count; i++)
        if (draft->open[i].line == line && draft->open[i].column == column)
            return &draft->open[i];
    return NULL;
}

/* The first line from one on that is neither a comment at the left edge nor empty. */
static const char *after_comments(const char *line) {
    while (line[0] == '#' || line[0] == '\n' || line[0] == '\r') {
        line += strcspn(line, "\n");
        line += *line == '\n';
    }
    return line;
}

/* A line that belongs to the section that begins in the line `may_line`: up to the next key at the
 * left edge. A comment there belongs to what comes after it. */
static bool is_of_may(const char *line, bool within) {
    if (line[0] == '#')
        line = after_comments(line);
    return within && (line[0] == ' ' || line[0] == '\t' || line[0] == '\n' || line[0] == '\r' ||
                      line[0] == '-' || line[0] == '}' || line[0] == ']');
}

static size_t character_bytes(const char *text) {
    size_t bytes = 1;
    while (((unsigned char)text[bytes] & 0xC0) == 0x80)
        bytes++;
    return bytes;
}

static void copy_line(const struct draft *draft, const struct variables *list, const char *line,
                      size_t bytes, uint32_t number, FILE *out) {
    uint32_t column = 1;
    for (size_t at = 0; at < bytes;) {
        const struct draft_open *open = open_at(draft, number, column);
        size_t length = 0;
        const char *value = open != NULL ? value_of(list, open->path, &length) : NULL;
        if (value == NULL) {
            size_t own = character_bytes(line + at);
            fwrite(line + at, 1, own, out);
            at += own;
            column++;
            continue;
        }
        fwrite(value, 1, length, out);
        for (uint32_t k = 0; k < open->width; k++)
            at += character_bytes(line + at);
        column += open->width;
    }
}

static bool can_patch(const struct draft *draft) {
    for (uint32_t i = 0; i < draft->open_count; i++)
        if (!draft->open[i].in_file)
            return false;
    return true;
}

static char *patch(const struct draft *draft, const struct variables *list) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    const char *line = draft->text;
    bool within = false;
    for (uint32_t number = 1; *line != '\0'; number++) {
        size_t bytes = strcspn(line, "\n");
        bytes += line[bytes] == '\n';
        within = (draft->may_in_file && number == draft->may_line) || is_of_may(line, within);
        if (!within && !output_is_mark(line, OUTPUT_YAML))
            copy_line(draft, list, line, bytes, number, out);
        line += bytes;
    }
    return text_stream_end(&stream);
}

/* Written anew, from the tree. */
static char *write_anew(const struct draft *draft, const struct variables *list) {
    struct faults faults = {0};
    uint32_t count = 0;
    char **change = require_memory(list != NULL ? 2 * (size_t)list->count + 1 : 1, sizeof *change);
    for (uint32_t i = 0; list != NULL && i < list->count; i++) {
        char *text = require_text(variables_change(list, i)), *end = strchr(text, '\n');
        if (end != NULL) {
            *end = '\0';
            change[count++] = require_text(end + 1);
        }
        change[count++] = text;
    }
    const char *whole = draft->scenario->text;
    struct scenario *scenario =
        read_scenario(whole, strlen(whole), "", (const char *const *)change, count, &faults);
    char *text = require_text(scenario != NULL ? scenario->text : whole);
    for (uint32_t i = 0; i < count; i++)
        free(change[i]);
    free(change);
    scenario_free(scenario);
    faults_free(&faults);
    return text;
}

/* Whether a text reads as the same scenario as another. */
static bool reads_the_same(const char *one, const char *other) {
    static const char *const nothing[] = {"run.seed=1"};
    struct faults faults = {0};
    struct scenario *first = read_scenario(one, strlen(one), "", nothing, 1, &faults);
    struct scenario *second = read_scenario(other, strlen(other), "", nothing, 1, &faults);
    bool same = first != NULL && second != NULL && strcmp(first->text, second->text) == 0;
    scenario_free(first);
    scenario_free(second);
    faults_free(&faults);
    return same;
}

/* The text, or a copy of `anew` where it is NULL or does not read the same. */
static char *checked(char *text, const char *anew) {
    if (text != NULL && reads_the_same(text, anew))
        return text;
    free(text);
    return require_text(anew);
}

/* Makes changes in a text that is given back; NULL: they cannot be made in place. */
static char *with_changes(char *text, const char *const *change, uint32_t count) {
    char *changed = text != NULL && count > 0 ? mended_text(text, change, count) : text;
    if (changed != text)
        free(text);
    return changed;
}

/* The text with what was found, and with what the command line changed; NULL: that cannot be made
 * in place. */
static char *base_of(const struct patch_source *source, const struct variables *list) {
    const char **change = require_memory((size_t)source->set_count + 1, sizeof *change);
    uint32_t count = 0;
    for (uint32_t i = 0; i < source->set_count; i++)
        if (strncmp(source->set[i], "may", 3) != 0 || strchr(".=", source->set[i][3]) == NULL)
            change[count++] = source->set[i];
    char *text = with_changes(patch(source->draft, list), change, count);
    free(change);
    return text;
}

/* Makes the changes of numbers that were not open. */
static char *with_numbers(char *text, const struct variables *list) {
    const char **change = require_memory((size_t)list->count + 1, sizeof *change);
    uint32_t count = 0;
    for (uint32_t i = 0; i < list->count; i++)
        if (list->entry[i].open == NULL && variables_differs(list, i))
            change[count++] = variables_change(list, i);
    text = with_changes(text, change, count);
    free(change);
    return text;
}

char *patch_text(const struct patch_source *source, const struct variables *list) {
    static const struct variables none = {0};
    char *anew = write_anew(source->draft, list), *patched = NULL;
    list = list != NULL ? list : &none;
    if (can_patch(source->draft))
        patched = with_numbers(base_of(source, list), list);
    char *text = checked(patched, anew);
    free(anew);
    return text;
}

char *patch_changes(const struct patch_source *source, const char *anew, char *const *change,
                    uint32_t count) {
    static const struct variables none = {0};
    return checked(with_changes(base_of(source, &none), (const char *const *)change, count), anew);
}
