/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/samples.c - rows with a fixed middle: time, names made once, numbers. */
#include "tools/record/samples.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "model/scenario/reach.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/column_table.h"
#include "tools/base/csv.h"

enum table { OCCUPANCY, LANES, LEVELS, STATIONS, ARMS, TABLES };

static const char *const table_file[TABLES] = {
    "occupancy.csv", "lanes.csv", "levels.csv", "stations.csv", "arms.csv",
};

enum { TRACK_CELLS = 3, STATION_CELLS = 1 + STATION_STATES, ARM_CELLS = 2 + ARM_STATES };

/* One row of occupancy.csv, an item of a track, or of lanes.csv, all of it. */
struct track_row {
    struct csv_text middle; /* ",ring,outer,comb"; ",ring,outer" */
    struct csv_cell *cell;  /* count, cells, share */
    struct place track;
    uint32_t item;   /* NO_INDEX: all of them */
    uint32_t length; /* cells of one item */
    uint32_t scale;  /* index in samples.share */
};

/* Some rows of one table. */
struct track_rows {
    struct track_row *row;
    uint32_t count;
};

enum level_kind { LEVEL_CHEST, LEVEL_INPUT, LEVEL_OUTPUT };

/* One row of levels.csv. */
struct level_row {
    struct csv_text middle; /* ",bench/in,comb," */
    enum level_kind kind;
    uint32_t place, item; /* item: of a chest; else index in takes or makes */
    int64_t last;         /* as in the row before; NOT_GIVEN: none yet */
};

/* What a number takes in a row of some hours, with its comma. */
enum { NUMBER_BYTES_USUAL = 8 };

struct samples {
    const struct scenario *scenario;
    bool kept; /* the tables are begun */
    struct csv csv[TABLES];
    struct csv_scale seconds;
    struct csv_scale *share; /* one for each length of track that differs from the one before */
    uint32_t share_count;
    struct track_rows occupancy, lanes;
    struct level_row *level_row;
    uint32_t level_row_count;
    struct csv_text *station, *arm;           /* ",bench" */
    size_t row_most;                          /* bytes of a row of any table */
    struct csv_cell *station_cell, *arm_cell; /* [station][STATION_CELLS], [arm][ARM_CELLS] */
};

/* ---- which items may come to which place ---- */

/* A set of (place, item) pairs, collected in any order, then sorted. */
struct place_item {
    uint32_t place, item;
};

struct place_items {
    struct place_item *pair;
    uint32_t count, capacity;
};

static void place_items_add(struct place_items *pairs, uint32_t place, uint32_t item) {
    pairs->pair = array_with_room(pairs->pair, pairs->count, &pairs->capacity, sizeof *pairs->pair);
    pairs->pair[pairs->count++] = (struct place_item){place, item};
}

static int place_item_order(const void *a, const void *b) {
    const struct place_item *first = a, *second = b;
    if (first->place != second->place)
        return first->place < second->place ? -1 : 1;
    return (first->item > second->item) - (first->item < second->item);
}

/* Sorts by place and item, and leaves each pair once. */
static void place_items_sort(struct place_items *pairs) {
    uint32_t kept = 0;
    if (pairs->count == 0)
        return;
    qsort(pairs->pair, pairs->count, sizeof *pairs->pair, place_item_order);
    for (uint32_t i = 1; i < pairs->count; i++)
        if (place_item_order(&pairs->pair[kept], &pairs->pair[i]) != 0)
            pairs->pair[++kept] = pairs->pair[i];
    pairs->count = kept + 1;
}

/* What an arm may bring to `place`; from a station, only what is made there. */
static void add_arm_items(const struct scenario *scenario, const struct scenario_arm *arm,
                          struct place_items *pairs, uint32_t place, uint32_t *room) {
    struct layout_items items = layout_items_of_arm(scenario, arm, room);
    for (uint32_t i = 0; i < items.count; i++)
        place_items_add(pairs, place, items.item[i]);
}

