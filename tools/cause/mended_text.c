/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/mended_text.c - finds the braces of a part, and changes what lies between them; what
 * comes out is read again and compared, so that an unusual text does no harm. */
#include "tools/cause/mended_text.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"

enum { PIECES_MOST = 8, PIECE_BYTES = 128 };

/* A change taken apart. */
struct change {
    char piece[PIECES_MOST][PIECE_BYTES];
    uint32_t count;
    const char *value;
    bool removes;
};

/* Bytes from start to end, the latter not included. */
struct span_of_text {
    size_t start, end;
};

/* ---- scanning ---- */

/* The byte after whatever begins at `at`: a quoted text or a comment as a whole, else one byte. */
static size_t step_over(const char *text, size_t at) {
    if (text[at] == '#' && (at == 0 || strchr(" \t\n", text[at - 1]) != NULL))
        return at + strcspn(text + at, "\n");
    if (text[at] != '\'' && text[at] != '"')
        return at + 1;
    const char *end = strchr(text + at + 1, text[at]);
    return end != NULL ? (size_t)(end - text) + 1 : strlen(text);
}

/* The end of the flow map or list that begins at `at`, after its closing bracket. */
static size_t end_of_flow(const char *text, size_t at) {
    int depth = 0;
    while (text[at] != '\0') {
        depth += text[at] == '{' || text[at] == '[';
        depth -= text[at] == '}' || text[at] == ']';
        at = step_over(text, at);
        if (depth == 0)
            return at;
    }
    return at;
}

static size_t skip_blanks(const char *text, size_t at, size_t end) {
    while (at < end && (strchr(" \t\n\r", text[at]) != NULL || text[at] == '#'))
        at = text[at] == '#' ? step_over(text, at) : at + 1;
    return at;
}

/* The end of a value within a flow collection that ends at `end`. */
static size_t end_of_value(const char *text, size_t at, size_t end) {
    while (at < end && text[at] != ',')
        at = text[at] == '{' || text[at] == '[' ? end_of_flow(text, at) : step_over(text, at);
    while (at > 0 && strchr(" \t\n\r", text[at - 1]) != NULL)
        at--;
    return at;
}

/* A pair of a flow map: where its key begins and its value lies. */
struct pair {
    size_t key, value, end;
};

/* Looks for a key in the map between braces; false: it has none of that name. */
static bool find_pair(const char *text, struct span_of_text map, const char *key,
                      struct pair *pair) {
    size_t length = strlen(key), at = map.start + 1, end = map.end - 1;
    while ((at = skip_blanks(text, at, end)) < end) {
        pair->key = at;
        size_t name_end = at + strcspn(text + at, ":,}");
        pair->value = skip_blanks(text, text[name_end] == ':' ? name_end + 1 : name_end, end);
        pair->end = end_of_value(text, pair->value, end);
        if (name_end - at == length && strncmp(text + at, key, length) == 0)
            return true;
        at = pair->end + strcspn(text + pair->end, ",}");
        at += at < end;
    }
    return false;
}

/* ---- sections and parts ---- */

/* What belongs to a section, from the end of its `name:` on; false: there is none. */
static bool find_section(const char *text, const char *name, struct span_of_text *section) {
    size_t length = strlen(name);
    for (size_t at = 0; text[at] != '\0';) {
        size_t line_end = at + strcspn(text + at, "\n");
        if (strncmp(text + at, name, length) == 0 && text[at + length] == ':') {
            section->start = at + length + 1;
            section->end = line_end + (text[line_end] == '\n');
            while (text[section->end] != '\0' && strchr(" \t\n\r#-", text[section->end]) != NULL)
                section->end += strcspn(text + section->end, "\n") + 1;
            if (section->end > strlen(text))
                section->end = strlen(text);
            return true;
        }
        at = line_end + (text[line_end] == '\n');
    }
    return false;
}

/* The next part of a section that is a flow map, from a place on; false: there is none. */
static bool next_part(const char *text, struct span_of_text section, size_t from,
                      struct span_of_text *part) {
    for (size_t at = from; at < section.end; at = step_over(text, at))
        if (text[at] == '{') {
            *part = (struct span_of_text){at, end_of_flow(text, at)};
            return part->end <= section.end;
        }
    return false;
}

