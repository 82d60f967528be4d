/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/yaml_parse.c - builds a tree from the events of libyaml's parser.
 *
 * The parser does not limit nesting, and in flow style its time grows with the square of the
 * depth; it is stopped at LIMIT_DEPTH, before that matters (it looks ahead 1024 characters). The
 * bytes are checked beforehand, so that its own reader never has to refuse any. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <yaml.h>

#include "model/reader/yaml_tree.h"
#include "model/scenario/limits.h"
#include "model/scenario/names.h"
#include "model/scenario/quantity.h"
#include "model/scenario/scenario.h"
#include "sim/array.h"
#include "sim/require.h"
#include "sim/utf8.h"

/* A list or map that is being read. */
struct frame {
    struct node *node;
    uint32_t first; /* of its children, in pending */
};

struct parse {
    struct yaml_tree *tree;
    struct faults *faults;
    uint32_t source;
    uint32_t first_column; /* characters before the YAML in its first line */
    yaml_parser_t parser;
    struct frame frame[LIMIT_DEPTH];
    uint32_t depth;
    struct node **pending; /* children read so far of all open frames */
    uint32_t pending_count, pending_capacity;
    int64_t events;
    bool stopped; /* an error after which nothing more can be read */
    bool ended;   /* the document is over */
};

/* An error with its place. */
static struct fault *error_at(struct parse *parse, const struct node *place, const char *what) {
    struct fault *fault = faults_add(parse->faults, FAULT_ERROR, "%s", what);
    if (faults_keeps(parse->faults, fault))
        yaml_tree_place_fault(parse->tree, place, fault);
    return fault;
}

/* ---- places ---- */
static struct node node_at(const struct parse *parse, yaml_mark_t mark, size_t width) {
    uint32_t shift = mark.line == 0 ? parse->first_column : 0;
    return (struct node){.kind = NODE_BROKEN,
                         .source = parse->source,
                         .line = (uint32_t)mark.line + 1,
                         .column = (uint32_t)mark.column + 1 + shift,
                         .width = width > 0 ? (uint32_t)width : 1};
}

/* Characters of an event on its first line: all of it when it ends there. */
static size_t event_width(const yaml_event_t *event) {
    if (event->end_mark.line != event->start_mark.line)
        return 1;
    return event->end_mark.column - event->start_mark.column;
}

static struct node event_place(const struct parse *parse, const yaml_event_t *event) {
    return node_at(parse, event->start_mark, event_width(event));
}

static struct node *keep_node(struct parse *parse, const struct node *node) {
    return memcpy(yaml_tree_memory(parse->tree, sizeof *node), node, sizeof *node);
}

/* ---- looking the bytes over ---- */

/* What is wrong with a character of several bytes, NULL: nothing. The code points that YAML 1.1
 * takes for line ends would shift the line numbers of all other tools. */
static const char *complaint_of_wide(const unsigned char *at, size_t bytes) {
    if (bytes == 2 && at[0] == 0xC2 && at[1] < 0xA0)
        return "a control character in the text";
    if (bytes == 3 && at[0] == 0xE2 && at[1] == 0x80 && (at[2] == 0xA8 || at[2] == 0xA9))
        return "a Unicode line or paragraph separator in the text";
    if (bytes == 3 && at[0] == 0xEF && at[1] == 0xBB && at[2] == 0xBF)
        return "a byte order mark inside the text";
    if (bytes == 3 && at[0] == 0xEF && at[1] == 0xBF && at[2] >= 0xBE)
        return "a code point that is no character in the text";
    return NULL;
}

/* What is wrong at `at`, NULL: nothing; *bytes is how far to go on. */
static const char *complaint_of(const unsigned char *at, const unsigned char *start,
                                const unsigned char *end, size_t *bytes) {
    *bytes = 1;
    bool line_begins = at == start || at[-1] == '\n';
    if (*at == '%' && line_begins)
        return "a line may not begin with `%`: directives are not used here";
    if (*at >= 0x20 && *at < 0x7F)
        return NULL;
    if (*at == '\n' || *at == '\t')
        return NULL;
    if (*at == '\r')
        return at + 1 < end && at[1] == '\n' ? NULL : "a carriage return without a line feed";
    if (*at < 0x80)
        return "a control character in the text";
    *bytes = utf8_bytes(at, end);
    if (*bytes == 0)
        return "not UTF-8";
    return complaint_of_wide(at, *bytes);
}