/* What an arm may bring to a track, as far as it can ever come to where the arm takes. */
static void add_arm_to_track(const struct scenario *scenario, const struct reach *reach,
                             const struct scenario_arm *arm, struct place_items *pairs,
                             uint32_t *room) {
    uint32_t source = layout_source(scenario, arm->from);
    struct layout_items items = layout_items_of_arm(scenario, arm, room);
    for (uint32_t i = 0; i < items.count; i++)
        if (reach_comes_to(reach, source, items.item[i]))
            place_items_add(pairs, layout_track(scenario, arm->to), items.item[i]);
}

static struct place_items track_items(const struct scenario *scenario) {
    struct place_items pairs = {0};
    uint32_t *room = require_memory(scenario->item_count, sizeof *room);
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (layout_is_track(scenario->arm[i].to))
            add_arm_to_track(scenario, &reach, &scenario->arm[i], &pairs, room);
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_DROP)
            place_items_add(&pairs, layout_track(scenario, incident->track), incident->item);
    }
    reach_free(&reach);
    free(room);
    place_items_sort(&pairs);
    return pairs;
}

static void add_chest_counts(struct place_items *pairs, uint32_t chest,
                             const struct item_counts *counts) {
    for (uint32_t i = 0; i < counts->count; i++)
        place_items_add(pairs, chest, counts->entry[i].item);
}

/* What a chest starts with, limits, may get, or is asked for. Nothing else can come into one. */
static struct place_items chest_items(const struct scenario *scenario) {
    struct place_items pairs = {0};
    for (uint32_t i = 0; i < scenario->chest_count; i++) {
        add_chest_counts(&pairs, i, &scenario->chest[i].start);
        add_chest_counts(&pairs, i, &scenario->chest[i].limits);
    }
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        place_items_add(&pairs, scenario->supply[i].chest, scenario->supply[i].item);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        place_items_add(&pairs, scenario->demand[i].chest, scenario->demand[i].item);
    uint32_t *room = require_memory(scenario->item_count, sizeof *room);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (scenario->arm[i].to.kind == PLACE_CHEST)
            add_arm_items(scenario, &scenario->arm[i], &pairs, scenario->arm[i].to.index, room);
    free(room);
    for (uint32_t i = 0; i < scenario->gate_count; i++) {
        const struct scenario_gate *gate = &scenario->gate[i];
        if ((gate->kind == GATE_BELOW || gate->kind == GATE_AT_LEAST) &&
            gate->reads == READS_CHEST && gate->item != NO_INDEX)
            place_items_add(&pairs, gate->subject, gate->item);
    }
    place_items_sort(&pairs);
    return pairs;
}

/* ---- the rows, made once ---- */

/* The index of a scale for shares of `cells`. Tracks in a row are often of one length. */
static uint32_t share_scale(struct samples *samples, uint32_t cells) {
    uint32_t last = samples->share_count - 1;
    if (samples->share_count > 0 && samples->share[last].divisor == cells)
        return last;
    csv_scale_init(&samples->share[samples->share_count], cells, CSV_SHARE_PLACES);
    return samples->share_count++;
}

/* ",ring,outer" of a track; of a line the lane is empty. */
static struct csv_text track_middle(const struct scenario *scenario, uint32_t number) {
    if (number >= scenario->lane_count)
        return csv_text_of(",%s,", layout_track_name(scenario, number));
    const struct scenario_lane *lane = &scenario->lane[number];
    return csv_text_of(",%s,%s", scenario->loop[lane->loop].name, lane->name);
}

static struct csv_text item_middle(const struct scenario *scenario, struct place_item pair) {
    struct csv_text track = track_middle(scenario, pair.place);
    struct csv_text middle =
        csv_text_of("%.*s,%s", (int)track.length, track.bytes, scenario->item[pair.item].name);
    csv_text_free(&track);
    return middle;
}

static void make_lane_rows(struct samples *samples) {
    const struct scenario *scenario = samples->scenario;
    struct track_rows *rows = &samples->lanes;
    rows->count = layout_track_count(scenario);
    rows->row = require_memory(rows->count, sizeof *rows->row);
    samples->share = require_memory(rows->count, sizeof *samples->share);
    for (uint32_t i = 0; i < rows->count; i++)
        rows->row[i] = (struct track_row){track_middle(scenario, i),
                                          csv_cells_new(TRACK_CELLS),
                                          layout_track_as_place(scenario, i),
                                          NO_INDEX,
                                          0,
                                          share_scale(samples, layout_track_cells(scenario, i))};
}

