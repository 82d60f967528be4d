/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/scenario.h - a whole scenario as plain data: what there is and how it is set,
 * nothing that changes while it runs. Made by model/reader from YAML and checked once; every index
 * in it is valid and every number within its range, so that engines need not ask again. Things
 * refer to each other by index in declared order, never by pointer. All times are ticks.
 *
 * The room model/scenario is what everybody else reads. What comes in: what the reader fills in.
 * What goes out: the data, and what follows from them alone (layout.h: places and tracks numbered
 * once; reach.h: which item can come where; quantity.h: exact numbers and times; catalogue.h: all
 * keys). */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "sim/random.h"

/* No such thing: no gate, no item (all items), ... */
#define NO_INDEX UINT32_MAX
/* No bound: a chest without capacity, a demand without end. */
#define NO_LIMIT INT64_MAX
/* A time or number that the scenario leaves open. */
#define NOT_GIVEN INT64_C(-1)

/* An exact decimal as a fraction in lowest terms, numerator >= 0, denominator > 0. */
struct ratio {
    int64_t numerator, denominator;
};

struct item_count {
    uint32_t item;
    int64_t count;
};

/* A list of `count` item counts, in declared order. */
struct item_counts {
    struct item_count *entry;
    uint32_t count;
};

/* Random stops and repairs of one thing, up at tick 0. Most things have none: they share one that
 * says so, and the others own theirs. */
struct breaks {
    bool present;
    struct span after;  /* from start or repair to the next breakdown */
    struct span repair; /* from breakdown to repair */
};
extern const struct breaks scenario_never_breaks;

struct scenario_item {
    char *name;
    uint32_t length; /* cells that one holds on a loop or line, from 1 */
};

enum { LANES_OF_LOOP_MAX = 8 };

struct scenario_loop {
    char *name;
    uint32_t cell_count;
    struct ratio rate; /* cells a second */
    uint32_t lane_count;
    uint32_t first_lane; /* index in scenario.lane of its first lane */
    const struct breaks *breaks;
};

/* One lane of a loop; all lanes of all loops stand in one list, in declared order. */
struct scenario_lane {
    char *name;      /* "outer"; within its loop */
    char *full_name; /* "ring/outer" */
    uint32_t loop;
};

struct scenario_line {
    char *name;
    uint32_t cell_count;
    struct ratio rate;
    const struct breaks *breaks;
};

struct scenario_chest {
    char *name;
    int64_t capacity;          /* NO_LIMIT: unbounded */
    struct item_counts start;  /* what lies in it at tick 0 */
    struct item_counts limits; /* bounds of single items */
};

struct station_output {
    uint32_t item;
    int64_t count;   /* made by one batch */
    bool has_chance; /* drawn at the end of each batch: all of count or none */
    double chance;   /* 0 .. 1, when has_chance */
    int64_t room;    /* most of it in the output stock, resolved: `room` batches or items */
};

struct scenario_station {
    char *name;
    struct item_counts takes; /* for one batch */
    struct station_output *makes;
    uint32_t makes_count;
    struct span time; /* of one batch, at least 1 tick */
    int64_t ahead;    /* batches whose inputs may wait in stock */
    uint32_t gate;    /* index in scenario.gate, or NO_INDEX */
    const struct breaks *breaks;
};

enum place_kind { PLACE_CHEST, PLACE_STATION, PLACE_LANE, PLACE_LINE };

/* Where an arm takes from or puts to. */
struct place {
    enum place_kind kind;
    uint32_t index; /* of the chest, station, lane (scenario.lane) or line */
    uint32_t cell;  /* on a lane or line; else 0 */
};

enum choose_kind { CHOOSE_IN_TURN, CHOOSE_RANDOM };

