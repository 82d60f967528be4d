/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/catalogue.c - the table of keys. */
#include "model/scenario/catalogue.h"

#include <inttypes.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "model/scenario/scenario.h"
#include "sim/require.h"

/* ---- keys that several maps have ---- */
#define NAME                                                                                       \
    { .name = "name", .type = WANTS_NAME, .required = true, .says = "what it is called" }
#define BREAKS                                                                                     \
    {                                                                                              \
        .name = "breaks", .type = WANTS_MAP, .map = CATALOGUE_BREAKS, .absent = "never",           \
        .says = "random stops and repairs"                                                         \
    }
#define GATE(what)                                                                                 \
    {                                                                                              \
        .name = "gate", .type = WANTS_MAP, .map = CATALOGUE_GATE, .absent = "always open",         \
        .says = what                                                                               \
    }
#define LANE(what)                                                                                 \
    { .name = "lane", .type = WANTS_LANE, .says = what }
#define LINE(what)                                                                                 \
    { .name = "line", .type = WANTS_NAME, .says = what }
#define SECTION(section, kind, what)                                                               \
    { .name = section, .type = WANTS_MAPS, .map = kind, .absent = "none", .says = what }
#define RATE                                                                                       \
    {                                                                                              \
        .name = "rate", .type = WANTS_NUMBER, .required = true, .above_least = true,               \
        .most = LIMIT_TICKS_PER_SECOND, .may_be_open = true,                                       \
        .says = "cells a second, at most one a tick"                                               \
    }
#define CELLS(what)                                                                                \
    {                                                                                              \
        .name = "cells", .type = WANTS_COUNT, .required = true, .least = 1, .most = LIMIT_CELLS,   \
        .may_be_open = true, .says = what                                                          \
    }
#define EVERY(what)                                                                                \
    { .name = "every", .type = WANTS_SPAN, .required = true, .above_least = true, .says = what }
#define BATCH(what)                                                                                \
    {                                                                                              \
        .name = "batch", .type = WANTS_COUNT, .least = 1, .most = LIMIT_BATCH, .preset = "1",      \
        .says = what                                                                               \
    }
#define FIRST                                                                                      \
    {                                                                                              \
        .name = "first", .type = WANTS_DURATION, .absent = "one interval after 0",                 \
        .says = "when the first is due"                                                            \
    }
#define FROM                                                                                       \
    { .name = "from", .type = WANTS_DURATION, .preset = "0", .says = "none is due before" }
#define UNTIL                                                                                      \
    { .name = "until", .type = WANTS_DURATION, .absent = "no end", .says = "none is due after" }
#define THRESHOLD(key, what)                                                                       \
    { .name = key, .type = WANTS_COUNT, .most = LIMIT_COUNT, .may_be_open = true, .says = what }
#define CHEST(what)                                                                                \
    { .name = "chest", .type = WANTS_NAME, .required = true, .brief_lacks = true, .says = what }

/* ---- the maps ---- */
static const struct catalogue_key scenario_key[] = {
    {.name = "title",
     .type = WANTS_TEXT,
     .absent = "empty",
     .says = "what this scenario is, in one line"},
    {.name = "clock",
     .type = WANTS_MAP,
     .map = CATALOGUE_CLOCK,
     .says = "how finely time is divided"},
    {.name = "run",
     .type = WANTS_MAP,
     .map = CATALOGUE_RUN,
     .says = "how long to run, with which seed"},
    {.name = "watch",
     .type = WANTS_MAP,
     .map = CATALOGUE_WATCH,
     .says = "when samples are taken, and what counts as an event"},
    {.name = "items",
     .type = WANTS_ITEMS,
     .map = CATALOGUE_ITEM,
     .absent = "none",
     .says = "what is made, moved and used"},
    SECTION("loops", CATALOGUE_LOOP, "belts that run in a ring"),
    SECTION("lines", CATALOGUE_LINE, "straight belts on which items queue"),
    SECTION("chests", CATALOGUE_CHEST, "where items are kept"),
    SECTION("stations", CATALOGUE_STATION, "where items are made of others"),
    SECTION("arms", CATALOGUE_ARM, "what moves items from place to place"),
    SECTION("supplies", CATALOGUE_SUPPLY, "what is delivered to chests"),
    SECTION("demands", CATALOGUE_DEMAND, "what is taken out of chests"),
    SECTION("incidents", CATALOGUE_INCIDENT, "what is done to the workshop from outside"),
    {.name = "expect",
     .type = WANTS_MAP,
     .map = CATALOGUE_EXPECT,
     .absent = "no jam",
     .says = "what should come out of the run"},
    {.name = "may",
     .type = WANTS_MAP,
     .map = CATALOGUE_MAY,
     .says = "for `design` alone: what can be used to complete it"},
};

