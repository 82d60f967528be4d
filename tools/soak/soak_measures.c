/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_measures.c - packs the result of a run into a row of 64-bit words, and unpacks
 * it. */
#include "tools/soak/soak_measures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/require.h"

/* ---- what is measured ---- */

/* So many samples to a window that a whole run has no more windows than it may. */
static int64_t window_length(const struct scenario *scenario) {
    int64_t every = scenario->watch.every_ticks;
    int64_t samples = scenario->run_ticks / every;
    int64_t in_window = (samples + SOAK_WINDOWS_MAX - 1) / SOAK_WINDOWS_MAX;
    return every * (in_window > 0 ? in_window : 1);
}

void soak_measures_init(struct soak_measures *measures, const struct scenario *scenario) {
    bool *marked = require_memory(scenario->item_count, sizeof *marked);
    layout_mark_products(scenario, marked);
    *measures = (struct soak_measures){
        .scenario = scenario,
        .product = require_memory(scenario->item_count, sizeof *measures->product),
        .track_count = layout_track_count(scenario),
        .totals_ticks = window_length(scenario)};
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (marked[i])
            measures->product[measures->product_count++] = i;
    measures->count = 1 + measures->product_count + measures->track_count;
    free(marked);
}

void soak_measures_free(struct soak_measures *measures) {
    free(measures->product);
    *measures = (struct soak_measures){0};
}

uint32_t soak_measures_series_width(const struct soak_measures *measures, uint64_t run_count,
                                    uint64_t run) {
    if (run_count == 1)
        return measures->count;
    return run < SOAK_SERIES_RUNS ? 1 : 0;
}

/* ---- what a result can be ---- */

static bool is_within(int64_t tick, int64_t least, int64_t most) {
    return tick >= least && tick <= most;
}

static bool times_fit(const struct soak_result *result, const struct scenario *scenario) {
    int64_t ticks = result->ticks;
    return is_within(ticks, 1, scenario->run_ticks) && is_within(result->jammed_ticks, 0, ticks) &&
           is_within(result->longest_jam_ticks, 0, ticks) &&
           is_within(result->longest_recovery_ticks, 0, ticks) &&
           is_within(result->recovery_ticks, result->longest_recovery_ticks, ticks) &&
           is_within(result->quiet_from_tick, 0, scenario->run_ticks) &&
           result->starved_ticks >= 0 &&
           result->starved_ticks / ticks <= (int64_t)scenario->station_count;
}

static bool jams_fit(const struct soak_result *result) {
    if (result->jams == 0)
        return result->jams_ended == 0 && result->first_jam_tick == NOT_GIVEN;
    return result->jams_ended <= result->jams &&
           is_within(result->first_jam_tick, 0, result->ticks) &&
           is_within(result->first_jam_since, NOT_GIVEN, result->first_jam_tick);
}

static bool series_fits(const struct soak_result *result, const struct soak_measures *measures,
                        uint32_t width) {
    int64_t windows = width > 0 ? result->ticks / measures->totals_ticks : 0;
    return result->series_width == width && result->value != NULL && result->series != NULL &&
           result->window_count == (windows < SOAK_WINDOWS_MAX ? windows : SOAK_WINDOWS_MAX);
}

/* No measure is infinite, and none negative. */
static bool reals_fit(const double *real, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (!isnan(real[i]) && !(real[i] >= 0 && isfinite(real[i])))
            return false;
    return true;
}

bool soak_result_fits(const struct soak_result *result, const struct soak_measures *measures,
                      uint32_t width) {
    return times_fit(result, measures->scenario) && jams_fit(result) &&
           series_fits(result, measures, width) && reals_fit(result->value, measures->count) &&
           reals_fit(result->series, (size_t)width * result->window_count);
}

/* ---- results: words of 64 bits, then reals, then a text ---- */

enum { WORD_BYTES = 8 };

void soak_result_free(struct soak_result *result) {
    free(result->value);
    free(result->series);
    free(result->failed);
    *result = (struct soak_result){0};
}

static size_t series_length(const struct soak_result *result) {
    return (size_t)result->series_width * result->window_count;
}