struct scenario_arm {
    char *name;
    struct place from, to;
    uint32_t
        *item; /* what it may carry, in the order in which kinds are tried; resolved defaults */
    uint32_t item_count;
    bool takes_what_fits; /* `item` was left out: all that are not too long, in rising order; never
                             of an arm that puts into a station */
    bool borrows_items;   /* `item` belongs to an earlier arm with the same default */
    uint32_t hand;        /* most items in a swing */
    struct span swing; /* out and back, drawn anew for each swing at its first pick; 0 is allowed */
    int64_t linger_ticks;
    enum choose_kind choose;
    uint32_t gate;
    const struct breaks *breaks;
};

enum gate_kind { GATE_BELOW, GATE_AT_LEAST, GATE_ALL, GATE_ANY };

enum reading_kind {
    READS_CHEST,          /* item, or the total */
    READS_STATION_INPUT,  /* item */
    READS_STATION_OUTPUT, /* item */
    READS_LOOP,           /* item, or all items on all its lanes */
    READS_LANE,
    READS_LINE
};

/* One node of a gate. Gates of all owners stand in one list; the children of a node are linked. */
struct scenario_gate {
    enum gate_kind kind;
    /* below and at_least: */
    enum reading_kind reads;
    uint32_t subject; /* index of the chest, station, loop, lane (scenario.lane) or line */
    uint32_t item;    /* NO_INDEX: the total */
    int64_t threshold;
    int64_t reopen_below; /* NOT_GIVEN: not a latch */
    /* all and any: */
    uint32_t first_child; /* NO_INDEX: a leaf */
    /* of a child of `all` or `any`: */
    uint32_t next_sibling;
};

enum when_kind { WHEN_WAIT, WHEN_LOSE }; /* supply: hold or lose; demand: backlog or lose */

/* A supply or a demand: both are a stream of events at one chest. */
struct scenario_stream {
    char *name;
    uint32_t chest;
    uint32_t item;
    struct span every; /* at least 1 tick */
    int64_t batch;
    int64_t first_tick; /* NOT_GIVEN: one interval after 0 */
    int64_t from_tick;
    int64_t until_tick;  /* NO_LIMIT: for ever */
    enum when_kind when; /* when_full of a supply, when_short of a demand */
    bool outlet;         /* demands only: takes what is there, asks for nothing; `when` is LOSE */
    uint32_t gate;       /* supplies only */
    const struct breaks *breaks; /* supplies only */
};

/* A part of the scenario that has a name: first the kinds that act, which incidents and breakdowns
 * stop and start, then those that hold things. */
enum part_kind {
    PART_ARM,
    PART_STATION,
    PART_LOOP,
    PART_LINE,
    PART_SUPPLY,
    PART_DEMAND,
    PART_CHEST,
    PART_LANE /* of all lanes of all loops */
};
enum { PART_KINDS_THAT_ACT = PART_DEMAND + 1 };

struct part {
    enum part_kind kind;
    uint32_t index; /* in the scenario's list of that kind */
};

enum incident_kind {
    INCIDENT_DROP,
    INCIDENT_CLEAR,
    INCIDENT_STOP,
    INCIDENT_START,
    INCIDENT_SET_CAPACITY,
    INCIDENT_SET_BELOW,    /* `below` of a single gate */
    INCIDENT_SET_AT_LEAST, /* `at_least` of a single gate */
    INCIDENT_SET_REOPEN    /* `reopen_below` of a latch */
};

struct scenario_incident {
    char *name;  /* NULL: none */
    char *label; /* the name, else its text and "#n" among equal texts; names its stream */
    bool repeats;
    int64_t at_tick;    /* when it does not repeat */
    struct span every;  /* when it repeats, at least 1 tick */
    int64_t first_tick; /* when it repeats; NOT_GIVEN: one interval after 0 */
    enum incident_kind kind;
    struct place track;   /* drop, clear: a lane or line; cell unused */
    uint32_t item;        /* drop; clear: NO_INDEX is everything */
    int64_t count;        /* drop */
    struct part actor;    /* stop, start; set of a threshold: whose gate (arm, station, supply) */
    uint32_t chest;       /* set of a capacity */
    uint32_t gate;        /* set of a threshold: the leaf in scenario.gate */
    int64_t value;        /* set: the new capacity (NO_LIMIT allowed) or threshold */
    int64_t reopen_value; /* set of `below`: the new `reopen_below` beside it, else NOT_GIVEN */
};