static const struct catalogue_key clock_key[] = {
    {.name = "ticks_per_second",
     .type = WANTS_COUNT,
     .least = 1,
     .most = LIMIT_TICKS_PER_SECOND,
     .preset = "100",
     .says = "how many ticks a second has"},
};

static const struct catalogue_key run_key[] = {
    {.name = "for", .type = WANTS_DURATION, .preset = "1 h", .says = "how long the run is"},
    {.name = "seed",
     .type = WANTS_COUNT,
     .most = LIMIT_SEED,
     .preset = "1",
     .says = "the seed of all random numbers"},
    {.name = "warm_up",
     .type = WANTS_DURATION,
     .preset = "0",
     .says = "the time at the start that shares and rates of the summary, and the verdict, leave "
             "out"},
};

static const struct catalogue_key watch_key[] = {
    {.name = "every",
     .type = WANTS_DURATION,
     .above_least = true,
     .preset = "1 s",
     .says = "the time between two samples in the files"},
    {.name = "starved_after",
     .type = WANTS_DURATION,
     .preset = "10 s",
     .says = "a station that has been starved for this long is an event"},
    {.name = "blocked_after",
     .type = WANTS_DURATION,
     .absent = "one revolution on a loop, else 10 s",
     .says = "an arm or station that has been blocked for this long is an event"},
    {.name = "congested_at",
     .type = WANTS_NUMBER,
     .above_least = true,
     .most = 1,
     .preset = "0.95",
     .says = "occupied share from which a lane is congested"},
    {.name = "jam_after",
     .type = WANTS_DURATION,
     .preset = "30 s",
     .says = "how long nothing must have moved on a lane, at least, for a jam"},
};

static const struct catalogue_key item_key[] = {
    {.name = "length",
     .type = WANTS_COUNT,
     .least = 1,
     .most = LIMIT_CELLS,
     .preset = "1",
     .says = "cells that one covers on a belt"},
};

static const struct catalogue_key loop_key[] = {
    NAME,
    CELLS("cells in the ring"),
    RATE,
    {.name = "lanes",
     .type = WANTS_NAMES,
     .least = 1,
     .most = LANES_OF_LOOP_MAX,
     .preset = "[\"lane\"]",
     .absent = "one, called `lane`",
     .says = "lanes side by side"},
    BREAKS,
};

static const struct catalogue_key line_key[] = {
    NAME,
    CELLS("cells from end to end"),
    RATE,
    BREAKS,
};

static const struct catalogue_key chest_key[] = {
    NAME,
    {.name = "capacity",
     .type = WANTS_COUNT,
     .most = LIMIT_COUNT,
     .absent = "no bound",
     .may_be_open = true,
     .says = "the most items in it, of all kinds together"},
    {.name = "start",
     .type = WANTS_COUNTS,
     .most = LIMIT_COUNT,
     .absent = "empty",
     .may_be_open = true,
     .says = "what lies in it when the run begins"},
    {.name = "limits",
     .type = WANTS_COUNTS,
     .most = LIMIT_COUNT,
     .absent = "no bounds",
     .may_be_open = true,
     .says = "the most items in it of single kinds"},
};

static const struct catalogue_key station_key[] = {
    NAME,
    {.name = "takes",
     .type = WANTS_COUNTS,
     .least = 1,
     .most = LIMIT_COUNT,
     .absent = "nothing",
     .says = "what a batch uses"},
    {.name = "makes",
     .type = WANTS_OUTPUTS,
     .map = CATALOGUE_OUTPUT,
     .least = 1,
     .most = LIMIT_COUNT,
     .absent = "nothing",
     .says = "what a batch gives"},
    {.name = "time",
     .type = WANTS_SPAN,
     .required = true,
     .above_least = true,
     .says = "how long a batch takes"},
    {.name = "ahead",
     .type = WANTS_COUNT,
     .least = 1,
     .most = LIMIT_COUNT,
     .preset = "2",
     .may_be_open = true,
     .says = "for how many batches inputs may wait in its stock"},
    {.name = "room",
     .type = WANTS_ROOM,
     .least = 1,
     .most = LIMIT_COUNT,
     .preset = "2",
     .absent = "2 batches",
     .may_be_open = true,
     .says = "how many batches, or items of each output, may wait in its stock"},
    GATE("when a batch may start"),
    BREAKS,
};

