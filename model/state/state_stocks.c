/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_stocks.c - chests and stations as rows of a state. */
#include "model/engine/station.h"
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
    return world->scenario->station[station].takes.count;
}

static void get_input(const struct world *world, uint32_t station, struct state_cursor *cursor,
                      void *row) {
    uint32_t input = cursor->index++;
    *(struct stock_row *)row =
        (struct stock_row){.item = world->scenario->station[station].takes.entry[input].item,
                           .count = world->tally[stock_first_input(world, station) + input].count};
}

static bool put_input(struct state_filling *filling, uint32_t index, const void *from) {
    const struct stock_row *row = from;
    const struct world *world = filling->world;
    const struct item_counts *takes = &world->scenario->station[index].takes;
    uint32_t input = 0;
    while (input < takes->count && takes->entry[input].item != row->item)
        input++;
    uint32_t tally = input < takes->count ? stock_first_input(world, index) + input : NO_INDEX;
    return put_stock(filling, tally, stock_all_inputs(world, index), row->count);
}

struct output_row {
    struct stock_row stock;
    struct stream_words chance;
};

static const struct state_field output_field[] = {
    FIELD(struct output_row, STATE_WORD, stock.item),
    FIELD(struct output_row, STATE_AMOUNT, stock.count), STREAM_FIELDS(struct output_row, chance)};

static uint32_t outputs(const struct world *world, uint32_t station) {
    return world->scenario->station[station].makes_count;
}

static void get_output(const struct world *world, uint32_t station, struct state_cursor *cursor,
                       void *row) {
    uint32_t output = cursor->index++;
    *(struct output_row *)row = (struct output_row){
        .stock = {.item = world->scenario->station[station].makes[output].item,
                  .count = world->tally[stock_first_output(world, station) + output].count},
        .chance = state_words_of(world, station_output_chance(world, station, output))};
}

static bool put_output(struct state_filling *filling, uint32_t index, const void *from) {
    const struct output_row *row = from;
    const struct world *world = filling->world;
    const struct scenario_station *fixed = &world->scenario->station[index];
    uint32_t output = 0;
    while (output < fixed->makes_count && fixed->makes[output].item != row->stock.item)
        output++;
    if (output == fixed->makes_count)
        return row->stock.count == 0;
    return put_stock(filling, stock_first_output(world, index) + output,
                     stock_all_outputs(world, index), row->stock.count) &&
           state_put_words(filling, station_output_chance(world, index, output), row->chance);
}

/* ---- stations ----
 * What a batch has left is saved while it runs, or while it is stopped. */

_Static_assert(sizeof(struct station) == 64, "struct station is in struct station_row");

struct station_row {
    uint8_t stops, state;
    bool working, event_open;
    int64_t end_tick, rest_ticks;
    int64_t since, event_start;
    int64_t batches;
    int64_t ticks[STATION_STATES];
    struct stream_words time;
};

static const struct state_field station_field[] = {
    FIELD(struct station_row, STATE_BYTE, stops),
    FIELD(struct station_row, STATE_BYTE, state),
    FIELD(struct station_row, STATE_FLAG, working),
    FIELD(struct station_row, STATE_FLAG, event_open),
    FIELD(struct station_row, STATE_DUE, end_tick),
    FIELD(struct station_row, STATE_SPAN, rest_ticks),
    FIELD(struct station_row, STATE_PAST, since),
    FIELD(struct station_row, STATE_PAST, event_start),
    FIELD(struct station_row, STATE_AMOUNT, batches),
    FIELD(struct station_row, STATE_AMOUNT, ticks[STATION_WORKING]),
    FIELD(struct station_row, STATE_AMOUNT, ticks[STATION_STARVED]),
    FIELD(struct station_row, STATE_AMOUNT, ticks[STATION_BLOCKED]),
    FIELD(struct station_row, STATE_AMOUNT, ticks[STATION_GATED]),
    FIELD(struct station_row, STATE_AMOUNT, ticks[STATION_STOPPED]),
    STREAM_FIELDS(struct station_row, time)};

static void get_station(const struct world *world, uint32_t index, struct state_cursor *cursor,
                        void *to) {
    (void)cursor;
    struct station_row *row = to;
    const struct station *station = &world->station[index];
    *row = (struct station_row){.stops = station->stops,
                                .state = station->state,
                                .working = station->working,
                                .event_open = station->event_open,
                                .since = station->since,
                                .batches = station->batches};
    if (station->working && station->stops == 0)
        row->end_tick = station->end_tick;
    else if (station->working)
        row->rest_ticks = station->rest_ticks;
    if (station->event_open)
        row->event_start = station->event_start;
    station_ticks(world, index, row->ticks);
    row->time = state_words_of(world, station_time_chance(world, index));
}

/* For how long it has been in each state follows from the others and `since`. */
static bool put_station_ticks(struct world *world, uint32_t index, const int64_t *ticks) {
    struct station *station = &world->station[index];
    int64_t rest = station->since - ticks[STATION_STOPPED];
    for (int i = 0; i < STATION_GATED; i++) {
        station->ticks[i] = ticks[i];
        rest -= ticks[i];
    }
    if (ticks[STATION_STOPPED] > 0 || station->stops != 0 || station->state == STATION_STOPPED)
        station_make_stopped(world);
    if (world->station_stopped != NULL)
        world->station_stopped[index] = ticks[STATION_STOPPED];
    return rest == ticks[STATION_GATED];
}

static bool put_station(struct state_filling *filling, uint32_t index, const void *from) {
    const struct station_row *row = from;
    struct station *station = &filling->world->station[index];
    bool watched = row->state == STATION_STARVED || row->state == STATION_BLOCKED;
    if (!state_stops_fit(row->stops) || row->state >= STATION_STATES ||
        (row->event_open && !watched))
        return false;
    station->stops = row->stops;
    station->state = row->state;
    station->working = row->working;
    station->event_open = row->event_open;
    if (row->working)
        station->end_tick = row->stops == 0 ? row->end_tick : row->rest_ticks;
    station->since = row->since;
    station->event_start = row->event_start;
    station->batches = row->batches;
    return put_station_ticks(filling->world, index, row->ticks) &&
           state_put_words(filling, station_time_chance(filling->world, index), row->time);
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
