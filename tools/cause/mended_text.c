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
#include "tools/cause/block_text.h"
#include "tools/cause/text_span.h"

enum { PIECES_MOST = 8, PIECE_BYTES = 128 };

/* A change taken apart. */
struct change {
    char piece[PIECES_MOST][PIECE_BYTES];
    uint32_t count;
    const char *value;
    bool removes;
};

/* A pair of a flow map: where its key begins and its value lies. */
struct pair {
    size_t key, value, end;
};

/* Looks for a key in the map between braces; false: it has none of that name. */
static bool find_pair(const char *text, struct text_span map, const char *key, struct pair *pair) {
    size_t length = strlen(key), at = map.start + 1, end = map.end - 1;
    while ((at = text_span_skip_blanks(text, at, end)) < end) {
        pair->key = at;
        size_t name_end = at + strcspn(text + at, ":,}");
        pair->value =
            text_span_skip_blanks(text, text[name_end] == ':' ? name_end + 1 : name_end, end);
        pair->end = text_span_end_of_value(text, pair->value, end);
        if (name_end - at == length && strncmp(text + at, key, length) == 0)
            return true;
        at = pair->end + strcspn(text + pair->end, ",}");
        at += at < end;
    }
    return false;
}

/* ---- sections and parts ---- */

/* What belongs to a section, from the end of its `name:` on; false: there is none. */
static bool find_section(const char *text, const char *name, struct text_span *section) {
    size_t length = strlen(name);
    for (size_t at = 0; text[at] != '\0'; at = text_span_next_line(text, at))
        if (strncmp(text + at, name, length) == 0 && text[at + length] == ':') {
            section->start = at + length + 1;
            section->end = text_span_next_line(text, at);
            while (text[section->end] != '\0' && strchr(" \t\n\r#-", text[section->end]) != NULL)
                section->end = text_span_next_line(text, section->end);
            return true;
        }
    return false;
}

/* Whether a brace opens a part, not the map of a key: after the dash of a list, or within one that
 * is written with brackets. */
static bool opens_part(const char *text, struct text_span section, size_t at) {
    while (at > section.start && strchr(" \t\n\r", text[at - 1]) != NULL)
        at--;
    return at > section.start && strchr("-[,", text[at - 1]) != NULL;
}

/* The next part of a section that is a flow map, from a place on; false: there is none. */
static bool next_part(const char *text, struct text_span section, size_t from,
                      struct text_span *part) {
    for (size_t at = from; at < section.end; at = text_span_step_over(text, at))
        if (text[at] == '{' && opens_part(text, section, at)) {
            *part = (struct text_span){at, text_span_end_of_flow(text, at)};
            return part->end <= section.end;
        }
    return false;
}

static bool is_named(const char *text, struct text_span part, const char *name) {
    struct pair pair;
    return find_pair(text, part, "name", &pair) && pair.end - pair.value == strlen(name) &&
           strncmp(text + pair.value, name, pair.end - pair.value) == 0;
}

/* By its name, an incident by its position as well. */
static bool find_part(const char *text, struct text_span section, const char *name,
                      struct text_span *part) {
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

/* A part or pair that goes takes its comma along. */
static char *take_away(char *text, struct text_span span) {
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
    return text_span_replace(text, span, "");
}

/* The lines of a part in a block list, its dash included, if nothing else stands on them. */
static bool lines_of_part(const char *text, struct text_span part, struct text_span *lines) {
    size_t start = part.start, end = part.end + strspn(text + part.end, " \t");
    while (start > 0 && strchr(" \t-", text[start - 1]) != NULL)
        start--;
    bool dash = memchr(text + start, '-', part.start - start) != NULL;
    if (text[end] == '#')
        end += strcspn(text + end, "\n");
    *lines = (struct text_span){start, end + (text[end] == '\n')};
    return dash && (start == 0 || text[start - 1] == '\n') &&
           (text[end] == '\n' || text[end] == '\0');
}

/* A section that has lost its last part says so: nothing at all would be no list. */
static char *remove_part(char *text, struct text_span section, struct text_span part) {
    struct text_span lines, first, second;
    bool only = next_part(text, section, section.start, &first) &&
                !next_part(text, section, first.end, &second);
    if (!lines_of_part(text, part, &lines))
        return take_away(text, part);
    text = text_span_replace(text, lines, "");
    return only ? text_span_insert(text, section.start, " []", "", "") : text;
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
    struct text_span section, part, last = {0, 0};
    char *added = part_text(change);
    if (!find_section(text, change->piece[0], &section)) {
        bool open = text[0] != '\0' && text[strlen(text) - 1] != '\n';
        text = text_span_insert(text, strlen(text), open ? "\n" : "", change->piece[0], ":\n  - ");
        text = text_span_insert(text, strlen(text), added, "\n", "");
    } else if (block_text_has_parts(text, section)) {
        text = block_text_add_part(text, section, added);
    } else {
        for (size_t at = section.start; next_part(text, section, at, &part); at = part.end)
            last = part;
        if (last.end > 0)
            text = text_span_insert(text, last.end, ", ", added, "");
    }
    free(added);
    return text;
}

/* Sets or takes away what the pieces from `first` on name within a flow map. */
static char *change_from(char *text, struct text_span map, const struct change *change,
                         uint32_t first) {
    struct pair pair;
    for (uint32_t i = first; i < change->count; i++) {
        bool last = i + 1 == change->count, found = find_pair(text, map, change->piece[i], &pair);
        if (last && found && change->removes)
            return take_away(text, (struct text_span){pair.key, pair.end});
        if (last && found)
            return text_span_replace(text, (struct text_span){pair.value, pair.end}, change->value);
        if (last && text[text_span_skip_blanks(text, map.start + 1, map.end)] == '}')
            return text_span_insert(text_span_insert(text, map.end - 1, change->piece[i], ": ", ""),
                                    map.end + strlen(change->piece[i]) + 1, change->value, "", "");
        if (last) {
            text = text_span_insert(text, map.end - 1, ", ", change->piece[i], ": ");
            return text_span_insert(text, map.end + strlen(change->piece[i]) + 3, change->value, "",
                                    "");
        }
        if (!found || text[pair.value] != '{')
            break;
        map = (struct text_span){pair.value, pair.end};
    }
    return text;
}

/* The same in a part that is written over several lines, down to a flow map in it. */
static char *change_block(char *text, struct text_span section, struct text_span part,
                          const struct change *change) {
    struct text_span map = part;
    if (change->count == 2)
        return change->removes ? block_text_remove(text, section, part) : text;
    for (uint32_t i = 2; i < change->count; i++) {
        struct block_pair pair;
        bool last = i + 1 == change->count;
        bool found = block_text_pair(text, map, change->piece[i], &pair);
        if (last && change->removes)
            return found ? block_text_take_away(text, &pair) : text;
        if (last)
            return found ? block_text_set(text, &pair, change->value)
                         : block_text_add(text, map, change->piece[i], change->value);
        if (!found)
            break;
        map = pair.value;
        if (text[map.start] == '{')
            return change_from(text, map, change, i + 1);
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
    struct text_span section, part;
    if (!take_apart(set, &change))
        return text;
    bool has_section = find_section(text, change.piece[0], &section);
    bool found = has_section && find_part(text, section, change.piece[1], &part);
    if (has_section && !found && block_text_find(text, section, change.piece[1], &part))
        return change_block(text, section, part, &change);
    if (found && change.count > 2)
        return change_from(text, part, &change, 2);
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