void soak_result_pack(const struct soak_result *result, const struct soak_measures *measures,
                      uint64_t unit, struct bytes *bytes) {
    const uint64_t word[] = {unit,
                             result->holds,
                             result->stuck,
                             result->jams,
                             result->jams_ended,
                             (uint64_t)result->ticks,
                             (uint64_t)result->first_jam_tick,
                             (uint64_t)result->first_jam_since,
                             (uint64_t)result->jammed_ticks,
                             (uint64_t)result->longest_jam_ticks,
                             result->recoveries,
                             result->never,
                             (uint64_t)result->recovery_ticks,
                             (uint64_t)result->longest_recovery_ticks,
                             (uint64_t)result->quiet_from_tick,
                             (uint64_t)result->starved_ticks,
                             result->series_width,
                             result->window_count};
    const char *failed = result->failed != NULL ? result->failed : "";
    for (size_t i = 0; i < sizeof word / sizeof *word; i++)
        bytes_add(bytes, word[i], WORD_BYTES);
    for (uint32_t i = 0; i < measures->count; i++)
        bytes_add_real(bytes, result->value[i]);
    for (size_t i = 0; i < series_length(result); i++)
        bytes_add_real(bytes, result->series[i]);
    bytes_add_block(bytes, failed, strlen(failed));
}

uint64_t soak_result_unit(const void *packed, size_t length) {
    struct bytes_reader reader = bytes_reader_of(packed, length);
    uint64_t unit = bytes_take(&reader, WORD_BYTES);
    return reader.failed ? SOAK_NO_UNIT : unit;
}

static void take_reals(struct bytes_reader *reader, double *real, size_t count) {
    for (size_t i = 0; i < count; i++)
        real[i] = bytes_take_real(reader);
}

static bool take_numbers(struct bytes_reader *reader, struct soak_result *result,
                         const struct soak_measures *measures) {
    bytes_take(reader, WORD_BYTES); /* the unit */
    uint64_t holds = bytes_take(reader, WORD_BYTES), stuck = bytes_take(reader, WORD_BYTES);
    result->holds = holds == 1;
    result->stuck = stuck == 1;
    result->jams = bytes_take(reader, WORD_BYTES);
    result->jams_ended = bytes_take(reader, WORD_BYTES);
    result->ticks = (int64_t)bytes_take(reader, WORD_BYTES);
    result->first_jam_tick = (int64_t)bytes_take(reader, WORD_BYTES);
    result->first_jam_since = (int64_t)bytes_take(reader, WORD_BYTES);
    result->jammed_ticks = (int64_t)bytes_take(reader, WORD_BYTES);
    result->longest_jam_ticks = (int64_t)bytes_take(reader, WORD_BYTES);
    result->recoveries = bytes_take(reader, WORD_BYTES);
    result->never = bytes_take(reader, WORD_BYTES);
    result->recovery_ticks = (int64_t)bytes_take(reader, WORD_BYTES);
    result->longest_recovery_ticks = (int64_t)bytes_take(reader, WORD_BYTES);
    result->quiet_from_tick = (int64_t)bytes_take(reader, WORD_BYTES);
    result->starved_ticks = (int64_t)bytes_take(reader, WORD_BYTES);
    uint64_t width = bytes_take(reader, WORD_BYTES), windows = bytes_take(reader, WORD_BYTES);
    if (reader->failed || holds > 1 || stuck > 1 || width > measures->count ||
        windows > SOAK_WINDOWS_MAX)
        return false;
    result->series_width = (uint32_t)width;
    result->window_count = (uint32_t)windows;
    return true;
}

/* A text, or NULL for an empty one. A zero byte in it fails the reader. */
static char *take_text(struct bytes_reader *reader) {
    size_t length;
    const void *block = bytes_take_block(reader, &length);
    if (block == NULL || length == 0)
        return NULL;
    reader->failed = memchr(block, 0, length) != NULL;
    char *text = require_memory(length + 1, 1);
    memcpy(text, block, length);
    return text;
}

bool soak_result_unpack(struct soak_result *result, const struct soak_measures *measures,
                        const void *packed, size_t length) {
    struct bytes_reader reader = bytes_reader_of(packed, length);
    struct soak_result read = {.done = true};
    if (!take_numbers(&reader, &read, measures))
        return false;
    read.value = require_memory(measures->count, sizeof *read.value);
    read.series = require_memory(series_length(&read), sizeof *read.series);
    take_reals(&reader, read.value, measures->count);
    take_reals(&reader, read.series, series_length(&read));
    read.failed = take_text(&reader);
    if (bytes_at_end(&reader))
        *result = read;
    else
        soak_result_free(&read);
    return result->done;
}
