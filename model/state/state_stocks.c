/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_stocks.c - chests and stations as rows of a state. */
#include "model/engine/stock.h"
#include "model/state/state_table.h"

/* ---- what lies in chests and stocks: each count is told with its item ----
 * derived: counts of a whole chest or side and of tracks, promised, low, high, who waits; fixed:
 * first_leaf, limits but that of a whole chest */

_Static_assert(sizeof(struct tally) == 56, "struct tally is in struct stock_row");
_Static_assert(sizeof(struct waiter) == 12, "all of struct waiter is derived");

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
    struct tally *one_item = &filling->world->tally[tally], *all = &filling->world->tally[total];
    one_item->count += count;
    all->count += count;
    return all->count <= STATE_AMOUNT_MOST;
}

static uint32_t chests(const struct world *world) { return world->scenario->chest_count; }

static uint32_t chest_items(const struct world *world, uint32_t chest) {
    return world->first_of_chest[chest + 1] - world->first_of_chest[chest];
}

static void get_in_chest(const struct world *world, uint32_t chest, struct state_cursor *cursor,
                         void *row) {
    uint32_t item = world->chest_item[world->first_of_chest[chest] + cursor->index++];
    *(struct stock_row *)row = (struct stock_row){
        .item = item, .count = world->tally[stock_tally_of_chest(world, chest, item)].count};
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
    int64_t capacity = world->tally[world->chest_total[chest]].limit;
    if (capacity != world->scenario->chest[chest].capacity)
        *(struct chest_row *)row = (struct chest_row){.is_set = true, .capacity = capacity};
}

/* A new world's chest is filled as at the start; what lies in it now comes behind. */
static bool put_chest(struct state_filling *filling, uint32_t chest, const void *from) {
    const struct chest_row *row = from;
    struct tally *all = &filling->world->tally[filling->world->chest_total[chest]];
    if (row->is_set)
        all->limit = row->capacity;
    for (uint32_t i = 0; i <= chest_items(filling->world, chest); i++)
        all[i].count = 0;
    return true;
}

static uint32_t stations(const struct world *world) { return world->scenario->station_count; }

static uint32_t inputs(const struct world *world, uint32_t station) {
    return world->station[station].input_count;
}

static void get_input(const struct world *world, uint32_t station, struct state_cursor *cursor,
                      void *row) {
    uint32_t input = cursor->index++;
    *(struct stock_row *)row = (struct stock_row){
        .item = world->scenario->station[station].takes.entry[input].item,
        .count = world->tally[world->station[station].first_input + input].count};
}

static bool put_input(struct state_filling *filling, uint32_t index, const void *from) {
    const struct stock_row *row = from;
    const struct item_counts *takes = &filling->world->scenario->station[index].takes;
    const struct station *station = &filling->world->station[index];
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
    return world->station[station].output_count;
}

/* The stream of an output's chance; those of a station stand one behind the other. */
static uint32_t chance_of_output(const struct world *world, uint32_t station, uint32_t output) {
    const struct station_output *makes = world->scenario->station[station].makes;
    uint32_t chance = world->station[station].first_output_chance;
    for (uint32_t i = 0; i < output; i++)
        chance += makes[i].has_chance;
    return makes[output].has_chance ? chance : NO_INDEX;
}

static void get_output(const struct world *world, uint32_t station, struct state_cursor *cursor,
                       void *row) {
    uint32_t output = cursor->index++;
    *(struct output_row *)row = (struct output_row){
        .stock = {.item = world->scenario->station[station].makes[output].item,
                  .count = world->tally[world->station[station].first_output + output].count},
        .chance = state_words_of(world, chance_of_output(world, station, output))};
}

static bool put_output(struct state_filling *filling, uint32_t index, const void *from) {
    const struct output_row *row = from;
    const struct scenario_station *fixed = &filling->world->scenario->station[index];
    const struct station *station = &filling->world->station[index];
    uint32_t output = 0;
    while (output < fixed->makes_count && fixed->makes[output].item != row->stock.item)
        output++;
    if (output == fixed->makes_count)
        return row->stock.count == 0;
    return put_stock(filling, station->first_output + output, station->out, row->stock.count) &&
           state_put_words(filling, chance_of_output(filling->world, index, output), row->chance);
}

