/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/series.c - keeps two samples of each track, two values of each count, and the totals
 * at the end of each span. */
#include "tools/page/series.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "model/scenario/reach.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/json_text.h"
#include "tools/page/packed.h"

/* A number of all lists together that is not passed: with many things there are fewer spans. */
enum { NUMBERS_MOST = 4000000, SPANS_LEAST = 100 };

struct extreme {
    int64_t tick, value;
};

/* What goes up and down, in one span: its least and its greatest, the first of each. */
struct swing {
    bool known;
    struct extreme least, greatest;
};

/* A count that may ever be other than 0. */
struct watched {
    uint32_t number; /* as the recording numbers counts */
    struct place place;
    bool made;     /* of a station: an output */
    uint32_t slot; /* the item; of a station its index in takes or makes */
};

struct series {
    const struct scenario *scenario;
    const struct world *world;
    int64_t first_tick, last_tick;
    uint32_t spans, span; /* as many; the one at work */
    uint32_t tracks, counts;
    struct watched *watched; /* [counts] */
    uint32_t watched_capacity;
    int64_t *end;             /* [spans] */
    struct swing *track;      /* [span * tracks + track] */
    int32_t *least, *most;    /* [(span * tracks + track) * items + item], at these */
    struct swing *count;      /* [span * counts + count] */
    struct item_totals *item; /* [span * items + item] */
    struct station_totals *station;
    struct arm_totals *arm;
};

/* ---- numbers of things ---- */

static uint32_t span_of(const struct series *series, int64_t tick) {
    int64_t ticks = series->last_tick - series->first_tick + 1;
    return (uint32_t)((tick - series->first_tick) * series->spans / ticks);
}

static void watch(struct series *series, struct watched watched) {
    series->watched = array_with_room(series->watched, series->counts, &series->watched_capacity,
                                      sizeof *series->watched);
    series->watched[series->counts++] = watched;
}

static void watch_chests(struct series *series) {
    const struct scenario *scenario = series->scenario;
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t j = 0; j < scenario->item_count; j++)
            if (reach_comes_to(&reach, i, j) || world_chest_count(series->world, i, j) > 0)
                watch(series, (struct watched){.number = i * scenario->item_count + j,
                                               .place = {.kind = PLACE_CHEST, .index = i},
                                               .slot = j});
    reach_free(&reach);
}

/* Inputs, then outputs. */
static void watch_stations(struct series *series) {
    const struct scenario *scenario = series->scenario;
    uint32_t number = scenario->chest_count * scenario->item_count;
    for (int made = 0; made <= 1; made++)
        for (uint32_t i = 0; i < scenario->station_count; i++) {
            const struct scenario_station *station = &scenario->station[i];
            uint32_t slots = made ? station->makes_count : station->takes.count;
            for (uint32_t j = 0; j < slots; j++)
                watch(series, (struct watched){.number = number + j,
                                               .place = {.kind = PLACE_STATION, .index = i},
                                               .made = made,
                                               .slot = j});
            number += slots;
        }
}

static uint32_t count_spans(const struct series *series) {
    const struct scenario *scenario = series->scenario;
    uint64_t numbers = (uint64_t)series->tracks * (2 * scenario->item_count + 2) +
                       2 * (uint64_t)series->counts + 6 * (uint64_t)scenario->arm_count +
                       6 * (uint64_t)scenario->station_count + 3 * (uint64_t)scenario->item_count;
    uint64_t spans = NUMBERS_MOST / (numbers + 1);
    int64_t ticks = series->last_tick - series->first_tick + 1;
    spans = spans > SERIES_SPANS ? SERIES_SPANS : spans < SPANS_LEAST ? SPANS_LEAST : spans;
    return (int64_t)spans < ticks ? (uint32_t)spans : (uint32_t)ticks;
}

struct series *series_new(const struct scenario *scenario, const struct world *world,
                          int64_t first_tick, int64_t last_tick) {
    struct series *series = require_memory(1, sizeof *series);
    *series = (struct series){.scenario = scenario,
                              .world = world,
                              .first_tick = first_tick,
                              .last_tick = last_tick,
                              .tracks = layout_track_count(scenario)};
    watch_chests(series);
    watch_stations(series);
    series->spans = count_spans(series);
    size_t spans = series->spans;
    series->end = require_memory(spans, sizeof *series->end);
    series->track = require_memory(spans * series->tracks, sizeof *series->track);
    series->least = require_memory(spans * series->tracks * scenario->item_count, sizeof(int32_t));
    series->most = require_memory(spans * series->tracks * scenario->item_count, sizeof(int32_t));
    series->count = require_memory(spans * series->counts, sizeof *series->count);
    series->item = require_memory(spans * scenario->item_count, sizeof *series->item);
    series->station = require_memory(spans * scenario->station_count, sizeof *series->station);
    series->arm = require_memory(spans * scenario->arm_count, sizeof *series->arm);
    return series;
}

