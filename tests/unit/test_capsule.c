/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_capsule.c - capsules as files: what is read is what was written; a file with any
 * byte changed, cut at any length, of another format or version, or another file, is refused; one
 * that somebody made up with a right checksum is refused or runs, but never brings the program
 * down. */
#define _DEFAULT_SOURCE /* P_tmpdir */
#include "tools/checkpoint/capsule.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "model/reader/read.h"
#include "model/state/state.h"
#include "sim/random.h"
#include "sim/require.h"
#include "sim/sealed_file.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"
#include "tools/record/record.h"

static char path[64];

static void make_path(void) {
    snprintf(path, sizeof path, P_tmpdir "/test_capsule.XXXXXX");
    int file = mkstemp(path);
    ck_assert_int_ge(file, 0);
    close(file);
}

static struct scenario *read_text(const char *text) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "test", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    faults_free(&faults);
    return scenario;
}

/* A moment of a run, with its record, in the file `path`. */
static void write_moment(const struct scenario *scenario, int64_t tick) {
    struct faults faults = {0};
    struct world *world = world_new(scenario);
    struct record record;
    record_begin(&record, scenario, world, true);
    for (int64_t at = 0; at <= tick; at++) {
        world_advance(world, at);
        if (at % scenario->watch.every_ticks == 0)
            record_sample(&record);
        if (at == scenario->warm_up_ticks)
            record_warm(&record);
    }
    struct moment moment = moment_take(world);
    record_save(&record, &moment.record);
    ck_assert(capsule_write(path, scenario, &moment, &faults));
    moment_free(&moment);
    record_free(&record);
    world_free(world);
}

static unsigned char *read_plainly(size_t *length) {
    FILE *file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    fseek(file, 0, SEEK_END);
    *length = (size_t)ftell(file);
    rewind(file);
    unsigned char *data = require_memory(*length, 1);
    ck_assert_uint_eq(fread(data, 1, *length, file), *length);
    fclose(file);
    return data;
}

static void write_plainly(const void *data, size_t length) {
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(data, 1, length, file), length);
    ck_assert_int_eq(fclose(file), 0);
}

static void assert_refused(const char *word) {
    struct faults faults = {0};
    struct capsule capsule = {.text = path};
    ck_assert(!capsule_read(path, &capsule, &faults));
    ck_assert(capsule.text == path && capsule.moment.tick == 0);
    ck_assert_uint_eq(faults.error_count, 1);
    ck_assert_str_eq(faults.fault[0].source, path);
    ck_assert_msg(strstr(faults.fault[0].what, word) != NULL, "\"%s\" does not say \"%s\"",
                  faults.fault[0].what, word);
    faults_free(&faults);
}

static const char small[] =
    "run: {for: 1 min, seed: 3, warm_up: 2}\nitems: [spring, movement]\n"
    "loops: [{name: ring, cells: 9, rate: 6.5}]\n"
    "chests: [{name: bin, start: {spring: 20}, limits: {spring: 90}}, {name: shelf, capacity: 9}]\n"
    "stations: [{name: bench, takes: {spring: 2}, makes: {movement: 1}, time: {uniform: [1, 3]}}]\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: ring@5, items: [spring], swing: {normal: [1, 0.2]},\n"
    "     breaks: {after: {exponential: 40 s}, repair: {exponential: 5 s}},\n"
    "     gate: {chest: shelf, item: movement, below: 6, reopen_below: 4}}\n"
    "  - {name: taker, from: ring@3, to: bench, swing: 0.5 s}\n"
    "  - {name: shelver, from: bench, to: shelf, swing: 0.7 s}\n"
    "supplies: [{name: delivery, chest: bin, item: spring, every: {exponential: 1.5 s}}]\n"
    "demands: [{name: orders, chest: shelf, item: movement, every: {exponential: 4 s}}]\n";

START_TEST(what_is_read_is_what_was_written) {
    make_path();
    struct scenario *scenario = read_text(small);
    write_moment(scenario, 1999);
    struct faults faults = {0};
    struct capsule capsule;
    ck_assert(capsule_read(path, &capsule, &faults));
    ck_assert_int_eq(capsule.moment.tick, 2000);
    ck_assert_str_eq(capsule.text, scenario->text);
    struct scenario *again = capsule_scenario(&capsule, path, NULL, 0, &faults);
    ck_assert_ptr_nonnull(again);
    struct world *whole = world_new(scenario), *world = capsule_world(&capsule, again);
    ck_assert_ptr_nonnull(world);
    world_advance(whole, 1999);
    world_forget_most(whole);
    ck_assert_int_eq(world_tick(world), 1999);
    world_advance(whole, 4000);
    world_advance(world, 4000);
    world_forget_most(whole); /* told anew since the warm-up in the one, not in the other */
    world_forget_most(world);
    ck_assert_uint_eq(state_hash(whole), state_hash(world));
    world_free(whole);
    world_free(world);
    scenario_free(again);
    scenario_free(scenario);
    capsule_free(&capsule);
    unlink(path);
}
END_TEST