static bool is_named(const char *text, struct span_of_text part, const char *name) {
    struct pair pair;
    return find_pair(text, part, "name", &pair) && pair.end - pair.value == strlen(name) &&
           strncmp(text + pair.value, name, pair.end - pair.value) == 0;
}

/* By its name, an incident by its position as well. */
static bool find_part(const char *text, struct span_of_text section, const char *name,
                      struct span_of_text *part) {
    size_t at = section.start, position = strtoul(name, NULL, 10);
    bool by_position = name[0] >= '0' && name[0] <= '9';
    for (size_t i = 0; next_part(text, section, at, part); i++) {
        if (by_position ? i == position : is_named(text, *part, name))
            return true;
        at = part->end;
    }
    return false;
}

/* ---- changing ---- */

/* The text with a stretch of it replaced; the old one is given back. */
static char *replace(char *text, struct span_of_text span, const char *with) {
    size_t length = strlen(text), added = strlen(with);
    char *changed = require_memory(length - (span.end - span.start) + added + 1, 1);
    memcpy(changed, text, span.start);
    memcpy(changed + span.start, with, added);
    strcpy(changed + span.start + added, text + span.end);
    free(text);
    return changed;
}

static char *insert(char *text, size_t at, const char *first, const char *second,
                    const char *third) {
    size_t bytes = strlen(first) + strlen(second) + strlen(third) + 1;
    char *with = require_memory(bytes, 1);
    snprintf(with, bytes, "%s%s%s", first, second, third);
    text = replace(text, (struct span_of_text){at, at}, with);
    free(with);
    return text;
}

/* A part or pair that goes takes its comma along. */
static char *take_away(char *text, struct span_of_text span) {
    size_t after = span.end + strspn(text + span.end, " \t");
    if (text[after] == ',') {
        span.end = after + 1 + strspn(text + after + 1, " \t");
    } else {
        size_t before = span.start;
        while (before > 0 && strchr(" \t\n\r", text[before - 1]) != NULL)
            before--;
        if (before > 0 && text[before - 1] == ',')
            span.start = before - 1;
    }
    return replace(text, span, "");
}

/* The lines of a part in a block list, its dash included, if nothing else stands on them. */
static bool lines_of_part(const char *text, struct span_of_text part, struct span_of_text *lines) {
    size_t start = part.start, end = part.end + strspn(text + part.end, " \t");
    while (start > 0 && strchr(" \t-", text[start - 1]) != NULL)
        start--;
    bool dash = memchr(text + start, '-', part.start - start) != NULL;
    if (text[end] == '#')
        end += strcspn(text + end, "\n");
    *lines = (struct span_of_text){start, end + (text[end] == '\n')};
    return dash && (start == 0 || text[start - 1] == '\n') &&
           (text[end] == '\n' || text[end] == '\0');
}

/* A section that has lost its last part says so: nothing at all would be no list. */
static char *remove_part(char *text, struct span_of_text section, struct span_of_text part) {
    struct span_of_text lines, first, second;
    bool only = next_part(text, section, section.start, &first) &&
                !next_part(text, section, first.end, &second);
    if (!lines_of_part(text, part, &lines))
        return take_away(text, part);
    text = replace(text, lines, "");
    return only ? insert(text, section.start, " []", "", "") : text;
}

/* A part as it is written: its name, then what else the change says. */
static char *part_text(const struct change *change) {
    const char *inner = change->value + 1 + strspn(change->value + 1, " ");
    size_t bytes = strlen(change->piece[1]) + strlen(inner) + 16;
    char *part = require_memory(bytes, 1);
    snprintf(part, bytes, "{name: %s%s%s", change->piece[1], inner[0] == '}' ? "" : ", ", inner);
    return part;
}