static const struct catalogue_key output_key[] = {
    {.name = "count",
     .type = WANTS_COUNT,
     .required = true,
     .least = 1,
     .most = LIMIT_COUNT,
     .says = "how many a batch gives"},
    {.name = "chance",
     .type = WANTS_NUMBER,
     .most = 1,
     .absent = "sure",
     .says = "how likely it is that they appear, all or none"},
};

static const struct catalogue_key arm_key[] = {
    NAME,
    {.name = "from",
     .type = WANTS_PLACE,
     .required = true,
     .may_be_open = true,
     .says = "where it takes"},
    {.name = "to",
     .type = WANTS_PLACE,
     .required = true,
     .may_be_open = true,
     .says = "where it puts"},
    {.name = "items",
     .type = WANTS_NAMES,
     .least = 1,
     .most = LIMIT_THINGS,
     .absent = "what a station at `to` takes, else all that are not too long",
     .says = "what it moves, in the order in which it tries"},
    {.name = "hand",
     .type = WANTS_COUNT,
     .least = 1,
     .most = LIMIT_HAND,
     .preset = "1",
     .may_be_open = true,
     .says = "the most items it carries in a swing"},
    {.name = "swing",
     .type = WANTS_SPAN,
     .required = true,
     .may_be_open = true,
     .says = "the time for out and back; 0 is a diverter, a merge or a hand-over"},
    {.name = "linger",
     .type = WANTS_DURATION,
     .absent = "the mean swing",
     .says = "how long it waits over a belt to fill its hand"},
    {.name = "choose",
     .type = WANTS_WORD,
     .word = {"in_turn", "random"},
     .preset = "in_turn",
     .says = "which kind it takes from a chest or station"},
    GATE("when it may pick"),
    BREAKS,
};

static const struct catalogue_key gate_key[] = {
    {.name = "chest", .type = WANTS_NAME, .says = "read a chest: `item`, or all of it"},
    {.name = "station",
     .type = WANTS_NAME,
     .says = "read a station's stock of its `input` or `output`"},
    {.name = "loop", .type = WANTS_NAME, .says = "read a loop: `item`, or all"},
    LANE("read a lane: `item`, or all"),
    LINE("read a line: `item`, or all"),
    {.name = "item", .type = WANTS_NAME, .absent = "all", .says = "the kind that is counted"},
    {.name = "input", .type = WANTS_NAME, .says = "an item that the station takes"},
    {.name = "output", .type = WANTS_NAME, .says = "an item that the station makes"},
    THRESHOLD("below", "open while the count is less than this"),
    THRESHOLD("at_least", "open while the count is this or more"),
    THRESHOLD("reopen_below", "beside `below`: once shut, open again only below this"),
    {.name = "all",
     .type = WANTS_MAPS,
     .map = CATALOGUE_GATE,
     .least = 1,
     .most = LIMIT_THINGS,
     .says = "open while all of them are"},
    {.name = "any",
     .type = WANTS_MAPS,
     .map = CATALOGUE_GATE,
     .least = 1,
     .most = LIMIT_THINGS,
     .says = "open while one of them is"},
};

static const struct catalogue_key supply_key[] = {
    NAME,
    CHEST("where it is put"),
    {.name = "item", .type = WANTS_NAME, .required = true, .says = "what is put"},
    EVERY("from delivery to delivery"),
    BATCH("items in a delivery"),
    FIRST,
    FROM,
    UNTIL,
    {.name = "when_full",
     .type = WANTS_WORD,
     .word = {"hold", "lose"},
     .preset = "hold",
     .says = "what happens to items that do not fit"},
    GATE("when it may deliver"),
    BREAKS,
};

static const struct catalogue_key demand_key[] = {
    NAME,
    CHEST("where it is taken"),
    {.name = "item", .type = WANTS_NAME, .required = true, .says = "what is taken"},
    EVERY("from order to order"),
    BATCH("items in an order"),
    FIRST,
    FROM,
    UNTIL,
    {.name = "when_short",
     .type = WANTS_WORD,
     .word = {"backlog", "lose"},
     .preset = "backlog",
     .says = "what happens to an order when items are missing"},
    {.name = "outlet",
     .type = WANTS_FLAG,
     .preset = "false",
     .says = "that it takes up to `batch` of what is there each time, and asks for nothing: this "
             "carries a surplus away. Not together with `when_short`"},
};