/* ---- stations ----
 * fixed: all above stops. What a batch at work has left is told while it runs, or while it is held.
 */

_Static_assert(sizeof(struct station) == 128, "struct station is in struct station_row");

struct station_row {
    uint8_t stops, state;
    bool working, told;
    int64_t end_tick, rest_ticks, since, told_start, batches;
    int64_t working_ticks, starved_ticks, blocked_ticks, gated_ticks, stopped_ticks;
    struct stream_words time;
};

static const struct state_field station_field[] = {
    FIELD(struct station_row, STATE_BYTE, stops),
    FIELD(struct station_row, STATE_BYTE, state),
    FIELD(struct station_row, STATE_FLAG, working),
    FIELD(struct station_row, STATE_FLAG, told),
    FIELD(struct station_row, STATE_DUE, end_tick),
    FIELD(struct station_row, STATE_SPAN, rest_ticks),
    FIELD(struct station_row, STATE_PAST, since),
    FIELD(struct station_row, STATE_PAST, told_start),
    FIELD(struct station_row, STATE_AMOUNT, batches),
    FIELD(struct station_row, STATE_AMOUNT, working_ticks),
    FIELD(struct station_row, STATE_AMOUNT, starved_ticks),
    FIELD(struct station_row, STATE_AMOUNT, blocked_ticks),
    FIELD(struct station_row, STATE_AMOUNT, gated_ticks),
    FIELD(struct station_row, STATE_AMOUNT, stopped_ticks),
    STREAM_FIELDS(struct station_row, time)};

static void get_station(const struct world *world, uint32_t index, struct state_cursor *cursor,
                        void *row) {
    (void)cursor;
    const struct station *station = &world->station[index];
    bool runs = station->working && station->stops == 0, held = station->working && !runs;
    const int64_t *ticks = station->ticks;
    *(struct station_row *)row =
        (struct station_row){.stops = station->stops,
                             .state = (uint8_t)station->state,
                             .working = station->working,
                             .told = station->told,
                             .end_tick = runs ? station->end_tick : 0,
                             .rest_ticks = held ? station->rest_ticks : 0,
                             .since = station->since,
                             .told_start = station->told ? station->told_start : 0,
                             .batches = (int64_t)station->batches,
                             .working_ticks = ticks[STATION_WORKING],
                             .starved_ticks = ticks[STATION_STARVED],
                             .blocked_ticks = ticks[STATION_BLOCKED],
                             .gated_ticks = ticks[STATION_GATED],
                             .stopped_ticks = ticks[STATION_STOPPED],
                             .time = state_words_of(world, station->time_chance)};
}

static bool put_station(struct state_filling *filling, uint32_t index, const void *from) {
    const struct station_row *row = from;
    struct station *station = &filling->world->station[index];
    bool watched = row->state == STATION_STARVED || row->state == STATION_BLOCKED;
    if (!state_stops_fit(row->stops) || row->state >= STATION_STATES || (row->told && !watched))
        return false;
    station->stops = row->stops;
    station->state = (enum station_state)row->state;
    station->working = row->working;
    station->told = row->told;
    station->end_tick = row->end_tick;
    station->rest_ticks = row->rest_ticks;
    station->since = row->since;
    station->told_start = row->told_start;
    station->batches = (uint64_t)row->batches;
    station->ticks[STATION_WORKING] = row->working_ticks;
    station->ticks[STATION_STARVED] = row->starved_ticks;
    station->ticks[STATION_BLOCKED] = row->blocked_ticks;
    station->ticks[STATION_GATED] = row->gated_ticks;
    station->ticks[STATION_STOPPED] = row->stopped_ticks;
    return state_put_words(filling, station->time_chance, row->time);
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
