/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/column_table.c - the rows, table by table, in the order of the columns. */
#include "tools/base/column_table.h"

#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "sim/require.h"

#define TEXT(column, meaning)                                                                      \
    { .name = column, .type = COLUMN_TEXT, .says = meaning }
#define TEXT_OR_EMPTY(column, meaning)                                                             \
    { .name = column, .type = COLUMN_TEXT, .may_be_empty = true, .says = meaning }
#define WHOLE(column, of, meaning)                                                                 \
    { .name = column, .type = COLUMN_WHOLE, .unit = of, .says = meaning }
#define WHOLE_OR_EMPTY(column, of, meaning)                                                        \
    { .name = column, .type = COLUMN_WHOLE, .unit = of, .may_be_empty = true, .says = meaning }
#define SECONDS(column, meaning)                                                                   \
    { .name = column, .type = COLUMN_NUMBER, .unit = "s", .says = meaning }
#define SHARE(meaning)                                                                             \
    { .name = "share", .type = COLUMN_NUMBER, .unit = "1", .says = meaning }

#define SAMPLE SECONDS("time_s", "the time of the sample")
#define LOOP TEXT("loop", "the loop, or the line")
#define LANE TEXT_OR_EMPTY("lane", "the lane of the loop; empty for a line")
#define ITEM TEXT("item", "the kind of item")
#define ITEMS WHOLE("count", "items", "how many")
#define TOTAL(column, state) SECONDS(column, "time " state ", from 0 on")

static const struct column occupancy[] = {
    SAMPLE,
    LOOP,
    LANE,
    ITEM,
    ITEMS,
    WHOLE("cells", "cells", "cells that they cover"),
    SHARE("cells covered, of all cells of the lane"),
};

static const struct column lanes[] = {
    SAMPLE,
    LOOP,
    LANE,
    ITEMS,
    WHOLE("cells", "cells", "cells held"),
    SHARE("cells held, of all cells of the lane"),
};

static const struct column levels[] = {
    SAMPLE,
    TEXT("place", "the chest; or S/in, S/out, the stocks of inputs and outputs of station S"),
    ITEM,
    ITEMS,
};

static const struct column stations[] = {
    SAMPLE,
    TEXT("station", "the station"),
    WHOLE("batches", "batches", "batches finished, from 0 on"),
    TOTAL("working_s", "at work"),
    TOTAL("starved_s", "without parts"),
    TOTAL("blocked_s", "without room for what is made"),
    TOTAL("gated_s", "held by its gate"),
    TOTAL("stopped_s", "stopped or broken"),
};

static const struct column arms[] = {
    SAMPLE,
    TEXT("arm", "the arm"),
    WHOLE("swings", "swings", "picks completed, from 0 on"),
    WHOLE("moved", "items", "items put down, from 0 on"),
    TOTAL("reaching_s", "over the place where it picks"),
    TOTAL("carrying_s", "on the way with its hand full"),
    TOTAL("placing_s", "over the place where it puts"),
    TOTAL("returning_s", "on the way back"),
    TOTAL("stopped_s", "stopped or broken"),
};

static const struct column events[] = {
    SECONDS("start_s", "when the condition, its duration included, was first met"),
    SECONDS("end_s", "when it was first not met; of an incident its start; of what goes on, the "
                     "end of the run"),
    TEXT("event", "what happened"),
    TEXT_OR_EMPTY("subject", "what it is about; empty for rest and clogged"),
    TEXT_OR_EMPTY("loop", "the loop or line it is about"),
    TEXT_OR_EMPTY("lane", "the lane it is about"),
    TEXT_OR_EMPTY("item", "the items it names, separated by blanks"),
    WHOLE_OR_EMPTY("count", "items", "of a drop or clear: items that appeared or went"),
    TEXT_OR_EMPTY("detail", "pairs key=value, separated by a semicolon and a blank"),
};

static const struct column moves[] = {
    WHOLE("tick", "ticks", "the tick"),
    TEXT("arm", "the arm"),
    TEXT("act", "pick or place"),
    ITEM,
    ITEMS,
    TEXT("place", "the chest, the station, LOOP/LANE or the line"),
    WHOLE_OR_EMPTY("cell", NULL, "the cell of the belt; else empty"),
};