/* At the end of its section, in the way in which the last part of it is written. */
static char *add_part(char *text, const struct change *change) {
    struct span_of_text section, part, last = {0, 0}, lines;
    char *added = part_text(change);
    if (!find_section(text, change->piece[0], &section)) {
        bool open = text[0] != '\0' && text[strlen(text) - 1] != '\n';
        text = insert(text, strlen(text), open ? "\n" : "", change->piece[0], ":\n  - ");
        text = insert(text, strlen(text), added, "\n", "");
    } else {
        for (size_t at = section.start; next_part(text, section, at, &part); at = part.end)
            last = part;
        if (last.end > 0 && !lines_of_part(text, last, &lines))
            text = insert(text, last.end, ", ", added, "");
        else if (last.end > 0)
            text = insert(text, lines.end, text[lines.end - 1] == '\n' ? "  - " : "\n  - ", added,
                          "\n");
    }
    free(added);
    return text;
}

/* Sets or takes away what the pieces from the third on name within a part. */
static char *change_within(char *text, struct span_of_text map, const struct change *change) {
    struct pair pair;
    for (uint32_t i = 2; i < change->count; i++) {
        bool last = i + 1 == change->count, found = find_pair(text, map, change->piece[i], &pair);
        if (last && found && change->removes)
            return take_away(text, (struct span_of_text){pair.key, pair.end});
        if (last && found)
            return replace(text, (struct span_of_text){pair.value, pair.end}, change->value);
        if (last && text[skip_blanks(text, map.start + 1, map.end)] == '}')
            return insert(insert(text, map.end - 1, change->piece[i], ": ", ""),
                          map.end + strlen(change->piece[i]) + 1, change->value, "", "");
        if (last) {
            text = insert(text, map.end - 1, ", ", change->piece[i], ": ");
            return insert(text, map.end + strlen(change->piece[i]) + 3, change->value, "", "");
        }
        if (!found || text[pair.value] != '{')
            break;
        map = (struct span_of_text){pair.value, pair.end};
    }
    return text;
}

static bool take_apart(const char *set, struct change *change) {
    const char *equals = strchr(set, '=');
    *change = (struct change){.value = equals != NULL ? equals + 1 : ""};
    while (equals != NULL && set < equals && change->count < PIECES_MOST) {
        size_t length = strcspn(set, ".=");
        if (length >= PIECE_BYTES)
            return false;
        memcpy(change->piece[change->count++], set, length);
        set += length + (set[length] == '.');
    }
    change->removes = strcmp(change->value, "null") == 0;
    return set == equals && change->count >= 2;
}

static char *change_text(char *text, const char *set) {
    struct change change;
    struct span_of_text section, part;
    if (!take_apart(set, &change))
        return text;
    bool found = find_section(text, change.piece[0], &section) &&
                 find_part(text, section, change.piece[1], &part);
    if (found && change.count > 2)
        return change_within(text, part, &change);
    if (found && change.removes)
        return remove_part(text, section, part);
    return !found && !change.removes && change.value[0] == '{' ? add_part(text, &change) : text;
}

/* ---- checking ---- */

/* The text of a scenario with changes as it is written without comments; NULL: it can't be read. */
static char *plain_text(const char *text, const char *const *set, uint32_t set_count) {
    const char **all = require_memory((size_t)set_count + 1, sizeof *all);
    struct faults faults = {0};
    for (uint32_t i = 0; i < set_count; i++)
        all[i] = set[i];
    all[set_count] = "run.seed=1"; /* so that it is written anew */
    struct scenario *scenario =
        read_scenario(text, strlen(text), "scenario.yaml", all, (size_t)set_count + 1, &faults);
    char *plain = scenario != NULL ? require_text(scenario->text) : NULL;
    scenario_free(scenario);
    faults_free(&faults);
    free(all);
    return plain;
}

char *mended_text(const char *text, const char *const *set, uint32_t set_count) {
    char *mended = require_text(text);
    for (uint32_t i = 0; i < set_count; i++)
        mended = change_text(mended, set[i]);
    char *wanted = plain_text(text, set, set_count), *found = plain_text(mended, NULL, 0);
    bool same = wanted != NULL && found != NULL && strcmp(wanted, found) == 0;
    free(wanted);
    free(found);
    if (same)
        return mended;
    free(mended);
    return NULL;
}