/* How many of the bytes from `at` on are in order whatever stands before them: printable ASCII, of
 * which only a `%` at the start of a line is refused. Eight at a time: a byte is printable when its
 * highest bit is clear, stays so when 1 is added (it is not 0x7F), and is set when 0x60 is added
 * (it is not below 0x20). */
static size_t plain_bytes(const unsigned char *at, const unsigned char *end) {
    static const uint64_t each = UINT64_C(0x0101010101010101), high = each * 0x80;
    size_t count = 0;
    for (; (size_t)(end - at) - count >= sizeof(uint64_t); count += sizeof(uint64_t)) {
        uint64_t bytes;
        memcpy(&bytes, at + count, sizeof bytes);
        if ((bytes & high) != 0 || ((bytes + each) & high) != 0 ||
            ((bytes + each * 0x60) & high) != high)
            break;
    }
    return count;
}

/* Refuses the first byte that does not belong in a scenario. */
static bool look_over(struct parse *parse, size_t start) {
    const struct yaml_tree_source *source = &parse->tree->source[parse->source];
    const unsigned char *text = (const unsigned char *)source->text + start;
    const unsigned char *end = (const unsigned char *)source->text + source->length;
    yaml_mark_t mark = {0};
    size_t bytes;
    for (const unsigned char *at = text; at < end; at += bytes) {
        const char *complaint = complaint_of(at, text, end, &bytes);
        bool is_mark = at == text && bytes == 3 && memcmp(at, "\xEF\xBB\xBF", 3) == 0;
        if (complaint != NULL && !is_mark) {
            struct node place = node_at(parse, mark, 1);
            fault_note(error_at(parse, &place, complaint), "byte 0x%02X, number %zu of the text",
                       *at, (size_t)(at - text) + 1);
            return false;
        }
        mark.column++;
        if (*at == '\n') {
            mark.line++;
            mark.column = 0;
        } else {
            size_t plain = plain_bytes(at + bytes, end);
            bytes += plain;
            mark.column += plain;
        }
    }
    return true;
}

/* ---- children ---- */
static void push_pending(struct parse *parse, struct node *node) {
    parse->pending = array_with_room(parse->pending, parse->pending_count, &parse->pending_capacity,
                                     sizeof(struct node *));
    parse->pending[parse->pending_count++] = node;
}

static bool expects_key(const struct parse *parse) {
    if (parse->depth == 0)
        return false;
    const struct frame *frame = &parse->frame[parse->depth - 1];
    return frame->node->kind == NODE_MAP && (parse->pending_count - frame->first) % 2 == 0;
}

/* A key that can be looked up; anything else becomes a key that nobody knows, already reported. */
static void check_key(struct parse *parse, struct node *node) {
    if (node->kind != NODE_BROKEN && node->kind != NODE_SCALAR)
        error_at(parse, node, "a key must be a word, not a list or a map");
    else if (node->kind == NODE_SCALAR && node->plain && strcmp(node->text, "<<") == 0)
        fault_help(error_at(parse, node, "merge keys are not used here"),
                   "write the keys out where they are wanted");
    else if (node->kind == NODE_SCALAR && node->count > LIMIT_KEY_BYTES)
        fault_note(error_at(parse, node, "a key is too long"), "at most %d bytes", LIMIT_KEY_BYTES);
    else
        return;
    node->kind = NODE_BROKEN;
}

/* ---- duplicate keys ---- */
static void tell_duplicate(struct parse *parse, const struct node *key, const struct node *first) {
    struct fault *fault = faults_add(parse->faults, FAULT_ERROR, "key `%s` is given twice",
                                     yaml_tree_shown(key->text).text);
    if (!faults_keeps(parse->faults, fault))
        return;
    yaml_tree_place_fault(parse->tree, key, fault);
    if (parse->tree->source[key->source].has_lines)
        fault_note(fault, "first given on line %" PRIu32 ", column %" PRIu32, first->line,
                   first->column);
    else
        fault_note(fault, "first given in column %" PRIu32, first->column);
}

enum { FEW_KEYS = 8 };

/* Index of the pair before number `index` with the same key, NO_INDEX: none. */
static uint32_t same_key_before(struct node *const *child, struct names *names, uint32_t index) {
    const char *key = child[2 * index]->text;
    if (names != NULL)
        return names_add(names, key, index);
    for (uint32_t i = 0; i < index; i++)
        if (yaml_tree_same(child[2 * i]->text, key))
            return i;
    return NO_INDEX;
}