struct scenario_watch {
    int64_t every_ticks; /* from sample to sample */
    int64_t starved_after_ticks;
    int64_t
        blocked_after_ticks; /* NOT_GIVEN: one revolution for a loop, else blocked_default_ticks */
    int64_t blocked_default_ticks; /* ten seconds */
    struct ratio congested_at;     /* occupied share, 0 < share <= 1 */
    int64_t jam_after_ticks;
};

/* Bounds of something that should come out; numbers are exact decimals. */
struct expect_bound {
    bool has_least, has_most;
    struct ratio least, most;
};

struct expect_item {
    uint32_t item;
    struct expect_bound bound;
};

struct expect_lane {
    uint32_t lane;
    struct expect_bound bound;
};

enum expect_flag { EXPECT_OPEN, EXPECT_NO, EXPECT_YES };

/* What should come out of a run. `present` false: a run holds when it has no jam. */
struct scenario_expect {
    bool present;
    /* resolved: NO where the scenario leaves it open, YES with deadlock: true */
    enum expect_flag jam;
    enum expect_flag deadlock, drained, rest, clogged;
    bool has_starved;
    uint32_t *starved; /* stations */
    uint32_t starved_count;
    struct expect_item *made;
    uint32_t made_count;
    struct expect_item *demand_met;
    uint32_t demand_met_count;
    struct expect_lane *on_lane;
    uint32_t on_lane_count;
};

struct scenario {
    char *title; /* "" when none */
    char *text;  /* the scenario as run, YAML: as it was written, comments and all, or written anew
                   with overrides applied; reads back to an equal scenario */
    int64_t ticks_per_second;
    int64_t run_ticks; /* a run executes ticks 0 .. run_ticks */
    int64_t warm_up_ticks;
    uint64_t seed; /* 0 .. 2^53 - 1 */
    struct scenario_watch watch;
    struct scenario_expect expect;

    struct scenario_item *item;
    struct scenario_loop *loop;
    struct scenario_lane *lane;
    struct scenario_line *line;
    struct scenario_chest *chest;
    struct scenario_station *station;
    struct scenario_arm *arm;
    struct scenario_stream *supply;
    struct scenario_stream *demand;
    struct scenario_incident *incident;
    struct scenario_gate *gate;
    uint32_t item_count, loop_count, lane_count, line_count, chest_count, station_count, arm_count,
        supply_count, demand_count, incident_count, gate_count;
};

/* Gives back all memory of a scenario, and the struct itself; NULL is allowed. */
void scenario_free(struct scenario *scenario);

/* The name of a part, of a lane "ring/outer"; borrowed from the scenario. */
const char *scenario_part_name(const struct scenario *scenario, struct part part);
/* Whether a loop, line, chest, station, arm, supply, demand or incident has a name: a new one of
 * them must have another. */
bool scenario_has_name(const struct scenario *scenario, const char *name);

/* Gives back the breaks of a thing, if they are its own. */
void scenario_breaks_free(const struct breaks *breaks);
/* The breaks of a part that may break: not of a demand, chest or lane, which never do. */
const struct breaks *scenario_part_breaks(const struct scenario *scenario, struct part part);

/* Whether anything is asked for: some demand is no outlet. */
bool scenario_has_orders(const struct scenario *scenario);

/* Whether anything in it is drawn by chance, so that seeds make a difference. */
bool scenario_has_chance(const struct scenario *scenario);

/* A number for the parts of a scenario: two with the same one are likely to fit each other's
 * states. */
uint64_t scenario_shape(const struct scenario *scenario);