static void make_occupancy_rows(struct samples *samples) {
    const struct scenario *scenario = samples->scenario;
    struct track_rows *rows = &samples->occupancy;
    struct place_items pairs = track_items(scenario);
    rows->row = require_memory(pairs.count, sizeof *rows->row);
    rows->count = pairs.count;
    for (uint32_t i = 0; i < pairs.count; i++) {
        struct place_item pair = pairs.pair[i];
        rows->row[i] = (struct track_row){item_middle(scenario, pair),
                                          csv_cells_new(TRACK_CELLS),
                                          layout_track_as_place(scenario, pair.place),
                                          pair.item,
                                          scenario->item[pair.item].length,
                                          samples->lanes.row[pair.place].scale};
    }
    free(pairs.pair);
}

static uint32_t stock_rows(const struct scenario *scenario) {
    uint32_t rows = 0;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        rows += scenario->station[i].takes.count + scenario->station[i].makes_count;
    return rows;
}

static void add_level_row(struct samples *samples, enum level_kind kind, uint32_t place,
                          uint32_t index, struct csv_text middle) {
    samples->level_row[samples->level_row_count++] =
        (struct level_row){middle, kind, place, index, NOT_GIVEN};
}

static void make_stock_rows(struct samples *samples, uint32_t number) {
    const struct scenario *scenario = samples->scenario;
    const struct scenario_station *station = &scenario->station[number];
    for (uint32_t i = 0; i < station->takes.count; i++)
        add_level_row(samples, LEVEL_INPUT, number, i,
                      csv_text_of(",%s/in,%s,", station->name,
                                  scenario->item[station->takes.entry[i].item].name));
    for (uint32_t i = 0; i < station->makes_count; i++)
        add_level_row(
            samples, LEVEL_OUTPUT, number, i,
            csv_text_of(",%s/out,%s,", station->name, scenario->item[station->makes[i].item].name));
}

static void make_level_rows(struct samples *samples) {
    const struct scenario *scenario = samples->scenario;
    struct place_items pairs = chest_items(scenario);
    samples->level_row =
        require_memory(pairs.count + stock_rows(scenario), sizeof *samples->level_row);
    for (size_t i = 0; i < pairs.count; i++) {
        struct place_item pair = pairs.pair[i];
        add_level_row(samples, LEVEL_CHEST, pair.place, pair.item,
                      csv_text_of(",%s,%s,", scenario->chest[pair.place].name,
                                  scenario->item[pair.item].name));
    }
    for (uint32_t i = 0; i < scenario->station_count; i++)
        make_stock_rows(samples, i);
    free(pairs.pair);
}

static void make_actor_texts(struct samples *samples) {
    const struct scenario *scenario = samples->scenario;
    samples->station = require_memory(scenario->station_count, sizeof *samples->station);
    samples->arm = require_memory(scenario->arm_count, sizeof *samples->arm);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        samples->station[i] = csv_text_of(",%s", scenario->station[i].name);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        samples->arm[i] = csv_text_of(",%s", scenario->arm[i].name);
    samples->station_cell = csv_cells_new((size_t)scenario->station_count * STATION_CELLS);
    samples->arm_cell = csv_cells_new((size_t)scenario->arm_count * ARM_CELLS);
}

static size_t longest_of(const struct csv_text *text, uint32_t count, size_t longest) {
    for (uint32_t i = 0; i < count; i++)
        longest = text[i].length > longest ? text[i].length : longest;
    return longest;
}

