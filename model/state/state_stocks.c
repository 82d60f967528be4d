/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_stocks.c - chests and stations as rows of a state. */
#include "model/engine/stock.h"
#include "model/state/state_table.h"

/* ---- what lies in chests and stocks: each count is saved with its item ----
 * derived: counts of a whole chest or side and of tracks, room, quiet counts, who waits */

_Static_assert(sizeof(struct tally) == 32, "struct tally is in struct stock_row");
_Static_assert(sizeof(struct waiter) == 8, "all of struct waiter is derived");

struct stock_row {
    uint32_t item;
    int64_t count;
};

static const struct state_field stock_field[] = {FIELD(struct stock_row, STATE_WORD, item),
                                                 FIELD(struct stock_row, STATE_AMOUNT, count)};

/* Fills a tally and the one of the whole place. Nothing may lie where nothing can. */
static bool put_stock(struct state_filling *filling, uint32_t tally, uint32_t total,
                      int64_t count) {
    if (count == 0)
        return true;
    if (tally == NO_INDEX)
        return false;
    stock_lay(filling->world, tally, total, count);
    return filling->world->tally[total].count <= STATE_AMOUNT_MOST;
}

static uint32_t chests(const struct world *world) { return world->scenario->chest_count; }

static uint32_t chest_items(const struct world *world, uint32_t chest) {
    return stock_end_of_chest(world, chest) - stock_first_item_of_chest(world, chest);
}

static void get_in_chest(const struct world *world, uint32_t chest, struct state_cursor *cursor,
                         void *row) {
    uint32_t tally = stock_first_item_of_chest(world, chest) + cursor->index++;
    *(struct stock_row *)row =
        (struct stock_row){.item = world->chest_item[tally], .count = world->tally[tally].count};
}

static bool put_in_chest(struct state_filling *filling, uint32_t chest, const void *from) {
    const struct stock_row *row = from;
    return put_stock(filling, stock_tally_of_chest(filling->world, chest, row->item),
                     filling->world->chest_total[chest], row->count);
}

/* A capacity that an incident has set. */
struct chest_row {
    bool is_set;
    int64_t capacity;
};

static const struct state_field chest_field[] = {FIELD(struct chest_row, STATE_FLAG, is_set),
                                                 FIELD(struct chest_row, STATE_VALUE, capacity)};

static void get_chest(const struct world *world, uint32_t chest, struct state_cursor *cursor,
                      void *row) {
    (void)cursor;
    int64_t capacity = stock_limit(world, chest);
    bool is_set = capacity != world->scenario->chest[chest].capacity;
    *(struct chest_row *)row =
        (struct chest_row){.is_set = is_set, .capacity = is_set ? capacity : 0};
}

/* A new world's chest is filled as at the start; what lies in it now comes in the rows that follow.
 */
static bool put_chest(struct state_filling *filling, uint32_t chest, const void *from) {
    const struct chest_row *row = from;
    struct world *world = filling->world;
    for (uint32_t i = world->chest_total[chest]; i < stock_end_of_chest(world, chest); i++)
        stock_lay(world, i, i, -world->tally[i].count);
    if (row->is_set)
        stock_set_limit(world, chest, row->capacity);
    return true;
}

static uint32_t stations(const struct world *world) { return world->scenario->station_count; }

static uint32_t inputs(const struct world *world, uint32_t station) {
    return world->station_plan[station].input_count;
}

static void get_input(const struct world *world, uint32_t station, struct state_cursor *cursor,
                      void *row) {
    uint32_t input = cursor->index++;
    *(struct stock_row *)row = (struct stock_row){
        .item = world->scenario->station[station].takes.entry[input].item,
        .count = world->tally[world->station_plan[station].first_input + input].count};
}

static bool put_input(struct state_filling *filling, uint32_t index, const void *from) {
    const struct stock_row *row = from;
    const struct item_counts *takes = &filling->world->scenario->station[index].takes;
    const struct station_plan *station = &filling->world->station_plan[index];
    uint32_t input = 0;
    while (input < takes->count && takes->entry[input].item != row->item)
        input++;
    return put_stock(filling, input < takes->count ? station->first_input + input : NO_INDEX,
                     station->in, row->count);
}

struct output_row {
    struct stock_row stock;
    struct stream_words chance;
};

static const struct state_field output_field[] = {
    FIELD(struct output_row, STATE_WORD, stock.item),
    FIELD(struct output_row, STATE_AMOUNT, stock.count), STREAM_FIELDS(struct output_row, chance)};