static const struct catalogue_key incident_key[] = {
    {.name = "name", .type = WANTS_NAME, .absent = "none", .says = "what it is called"},
    {.name = "at", .type = WANTS_DURATION, .says = "when it happens, once"},
    {.name = "every",
     .type = WANTS_SPAN,
     .above_least = true,
     .says = "the time between two happenings"},
    {.name = "first",
     .type = WANTS_DURATION,
     .absent = "one interval after 0",
     .says = "beside `every`: when first"},
    {.name = "drop",
     .type = WANTS_MAP,
     .map = CATALOGUE_DROP,
     .says = "items appear on a lane or line"},
    {.name = "clear",
     .type = WANTS_MAP,
     .map = CATALOGUE_CLEAR,
     .says = "items are taken off a lane or line"},
    {.name = "stop",
     .type = WANTS_NAME,
     .says = "an arm, station, supply, demand, loop or line is stopped"},
    {.name = "start", .type = WANTS_NAME, .says = "what was stopped is started again"},
    {.name = "set",
     .type = WANTS_MAP,
     .map = CATALOGUE_SET,
     .says = "a chest's capacity or a gate's threshold changes"},
};

static const struct catalogue_key drop_key[] = {
    {.name = "item", .type = WANTS_NAME, .required = true, .says = "what appears"},
    {.name = "count",
     .type = WANTS_COUNT,
     .required = true,
     .least = 1,
     .most = LIMIT_COUNT,
     .says = "how many"},
    LANE("on which lane"),
    LINE("or on which line"),
};

static const struct catalogue_key clear_key[] = {
    {.name = "item", .type = WANTS_NAME, .absent = "everything", .says = "what is taken off"},
    LANE("from which lane"),
    LINE("or from which line"),
};

static const struct catalogue_key set_key[] = {
    {.name = "chest", .type = WANTS_NAME, .says = "whose capacity changes"},
    {.name = "capacity",
     .type = WANTS_COUNT_OR_NULL,
     .most = LIMIT_COUNT,
     .may_be_open = true,
     .says = "the new capacity; null is no bound"},
    {.name = "gate", .type = WANTS_NAME, .says = "the arm, station or supply whose gate changes"},
    THRESHOLD("below", "its new threshold"),
    THRESHOLD("at_least", "its new threshold"),
    THRESHOLD("reopen_below", "the new threshold of a latch"),
};

static const struct catalogue_key breaks_key[] = {
    {.name = "after",
     .type = WANTS_SPAN,
     .required = true,
     .above_least = true,
     .says = "from start or repair to the next breakdown"},
    {.name = "repair",
     .type = WANTS_SPAN,
     .required = true,
     .above_least = true,
     .says = "from breakdown to repair"},
};

#define DISTRIBUTION(key, what, ...)                                                               \
    { .name = key, .type = WANTS_PARAMETERS, .word = {__VA_ARGS__}, .says = what }
static const struct catalogue_key span_key[] = {
    DISTRIBUTION("exponential", "MEAN", "MEAN"),
    DISTRIBUTION("uniform", "[LOW, HIGH]", "LOW", "HIGH"),
    DISTRIBUTION("normal", "[MEAN, SD]; a value below 0 counts as 0", "MEAN", "SD"),
    DISTRIBUTION("lognormal", "[MEAN, CV], CV the coefficient of variation", "MEAN", "CV"),
    DISTRIBUTION("gamma", "[MEAN, CV]", "MEAN", "CV"),
    DISTRIBUTION("weibull", "[SCALE, SHAPE]", "SCALE", "SHAPE"),
    DISTRIBUTION("triangular", "[LOW, MODE, HIGH]", "LOW", "MODE", "HIGH"),
    DISTRIBUTION("geometric", "P, in ticks from 1: the number of trials up to the first success",
                 "P"),
};

