/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz_capsule.c - capsules of runs with a few bytes changed, their seal made good again
 * (or not): they are refused, or the run goes on. An input is the number of a
 * capsule, what may change, and changes (edit.h). */
#include "tools/checkpoint/capsule.h"

#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "sim/sealed_file.h"
#include "tests/exact/scatter.h"
#include "tests/fuzz/edit.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/scratch.h"
#include "tools/record/record.h"

enum { CAPSULES = 12, LENGTH_AT = 24, CHECKSUM_AT = 32, GO_ON_TICKS = 250 };

/* A capsule as it is written. */
static struct {
    void *data;
    size_t length, state_at;
} good[CAPSULES];

static struct scenario *read_text(const char *text) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "scattered", NULL, 0, &faults);
    require(scenario != NULL);
    faults_free(&faults);
    return scenario;
}

static void make_good(uint32_t index) {
    char *text = scatter_scenario(index / 2 + 1, index % 4 < 2);
    struct scenario *scenario = read_text(text);
    struct world *world = world_new(scenario);
    struct record record;
    record_begin(&record, scenario, world, true);
    int64_t last = scenario->run_ticks / (index % 2 == 0 ? 2 : 12);
    for (int64_t tick = 0; tick <= last; tick++) {
        world_advance(world, tick);
        if (tick % scenario->watch.every_ticks == 0)
            record_sample(&record);
        if (tick == scenario->warm_up_ticks)
            record_warm(&record);
    }
    struct moment moment = moment_take(world);
    record_save(&record, &moment.record);
    good[index].length = capsule_bytes(scenario, &moment, &good[index].data);
    good[index].state_at =
        good[index].length - moment.record.length - 8 - moment.state.length - 8 - 8;
    moment_free(&moment);
    record_free(&record);
    world_free(world);
    scenario_free(scenario);
    free(text);
}

static void seal(struct bytes *bytes) {
    if (bytes->length < SEALED_HEADER_BYTES)
        return;
    size_t rest = bytes->length - SEALED_HEADER_BYTES;
    edit_put_number(bytes->data + LENGTH_AT, rest);
    uint64_t checksum = sealed_checksum(sealed_checksum(0, bytes->data, CHECKSUM_AT),
                                        bytes->data + SEALED_HEADER_BYTES, rest);
    edit_put_number(bytes->data + CHECKSUM_AT, checksum);
}

/* Goes on as replay does. Sums that never were need not fit each other: no audit. */
static void go_on(const struct capsule *capsule, struct world *world,
                  const struct scenario *scenario) {
    struct record record;
    record_begin(&record, scenario, world, true);
    if (record_restore(&record, &capsule->moment.record)) {
        struct progress progress = {0};
        record_run_until(&record, &progress, NULL, world_tick(world) + GO_ON_TICKS);
        record_end(&record);
        struct outcome outcome = record_outcome(&record);
        free(summary_as_json(&outcome));
    }
    record_free(&record);
}

static void try_capsule(const char *path) {
    struct faults faults = {0};
    struct capsule capsule;
    struct scenario *scenario = NULL;
    struct world *world = NULL;
    bool read = capsule_read(path, &capsule, &faults);
    if (read)
        scenario = capsule_scenario(&capsule, path, NULL, 0, &faults);
    if (scenario != NULL)
        world = capsule_world(&capsule, scenario);
    if (world != NULL)
        go_on(&capsule, world, scenario);
    fuzz_check(scenario != NULL || faults_failed(&faults));
    world_free(world);
    scenario_free(scenario);
    if (read)
        capsule_free(&capsule);
    faults_free(&faults);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length) {
    struct edit_input input = {data, length};
    uint64_t kind = edit_take(&input, 1), index = edit_take(&input, 1) % CAPSULES;
    if (good[index].data == NULL)
        make_good((uint32_t)index);
    size_t first = kind % 8 < 6 ? good[index].state_at : 0;
    struct bytes bytes = edit_copy(good[index].data, good[index].length, first, &input);
    if (kind % 8 < 7)
        seal(&bytes);
    try_capsule(scratch_file(bytes.data, bytes.length));
    bytes_free(&bytes);
    return 0;
}
