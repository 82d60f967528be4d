/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/reading.h - the state of reading one scenario. Private to this room.
 *
 * Names are declared first, so that sections may refer to each other in any order; then the
 * sections are read one by one, each adding what it finds wrong. A mistake is reported once: a
 * node that is missing (NULL) or NODE_BROKEN has been reported already, and readers pass over it
 * in silence. */
#pragma once

#include "model/reader/yaml_tree.h"
#include "model/scenario/catalogue.h"
#include "model/scenario/names.h"
#include "model/scenario/pairs.h"
#include "model/scenario/quantity.h"
#include "model/scenario/scenario.h"
#include "sim/fault.h"

/* What shares one space of names. */
enum thing_kind {
    THING_LOOP,
    THING_LINE,
    THING_CHEST,
    THING_STATION,
    THING_ARM,
    THING_SUPPLY,
    THING_DEMAND,
    THING_INCIDENT
};
enum { THING_KINDS = THING_INCIDENT + 1 };

struct thing {
    enum thing_kind kind;
    uint32_t index;
    const char *name;
    const struct node *node; /* its name, as first declared */
};

/* A threshold, and where it is set. */
struct threshold {
    int64_t value;
    const struct node *node;
};

/* A latch's thresholds over the whole run: what `set` is held against. A `set` of one of them meets
 * any value of the other, a `set` of both those that come alone. */
struct gate_bounds {
    struct threshold below_least, reopen_most;  /* of all values */
    struct threshold below_alone, reopen_alone; /* of those that are set alone */
};

struct reading {
    struct yaml_tree tree;
    struct draft *draft; /* NULL: a scenario is read that must be complete */
    struct faults *faults;
    struct scenario *scenario;
    struct names items;            /* name -> index in scenario.item */
    const struct node **item_node; /* where each is declared */
    struct names things;           /* name -> index in thing */
    struct thing *thing;
    uint32_t thing_count, thing_capacity;
    struct node **part[THING_KINDS]; /* the maps of each section; part_count of them */
    uint32_t part_count[THING_KINDS];
    bool *station_known;       /* its takes and makes could be read */
    struct pairs takes, makes; /* station and item; the value is the index in its takes or makes */
    uint32_t gate_capacity;
    bool gate_limit_told;
    const struct node **gate_node; /* of each gate: where its threshold is */
    struct gate_bounds *bounds;    /* of each gate */
    int64_t hands;                 /* of arms that pick from loops and lines */
    int64_t arm_items;             /* length of all lists of what arms may carry */
    int64_t words_left;            /* that may still be looked at for suggestions */
};

/* ---- faults ---- */
/* Adds a fault at a node. */
struct fault *reading_error(struct reading *reading, const struct node *node, const char *what, ...)
    __attribute__((format(printf, 3, 4)));
struct fault *reading_warning(struct reading *reading, const struct node *node, const char *what,
                              ...) __attribute__((format(printf, 3, 4)));

/* Nothing to be read, and nothing more to be said about it. */
bool reading_told(const struct node *node);

/* What a node is, for "wants ..., not WHAT": "a list", "the text `x`". */
struct yaml_tree_shown reading_found(const struct node *node);

/* ---- maps ---- */
struct fields {
    const struct catalogue_map *map;
    const struct node *node;
    const struct node *key[CATALOGUE_KEYS_MAX]; /* as written; in the order of the catalogue */
    struct node *value[CATALOGUE_KEYS_MAX];
};

/* Opens a map of a kind, telling unknown and missing keys. False when it is no map. */
bool reading_open(struct reading *reading, struct node *node, enum catalogue_kind kind,
                  struct fields *fields);
/* The value of a key of the catalogue, NULL when it is not there. */
struct node *reading_get(const struct fields *fields, const char *key);
/* The node of the key itself, NULL when it is not there. */
const struct node *reading_key(const struct fields *fields, const char *key);

/* The one that is there of the keys of a rule of the map, RULE_ONE or RULE_SOME, which begins with
 * the key `first`. None: NULL, reported. Several: the first; of RULE_ONE the second is reported. */