static const struct catalogue_key expect_key[] = {
    {.name = "jam",
     .type = WANTS_FLAG,
     .absent = "false; true beside `deadlock: true`",
     .says = "that there is a jam that counts"},
    {.name = "deadlock",
     .type = WANTS_FLAG,
     .absent = "not asked",
     .says = "that there is a deadlock that counts"},
    {.name = "drained",
     .type = WANTS_FLAG,
     .absent = "not asked",
     .says = "that every loop is empty at the end"},
    {.name = "rest",
     .type = WANTS_FLAG,
     .absent = "not asked",
     .says = "that everything is at rest at the end"},
    {.name = "clogged",
     .type = WANTS_FLAG,
     .absent = "not asked",
     .says = "that everything is at rest at the end with items on a loop"},
    {.name = "starved",
     .type = WANTS_NAMES,
     .absent = "not asked",
     .says = "that exactly these had a starvation that lasted"},
    {.name = "made",
     .type = WANTS_BOUNDS,
     .map = CATALOGUE_BOUND,
     .absent = "not asked",
     .says = "how many are made"},
    {.name = "demand_met",
     .type = WANTS_BOUNDS,
     .map = CATALOGUE_BOUND,
     .absent = "not asked",
     .says = "which share of the demand for an item is met"},
    {.name = "on_lane",
     .type = WANTS_LANE_BOUNDS,
     .map = CATALOGUE_BOUND,
     .absent = "not asked",
     .says = "how many items are on a lane at the end"},
};

static const struct catalogue_key bound_key[] = {
    {.name = "at_least", .type = WANTS_NUMBER, .most = LIMIT_COUNT, .says = "not less than this"},
    {.name = "at_most", .type = WANTS_NUMBER, .most = LIMIT_COUNT, .says = "not more than this"},
};

static const struct catalogue_key may_key[] = {
    {.name = "arms",
     .type = WANTS_MAPS,
     .map = CATALOGUE_MAY_ARM,
     .absent = "one kind: 0.8 s, hand 1",
     .says = "the kinds of arms that can be had"},
    {.name = "loops", .type = WANTS_MAP, .map = CATALOGUE_MAY_LOOPS, .says = "loops"},
    {.name = "lines",
     .type = WANTS_MAP,
     .map = CATALOGUE_MAY_LINES,
     .absent = "no lines",
     .says = "lines"},
    {.name = "chests", .type = WANTS_MAP, .map = CATALOGUE_MAY_CHESTS, .says = "chests"},
    {.name = "gates",
     .type = WANTS_WORD,
     .word = {"chests", "belts"},
     .preset = "chests",
     .says = "what gates may count: chests and stations' stocks, or lanes as well"},
    {.name = "stations_at_most",
     .type = WANTS_COUNT,
     .least = 1,
     .most = LIMIT_THINGS,
     .preset = "6",
     .says = "stations of one recipe"},
    {.name = "met",
     .type = WANTS_NUMBER,
     .above_least = true,
     .most = 1,
     .preset = "0.98",
     .says = "the share of each demand to be met, in each run"},
    {.name = "survive",
     .type = WANTS_MAP,
     .map = CATALOGUE_MAY_SURVIVE,
     .says = "what the design has to come through"},
};

static const struct catalogue_key may_arm_key[] = {
    {.name = "swing",
     .type = WANTS_DURATION,
     .above_least = true,
     .required = true,
     .says = "once out and back"},
    {.name = "hand",
     .type = WANTS_COUNT,
     .least = 1,
     .most = LIMIT_HAND,
     .preset = "1",
     .says = "most items in a swing"},
};

static const struct catalogue_key may_loops_key[] = {
    {.name = "rates",
     .type = WANTS_NUMBER_LIST,
     .above_least = true,
     .most = LIMIT_TICKS_PER_SECOND,
     .absent = "6",
     .says = "cells a second that there are"},
    {.name = "cells_at_most",
     .type = WANTS_COUNT,
     .least = 1,
     .most = LIMIT_CELLS,
     .preset = "400",
     .says = "cells of one loop"},
    {.name = "lanes_at_most",
     .type = WANTS_COUNT,
     .least = 1,
     .most = LANES_OF_LOOP_MAX,
     .preset = "2",
     .says = "lanes of one loop"},
    {.name = "at_most", .type = WANTS_COUNT, .most = 1000, .preset = "3", .says = "how many loops"},
};

static const struct catalogue_key may_lines_key[] = {
    {.name = "rates",
     .type = WANTS_NUMBER_LIST,
     .above_least = true,
     .most = LIMIT_TICKS_PER_SECOND,
     .required = true,
     .says = "cells a second that there are"},
    {.name = "cells_at_most",
     .type = WANTS_COUNT,
     .least = 1,
     .most = LIMIT_CELLS,
     .preset = "400",
     .says = "cells of one line"},
};

static const struct catalogue_key may_chests_key[] = {
    {.name = "capacities",
     .type = WANTS_COUNT_LIST,
     .least = 1,
     .most = LIMIT_COUNT,
     .required = true,
     .says = "the sizes that there are; without them, any up to 400"},
};

