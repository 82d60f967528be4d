/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz_results.c - the journal of a soak with a few bytes changed, its checksums made
 * good again (or not): what is read of it is sound, and statistics can be made of it. */
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "sim/sealed_file.h"
#include "tests/fuzz/edit.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/scratch.h"
#include "tools/soak/soak_journal.h"
#include "tools/soak/soak_json.h"
#include "tools/soak/soak_report.h"

enum { RUNS = 6, RUN_TICKS = 800, WINDOWS = 8, MAGIC_BYTES = 8, NUMBER_BYTES = 8 };

static const char text[] =
    "run: {for: 8 s}\nitems: [spring, clock]\nloops: [{name: ring, cells: 10, rate: 5}]\n"
    "chests: [{name: bin, start: {spring: 9}}, {name: shelf}]\n"
    "stations: [{name: bench, takes: {spring: 1}, makes: {clock: 1}, time: 4 s}]\n"
    "arms: [{name: mover, from: bin, to: bench, swing: {normal: [1, 0.2]}},\n"
    "  {name: shelver, from: bench, to: shelf, swing: 1 s}]\n"
    "demands: [{name: orders, chest: shelf, item: clock, every: 9 s}]\n";

static struct soak_plan plan;
static struct bytes good;

/* What run `run` gave: numbers that a run can give. */
static struct soak_result result_of(const struct soak_journal *book, uint64_t unit) {
    uint64_t run = unit / plan.variant_count;
    uint32_t count = book->measures[unit % plan.variant_count].count, width = 1;
    uint32_t windows = run < SOAK_SERIES_RUNS ? WINDOWS : 0;
    struct soak_result result = {.done = true,
                                 .holds = run != 2,
                                 .jams = run % 2,
                                 .ticks = RUN_TICKS,
                                 .first_jam_tick = run % 2 == 1 ? (int64_t)run * 100 : NOT_GIVEN,
                                 .jammed_ticks = (int64_t)(run % 2 * 50),
                                 .longest_jam_ticks = (int64_t)(run % 2 * 40),
                                 .starved_ticks = 7,
                                 .value = require_memory(count, sizeof(double)),
                                 .failed = run == 2 ? require_text("made.clock") : NULL,
                                 .series_width = windows > 0 ? width : 0,
                                 .window_count = windows};
    size_t series = (size_t)result.series_width * windows;
    result.series = require_memory(series, sizeof(double));
    for (uint32_t i = 0; i < count; i++)
        result.value[i] = (double)run + i / 8.0;
    for (size_t i = 0; i < series; i++)
        result.series[i] = (double)(i % 5);
    return result;
}

static void make_good(void) {
    struct faults faults = {0};
    struct soak_journal book;
    plan = (struct soak_plan){.variant_count = 2, .run_count = RUNS, .keep = 2};
    for (uint32_t i = 0; i < plan.variant_count; i++) {
        plan.name[i] = require_text("clocks.yaml");
        plan.scenario[i] = read_scenario(text, strlen(text), "", NULL, 0, &faults);
        require(plan.scenario[i] != NULL);
    }
    faults_free(&faults);
    soak_plan_write(&plan);
    soak_journal_init(&book, &plan);
    for (uint64_t unit = 0; unit < soak_plan_units(&plan); unit++) {
        struct soak_result result = result_of(&book, unit);
        require(soak_journal_add(&book, unit, &result) == 0);
    }
    good = soak_journal_bytes(&book, SOAK_NO_SHARD);
    soak_journal_free(&book);
}

/* Each piece is its length, the length with all bits changed, its bytes, and their checksum. What
 * follows a length that is longer than the file is left as it is. */
static void seal(struct bytes *bytes) {
    size_t at = MAGIC_BYTES, frame = (size_t)3 * NUMBER_BYTES;
    while (at + frame <= bytes->length) {
        uint64_t length = edit_get_number(bytes->data + at);
        if (length > bytes->length - at - frame)
            return;
        edit_put_number(bytes->data + at + NUMBER_BYTES, ~length);
        at += (size_t)2 * NUMBER_BYTES;
        edit_put_number(bytes->data + at + length,
                        sealed_checksum(0, bytes->data + at, (size_t)length));
        at += (size_t)length + NUMBER_BYTES;
    }
}

static bool has_all(const struct soak_journal *book) {
    for (uint64_t unit = 0; unit < soak_plan_units(&plan); unit++)
        if (!book->result[unit].done)
            return false;
    return true;
}

static void try_results(void) {
    struct soak_journal book;
    int64_t length;
    soak_journal_init(&book, &plan);
    soak_journal_read(&book, SOAK_NO_SHARD, scratch_directory(), scratch_name(), &length);
    soak_journal_audit(&book);
    if (has_all(&book)) {
        free(soak_json_text(&book));
        free(soak_report_runs(&book, 0));
        free(soak_report_runs(&book, 1));
    }
    soak_journal_free(&book);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length) {
    struct edit_input input = {data, length};
    uint64_t kind = edit_take(&input, 1);
    if (good.data == NULL)
        make_good();
    size_t first = kind % 8 < 4 ? MAGIC_BYTES + 2 * NUMBER_BYTES + strlen(plan.text) : 0;
    struct bytes bytes = edit_copy(good.data, good.length, first, &input);
    if (kind % 8 < 7)
        seal(&bytes);
    scratch_file(bytes.data, bytes.length);
    try_results();
    bytes_free(&bytes);
    return 0;
}