const char *reading_one_of(struct reading *reading, const struct fields *fields, const char *first);
/* Reports the keys that may not be there beside another, which is. True: there are some. */
bool reading_refuse(struct reading *reading, const struct fields *fields, const char *beside);

/* ---- names ---- */
/* True for a text that may be a name; what is wrong with it is reported, with `what` as its
 * subject. */
bool reading_check_name(struct reading *reading, const struct node *node, const char *what);
/* The text of a scalar that names something; NULL, reported, when it is none. */
const char *reading_name(struct reading *reading, const struct node *node, const char *key);

/* An item by name; NO_INDEX, reported, when there is none. */
uint32_t reading_item(struct reading *reading, const struct node *node, const char *key);

/* Kinds of things as a set: bit 1 << kind. */
#define THING_SET(kind) (1u << (kind))
/* A thing of one of the kinds of `set` by name; NULL, reported, when there is none. `wanted` says
 * what is wanted, with its article: "a chest". */
const struct thing *reading_thing(struct reading *reading, const struct node *node, const char *key,
                                  unsigned set, const char *wanted);
/* The same for a name that stands in a text (of a place), at `node`. */
const struct thing *reading_thing_named(struct reading *reading, const struct node *node,
                                        const char *name, unsigned set, const char *wanted);
/* "a chest" */
const char *reading_kind_name(enum thing_kind kind);

/* Says as help of `fault` that decimals have a point, where `text` is a number with a comma. */
void reading_comma_help(struct fault *fault, const char *text);

/* Offers, as help of `fault`, the nearest of `count` words that `word` gives one by one (NULL:
 * none), and names them all in its note when they are few and it has none. After a great many
 * searches in one reading nothing is offered any more. */
void reading_suggest(struct reading *reading, struct fault *fault, const char *wanted,
                     const char *(*word)(const void *from, uint32_t index), const void *from,
                     uint32_t count);

/* ---- values (read_value.c): false when there is none or it is wrong (reported) ---- */
bool read_value_count(struct reading *reading, const struct node *node, const char *key,
                      int64_t least, int64_t most, int64_t *count);
/* What a number may be: least <= n <= most or, when `above_least`, least < n <= most. It is rounded
 * to a fraction whose denominator is at most `denominator_most`, which is noted. */
struct number_range {
    int64_t least;
    bool above_least;
    int64_t most, denominator_most;
};
bool read_value_fraction(struct reading *reading, const struct node *node, const char *key,
                         const struct number_range *range, struct ratio *ratio);
/* The same of any denominator. */
bool read_value_ratio(struct reading *reading, const struct node *node, const char *key,
                      int64_t least, bool above_least, int64_t most, struct ratio *ratio);
bool read_value_decimal(struct reading *reading, const struct node *node, const char *key,
                        struct decimal *decimal);
/* Notes that of a number's digits after the point only `places` are kept. */
void read_value_note_places(struct reading *reading, const struct node *node, const char *key,
                            uint32_t places);
bool read_value_flag(struct reading *reading, const struct node *node, const char *key, bool *flag);
/* One of `count` words, its index. */
bool read_value_word(struct reading *reading, const struct node *node, const char *key,
                     const char *const *word, uint32_t count, uint32_t *index);
/* A list, of at least one member when `some`. */
bool read_value_list(struct reading *reading, const struct node *node, const char *key, bool some);
/* A map of item names to counts. */
bool read_value_item_counts(struct reading *reading, const struct node *node, const char *key,
                            int64_t least, int64_t most, struct item_counts *counts);

/* ---- values of keys (read_key.c): type, range, words and default are those of the catalogue.
 * Where the key is left out, or its value wrong (reported), the result is the default, if the
 * catalogue has one, else as before. True: a value was read. ---- */
bool read_key_count(struct reading *reading, const struct fields *fields, const char *key,
                    int64_t *count);