static const struct catalogue_key may_survive_key[] = {
    {.name = "for", .type = WANTS_DURATION, .preset = "12 h", .says = "how long a night is"},
    {.name = "seeds",
     .type = WANTS_COUNT,
     .least = 1,
     .most = 1000,
     .preset = "20",
     .says = "how many nights, and how many disturbed ones"},
    {.name = "drain",
     .type = WANTS_FLAG,
     .preset = "true",
     .says = "it runs empty when the demands stop"},
    {.name = "restart",
     .type = WANTS_FLAG,
     .preset = "true",
     .says = "it starts again by itself when they go on"},
    {.name = "flood",
     .type = WANTS_NUMBER,
     .most = 1,
     .preset = "0.8",
     .says = "it recovers from a heap on each lane, this share of its cells; 0: no heap"},
    {.name = "disturb",
     .type = WANTS_FLAG,
     .preset = "true",
     .says = "it comes through nights with disturbances"},
};

/* ---- keys that exclude or need each other ---- */
#define COUNTABLE "chest", "loop", "lane", "line"
#define THRESHOLDS "below", "at_least", "reopen_below"

static const struct catalogue_rule station_rule[] = {
    {.kind = RULE_SOME, .key = {"takes", "makes"}, .wanted = "`takes` or `makes`"},
};

static const struct catalogue_rule gate_rule[] = {
    {.kind = RULE_ONE,
     .key = {COUNTABLE, "station", "all", "any"},
     .wanted = "what it reads: `chest`, `station`, `loop`, `lane` or `line`",
     .help = "for example {chest: shelf, below: 20}: open while fewer than 20 items lie there"},
    {.kind = RULE_ONE,
     .key = {"below", "at_least"},
     .beside = {COUNTABLE, "station"},
     .wanted = "`below` or `at_least`",
     .help = "`below: 20` is open while the count is less than 20, `at_least: 20` from 20 on"},
    {.kind = RULE_ONE,
     .key = {"input", "output"},
     .beside = {"station"},
     .wanted = "`input` or `output`",
     .help = "write the item whose stock is read: of what the station takes, or what it makes"},
    {.kind = RULE_NONE,
     .key = {"item"},
     .beside = {"station"},
     .help = "write `input` or `output` with the item's name"},
    {.kind = RULE_NONE,
     .key = {"input", "output"},
     .beside = {COUNTABLE},
     .help = "write `item` with the item's name"},
    {.kind = RULE_NONE,
     .key = {"reopen_below"},
     .beside = {"at_least"},
     .help = "only `below` can have a second threshold"},
    {.kind = RULE_NONE,
     .key = {"item", "input", "output", THRESHOLDS},
     .beside = {"all", "any"},
     .help = "write it into the gates of the list"},
};

static const struct catalogue_rule demand_rule[] = {
    {.kind = RULE_NONE, .key = {"when_short"}, .beside = {"outlet"}},
};

static const struct catalogue_rule incident_rule[] = {
    {.kind = RULE_ONE,
     .key = {"at", "every"},
     .wanted = "`at` or `every`",
     .help = "`at: 10 min` is once, `every: 2 h` again and again"},
    {.kind = RULE_ONE,
     .key = {"drop", "clear", "stop", "start", "set"},
     .wanted = "what happens: `drop`, `clear`, `stop`, `start` or `set`",
     .help = "for example `stop: ARM`, or drop: {item: ITEM, count: 5, lane: LOOP/LANE}"},
    {.kind = RULE_NONE,
     .key = {"first"},
     .beside = {"at"},
     .help = "`at` says when it happens; `first` goes with `every`"},
};

static const struct catalogue_rule track_rule[] = {
    {.kind = RULE_ONE, .key = {"lane", "line"}, .wanted = "`lane` or `line`"},
};

static const struct catalogue_rule set_rule[] = {
    {.kind = RULE_ONE,
     .key = {"chest", "gate"},
     .wanted = "`chest` or `gate`",
     .help = "for example {chest: CHEST, capacity: 30}, or {gate: ARM, below: 12}"},
    {.kind = RULE_SOME,
     .key = {"capacity"},
     .beside = {"chest"},
     .wanted = "`capacity`",
     .help = "for example `capacity: 30`; null is no bound"},
    {.kind = RULE_SOME,
     .key = {THRESHOLDS},
     .beside = {"gate"},
     .wanted = "a threshold: `below`, `at_least` or `reopen_below`"},
    {.kind = RULE_NONE,
     .key = {THRESHOLDS},
     .beside = {"chest"},
     .help = "a chest has a `capacity`; to set the threshold of a gate write `gate: ARM`"},
    {.kind = RULE_NONE,
     .key = {"capacity"},
     .beside = {"gate"},
     .help = "a gate has thresholds; to set the capacity of a chest write `chest: CHEST`"},
    {.kind = RULE_NONE, .key = {"below", "reopen_below"}, .beside = {"at_least"}},
};