/* What a row of any table may take: a stamp, the longest middle, the most cells. */
static size_t row_most(const struct samples *samples) {
    const struct scenario *scenario = samples->scenario;
    size_t longest = longest_of(samples->station, scenario->station_count, 0);
    longest = longest_of(samples->arm, scenario->arm_count, longest);
    for (uint32_t i = 0; i < samples->lanes.count; i++)
        longest = longest_of(&samples->lanes.row[i].middle, 1, longest);
    for (uint32_t i = 0; i < samples->occupancy.count; i++)
        longest = longest_of(&samples->occupancy.row[i].middle, 1, longest);
    for (uint32_t i = 0; i < samples->level_row_count; i++)
        longest = longest_of(&samples->level_row[i].middle, 1, longest);
    return longest + CSV_BLOCK_BYTES + (size_t)(ARM_CELLS + 1) * CSV_CELL_BYTES;
}

struct samples *samples_new(const struct scenario *scenario) {
    struct samples *samples = require_memory(1, sizeof *samples);
    samples->scenario = scenario;
    csv_scale_init(&samples->seconds, scenario->ticks_per_second, CSV_SECONDS_PLACES);
    make_lane_rows(samples);
    make_occupancy_rows(samples);
    make_level_rows(samples);
    make_actor_texts(samples);
    samples->row_most = row_most(samples);
    for (int table = 0; table < TABLES; table++)
        samples->csv[table].file = -1;
    return samples;
}

void samples_keep(struct samples *samples, const struct directory *directory) {
    char header[COLUMN_TABLE_HEADER_SIZE];
    for (int table = 0; table < TABLES; table++)
        csv_open(&samples->csv[table], directory->work, table_file[table],
                 column_table_header(table_file[table], header));
    samples->kept = true;
}

/* ---- a sample ---- */

/* The time of the sample, as each row begins with it. */
struct stamp {
    char bytes[2 * CSV_BLOCK_BYTES];
    struct csv_text text;
};

static void stamp_set(struct stamp *stamp, const struct csv_scale *seconds, int64_t tick) {
    char *end = csv_put_scaled(stamp->bytes, seconds, tick);
    stamp->text = (struct csv_text){stamp->bytes, (uint32_t)(end - stamp->bytes)};
}

/* Begins a row with the time and its fixed middle. */
__attribute__((always_inline)) static inline char *begin_row(const struct samples *samples,
                                                             struct csv *csv,
                                                             const struct stamp *stamp,
                                                             const struct csv_text *middle) {
    char *at = csv_row(csv, samples->row_most);
    return csv_put_text(csv_put_text(at, &stamp->text), middle);
}

static void take_tracks(struct samples *samples, enum table table, const struct track_rows *rows,
                        const struct world *world, const struct stamp *stamp) {
    struct csv *csv = &samples->csv[table];
    for (uint32_t i = 0; i < rows->count; i++) {
        const struct track_row *row = &rows->row[i];
        int64_t count = world_track_count(world, row->track, row->item);
        int64_t cells =
            row->item != NO_INDEX ? count * row->length : world_track_cells(world, row->track);
        char *at = begin_row(samples, csv, stamp, &row->middle);
        at = csv_put_count(at, &row->cell[0], count);
        at = csv_put_count(at, &row->cell[1], cells);
        csv_row_end(csv, csv_put_cell(at, &row->cell[2], &samples->share[row->scale], cells));
    }
}

static int64_t level_of(const struct world *world, const struct level_row *row) {
    switch (row->kind) {
    case LEVEL_CHEST: return world_chest_count(world, row->place, row->item);
    case LEVEL_INPUT: return world_input_count(world, row->place, row->item);
    case LEVEL_OUTPUT: return world_output_count(world, row->place, row->item);
    }
    return 0;
}

static void take_levels(struct samples *samples, const struct world *world,
                        const struct stamp *stamp) {
    struct csv *csv = &samples->csv[LEVELS];
    for (uint32_t i = 0; i < samples->level_row_count; i++) {
        struct level_row *row = &samples->level_row[i];
        int64_t level = level_of(world, row);
        if (level == row->last)
            continue;
        row->last = level;
        char *at = begin_row(samples, csv, stamp, &row->middle);
        csv_row_end(csv, csv_put_number(at, level));
    }
}

__attribute__((always_inline)) static inline char *put_times(char *at, struct csv_cell *cell,
                                                             const struct csv_scale *seconds,
                                                             const int64_t *ticks, int count) {
    for (int i = 0; i < count; i++)
        at = csv_put_cell(at, &cell[i], seconds, ticks[i]);
    return at;
}

