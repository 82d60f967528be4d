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

/* Numbers of a row at most, its time too. */
enum { ROW_NUMBERS_MOST = 3 + ARM_STATES };

/* Rows of occupancy.csv whose tracks and items are of one length are the same after the name: for
 * each count of items. */
struct track_endings {
    const struct csv_scale *share;
    uint32_t length, count;
    struct csv_ending *of; /* [count] ",12,24,0.4"; of 0 items, 1, ... */
};

/* One row of occupancy.csv, an item of a track, or of lanes.csv, all of it. */
struct track_row {
    struct csv_text middle; /* ",ring,outer,comb"; ",ring,outer" */
    const struct csv_scale *share;
    const struct csv_ending *ending; /* [ending_count] of some counts of an item; NULL: of none */
    uint32_t ending_count;
    struct place track;
    uint32_t kind;   /* of an item, as the world finds it; not used for all of them */
    uint32_t length; /* cells of one item; 0: of all of them */
};

/* Some rows of one table. */
struct track_rows {
    struct track_row *row;
    uint32_t count;
};

enum level_kind { LEVEL_CHEST, LEVEL_INPUT, LEVEL_OUTPUT };

/* One row of levels.csv. */
struct level_row {
    struct csv_text middle; /* ",bench/in,comb" */
    enum level_kind kind;
    uint32_t place, item; /* item: of a chest; else index in takes or makes */
    uint32_t stock;       /* as the world finds it */
    int64_t last;         /* as in the row before; NOT_GIVEN: none yet */
};

/* What a number takes in a row of some hours, with its comma. */
enum { NUMBER_BYTES_USUAL = 8 };