static const struct column runs[] = {
    WHOLE("run", NULL, "its number, from 0"),
    WHOLE("seed", NULL, "its seed"),
    TEXT("verdict", "holds or fails"),
    SECONDS("simulated_s", "how long it was"),
    {.name = "first_jam_s",
     .type = COLUMN_NUMBER,
     .unit = "s",
     .may_be_empty = true,
     .says = "the start of the first jam that counts; empty: there was none"},
    WHOLE("jams", "jams", "jams that count"),
    SECONDS("jammed_s", "time with at least one of them, after the warm-up"),
    SECONDS("starved_s", "time in which stations starved, added up, after the warm-up"),
    TEXT_OR_EMPTY("capsule", "the capsule of it, if one is kept"),
    {.name = "PRODUCT_per_min",
     .type = COLUMN_NUMBER,
     .unit = "items/min",
     .may_be_empty = true,
     .each = COLUMN_EACH_PRODUCT,
     .says = "what was made in a minute, after the warm-up"},
    WHOLE("stuck", NULL, "1: it is stuck at its end; else 0"),
    SECONDS("longest_jam_s", "the longest of the jams that count, after the warm-up"),
};

static const struct column sweep[] = {
    {.name = "PATH",
     .type = COLUMN_TEXT,
     .each = COLUMN_EACH_PATH,
     .says = "the value of this path, as it was given"},
    WHOLE("runs", "runs", "runs of the combination"),
    {.name = "jam_probability",
     .type = COLUMN_NUMBER,
     .unit = "1",
     .says = "the share of runs with a jam that counts"},
    {.name = "low", .type = COLUMN_NUMBER, .unit = "1", .says = "where its 95 % interval begins"},
    {.name = "high", .type = COLUMN_NUMBER, .unit = "1", .says = "where its 95 % interval ends"},
    {.name = "stuck",
     .type = COLUMN_NUMBER,
     .unit = "1",
     .says = "the share of runs that are stuck at their end"},
    {.name = "met",
     .type = COLUMN_NUMBER,
     .unit = "1",
     .says = "the least share met of any demand, the mean over runs"},
    {.name = "PRODUCT_per_min",
     .type = COLUMN_NUMBER,
     .unit = "items/min",
     .each = COLUMN_EACH_PRODUCT,
     .says = "what was made in a minute, after the warm-up, the mean over runs"},
    {.name = "LANE_share_mean",
     .type = COLUMN_NUMBER,
     .unit = "1",
     .each = COLUMN_EACH_LANE,
     .says = "cells held, of all cells of the lane or line, the mean over time and runs"},
    {.name = "LANE_share_max",
     .type = COLUMN_NUMBER,
     .unit = "1",
     .each = COLUMN_EACH_LANE,
     .says = "cells held, the most at any time in any run"},
    WHOLE("best", NULL, "1: the best combination; else 0"),
};

#define TABLE(name, others, meaning, columns)                                                      \
    { name, others, meaning, columns, sizeof(columns) / sizeof *(columns) }
static const struct column_table column_table[] = {
    TABLE("occupancy.csv", NULL, "what lies on each lane and line, kind by kind, at each sample",
          occupancy),
    TABLE("lanes.csv", NULL, "what lies on each lane and line as a whole, at each sample", lanes),
    TABLE("levels.csv", NULL, "what lies in chests and stations, where it differs from before",
          levels),
    TABLE("stations.csv", NULL, "batches and time in each state, running totals", stations),
    TABLE("arms.csv", NULL, "swings, items moved and time in each state, running totals", arms),
    TABLE("events.csv", "jam-K-events.csv", "incidents, and conditions that lasted", events),
    TABLE("moves.csv", NULL, "each pick and place", moves),
    TABLE("runs.csv", "against.csv", "the runs of a soak", runs),
    TABLE("sweep.csv", NULL, "the combinations of a sweep, the last --over changing first", sweep),
};

int column_table_count(void) { return sizeof column_table / sizeof *column_table; }

const struct column_table *column_table_row(int index) {
    require(index >= 0 && index < column_table_count());
    return &column_table[index];
}

const struct column_table *column_table_of(const char *file) {
    int index = 0;
    while (strcmp(column_table_row(index)->file, file) != 0)
        index++;
    return column_table_row(index);
}

const char *column_table_ending(const struct column *column) {
    static const char *const word[] = {"", "PRODUCT", "LANE", "PATH"};
    require(column->each != COLUMN_ONCE);
    return column->name + strlen(word[column->each]);
}

const char *column_table_header(const char *file, char header[COLUMN_TABLE_HEADER_SIZE]) {
    const struct column_table *table = column_table_of(file);
    size_t used = 0;
    for (uint32_t i = 0; i < table->column_count; i++) {
        require(table->column[i].each == COLUMN_ONCE);
        used += (size_t)snprintf(header + used, COLUMN_TABLE_HEADER_SIZE - used, "%s%s",
                                 i > 0 ? "," : "", table->column[i].name);
        require(used < COLUMN_TABLE_HEADER_SIZE);
    }
    return header;
}