static void take_stations(struct samples *samples, const struct world *world,
                          const struct stamp *stamp) {
    struct csv *csv = &samples->csv[STATIONS];
    for (uint32_t i = 0; i < samples->scenario->station_count; i++) {
        struct station_totals totals = world_station_totals(world, i);
        struct csv_cell *cell = samples->station_cell + (size_t)i * STATION_CELLS;
        char *at = begin_row(samples, csv, stamp, &samples->station[i]);
        at = csv_put_count(at, &cell[0], totals.batches);
        csv_row_end(csv, put_times(at, &cell[1], &samples->seconds, totals.ticks, STATION_STATES));
    }
}

static void take_arms(struct samples *samples, const struct world *world,
                      const struct stamp *stamp) {
    struct csv *csv = &samples->csv[ARMS];
    for (uint32_t i = 0; i < samples->scenario->arm_count; i++) {
        struct arm_totals totals = world_arm_totals(world, i);
        struct csv_cell *cell = samples->arm_cell + (size_t)i * ARM_CELLS;
        char *at = begin_row(samples, csv, stamp, &samples->arm[i]);
        at = csv_put_count(at, &cell[0], totals.swings);
        at = csv_put_count(at, &cell[1], totals.moved);
        csv_row_end(csv, put_times(at, &cell[2], &samples->seconds, totals.ticks, ARM_STATES));
    }
}

static void note_levels(struct samples *samples, const struct world *world) {
    for (uint32_t i = 0; i < samples->level_row_count; i++)
        samples->level_row[i].last = level_of(world, &samples->level_row[i]);
}

void samples_take(struct samples *samples, const struct world *world) {
    struct stamp stamp;
    if (!samples->kept) {
        note_levels(samples, world);
        return;
    }
    stamp_set(&stamp, &samples->seconds, world_tick(world));
    take_tracks(samples, OCCUPANCY, &samples->occupancy, world, &stamp);
    take_tracks(samples, LANES, &samples->lanes, world, &stamp);
    take_levels(samples, world, &stamp);
    take_stations(samples, world, &stamp);
    take_arms(samples, world, &stamp);
}

/* ---- kept in a capsule ---- */

/* The item of a row, which for a station stands in its recipe. */
static uint32_t item_of_row(const struct scenario *scenario, const struct level_row *row) {
    switch (row->kind) {
    case LEVEL_CHEST: return row->item;
    case LEVEL_INPUT: return scenario->station[row->place].takes.entry[row->item].item;
    case LEVEL_OUTPUT: return scenario->station[row->place].makes[row->item].item;
    }
    return NO_INDEX;
}

uint32_t samples_level_count(const struct samples *samples) { return samples->level_row_count; }

struct samples_level samples_level(const struct samples *samples, uint32_t row) {
    const struct scenario *scenario = samples->scenario;
    const struct level_row *level = &samples->level_row[row];
    bool chest = level->kind == LEVEL_CHEST;
    return (struct samples_level){chest ? scenario->chest[level->place].name
                                        : scenario->station[level->place].name,
                                  chest                        ? ""
                                  : level->kind == LEVEL_INPUT ? "/in"
                                                               : "/out",
                                  scenario->item[item_of_row(scenario, level)].name};
}

int64_t samples_level_now(const struct samples *samples, const struct world *world, uint32_t row) {
    return level_of(world, &samples->level_row[row]);
}

void samples_save(const struct samples *samples, struct bytes *bytes) {
    bytes_add(bytes, samples->level_row_count, 4);
    for (uint32_t i = 0; i < samples->level_row_count; i++) {
        const struct level_row *row = &samples->level_row[i];
        bytes_add(bytes, row->kind, 1);
        bytes_add(bytes, row->place, 4);
        bytes_add(bytes, item_of_row(samples->scenario, row), 4);
        bytes_add(bytes, (uint64_t)row->last, 8);
    }
}