/* Takes pairs with a broken or repeated key out of a map; the latter are reported. */
static void drop_bad_pairs(struct parse *parse, struct node *map) {
    struct names names = {0};
    bool many = map->count > FEW_KEYS;
    uint32_t kept = 0;
    for (uint32_t i = 0; i < map->count; i++) {
        struct node *key = map->child[2 * i], *value = map->child[2 * i + 1];
        if (key->kind == NODE_BROKEN)
            continue;
        map->child[2 * kept] = key;
        map->child[2 * kept + 1] = value;
        uint32_t first = same_key_before(map->child, many ? &names : NULL, kept);
        if (first == NO_INDEX)
            kept++;
        else
            tell_duplicate(parse, key, map->child[2 * first]);
    }
    map->count = kept;
    names_free(&names);
}

/* ---- events ---- */
static void stop_at(struct parse *parse, const struct node *place, const char *what, int64_t limit,
                    const char *unit) {
    char number[QUANTITY_TEXT_SIZE];
    fault_note(error_at(parse, place, what), "at most %s %s", quantity_grouped(limit, number),
               unit);
    parse->stopped = true;
}

static void refuse_anchor_and_tag(struct parse *parse, const struct node *place,
                                  const yaml_char_t *anchor, const yaml_char_t *tag) {
    if (anchor != NULL)
        fault_help(error_at(parse, place, "anchors are not used here"),
                   "write the value out wherever it is wanted");
    if (tag != NULL)
        fault_help(error_at(parse, place, "tags are not used here"), "leave the `!` part out");
}

static void open_collection(struct parse *parse, const yaml_event_t *event, enum node_kind kind) {
    struct node place = event_place(parse, event);
    refuse_anchor_and_tag(
        parse, &place,
        kind == NODE_MAP ? event->data.mapping_start.anchor : event->data.sequence_start.anchor,
        kind == NODE_MAP ? event->data.mapping_start.tag : event->data.sequence_start.tag);
    if (parse->depth == LIMIT_DEPTH) {
        stop_at(parse, &place, "lists and maps are nested too deeply", LIMIT_DEPTH, "levels");
        return;
    }
    place.kind = kind;
    struct node *node = keep_node(parse, &place);
    parse->frame[parse->depth++] = (struct frame){node, parse->pending_count};
}

static void close_collection(struct parse *parse) {
    struct frame *frame = &parse->frame[--parse->depth];
    struct node *node = frame->node;
    uint32_t children = parse->pending_count - frame->first;
    node->child = yaml_tree_memory(parse->tree, children * sizeof(struct node *));
    if (children > 0)
        memcpy(node->child, parse->pending + frame->first, children * sizeof(struct node *));
    parse->pending_count = frame->first;
    node->count = node->kind == NODE_MAP ? children / 2 : children;
    if (node->kind == NODE_MAP)
        drop_bad_pairs(parse, node);
    if (expects_key(parse))
        check_key(parse, node);
    push_pending(parse, node);
}

static void take_scalar(struct parse *parse, const yaml_event_t *event) {
    const char *text = (const char *)event->data.scalar.value;
    size_t length = event->data.scalar.length;
    if (length > (size_t)LIMIT_SCALAR_BYTES) {
        struct node place = event_place(parse, event);
        refuse_anchor_and_tag(parse, &place, event->data.scalar.anchor, event->data.scalar.tag);
        stop_at(parse, &place, "a text is too long", LIMIT_SCALAR_BYTES, "bytes");
        return;
    }
    struct node *node = yaml_tree_memory(parse->tree, sizeof *node + length + 1);
    *node = event_place(parse, event);
    refuse_anchor_and_tag(parse, node, event->data.scalar.anchor, event->data.scalar.tag);
    if (memchr(text, '\0', length) != NULL) {
        error_at(parse, node, "a text holds a NUL character");
    } else {
        node->kind = NODE_SCALAR;
        node->plain = event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
        node->count = (uint32_t)length;
        node->text = memcpy(node + 1, text, length + 1);
    }
    if (expects_key(parse))
        check_key(parse, node);
    push_pending(parse, node);
}

static void take_alias(struct parse *parse, const yaml_event_t *event) {
    struct node node = event_place(parse, event);
    fault_help(error_at(parse, &node, "aliases are not used here"),
               "write the value out wherever it is wanted");
    push_pending(parse, keep_node(parse, &node));
}