struct samples {
    const struct scenario *scenario;
    struct csv_wholes wholes; /* none: the tables are not begun */
    struct csv csv[TABLES];
    struct csv_scale seconds;
    struct csv_brief brief;
    bool has_brief;          /* whether there is a brief scale of seconds */
    struct csv_scale *share; /* one for each length of track that differs from the one before */
    uint32_t share_count;
    struct track_endings *endings;
    uint32_t endings_count, endings_capacity;
    uint64_t ending_count; /* in all of them */
    struct track_rows occupancy, lanes;
    struct level_row *level_row;
    uint32_t level_row_count;
    struct csv_text *station, *arm; /* ",bench" */
    size_t row_most;                /* bytes of a row of any table */
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

/* A scale for shares of `cells`. Tracks in a row are often of one length. */
static const struct csv_scale *share_scale(struct samples *samples, uint32_t cells) {
    struct csv_scale *next = &samples->share[samples->share_count];
    if (samples->share_count > 0 && next[-1].divisor == cells)
        return next - 1;
    csv_scale_init(next, cells, CSV_SHARE_PLACES);
    samples->share_count++;
    return next;
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
        rows->row[i] =
            (struct track_row){.middle = track_middle(scenario, i),
                               .share = share_scale(samples, layout_track_cells(scenario, i)),
                               .track = layout_track_as_place(scenario, i)};
}

static void make_occupancy_rows(struct samples *samples, const struct world *world) {
    const struct scenario *scenario = samples->scenario;
    struct track_rows *rows = &samples->occupancy;
    struct place_items pairs = track_items(scenario);
    rows->row = require_memory(pairs.count, sizeof *rows->row);
    rows->count = pairs.count;
    for (uint32_t i = 0; i < pairs.count; i++) {
        struct place_item pair = pairs.pair[i];
        struct place track = layout_track_as_place(scenario, pair.place);
        rows->row[i] = (struct track_row){.middle = item_middle(scenario, pair),
                                          .share = samples->lanes.row[pair.place].share,
                                          .track = track,
                                          .kind = world_track_kind(world, track, pair.item),
                                          .length = scenario->item[pair.item].length};
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
        (struct level_row){middle, kind, place, index, NO_INDEX, NOT_GIVEN};
}

static void make_stock_rows(struct samples *samples, uint32_t number) {
    const struct scenario *scenario = samples->scenario;
    const struct scenario_station *station = &scenario->station[number];
    for (uint32_t i = 0; i < station->takes.count; i++)
        add_level_row(samples, LEVEL_INPUT, number, i,
                      csv_text_of(",%s/in,%s", station->name,
                                  scenario->item[station->takes.entry[i].item].name));
    for (uint32_t i = 0; i < station->makes_count; i++)
        add_level_row(
            samples, LEVEL_OUTPUT, number, i,
            csv_text_of(",%s/out,%s", station->name, scenario->item[station->makes[i].item].name));
}

static uint32_t stock_of(const struct world *world, const struct level_row *row) {
    switch (row->kind) {
    case LEVEL_CHEST: return world_chest_stock(world, row->place, row->item);
    case LEVEL_INPUT: return world_input_stock(world, row->place, row->item);
    case LEVEL_OUTPUT: return world_output_stock(world, row->place, row->item);
    }
    return NO_INDEX;
}

static void make_level_rows(struct samples *samples, const struct world *world) {
    const struct scenario *scenario = samples->scenario;
    struct place_items pairs = chest_items(scenario);
    samples->level_row =
        require_memory(pairs.count + stock_rows(scenario), sizeof *samples->level_row);
    for (size_t i = 0; i < pairs.count; i++) {
        struct place_item pair = pairs.pair[i];
        add_level_row(samples, LEVEL_CHEST, pair.place, pair.item,
                      csv_text_of(",%s,%s", scenario->chest[pair.place].name,
                                  scenario->item[pair.item].name));
    }
    for (uint32_t i = 0; i < scenario->station_count; i++)
        make_stock_rows(samples, i);
    for (uint32_t i = 0; i < samples->level_row_count; i++)
        samples->level_row[i].stock = stock_of(world, &samples->level_row[i]);
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
    return longest + CSV_BLOCK_BYTES + (size_t)ROW_NUMBERS_MOST * CSV_DECIMAL_BYTES;
}

struct samples *samples_new(const struct scenario *scenario, const struct world *world) {
    struct samples *samples = require_memory(1, sizeof *samples);
    samples->scenario = scenario;
    csv_scale_init(&samples->seconds, scenario->ticks_per_second, CSV_SECONDS_PLACES);
    make_lane_rows(samples);
    make_occupancy_rows(samples, world);
    make_level_rows(samples, world);
    make_actor_texts(samples);
    samples->row_most = row_most(samples);
    for (int table = 0; table < TABLES; table++)
        samples->csv[table].file = -1;
    return samples;
}

/* ---- the ends of rows, made before the first row ---- */

static inline char *put_track_numbers(char *at, const struct csv_wholes *wholes,
                                      const struct csv_scale *share, int64_t count, int64_t cells) {
    at = csv_put_count(csv_put_count(at, wholes, count), wholes, cells);
    return csv_put_decimal(at, wholes, share, cells);
}

static struct track_endings endings_of(const struct samples *samples, const struct track_row *row) {
    struct track_endings endings = {row->share, row->length, 0, NULL};
    endings.count = (uint32_t)(row->share->divisor / row->length + 1);
    endings.of = require_memory(endings.count, sizeof *endings.of);
    for (int64_t i = 0; i < endings.count; i++) {
        char bytes[4 * CSV_DECIMAL_BYTES];
        char *end =
            put_track_numbers(bytes, &samples->wholes, row->share, i, i * (int64_t)row->length);
        *end++ = '\n';
        struct csv_ending *ending = &endings.of[i];
        ending->length = (uint8_t)(end - bytes);
        require(ending->length <= sizeof ending->bytes);
        memcpy(ending->bytes, bytes, ending->length);
    }
    return endings;
}

/* As made for one of the rows before; the next unused one: for none of the last few. */
static struct track_endings *find_endings(struct samples *samples, const struct track_row *row) {
    enum { LAST_FEW = 8 };
    uint32_t count = samples->endings_count;
    for (uint32_t i = count; i-- > 0 && count - i <= LAST_FEW;)
        if (samples->endings[i].share == row->share && samples->endings[i].length == row->length)
            return &samples->endings[i];
    return samples->endings + count;
}

/* Some ten thousand for all tracks together: those of long ones are not worth it. */
static void make_endings(struct samples *samples) {
    enum { MOST = 1 << 15, MOST_OF_TRACK = 1 << 12 };
    for (uint32_t i = 0; i < samples->occupancy.count; i++) {
        struct track_row *row = &samples->occupancy.row[i];
        samples->endings = array_with_room(samples->endings, samples->endings_count,
                                           &samples->endings_capacity, sizeof *samples->endings);
        struct track_endings *endings = find_endings(samples, row);
        if (endings == samples->endings + samples->endings_count) {
            if (row->share->divisor >= MOST_OF_TRACK || samples->ending_count >= MOST)
                continue;
            *endings = endings_of(samples, row);
            samples->ending_count += endings->count;
            samples->endings_count++;
        }
        row->ending = endings->of;
        row->ending_count = endings->count;
    }
}

void samples_keep(struct samples *samples, const struct directory *directory) {
    char header[COLUMN_TABLE_HEADER_SIZE];
    for (int table = 0; table < TABLES; table++)
        csv_open(&samples->csv[table], directory->work, table_file[table],
                 column_table_header(table_file[table], header));
    const struct scenario *scenario = samples->scenario;
    samples->wholes = csv_wholes_new(scenario->run_ticks / scenario->ticks_per_second + 1);
    csv_scale_shorten(&samples->seconds, &samples->wholes);
    samples->has_brief = csv_brief_init(&samples->brief, &samples->seconds, &samples->wholes);
    for (uint32_t i = 0; i < samples->share_count; i++)
        csv_scale_shorten(&samples->share[i], &samples->wholes);
    make_endings(samples);
}

/* ---- a sample ---- */

/* Rows for which there is room at once. */
enum { ROWS_AT_ONCE = 32 };

/* The time of the sample, as each row begins with it. */
typedef char block __attribute__((vector_size(CSV_BLOCK_BYTES)));
struct stamp {
    block first, second;
    size_t length;
};

/* How numbers and times are put. Whether there is a brief scale is known when a row is compiled, so
 * that none has a branch for it. */
struct clock {
    struct csv_wholes wholes;
    struct csv_scale scale;
    struct csv_brief brief;
};

static inline struct clock clock_of(const struct samples *samples) {
    return (struct clock){samples->wholes, samples->seconds, samples->brief};
}

static inline char *put_count(char *at, const struct clock *clock, bool is_brief, int64_t count) {
    return is_brief ? csv_put_brief_count(at, &clock->brief, count)
                    : csv_put_count(at, &clock->wholes, count);
}

static inline char *put_time(char *at, const struct clock *clock, bool is_brief, int64_t ticks) {
    return is_brief ? csv_put_brief(at, &clock->brief, ticks)
                    : csv_put_decimal(at, &clock->wholes, &clock->scale, ticks);
}

static struct stamp stamp_of(const struct samples *samples, int64_t tick) {
    char bytes[1 + 2 * CSV_BLOCK_BYTES]; /* a comma before it */
    const struct clock clock = clock_of(samples);
    const char *end = samples->has_brief ? put_time(bytes, &clock, true, tick)
                                         : put_time(bytes, &clock, false, tick);
    struct stamp stamp = {.length = (size_t)(end - bytes) - 1};
    memcpy(&stamp.first, bytes + 1, sizeof stamp.first);
    memcpy(&stamp.second, bytes + 1 + sizeof stamp.first, sizeof stamp.second);
    return stamp;
}

/* Begins a row with the time and its fixed middle. */
static inline char *begin_row(char *at, struct stamp stamp, const struct csv_text *middle) {
    memcpy(at, &stamp.first, sizeof stamp.first);
    memcpy(at + sizeof stamp.first, &stamp.second, sizeof stamp.second);
    return csv_put_text(at + stamp.length, middle);
}

/* The same with a time of one block, as a brief one is. */
static inline char *begin_row_of(char *at, struct stamp stamp, bool is_brief,
                                 const struct csv_text *middle) {
    if (!is_brief)
        return begin_row(at, stamp, middle);
    memcpy(at, &stamp.first, sizeof stamp.first);
    return csv_put_text(at + stamp.length, middle);
}

static inline char *end_row(char *at) {
    *at = '\n';
    return at + 1;
}

static char *room_for_rows(const struct samples *samples, struct csv *csv) {
    return csv_row(csv, ROWS_AT_ONCE * samples->row_most);
}

static inline uint32_t at_once(uint32_t count) {
    return count < ROWS_AT_ONCE ? count : ROWS_AT_ONCE;
}

/* The rest of a row, its end too. */
static inline char *put_track(char *at, const struct csv_wholes *wholes,
                              const struct track_row *row, const struct world *world) {
    bool item = row->length > 0;
    int64_t count =
        item ? world_kind_count(world, row->kind) : world_track_count(world, row->track, NO_INDEX);
    if (count < row->ending_count)
        return csv_put_ending(at, &row->ending[count]);
    int64_t cells = item ? count * row->length : world_track_cells(world, row->track);
    return end_row(put_track_numbers(at, wholes, row->share, count, cells));
}

static void take_tracks(struct samples *samples, enum table table, const struct track_rows *tracks,
                        const struct world *world, struct stamp stamp) {
    const struct csv_wholes wholes = samples->wholes;
    struct csv *csv = &samples->csv[table];
    const struct track_row *row = tracks->row, *end = row + tracks->count;
    while (row < end) {
        char *at = room_for_rows(samples, csv);
        const struct track_row *last = row + at_once((uint32_t)(end - row));
        for (; row < last; row++)
            at = put_track(begin_row(at, stamp, &row->middle), &wholes, row, world);
        csv_rows_end(csv, at);
    }
}

static void take_levels(struct samples *samples, const struct world *world, struct stamp stamp) {
    const struct csv_wholes wholes = samples->wholes;
    struct csv *csv = &samples->csv[LEVELS];
    struct level_row *row = samples->level_row, *end = row + samples->level_row_count;
    while (row < end) {
        char *at = room_for_rows(samples, csv);
        const struct level_row *last = row + at_once((uint32_t)(end - row));
        for (; row < last; row++) {
            int64_t level = world_stock_count(world, row->stock);
            if (level == row->last)
                continue;
            row->last = level;
            at = end_row(csv_put_count(begin_row(at, stamp, &row->middle), &wholes, level));
        }
        csv_rows_end(csv, at);
    }
}

static const char no_time[] = ",0.0";

static inline char *put_no_time(char *at) {
    memcpy(at, no_time, sizeof no_time - 1);
    return at + sizeof no_time - 1;
}

/* Times in states in which many an actor never is. */
static inline char *put_rare_time(char *at, const struct clock *clock, bool is_brief,
                                  int64_t ticks) {
    return ticks != 0 ? put_time(at, clock, is_brief, ticks) : put_no_time(at);
}

static inline char *put_station(char *at, const struct clock *clock, bool is_brief,
                                const struct station_totals *totals) {
    at = put_count(at, clock, is_brief, totals->batches);
    at = put_time(at, clock, is_brief, totals->ticks[STATION_WORKING]);
    at = put_time(at, clock, is_brief, totals->ticks[STATION_STARVED]);
    at = put_rare_time(at, clock, is_brief, totals->ticks[STATION_BLOCKED]);
    at = put_rare_time(at, clock, is_brief, totals->ticks[STATION_GATED]);
    return put_rare_time(at, clock, is_brief, totals->ticks[STATION_STOPPED]);
}

__attribute__((always_inline)) static inline void take_stations(struct samples *samples,
                                                                const struct world *world,
                                                                struct stamp stamp, bool is_brief) {
    const struct clock clock = clock_of(samples);
    struct csv *csv = &samples->csv[STATIONS];
    for (uint32_t i = 0, count = samples->scenario->station_count; i < count;) {
        char *at = room_for_rows(samples, csv);
        for (uint32_t last = i + at_once(count - i); i < last; i++) {
            struct station_totals totals = world_station_totals(world, i);
            at = begin_row_of(at, stamp, is_brief, &samples->station[i]);
            at = end_row(put_station(at, &clock, is_brief, &totals));
        }
        csv_rows_end(csv, at);
    }
}

static inline char *put_arm(char *at, const struct clock *clock, bool is_brief, bool stops,
                            const struct arm_totals *totals) {
    at = put_count(at, clock, is_brief, totals->swings);
    at = put_count(at, clock, is_brief, totals->moved);
    at = put_time(at, clock, is_brief, totals->ticks[ARM_REACHING]);
    at = put_time(at, clock, is_brief, totals->ticks[ARM_CARRYING]);
    at = put_rare_time(at, clock, is_brief, totals->ticks[ARM_PLACING]);
    at = put_time(at, clock, is_brief, totals->ticks[ARM_RETURNING]);
    return stops ? put_rare_time(at, clock, is_brief, totals->ticks[ARM_STOPPED]) : put_no_time(at);
}

__attribute__((always_inline)) static inline void take_arms(struct samples *samples,
                                                            const struct world *world,
                                                            struct stamp stamp, bool is_brief,
                                                            bool are_plain) {
    const struct clock clock = clock_of(samples);
    struct csv *csv = &samples->csv[ARMS];
    const struct csv_text *name = samples->arm;
    for (uint32_t i = 0, count = samples->scenario->arm_count; i < count;) {
        char *at = room_for_rows(samples, csv);
        for (uint32_t last = i + at_once(count - i); i < last; i++) {
            struct arm_totals totals =
                are_plain ? world_plain_arm_totals(world, i) : world_arm_totals(world, i);
            at = begin_row_of(at, stamp, is_brief, &name[i]);
            at = end_row(put_arm(at, &clock, is_brief, !are_plain, &totals));
        }
        csv_rows_end(csv, at);
    }
}

static void take_actors(struct samples *samples, const struct world *world, struct stamp stamp) {
    take_stations(samples, world, stamp, false);
    take_arms(samples, world, stamp, false, false);
}

static void take_actors_briefly(struct samples *samples, const struct world *world,
                                struct stamp stamp) {
    take_stations(samples, world, stamp, true);
    if (world_arms_are_plain(world))
        take_arms(samples, world, stamp, true, true);
    else
        take_arms(samples, world, stamp, true, false);
}

static void note_levels(struct samples *samples, const struct world *world) {
    for (uint32_t i = 0; i < samples->level_row_count; i++)
        samples->level_row[i].last = world_stock_count(world, samples->level_row[i].stock);
}

void samples_take(struct samples *samples, const struct world *world) {
    if (samples->wholes.count == 0) {
        note_levels(samples, world);
        return;
    }
    struct stamp stamp = stamp_of(samples, world_tick(world));
    take_tracks(samples, OCCUPANCY, &samples->occupancy, world, stamp);
    take_tracks(samples, LANES, &samples->lanes, world, stamp);
    take_levels(samples, world, stamp);
    if (samples->has_brief && stamp.length <= sizeof stamp.first)
        take_actors_briefly(samples, world, stamp);
    else
        take_actors(samples, world, stamp);
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
    return world_stock_count(world, samples->level_row[row].stock);
}

void samples_save(const struct samples *samples, struct bytes *bytes) {
    enum { ROW_BYTES = 1 + 4 + 4 + 8 };
    unsigned char *at = bytes_begin(bytes, 4 + (size_t)samples->level_row_count * ROW_BYTES);
    at = bytes_put_4(at, samples->level_row_count);
    for (uint32_t i = 0; i < samples->level_row_count; i++) {
        const struct level_row *row = &samples->level_row[i];
        *at++ = (unsigned char)row->kind;
        at = bytes_put_4(at, row->place);
        at = bytes_put_4(at, item_of_row(samples->scenario, row));
        at = bytes_put_8(at, (uint64_t)row->last);
    }
    bytes_end(bytes, at);
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
    for (uint32_t i = 0; i < rows->count; i++)
        csv_text_free(&rows->row[i].middle);
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
    for (uint32_t i = 0; i < samples->endings_count; i++)
        free(samples->endings[i].of);
    free(samples->endings);
    free_texts(samples->station, samples->scenario->station_count);
    free_texts(samples->arm, samples->scenario->arm_count);
    csv_wholes_free(&samples->wholes);
    csv_scale_free(&samples->seconds);
    free(samples->share);
    free(samples->level_row);
    free(samples);
}
