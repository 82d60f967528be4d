/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/catalogue.c - the table of keys. */
#include "model/scenario/catalogue.h"

#include "sim/require.h"

#define SPAN "a duration or a distribution"
#define GATE "a gate"

static const struct catalogue_key scenario_key[] = {
    {"title", "a text", false, "one line that says what this is"},
    {"clock", "a map", false, "how finely time is cut"},
    {"run", "a map", false, "how long, with which seed"},
    {"watch", "a map", false, "when samples are taken, and what counts as starved, blocked, a jam"},
    {"items", "a list of names or a map", false, "what is made, moved and used"},
    {"loops", "a list of maps", false, "belts that run in a ring"},
    {"lines", "a list of maps", false, "straight belts on which items queue"},
    {"chests", "a list of maps", false, "where counts of items lie"},
    {"stations", "a list of maps", false, "where items are made of others"},
    {"arms", "a list of maps", false, "what moves items from place to place"},
    {"supplies", "a list of maps", false, "what is delivered into chests"},
    {"demands", "a list of maps", false, "what is taken out of chests"},
    {"incidents", "a list of maps", false, "what happens to the workshop from outside"},
    {"expect", "a map", false, "what should come out of a run"},
};

static const struct catalogue_key clock_key[] = {
    {"ticks_per_second", "a whole number", false, "1 to 1,000,000; 100 if left out"},
};

static const struct catalogue_key run_key[] = {
    {"for", "a duration", false, "how long a run is; 1 h if left out"},
    {"seed", "a whole number", false, "where chance starts, 0 to 2^53 - 1; 1 if left out"},
    {"warm_up", "a duration", false, "what the summary's rates and shares leave out; 0"},
};

static const struct catalogue_key watch_key[] = {
    {"every", "a duration", false, "from sample to sample; 1 s"},
    {"starved_after", "a duration", false, "a station starved so long is an event; 10 s"},
    {"blocked_after", "a duration", false,
     "an arm or station blocked so long is an event; one revolution on a loop, else 10 s"},
    {"congested_at", "a number", false, "occupied share from which a lane is congested; 0.95"},
    {"jam_after", "a duration", false, "how long at least nothing moves in a jam; 30 s"},
};

static const struct catalogue_key item_key[] = {
    {"length", "a whole number", false, "cells that one holds on a belt; 1 if left out"},
};

static const struct catalogue_key loop_key[] = {
    {"name", "a name", true, "what it is called"},
    {"cells", "a whole number", true, "cells in the ring, 1 to 1,000,000"},
    {"rate", "a number", true, "cells a second, at most one a tick"},
    {"lanes", "a list of names", false, "1 to 8; one called `lane` if left out"},
    {"breaks", "a map", false, "random stops and repairs"},
};

static const struct catalogue_key line_key[] = {
    {"name", "a name", true, "what it is called"},
    {"cells", "a whole number", true, "cells from end to end, 1 to 1,000,000"},
    {"rate", "a number", true, "cells a second, at most one a tick"},
    {"breaks", "a map", false, "random stops and repairs"},
};

static const struct catalogue_key chest_key[] = {
    {"name", "a name", true, "what it is called"},
    {"capacity", "a whole number", false, "most items in it; no bound if left out"},
    {"start", "a map of counts", false, "what lies in it when the run begins"},
    {"limits", "a map of counts", false, "most of single items in it"},
};

static const struct catalogue_key station_key[] = {
    {"name", "a name", true, "what it is called"},
    {"takes", "a map of counts", false, "items that one batch uses"},
    {"makes", "a map of counts", false, "items that one batch gives: a count, or {count, chance}"},
    {"time", SPAN, true, "how long a batch takes, more than 0"},
    {"ahead", "a whole number", false, "batches whose inputs may wait in stock; 2 if left out"},
    {"room", "a whole number or a map of counts", false,
     "batches, or items of each output, that may wait in stock; 2 batches if left out"},
    {"gate", GATE, false, "when a batch may start"},
    {"breaks", "a map", false, "random stops and repairs"},
};

static const struct catalogue_key output_key[] = {
    {"count", "a whole number", true, "how many a batch gives"},
    {"chance", "a number", false, "how likely, 0 to 1; sure if left out"},
};