static void take_event(struct parse *parse, const yaml_event_t *event) {
    if (++parse->events > LIMIT_EVENTS) {
        struct node place = event_place(parse, event);
        stop_at(parse, &place, "the text has too many parts", LIMIT_EVENTS, "names and values");
        return;
    }
    switch (event->type) {
    case YAML_ALIAS_EVENT: take_alias(parse, event); break;
    case YAML_SCALAR_EVENT: take_scalar(parse, event); break;
    case YAML_SEQUENCE_START_EVENT: open_collection(parse, event, NODE_LIST); break;
    case YAML_MAPPING_START_EVENT: open_collection(parse, event, NODE_MAP); break;
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT: close_collection(parse); break;
    case YAML_DOCUMENT_START_EVENT:
        if (parse->ended) {
            struct node place = event_place(parse, event);
            error_at(parse, &place, "a second document begins here; a scenario is one document");
            parse->stopped = true;
        }
        break;
    case YAML_DOCUMENT_END_EVENT: parse->ended = true; break;
    case YAML_NO_EVENT:
    case YAML_STREAM_START_EVENT:
    case YAML_STREAM_END_EVENT: break;
    }
}

/* ---- what the parser itself refuses ---- */
static bool is_tab(const struct parse *parse, struct node *place) {
    struct fault probe = {.what = NULL};
    yaml_tree_place_fault(parse->tree, place, &probe);
    uint32_t index = probe.column - probe.excerpt_column;
    bool tab = index < strlen(probe.excerpt) && probe.excerpt[index] == '\t';
    free(probe.source);
    free(probe.excerpt);
    return tab;
}

/* Ends the program as whoever runs out of memory does. */
static void out_of_memory(void) { free(require_more_memory(NULL, SIZE_MAX, 1)); }

static void tell_syntax(struct parse *parse) {
    const yaml_parser_t *parser = &parse->parser;
    if (parser->error == YAML_MEMORY_ERROR)
        out_of_memory();
    struct node place = node_at(parse, parser->problem_mark, 1);
    struct fault *fault = faults_add(parse->faults, FAULT_ERROR, "not YAML: %s",
                                     parser->problem != NULL ? parser->problem : "cannot be read");
    yaml_tree_place_fault(parse->tree, &place, fault);
    if (is_tab(parse, &place))
        fault_help(fault, "indent with blanks, not with tabs");
    else if (parser->context != NULL && strstr(parser->context, "parsing a flow") != NULL)
        fault_help(fault, "a [ or { is not closed, or a comma is missing");
    if (parser->context == NULL)
        return;
    if (parse->tree->source[parse->source].has_lines)
        fault_note(fault, "%s, from line %zu on", parser->context, parser->context_mark.line + 1);
    else
        fault_note(fault, "%s", parser->context);
}

static void read_events(struct parse *parse) {
    bool over = false;
    while (!over && !parse->stopped) {
        yaml_event_t event;
        if (!yaml_parser_parse(&parse->parser, &event)) {
            tell_syntax(parse);
            parse->stopped = true;
            return;
        }
        over = event.type == YAML_STREAM_END_EVENT;
        take_event(parse, &event);
        yaml_event_delete(&event);
    }
}

/* Characters of a source before byte `start`, all in one line. */
static uint32_t characters_before(const struct yaml_tree_source *source, size_t start) {
    uint32_t count = 0;
    for (size_t i = 0; i < start; i++)
        count += ((unsigned char)source->text[i] & 0xC0) != 0x80;
    return count;
}

struct node *yaml_tree_parse(struct yaml_tree *tree, uint32_t source, size_t start,
                             struct faults *faults, bool *readable) {
    const struct yaml_tree_source *from = &tree->source[source];
    require(start <= from->length);
    struct parse parse = {.tree = tree, .faults = faults, .source = source};
    parse.first_column = characters_before(from, start);
    *readable = look_over(&parse, start);
    if (!*readable)
        return NULL;
    if (!yaml_parser_initialize(&parse.parser))
        out_of_memory();
    yaml_parser_set_encoding(&parse.parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parse.parser, (const unsigned char *)from->text + start,
                                 from->length - start);
    read_events(&parse);
    yaml_parser_delete(&parse.parser);
    struct node *root = parse.pending_count > 0 ? parse.pending[0] : NULL;
    free(parse.pending);
    *readable = !parse.stopped;
    return *readable ? root : NULL;
}