static uint32_t outputs(const struct world *world, uint32_t station) {
    return world->station_plan[station].output_count;
}

/* The stream of an output's chance; those of a station follow each other. */
static uint32_t chance_of_output(const struct world *world, uint32_t station, uint32_t output) {
    const struct station_output *makes = world->scenario->station[station].makes;
    uint32_t chance = world->station_plan[station].first_output_chance;
    for (uint32_t i = 0; i < output; i++)
        chance += makes[i].has_chance;
    return makes[output].has_chance ? chance : NO_INDEX;
}

static void get_output(const struct world *world, uint32_t station, struct state_cursor *cursor,
                       void *row) {
    uint32_t output = cursor->index++;
    *(struct output_row *)row = (struct output_row){
        .stock = {.item = world->scenario->station[station].makes[output].item,
                  .count = world->tally[world->station_plan[station].first_output + output].count},
        .chance = state_words_of(world, chance_of_output(world, station, output))};
}

static bool put_output(struct state_filling *filling, uint32_t index, const void *from) {
    const struct output_row *row = from;
    const struct scenario_station *fixed = &filling->world->scenario->station[index];
    const struct station_plan *station = &filling->world->station_plan[index];
    uint32_t output = 0;
    while (output < fixed->makes_count && fixed->makes[output].item != row->stock.item)
        output++;
    if (output == fixed->makes_count)
        return row->stock.count == 0;
    return put_stock(filling, station->first_output + output, station->out, row->stock.count) &&
           state_put_words(filling, chance_of_output(filling->world, index, output), row->chance);
}

/* ---- stations ----
 * What a batch has left is saved while it runs, or while it is stopped. */

_Static_assert(sizeof(struct station) == 88, "struct station is in station_field");

struct station_row {
    struct station station;
    struct stream_words time;
};

#define STATION_FIELD(kind, member) FIELD_OF(struct station_row, station, kind, member)
static const struct state_field station_field[] = {
    STATION_FIELD(STATE_BYTE, stops),
    STATION_FIELD(STATE_BYTE, state),
    STATION_FIELD(STATE_FLAG, working),
    STATION_FIELD(STATE_FLAG, event_open),
    STATION_FIELD(STATE_DUE, end_tick),
    STATION_FIELD(STATE_SPAN, rest_ticks),
    STATION_FIELD(STATE_PAST, since),
    STATION_FIELD(STATE_PAST, event_start),
    STATION_FIELD(STATE_AMOUNT, batches),
    STATION_FIELD(STATE_AMOUNT, ticks[STATION_WORKING]),
    STATION_FIELD(STATE_AMOUNT, ticks[STATION_STARVED]),
    STATION_FIELD(STATE_AMOUNT, ticks[STATION_BLOCKED]),
    STATION_FIELD(STATE_AMOUNT, ticks[STATION_GATED]),
    STATION_FIELD(STATE_AMOUNT, ticks[STATION_STOPPED]),
    STREAM_FIELDS(struct station_row, time)};

static void get_station(const struct world *world, uint32_t index, struct state_cursor *cursor,
                        void *to) {
    (void)cursor;
    struct station_row *row = to;
    struct station *station = &row->station;
    *station = world->station[index];
    if (!station->working || station->stops != 0)
        station->end_tick = 0;
    if (!station->working || station->stops == 0)
        station->rest_ticks = 0;
    if (!station->event_open)
        station->event_start = 0;
    row->time = state_words_of(world, world->station_plan[index].time_chance);
}

static bool put_station(struct state_filling *filling, uint32_t index, const void *from) {
    const struct station_row *row = from;
    const struct station *station = &row->station;
    bool watched = station->state == STATION_STARVED || station->state == STATION_BLOCKED;
    if (!state_stops_fit(station->stops) || station->state >= STATION_STATES ||
        (station->event_open && !watched))
        return false;
    filling->world->station[index] = *station;
    return state_put_words(filling, filling->world->station_plan[index].time_chance, row->time);
}

/* ---- in this order ---- */

static const struct state_part part[] = {
    {"chest", NULL, false, chests, NULL, get_chest, put_chest, FIELDS(chest_field)},
    {"chest", "stock", false, chests, chest_items, get_in_chest, put_in_chest, FIELDS(stock_field)},
    {"station", "input", false, stations, inputs, get_input, put_input, FIELDS(stock_field)},
    {"station", "output", false, stations, outputs, get_output, put_output, FIELDS(output_field)},
    {"station", NULL, false, stations, NULL, get_station, put_station, FIELDS(station_field)},
};
const struct state_group state_stocks = GROUP(part);