START_TEST(every_byte_changed_and_every_length_is_refused) {
    make_path();
    struct scenario *scenario = read_text(small);
    write_moment(scenario, 1234);
    size_t length;
    unsigned char *data = read_plainly(&length);
    for (size_t i = 0; i < length; i++) {
        data[i] ^= (unsigned char)(1U << i % 8);
        write_plainly(data, length);
        assert_refused("");
        data[i] ^= (unsigned char)(1U << i % 8);
    }
    for (size_t cut = 0; cut < length; cut++) {
        write_plainly(data, cut);
        assert_refused(cut == 0 ? "not a capsule" : "cut short");
    }
    free(data);
    scenario_free(scenario);
    unlink(path);
}
END_TEST

/* The content after the seal, freed by the caller, and the format it says. */
static unsigned char *unseal(size_t *length, uint64_t *format) {
    unsigned char *data = read_plainly(length);
    *format = 0;
    for (int i = 7; i >= 0; i--)
        *format = *format << 8 | data[16 + i];
    *length -= SEALED_HEADER_BYTES;
    memmove(data, data + SEALED_HEADER_BYTES, *length);
    return data;
}

START_TEST(another_version_kind_or_format_is_refused) {
    struct faults faults = {0};
    uint64_t format;
    size_t length;
    make_path();
    struct scenario *scenario = read_text(small);
    write_moment(scenario, 1234);
    unsigned char *data = unseal(&length, &format);
    ck_assert(sealed_write(path, "capsule", format + 1, data, length, &faults));
    assert_refused("format");
    ck_assert(sealed_write(path, "soak", format, data, length, &faults));
    assert_refused("not a capsule");
    ck_assert(sealed_write(path, "capsule", format, data, length - 1, &faults));
    assert_refused("do not fit together");
    data[8]++; /* the first letter of the program's version */
    ck_assert(sealed_write(path, "capsule", format, data, length, &faults));
    assert_refused("another version");
    free(data);
    scenario_free(scenario);
    unlink(path);
}
END_TEST

/* ---- forged ---- */

/* Goes on from what a capsule says, as replay does, if all of it fits. True: it ran. */
static bool run_on(const struct capsule *capsule) {
    struct faults faults = {0};
    struct record record;
    bool ran = false;
    struct scenario *scenario = capsule_scenario(capsule, path, NULL, 0, &faults);
    faults_free(&faults);
    struct world *world = scenario != NULL ? capsule_world(capsule, scenario) : NULL;
    if (world != NULL) {
        record_begin(&record, scenario, world, true);
        ran = record_restore(&record, &capsule->moment.record);
        if (ran) {
            world_advance(world, world_tick(world) + 700);
            record_sample(&record);
            record_end(&record);
        }
        record_free(&record);
    }
    world_free(world);
    scenario_free(scenario);
    return ran;
}

static void assert_refused_or_runs(int *ran) {
    struct faults faults = {0};
    struct capsule capsule;
    if (capsule_read(path, &capsule, &faults)) {
        *ran += run_on(&capsule);
        capsule_free(&capsule);
    }
    faults_free(&faults);
}

/* A block of the content: its length stands in the 8 bytes before it. */
static size_t block_length(const unsigned char *at) {
    size_t length = 0;
    for (int i = 7; i >= 0; i--)
        length = length << 8 | at[i];
    return length;
}

/* Where the state begins: after the version, the text, the seed and the tick. */
static size_t state_at(const unsigned char *data) {
    size_t at = 8 + block_length(data);
    return at + 8 + block_length(data + at) + 16 + 8;
}

START_TEST(a_forged_capsule_is_refused_or_runs) {
    static const unsigned char odd[] = {0, 1, 2, 4, 0x7f, 0x80, 0xfe, 0xff};
    struct faults faults = {0};
    struct random_stream chance;
    int ran = 0, tries = 0;
    random_start(&chance, 1, "forge", "byte");
    make_path();
    for (uint64_t seed = 1; seed <= 30; seed++) {
        char *text = scatter_scenario(seed, true);
        struct scenario *scenario = read_text(text);
        uint64_t format;
        size_t length;
        write_moment(scenario, scenario->run_ticks * 2 / 3);
        unsigned char *data = unseal(&length, &format), *forged = require_memory(length, 1);
        size_t first = state_at(data); /* the text has been tried by the tests of the reader */
        for (int i = 0; i < 60; i++, tries++) {
            memcpy(forged, data, length);
            uint32_t changes = 1 + random_below(&chance, 2);
            for (uint32_t j = 0; j < changes; j++)
                forged[first + random_below(&chance, (uint32_t)(length - first))] =
                    odd[random_below(&chance, sizeof odd)];
            ck_assert(sealed_write(path, "capsule", format, forged, length, &faults));
            assert_refused_or_runs(&ran);
        }
        free(data);
        free(forged);
        scenario_free(scenario);
        free(text);
    }
    ck_assert_int_gt(ran, tries / 20); /* else none of it comes far */
    ck_assert_int_lt(ran, tries);
    unlink(path);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("capsule");
    TCase *tests = tcase_create("capsule");
    tcase_add_test(tests, what_is_read_is_what_was_written);
    tcase_add_test(tests, every_byte_changed_and_every_length_is_refused);
    tcase_add_test(tests, another_version_kind_or_format_is_refused);
    tcase_add_test(tests, a_forged_capsule_is_refused_or_runs);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