/* A map of item names to counts. */
bool read_key_counts(struct reading *reading, const struct fields *fields, const char *key,
                     struct item_counts *counts);
/* A fraction whose denominator is at most `denominator_most`. */
bool read_key_ratio(struct reading *reading, const struct fields *fields, const char *key,
                    int64_t denominator_most, struct ratio *ratio);
bool read_key_flag(struct reading *reading, const struct fields *fields, const char *key,
                   bool *flag);
/* The index of one of the catalogue's words; of the first, which is the default, without it. */
uint32_t read_key_word(struct reading *reading, const struct fields *fields, const char *key);
bool read_key_ticks(struct reading *reading, const struct fields *fields, const char *key,
                    int64_t *ticks);
bool read_key_span(struct reading *reading, const struct fields *fields, const char *key,
                   struct span *span);

/* ---- times (read_span.c) ---- */
/* A duration that is not negative, as written and in ticks. */
bool read_span_duration(struct reading *reading, const struct node *node, const char *key,
                        struct duration *duration, int64_t *ticks);
bool read_span_ticks(struct reading *reading, const struct node *node, const char *key,
                     int64_t *ticks);
enum span_least { SPAN_MAY_BE_ZERO, SPAN_POSITIVE };
bool read_span(struct reading *reading, const struct node *node, const char *key,
               enum span_least least, struct span *span);
/* The same for an interval: warns when rounding changes it by more than 1/200. */
bool read_span_interval(struct reading *reading, const struct node *node, struct span *span);
/* Owned by the thing that has it; &scenario_never_breaks where there is no such node. */
const struct breaks *read_span_breaks(struct reading *reading, struct node *node);

/* ---- places (read_place.c) ---- */
/* CHEST, STATION, LOOP/LANE@CELL, LOOP@CELL, LINE@CELL. */
bool read_place(struct reading *reading, const struct node *node, const char *key,
                struct place *place);
/* LOOP/LANE, or LOOP where it has one lane. */
bool read_place_lane(struct reading *reading, const struct node *node, const char *text,
                     uint32_t *lane);
/* `lane: LOOP/LANE` or `line: NAME` of drop and clear; `lane: NAME` of a line will do. */
bool read_place_track(struct reading *reading, const struct fields *fields, struct place *track);
/* Cells of a lane or line; 0 when they are not known. */
uint32_t read_place_cells(const struct scenario *scenario, struct place place);

/* ---- sections ---- */
void read_settings(struct reading *reading, const struct fields *top);
void read_parts_items(struct reading *reading, struct node *node);
void read_parts_loops(struct reading *reading);
void read_parts_lines(struct reading *reading);
void read_parts_chests(struct reading *reading);
void read_parts_stations(struct reading *reading);
/* After all stations are read: a gate may read any of them. */
void read_parts_station_gates(struct reading *reading);
void read_arms(struct reading *reading);
/* A gate; NO_INDEX when it is left out or wrong. */
uint32_t read_gate(struct reading *reading, struct node *node);
void read_streams_supplies(struct reading *reading);
void read_streams_demands(struct reading *reading);
void read_incidents(struct reading *reading);
void read_expect(struct reading *reading, struct node *node);
/* What is valid but of no use: warnings, of a scenario without errors. */
void read_sense(struct reading *reading);
/* ---- drafts (read_draft.c, read_may.c) ---- */
/* Reports `may` and each `find` as an error, and takes them away. */
void read_draft_refuse(struct reading *reading);
/* Notes in reading->draft what is open and puts a stand-in in its place. Returns `may`, which it
 * takes out of the tree; NULL: there is none. */
struct node *read_draft_open(struct reading *reading);
/* Reports items of a brief that nothing supplies or makes. */
void read_draft_check_brief(struct reading *reading);
/* Reads `may` (NULL: left out) into the draft; the clock must be known. */
void read_may(struct reading *reading, struct node *node);

/* Applies one "PATH=VALUE" to the tree; false when an error was reported. */
bool read_override(struct reading *reading, const char *override);