void series_free(struct series *series) {
    if (series == NULL)
        return;
    free(series->watched);
    free(series->end);
    free(series->track);
    free(series->least);
    free(series->most);
    free(series->count);
    free(series->item);
    free(series->station);
    free(series->arm);
    free(series);
}

/* ---- taking samples ---- */

/* Bit 0: it is the least so far; bit 1: the greatest. */
static uint32_t swing_take(struct swing *swing, int64_t tick, int64_t value) {
    const struct extreme now = {tick, value};
    uint32_t news = (!swing->known || value < swing->least.value) |
                    (uint32_t)(!swing->known || value > swing->greatest.value) << 1;
    if ((news & 1) != 0)
        swing->least = now;
    if ((news & 2) != 0)
        swing->greatest = now;
    swing->known = true;
    return news;
}

static void take_items(const struct series *series, struct place place, int32_t *count) {
    for (uint32_t i = 0; i < series->scenario->item_count; i++)
        count[i] = (int32_t)world_track_count(series->world, place, i);
}

static void take_tracks(struct series *series, int64_t tick) {
    uint32_t items = series->scenario->item_count;
    for (uint32_t i = 0; i < series->tracks; i++) {
        struct place place = layout_track_as_place(series->scenario, i);
        size_t at = (size_t)series->span * series->tracks + i;
        uint32_t news =
            swing_take(&series->track[at], tick, world_track_cells(series->world, place));
        if ((news & 1) != 0)
            take_items(series, place, &series->least[at * items]);
        if ((news & 2) != 0)
            take_items(series, place, &series->most[at * items]);
    }
}

static int64_t count_now(const struct series *series, const struct watched *watched) {
    if (watched->place.kind == PLACE_CHEST)
        return world_chest_count(series->world, watched->place.index, watched->slot);
    return watched->made ? world_output_count(series->world, watched->place.index, watched->slot)
                         : world_input_count(series->world, watched->place.index, watched->slot);
}

static void take_counts(struct series *series, int64_t tick) {
    struct swing *count = &series->count[(size_t)series->span * series->counts];
    for (uint32_t i = 0; i < series->counts; i++)
        swing_take(&count[i], tick, count_now(series, &series->watched[i]));
}

static void take_totals(struct series *series) {
    const struct scenario *scenario = series->scenario;
    size_t span = series->span;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        series->item[span * scenario->item_count + i] = world_item_totals(series->world, i);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        series->station[span * scenario->station_count + i] =
            world_station_totals(series->world, i);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        series->arm[span * scenario->arm_count + i] = world_arm_totals(series->world, i);
}

/* Where samples are rarer than spans, a span without one is as the one before ended. */
static void fill(struct series *series, uint32_t span) {
    const struct scenario *scenario = series->scenario;
    for (uint32_t at = series->span + 1; at < span; at++) {
        uint32_t from = series->span;
#define COPY(array, count)                                                                         \
    memcpy(&series->array[(size_t)at * (count)], &series->array[(size_t)from * (count)],           \
           sizeof *series->array *(count))
        COPY(track, series->tracks);
        COPY(least, (size_t)series->tracks * scenario->item_count);
        COPY(most, (size_t)series->tracks * scenario->item_count);
        COPY(count, series->counts);
        COPY(item, scenario->item_count);
        COPY(station, scenario->station_count);
        COPY(arm, scenario->arm_count);
#undef COPY
        series->end[at] = series->end[from];
    }
    series->span = span;
}

void series_take(struct series *series) {
    int64_t tick = world_tick(series->world);
    if (tick < series->first_tick)
        return;
    uint32_t span = span_of(series, tick);
    if (span > series->span)
        fill(series, span);
    series->end[span] = tick;
    take_tracks(series, tick);
    take_counts(series, tick);
    take_totals(series);
}

/* ---- packing ---- */

/* A list that is being packed. */
struct list {
    struct bytes *bytes;
    int64_t before;
};

static struct list list_of(struct bytes *bytes, size_t length) {
    packed_add(bytes, length);
    return (struct list){.bytes = bytes};
}

static void list_add(struct list *list, int64_t number) {
    packed_add_signed(list->bytes, number - list->before);
    list->before = number;
}

static bool least_came_first(const struct swing *swing) {
    return swing->least.tick <= swing->greatest.tick;
}

static void list_add_swing(struct list *list, const struct swing *swing) {
    bool rises = least_came_first(swing);
    list_add(list, rises ? swing->least.value : swing->greatest.value);
    list_add(list, rises ? swing->greatest.value : swing->least.value);
}

static bool item_was_on(const struct series *series, uint32_t track, uint32_t item) {
    for (size_t i = 0; i <= series->span; i++)
        if (series->most[(i * series->tracks + track) * series->scenario->item_count + item] > 0 ||
            series->least[(i * series->tracks + track) * series->scenario->item_count + item] > 0)
            return true;
    return false;
}