/* The row of an item at a place, looked for from *next on, which moves after it; NULL: none. */
static struct level_row *find_row(struct samples *samples, uint32_t *next, uint64_t kind,
                                  uint64_t place, uint64_t item) {
    for (uint32_t i = 0; i < samples->level_row_count; i++) {
        uint32_t at = (uint32_t)(((uint64_t)*next + i) % samples->level_row_count);
        struct level_row *row = &samples->level_row[at];
        if (row->kind != kind || row->place != place || item_of_row(samples->scenario, row) != item)
            continue;
        *next = at + 1;
        return row;
    }
    return NULL;
}

bool samples_restore(struct samples *samples, struct bytes_reader *reader) {
    uint64_t count = bytes_take(reader, 4);
    uint32_t next = 0;
    for (uint64_t i = 0; i < count && !reader->failed; i++) {
        uint64_t kind = bytes_take(reader, 1), place = bytes_take(reader, 4);
        uint64_t item = bytes_take(reader, 4);
        int64_t last = (int64_t)bytes_take(reader, 8);
        struct level_row *row = find_row(samples, &next, kind, place, item);
        if (row != NULL)
            row->last = last;
    }
    return !reader->failed;
}

/* ---- the end ---- */

static double track_bytes(const struct track_rows *rows) {
    enum { NUMBERS = 3 }; /* time_s, count or cells, share */
    double bytes = 0;
    for (uint32_t i = 0; i < rows->count; i++)
        bytes += rows->row[i].middle.length + NUMBERS * NUMBER_BYTES_USUAL;
    return bytes;
}

static double total_bytes(const struct csv_text *name, uint32_t count, double numbers) {
    double bytes = 0;
    for (uint32_t i = 0; i < count; i++)
        bytes += name[i].length + numbers * NUMBER_BYTES_USUAL;
    return bytes;
}

double samples_bytes(const struct samples *samples) {
    enum { LEVEL_NUMBERS = 2, STATION_NUMBERS = 7, ARM_NUMBERS = 8 };
    double levels = 0;
    for (uint32_t i = 0; i < samples->level_row_count; i++)
        levels += samples->level_row[i].middle.length + LEVEL_NUMBERS * NUMBER_BYTES_USUAL;
    return track_bytes(&samples->occupancy) + track_bytes(&samples->lanes) + levels / 2 +
           total_bytes(samples->station, samples->scenario->station_count, STATION_NUMBERS) +
           total_bytes(samples->arm, samples->scenario->arm_count, ARM_NUMBERS);
}

bool samples_failed(const struct samples *samples) {
    for (int table = 0; table < TABLES; table++)
        if (samples->csv[table].error != 0)
            return true;
    return false;
}

bool samples_close(struct samples *samples, const struct directory *directory) {
    bool written = true;
    for (int table = 0; table < TABLES; table++) {
        int error = csv_close(&samples->csv[table]);
        if (error != 0 && written)
            directory_tell(directory, table_file[table], error);
        written = written && error == 0;
    }
    samples_discard(samples);
    return written;
}

static void free_texts(struct csv_text *text, uint32_t count) {
    for (uint32_t i = 0; i < count; i++)
        csv_text_free(&text[i]);
    free(text);
}

static void free_rows(struct track_rows *rows) {
    for (uint32_t i = 0; i < rows->count; i++) {
        csv_text_free(&rows->row[i].middle);
        free(rows->row[i].cell);
    }
    free(rows->row);
}

void samples_discard(struct samples *samples) {
    if (samples == NULL)
        return;
    for (int table = 0; table < TABLES; table++)
        csv_discard(&samples->csv[table]);
    free_rows(&samples->occupancy);
    free_rows(&samples->lanes);
    for (uint32_t i = 0; i < samples->level_row_count; i++)
        csv_text_free(&samples->level_row[i].middle);
    for (uint32_t i = 0; i < samples->share_count; i++)
        csv_scale_free(&samples->share[i]);
    free_texts(samples->station, samples->scenario->station_count);
    free_texts(samples->arm, samples->scenario->arm_count);
    free(samples->station_cell);
    free(samples->arm_cell);
    csv_scale_free(&samples->seconds);
    free(samples->share);
    free(samples->level_row);
    free(samples);
}