static const struct catalogue_rule bound_rule[] = {
    {.kind = RULE_SOME, .key = {"at_least", "at_most"}, .wanted = "`at_least` or `at_most`"},
};

#define MAP(name, says, keys)                                                                      \
    { name, says, keys, sizeof(keys) / sizeof *(keys), NULL, 0 }
#define MAP_WITH(name, says, keys, rules)                                                          \
    { name, says, keys, sizeof(keys) / sizeof *(keys), rules, sizeof(rules) / sizeof *(rules) }
static const struct catalogue_map map_table[CATALOGUE_KINDS] = {
    [CATALOGUE_SCENARIO] = MAP("a scenario", "the whole file", scenario_key),
    [CATALOGUE_CLOCK] = MAP("`clock`", "how finely time is cut", clock_key),
    [CATALOGUE_RUN] = MAP("`run`", "one run", run_key),
    [CATALOGUE_WATCH] = MAP("`watch`", "what is watched", watch_key),
    [CATALOGUE_ITEM] = MAP("an item", "a kind of part or product", item_key),
    [CATALOGUE_LOOP] = MAP("a loop", "a belt that runs in a ring", loop_key),
    [CATALOGUE_LINE] = MAP("a line", "a straight belt on which items queue", line_key),
    [CATALOGUE_CHEST] = MAP("a chest", "where counts of items lie", chest_key),
    [CATALOGUE_STATION] =
        MAP_WITH("a station", "where items are made of others", station_key, station_rule),
    [CATALOGUE_OUTPUT] = MAP("an output", "what a batch gives", output_key),
    [CATALOGUE_ARM] = MAP("an arm", "what moves items from place to place", arm_key),
    [CATALOGUE_GATE] =
        MAP_WITH("a gate", "one count and what it is compared with", gate_key, gate_rule),
    [CATALOGUE_SUPPLY] = MAP("a supply", "what is delivered into a chest", supply_key),
    [CATALOGUE_DEMAND] =
        MAP_WITH("a demand", "what is taken out of a chest", demand_key, demand_rule),
    [CATALOGUE_INCIDENT] =
        MAP_WITH("an incident", "what happens from outside", incident_key, incident_rule),
    [CATALOGUE_DROP] = MAP_WITH("`drop`", "items appear", drop_key, track_rule),
    [CATALOGUE_CLEAR] = MAP_WITH("`clear`", "items are taken off", clear_key, track_rule),
    [CATALOGUE_SET] = MAP_WITH("`set`", "a bound changes", set_key, set_rule),
    [CATALOGUE_BREAKS] = MAP("`breaks`", "random stops and repairs", breaks_key),
    [CATALOGUE_SPAN] = MAP("a distribution", "a duration drawn anew each time", span_key),
    [CATALOGUE_EXPECT] = MAP("`expect`", "what should come out", expect_key),
    [CATALOGUE_BOUND] = MAP_WITH("a bound", "either key or both", bound_key, bound_rule),
    [CATALOGUE_MAY] = MAP("`may`", "what a design can use", may_key),
    [CATALOGUE_MAY_ARM] = MAP("a kind of arm", "an arm that can be had", may_arm_key),
    [CATALOGUE_MAY_LOOPS] = MAP("`may.loops`", "loops that can be had", may_loops_key),
    [CATALOGUE_MAY_LINES] = MAP("`may.lines`", "lines that can be had", may_lines_key),
    [CATALOGUE_MAY_CHESTS] = MAP("`may.chests`", "chests that can be had", may_chests_key),
    [CATALOGUE_MAY_SURVIVE] = MAP("`may.survive`", "what it has to come through", may_survive_key),
};

const struct catalogue_map *catalogue_map(enum catalogue_kind kind) {
    require((int)kind < CATALOGUE_KINDS);
    require(map_table[kind].key_count <= CATALOGUE_KEYS_MAX);
    return &map_table[kind];
}

const struct catalogue_key *catalogue_key(const struct catalogue_map *map, const char *name) {
    for (uint32_t i = 0; i < map->key_count; i++)
        if (map->key[i].name[0] == name[0] && strcmp(map->key[i].name, name) == 0)
            return &map->key[i];
    return NULL;
}