static const struct catalogue_key arm_key[] = {
    {"name", "a name", true, "what it is called"},
    {"from", "a place", true, "CHEST, STATION, LOOP/LANE@CELL, LOOP@CELL or LINE@CELL"},
    {"to", "a place", true, "CHEST, STATION, LOOP/LANE@CELL, LOOP@CELL or LINE@CELL"},
    {"items", "a list of names", false, "what it moves; what the destination can use if left out"},
    {"hand", "a whole number", false, "most items in a swing; 1 if left out"},
    {"swing", SPAN, true, "out and back; 0 is a diverter, a merge or a hand-over"},
    {"linger", "a duration", false, "how long it waits to fill its hand; the mean swing"},
    {"choose", "a word", false, "in_turn or random; in_turn if left out"},
    {"gate", GATE, false, "when it may pick"},
    {"breaks", "a map", false, "random stops and repairs"},
};

static const struct catalogue_key gate_key[] = {
    {"chest", "a name", false, "read a chest: an item of it, or the total"},
    {"station", "a name", false, "read a station's stock, with `input` or `output`"},
    {"loop", "a name", false, "read a loop: an item on it, or all"},
    {"lane", "LOOP/LANE", false, "read a lane: an item on it, or all"},
    {"line", "a name", false, "read a line: an item on it, or all"},
    {"item", "a name", false, "the item to count; all if left out"},
    {"input", "a name", false, "an item that the station takes"},
    {"output", "a name", false, "an item that the station makes"},
    {"below", "a whole number", false, "open while the count is below this"},
    {"at_least", "a whole number", false, "open while the count is at least this"},
    {"reopen_below", "a whole number", false, "beside `below`: once closed, open again below this"},
    {"all", "a list of gates", false, "open while all of them are"},
    {"any", "a list of gates", false, "open while one of them is"},
};

static const struct catalogue_key supply_key[] = {
    {"name", "a name", true, "what it is called"},
    {"chest", "a name", true, "where it is put"},
    {"item", "a name", true, "what is put"},
    {"every", SPAN, true, "from delivery to delivery, more than 0"},
    {"batch", "a whole number", false, "items in a delivery; 1 if left out"},
    {"first", "a duration", false, "when the first is due; one interval after 0 if left out"},
    {"from", "a duration", false, "none is due before"},
    {"until", "a duration", false, "none is due after"},
    {"when_full", "a word", false, "hold or lose; hold if left out"},
    {"gate", GATE, false, "when it may deliver"},
    {"breaks", "a map", false, "random stops and repairs"},
};

static const struct catalogue_key demand_key[] = {
    {"name", "a name", true, "what it is called"},
    {"chest", "a name", true, "where it is taken"},
    {"item", "a name", true, "what is taken"},
    {"every", SPAN, true, "from order to order, more than 0"},
    {"batch", "a whole number", false, "items in an order; 1 if left out"},
    {"first", "a duration", false, "when the first is due; one interval after 0 if left out"},
    {"from", "a duration", false, "none is due before"},
    {"until", "a duration", false, "none is due after"},
    {"when_short", "a word", false, "backlog or lose; backlog if left out"},
    {"outlet", "true or false", false,
     "true: takes up to `batch` of what is there, and asks for nothing; false if left out"},
};

static const struct catalogue_key incident_key[] = {
    {"name", "a name", false, "what it is called"},
    {"at", "a duration", false, "when it happens, once"},
    {"every", SPAN, false, "from time to time that it happens"},
    {"first", "a duration", false, "beside `every`: when first; one interval after 0 if left out"},
    {"drop", "a map", false, "items appear on a lane or line"},
    {"clear", "a map", false, "items are taken off a lane or line"},
    {"stop", "a name", false, "an arm, station, supply, demand, loop or line stands still"},
    {"start", "a name", false, "what was stopped goes on"},
    {"set", "a map", false, "a chest's capacity or a gate's threshold changes"},
};

static const struct catalogue_key drop_key[] = {
    {"item", "a name", true, "what appears"},
    {"count", "a whole number", true, "how many"},
    {"lane", "LOOP/LANE", false, "on which lane"},
    {"line", "a name", false, "or on which line"},
};

static const struct catalogue_key clear_key[] = {
    {"item", "a name", false, "what goes; everything if left out"},
    {"lane", "LOOP/LANE", false, "off which lane"},
    {"line", "a name", false, "or off which line"},
};

static const struct catalogue_key set_key[] = {
    {"chest", "a name", false, "whose capacity changes"},
    {"capacity", "a whole number or null", false, "the new capacity; null is no bound"},
    {"gate", "a name", false, "the arm, station or supply whose gate changes"},
    {"below", "a whole number", false, "the new threshold"},
    {"at_least", "a whole number", false, "the new threshold"},
    {"reopen_below", "a whole number", false, "the new threshold of a latch"},
};