static void pack_track(const struct series *series, uint32_t track, struct bytes *bytes) {
    uint32_t items = series->scenario->item_count;
    size_t length = 2 * ((size_t)series->span + 1);
    struct list ticks = list_of(bytes, length);
    for (size_t i = 0; i <= series->span; i++) {
        const struct swing *swing = &series->track[i * series->tracks + track];
        bool rises = least_came_first(swing);
        list_add(&ticks, rises ? swing->least.tick : swing->greatest.tick);
        list_add(&ticks, rises ? swing->greatest.tick : swing->least.tick);
    }
    struct list cells = list_of(bytes, length);
    for (size_t i = 0; i <= series->span; i++)
        list_add_swing(&cells, &series->track[i * series->tracks + track]);
    for (uint32_t item = 0; item < items; item++) {
        if (!item_was_on(series, track, item))
            continue;
        struct list counts = list_of(bytes, length);
        for (size_t i = 0; i <= series->span; i++) {
            size_t at = i * series->tracks + track;
            bool rises = least_came_first(&series->track[at]);
            list_add(&counts, (rises ? series->least : series->most)[at * items + item]);
            list_add(&counts, (rises ? series->most : series->least)[at * items + item]);
        }
    }
}

static bool count_was_there(const struct series *series, uint32_t count) {
    for (size_t i = 0; i <= series->span; i++)
        if (series->count[i * series->counts + count].greatest.value > 0)
            return true;
    return false;
}

static void pack_counts(const struct series *series, struct bytes *bytes) {
    for (uint32_t count = 0; count < series->counts; count++) {
        if (!count_was_there(series, count))
            continue;
        struct list list = list_of(bytes, 2 * ((size_t)series->span + 1));
        for (size_t i = 0; i <= series->span; i++)
            list_add_swing(&list, &series->count[i * series->counts + count]);
    }
}

/* Made somewhere, or asked for. */
static bool item_counts(const struct series *series, uint32_t item) {
    const struct item_totals *last =
        &series->item[(size_t)series->span * series->scenario->item_count + item];
    return last->made > 0 || last->demanded > 0 || last->met > 0;
}

static void pack_items(const struct series *series, struct bytes *bytes) {
    uint32_t items = series->scenario->item_count;
    for (uint32_t item = 0; item < items; item++) {
        if (!item_counts(series, item))
            continue;
        for (int what = 0; what < 3; what++) {
            struct list list = list_of(bytes, (size_t)series->span + 1);
            for (size_t i = 0; i <= series->span; i++) {
                const struct item_totals *totals = &series->item[i * items + item];
                list_add(&list, what == 0   ? totals->made
                                : what == 1 ? totals->demanded
                                            : totals->met);
            }
        }
    }
}

static void pack_states(const struct series *series, struct bytes *bytes) {
    uint32_t stations = series->scenario->station_count, arms = series->scenario->arm_count;
    for (uint32_t station = 0; station < stations; station++)
        for (uint32_t state = 0; state < STATION_STATES; state++) {
            struct list list = list_of(bytes, (size_t)series->span + 1);
            for (size_t i = 0; i <= series->span; i++)
                list_add(&list, series->station[i * stations + station].ticks[state]);
        }
    for (uint32_t arm = 0; arm < arms; arm++)
        for (uint32_t state = 0; state < ARM_STATES; state++) {
            struct list list = list_of(bytes, (size_t)series->span + 1);
            for (size_t i = 0; i <= series->span; i++)
                list_add(&list, series->arm[i * arms + arm].ticks[state]);
        }
}

struct bytes series_pack(struct series *series) {
    struct bytes raw = {0};
    struct list ends = list_of(&raw, (size_t)series->span + 1);
    for (size_t i = 0; i <= series->span; i++)
        list_add(&ends, series->end[i]);
    for (uint32_t i = 0; i < series->tracks; i++)
        pack_track(series, i, &raw);
    pack_counts(series, &raw);
    pack_items(series, &raw);
    pack_states(series, &raw);
    struct bytes packed = packed_deflate(&raw);
    bytes_free(&raw);
    return packed;
}

json_t *series_plan(const struct series *series) {
    json_t *plan = json_object(), *tracks = json_array(), *counts = json_array(),
           *items = json_array();
    for (uint32_t i = 0; i < series->tracks; i++) {
        json_t *track = json_array();
        for (uint32_t item = 0; item < series->scenario->item_count; item++)
            if (item_was_on(series, i, item))
                json_text_append(track, json_text_whole(item));
        json_text_append(tracks, track);
    }
    for (uint32_t i = 0; i < series->counts; i++)
        if (count_was_there(series, i))
            json_text_append(counts, json_text_whole(series->watched[i].number));
    for (uint32_t i = 0; i < series->scenario->item_count; i++)
        if (item_counts(series, i))
            json_text_append(items, json_text_whole(i));
    json_text_put(plan, "tracks", tracks);
    json_text_put(plan, "counts", counts);
    json_text_put(plan, "items", items);
    return plan;
}
