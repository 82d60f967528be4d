/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/catalogue.h - every key that a scenario may hold, with what it wants and what it
 * means: the one source for the reader, which knows no other keys and takes types, ranges, words
 * and defaults from here, and for the manual, the schema and the completion, which are made of it.
 *
 * Keys that exclude or need each other stand beside them, in rules, of which the schema is made and
 * by which the reader asks.
 *
 * A new key is a row in catalogue.c; a new kind of map is a constant in `enum catalogue_kind`, its
 * table of keys and a row in the table of maps. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

/* The kinds of maps. */
enum catalogue_kind {
    CATALOGUE_SCENARIO,
    CATALOGUE_CLOCK,
    CATALOGUE_RUN,
    CATALOGUE_WATCH,
    CATALOGUE_ITEM,
    CATALOGUE_LOOP,
    CATALOGUE_LINE,
    CATALOGUE_CHEST,
    CATALOGUE_STATION,
    CATALOGUE_OUTPUT,
    CATALOGUE_ARM,
    CATALOGUE_GATE,
    CATALOGUE_SUPPLY,
    CATALOGUE_DEMAND,
    CATALOGUE_INCIDENT,
    CATALOGUE_DROP,
    CATALOGUE_CLEAR,
    CATALOGUE_SET,
    CATALOGUE_BREAKS,
    CATALOGUE_SPAN,
    CATALOGUE_EXPECT,
    CATALOGUE_BOUND,
    CATALOGUE_MAY,
    CATALOGUE_MAY_ARM,
    CATALOGUE_MAY_LOOPS,
    CATALOGUE_MAY_LINES,
    CATALOGUE_MAY_CHESTS,
    CATALOGUE_MAY_SURVIVE
};
enum {
    CATALOGUE_KINDS = CATALOGUE_MAY_SURVIVE + 1,
    CATALOGUE_KEYS_MAX = 16,
    CATALOGUE_WORDS_MAX = 3
};

/* What a key wants. `least` and `most` are bounds of the number, of each count, or of how many
 * there are in the list. */
enum catalogue_type {
    WANTS_TEXT,          /* a text of one line */
    WANTS_NAME,          /* a name, its own or that of something */
    WANTS_NAMES,         /* a list of names */
    WANTS_FLAG,          /* true or false */
    WANTS_WORD,          /* one of `word` */
    WANTS_COUNT,         /* a whole number */
    WANTS_COUNT_OR_NULL, /* a whole number, or null */
    WANTS_NUMBER,        /* a number */
    WANTS_COUNT_LIST,    /* a list of whole numbers */
    WANTS_NUMBER_LIST,   /* a list of numbers */
    WANTS_DURATION,      /* a duration */
    WANTS_SPAN,          /* a duration, or a distribution: a map of CATALOGUE_SPAN */
    WANTS_PARAMETERS,    /* of a distribution, which `word` names: in a list if several */
    WANTS_PLACE,         /* CHEST, STATION, LOOP/LANE@CELL, LOOP@CELL or LINE@CELL */
    WANTS_LANE,          /* LOOP/LANE, or LOOP */
    WANTS_MAP,           /* a map of kind `map` */
    WANTS_MAPS,          /* a list of maps of kind `map` */
    WANTS_ITEMS,         /* a list of names, or a map from names to maps of kind `map` */
    WANTS_COUNTS,        /* a map from names to whole numbers */
    WANTS_OUTPUTS,       /* a map from names to whole numbers or maps of kind `map` */
    WANTS_ROOM,          /* a whole number, or a map from names to whole numbers */
    WANTS_BOUNDS,        /* a map from names to maps of kind `map` */
    WANTS_LANE_BOUNDS    /* a map from lanes to maps of kind `map` */
};
enum { CATALOGUE_TYPES = WANTS_LANE_BOUNDS + 1 };

struct catalogue_key {
    const char *name;
    enum catalogue_type type;
    enum catalogue_kind map;               /* of the types that name it: what is in there */
    const char *word[CATALOGUE_WORDS_MAX]; /* of WANTS_WORD: the choices; of WANTS_PARAMETERS */
    int64_t least, most;                   /* most 0: no bounds that are worth telling */
    bool above_least;                      /* a number or duration is more than `least` */
    bool required;                         /* by the map */
    bool brief_lacks;                      /* a scenario without arms, a brief, may leave it out */
    bool may_be_open;                      /* `find` may stand for its number: `design` finds it */
    const char *preset;                    /* the default as one would write it; NULL: none */
    const char *absent; /* in words, what holds where it is left out; NULL: `preset`, or nothing */
    const char *says;   /* what it means, in one line */
};

/* What keys mean for each other: how many of some may be in a map, always or beside others. */
enum catalogue_rule_kind {
    RULE_ONE,  /* one of them, and no more */
    RULE_SOME, /* one or more */
    RULE_NONE  /* none */
};
enum { CATALOGUE_RULE_KEYS_MAX = 7 };
struct catalogue_rule {
    enum catalogue_rule_kind kind;
    const char *key[CATALOGUE_RULE_KEYS_MAX];
    /* It holds where one of these is there, or, of a flag, is true; none: always. */
    const char *beside[CATALOGUE_RULE_KEYS_MAX];
    const char *wanted; /* of RULE_ONE and RULE_SOME: what a map lacks that has none of them */
    const char *help;   /* what to write in its place; NULL: nothing to say */
};

/* One kind of map. */
struct catalogue_map {
    const char *name; /* with its article, as messages put it: "an arm", "`run`" */
    const char *says;
    const struct catalogue_key *key;
    uint32_t key_count;
    const struct catalogue_rule *rule;
    uint32_t rule_count;
};

const struct catalogue_map *catalogue_map(enum catalogue_kind kind);

/* The key of a map by name; NULL: it has none. */
const struct catalogue_key *catalogue_key(const struct catalogue_map *map, const char *name);

/* Whether a list of names, as rules have them, holds a name. */
bool catalogue_lists(const char *const list[CATALOGUE_RULE_KEYS_MAX], const char *name);

/* What a key wants, with its bounds and choices, to read: "a whole number, 1 to 1,000,000". */
enum { CATALOGUE_WANTS_SIZE = 160 };
const char *catalogue_wants(const struct catalogue_key *key, char text[CATALOGUE_WANTS_SIZE]);