static const struct catalogue_key breaks_key[] = {
    {"after", SPAN, true, "from start or repair to the next breakdown"},
    {"repair", SPAN, true, "from breakdown to repair"},
};

static const struct catalogue_key span_key[] = {
    {"exponential", "a duration", false, "MEAN"},
    {"uniform", "a list", false, "[LOW, HIGH]"},
    {"normal", "a list", false, "[MEAN, SD], cut at 0"},
    {"lognormal", "a list", false, "[MEAN, CV]"},
    {"gamma", "a list", false, "[MEAN, CV]"},
    {"weibull", "a list", false, "[SCALE, SHAPE]"},
    {"triangular", "a list", false, "[LOW, MODE, HIGH]"},
    {"geometric", "a number", false, "P, in ticks"},
};

static const struct catalogue_key expect_key[] = {
    {"jam", "true or false", false, "a jam counts; false, but true beside `deadlock: true`"},
    {"deadlock", "true or false", false, "a deadlock counts"},
    {"drained", "true or false", false, "every loop is empty at the end"},
    {"rest", "true or false", false, "everything rests at the end"},
    {"clogged", "true or false", false, "everything rests at the end with items on a loop"},
    {"starved", "a list of names", false, "exactly these stations starved for long"},
    {"made", "a map of bounds", false, "how many of an item are made"},
    {"demand_met", "a map of bounds", false, "which share of the demand for an item is met"},
    {"on_lane", "a map of bounds", false, "how many items are on a lane at the end"},
};

static const struct catalogue_key bound_key[] = {
    {"at_least", "a number", false, "not less than this"},
    {"at_most", "a number", false, "not more than this"},
};

#define MAP(name, says, keys)                                                                      \
    { name, says, keys, sizeof(keys) / sizeof *(keys) }
static const struct catalogue_map map_table[CATALOGUE_KINDS] = {
    [CATALOGUE_SCENARIO] = MAP("a scenario", "the whole file", scenario_key),
    [CATALOGUE_CLOCK] = MAP("`clock`", "how finely time is cut", clock_key),
    [CATALOGUE_RUN] = MAP("`run`", "one run", run_key),
    [CATALOGUE_WATCH] = MAP("`watch`", "what is watched", watch_key),
    [CATALOGUE_ITEM] = MAP("an item", "a kind of part or product", item_key),
    [CATALOGUE_LOOP] = MAP("a loop", "a belt that runs in a ring", loop_key),
    [CATALOGUE_LINE] = MAP("a line", "a straight belt on which items queue", line_key),
    [CATALOGUE_CHEST] = MAP("a chest", "where counts of items lie", chest_key),
    [CATALOGUE_STATION] = MAP("a station", "where items are made of others", station_key),
    [CATALOGUE_OUTPUT] = MAP("an output", "what a batch gives", output_key),
    [CATALOGUE_ARM] = MAP("an arm", "what moves items from place to place", arm_key),
    [CATALOGUE_GATE] = MAP("a gate", "one count and what it is compared with", gate_key),
    [CATALOGUE_SUPPLY] = MAP("a supply", "what is delivered into a chest", supply_key),
    [CATALOGUE_DEMAND] = MAP("a demand", "what is taken out of a chest", demand_key),
    [CATALOGUE_INCIDENT] = MAP("an incident", "what happens from outside", incident_key),
    [CATALOGUE_DROP] = MAP("`drop`", "items appear", drop_key),
    [CATALOGUE_CLEAR] = MAP("`clear`", "items are taken off", clear_key),
    [CATALOGUE_SET] = MAP("`set`", "a bound changes", set_key),
    [CATALOGUE_BREAKS] = MAP("`breaks`", "random stops and repairs", breaks_key),
    [CATALOGUE_SPAN] = MAP("a distribution", "a duration drawn anew each time", span_key),
    [CATALOGUE_EXPECT] = MAP("`expect`", "what should come out", expect_key),
    [CATALOGUE_BOUND] = MAP("a bound", "either key or both", bound_key),
};

const struct catalogue_map *catalogue_map(enum catalogue_kind kind) {
    require((int)kind < CATALOGUE_KINDS);
    require(map_table[kind].key_count <= CATALOGUE_KEYS_MAX);
    return &map_table[kind];
}