bool catalogue_lists(const char *const list[CATALOGUE_RULE_KEYS_MAX], const char *name) {
    for (int i = 0; i < CATALOGUE_RULE_KEYS_MAX && list[i] != NULL; i++)
        if (strcmp(list[i], name) == 0)
            return true;
    return false;
}

/* ---- what a key wants, in words ---- */

static const char *const type_words[CATALOGUE_TYPES] = {
    [WANTS_TEXT] = "a text",
    [WANTS_NAME] = "a name",
    [WANTS_NAMES] = "a list of names",
    [WANTS_FLAG] = "true or false",
    [WANTS_WORD] = "", /* its words */
    [WANTS_COUNT] = "a whole number",
    [WANTS_COUNT_OR_NULL] = "a whole number or null",
    [WANTS_NUMBER] = "a number",
    [WANTS_COUNT_LIST] = "a list of whole numbers",
    [WANTS_NUMBER_LIST] = "a list of numbers",
    [WANTS_DURATION] = "a duration",
    [WANTS_SPAN] = "a duration or a distribution",
    [WANTS_PARAMETERS] = "", /* their names */
    [WANTS_PLACE] = "a place",
    [WANTS_LANE] = "LOOP/LANE, or LOOP with one lane",
    [WANTS_MAP] = "a map",
    [WANTS_MAPS] = "a list of maps",
    [WANTS_ITEMS] = "a list of names, or a map of names and maps",
    [WANTS_COUNTS] = "a map of items and counts",
    [WANTS_OUTPUTS] = "a map of items and counts or outputs",
    [WANTS_ROOM] = "a whole number of batches, or a map of items and counts",
    [WANTS_BOUNDS] = "a map of items and bounds",
    [WANTS_LANE_BOUNDS] = "a map of lanes and bounds",
};

static const char *bounds_text(const struct catalogue_key *key, char text[CATALOGUE_WANTS_SIZE]) {
    char least[QUANTITY_TEXT_SIZE], most[QUANTITY_TEXT_SIZE];
    bool is_number = key->type == WANTS_COUNT || key->type == WANTS_NUMBER ||
                     (key->type == WANTS_NAMES && key->most < LIMIT_THINGS);
    quantity_grouped(key->least, least);
    text[0] = '\0';
    if (key->above_least && is_number)
        snprintf(text, CATALOGUE_WANTS_SIZE, ", more than %s, at most %s", least,
                 quantity_grouped(key->most, most));
    else if (key->above_least)
        snprintf(text, CATALOGUE_WANTS_SIZE, ", more than %s", least);
    else if (key->most == LIMIT_COUNT && key->least > 0 && is_number)
        snprintf(text, CATALOGUE_WANTS_SIZE, ", from %s", least);
    else if (key->most > 0 && key->most != LIMIT_COUNT && is_number)
        snprintf(text, CATALOGUE_WANTS_SIZE, ", %s to %s", least,
                 quantity_grouped(key->most, most));
    return text;
}

/* Appends what there is room for. */
static void append(char text[CATALOGUE_WANTS_SIZE], const char *before, const char *more) {
    size_t used = strlen(text);
    snprintf(text + used, CATALOGUE_WANTS_SIZE - used, "%s%s", before, more);
}

static const char *words_text(const struct catalogue_key *key, char text[CATALOGUE_WANTS_SIZE]) {
    bool choice = key->type == WANTS_WORD;
    bool list = !choice && key->word[1] != NULL;
    snprintf(text, CATALOGUE_WANTS_SIZE, "%s%s", list ? "[" : "", key->word[0]);
    for (int i = 1; i < CATALOGUE_WORDS_MAX && key->word[i] != NULL; i++)
        append(text, choice ? " or " : ", ", key->word[i]);
    append(text, list ? "]" : "", "");
    return text;
}

const char *catalogue_wants(const struct catalogue_key *key, char text[CATALOGUE_WANTS_SIZE]) {
    char bounds[CATALOGUE_WANTS_SIZE];
    if (key->type == WANTS_WORD || key->type == WANTS_PARAMETERS)
        return words_text(key, text);
    if (key->map == CATALOGUE_GATE)
        return strcpy(text, key->type == WANTS_MAP ? "a gate" : "a list of gates");
    snprintf(text, CATALOGUE_WANTS_SIZE, "%s", type_words[key->type]);
    append(text, bounds_text(key, bounds), "");
    return text;
}
