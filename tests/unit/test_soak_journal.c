/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_soak_journal.c - whatever a kill or a failing disk does to the journal of a
 * soak, what is read from it is what was written, or less. */
#include <check.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tools/soak/soak_journal.h"

/* A run of 40 s at 100 ticks a second, in windows of a sample each. */
enum { RUNS = 5, WRITTEN = 4, TICKS = 4000, WINDOWS = 40, MAGIC_BYTES = 8 };

static const char text[] =
    "run: {for: 40 s}\nitems: [spring, clock]\nloops: [{name: ring, cells: 10, rate: 5}]\n"
    "chests: [{name: bin, start: {spring: 9}}, {name: shelf}]\n"
    "stations: [{name: bench, takes: {spring: 1}, makes: {clock: 1}, time: 4 s}]\n"
    "arms: [{name: mover, from: bin, to: bench, swing: 1 s},\n"
    "  {name: shelver, from: bench, to: shelf, swing: 1 s}]\n"
    "demands: [{name: orders, chest: shelf, item: clock, every: 9 s}]\n";

static struct soak_plan plan;
static char place[] = "/tmp/test_soak_book_XXXXXX";
static int directory;

static void begin(void) {
    struct faults faults = {0};
    plan = (struct soak_plan){.variant_count = 1, .run_count = RUNS, .keep = 2};
    plan.name[0] = require_text("clocks.yaml");
    plan.scenario[0] = read_scenario(text, strlen(text), "", NULL, 0, &faults);
    ck_assert_ptr_nonnull(plan.scenario[0]);
    faults_free(&faults);
    soak_plan_write(&plan);
    ck_assert_ptr_nonnull(mkdtemp(place));
    directory = open(place, O_RDONLY | O_DIRECTORY);
    ck_assert_int_ge(directory, 0);
}

static void end(void) {
    unlinkat(directory, "book", 0);
    close(directory);
    rmdir(place);
    soak_plan_free(&plan);
}

/* What run `run` gave: numbers that are easy to tell from each other. */
static struct soak_result result_of(const struct soak_journal *book, uint64_t run) {
    uint32_t count = book->measures[0].count;
    struct soak_result result = {.done = true,
                                 .holds = run != 2,
                                 .jams = run % 2,
                                 .ticks = TICKS,
                                 .first_jam_tick = run % 2 == 1 ? (int64_t)run * 1000 : NOT_GIVEN,
                                 .first_jam_since = run % 2 == 1 ? (int64_t)run * 900 : 0,
                                 .quiet_from_tick = (int64_t)run * 7,
                                 .jammed_ticks = (int64_t)run,
                                 .starved_ticks = 7,
                                 .value = require_memory(count, sizeof(double)),
                                 .series_width = 1,
                                 .window_count = WINDOWS,
                                 .series = require_memory(WINDOWS, sizeof(double))};
    for (uint32_t i = 0; i < count; i++)
        result.value[i] = (double)run + i / 8.0;
    for (uint32_t i = 0; i < WINDOWS; i++)
        result.series[i] = sqrt((double)(i + run) + 2);
    return result;
}

static void write_book(void) {
    struct soak_journal book;
    soak_journal_init(&book, &plan);
    ck_assert_int_eq(soak_journal_keep(&book, directory, "book", 0), 0);
    for (uint64_t run = WRITTEN; run > 0; run--) {
        struct soak_result result = result_of(&book, run);
        ck_assert_int_eq(soak_journal_add(&book, run, &result), 0);
    }
    soak_journal_free(&book);
}

/* All bytes of the file, to be freed. */
static unsigned char *bytes_of(size_t *length) {
    int file = openat(directory, "book", O_RDONLY);
    *length = (size_t)lseek(file, 0, SEEK_END);
    unsigned char *bytes = require_memory(*length, 1);
    ck_assert_int_eq(pread(file, bytes, *length, 0), (ssize_t)*length);
    close(file);
    return bytes;
}

static void put_bytes(const unsigned char *bytes, size_t length) {
    int file = openat(directory, "book", O_WRONLY | O_CREAT | O_TRUNC, 0600);
    ck_assert_int_eq(write(file, bytes, length), (ssize_t)length);
    close(file);
}

static void check_result(const struct soak_journal *book, uint64_t run) {
    struct soak_result wanted = result_of(book, run);
    const struct soak_result *found = &book->result[run];
    ck_assert(found->holds == wanted.holds && found->jams == wanted.jams &&
              found->ticks == wanted.ticks && found->first_jam_tick == wanted.first_jam_tick &&
              found->first_jam_since == wanted.first_jam_since &&
              found->quiet_from_tick == wanted.quiet_from_tick &&
              found->jammed_ticks == wanted.jammed_ticks &&
              found->starved_ticks == wanted.starved_ticks &&
              found->window_count == wanted.window_count);
    ck_assert_mem_eq(found->value, wanted.value, book->measures[0].count * sizeof(double));
    ck_assert_mem_eq(found->series, wanted.series, WINDOWS * sizeof(double));
    soak_result_free(&wanted);
}

/* Reads the file as it is; every result in it must be what was written. Returns how many there
 * are. */
static int read_back(enum soak_reading *reading, int64_t *good) {
    struct soak_journal book;
    soak_journal_init(&book, &plan);
    *reading = soak_journal_read(&book, SOAK_NO_SHARD, directory, "book", good);
    soak_journal_audit(&book);
    int count = 0;
    for (uint64_t run = 0; run < RUNS; run++) {
        if (!book.result[run].done)
            continue;
        check_result(&book, run);
        count++;
    }
    soak_journal_free(&book);
    return count;
}

START_TEST(all_comes_back) {
    enum soak_reading reading;
    int64_t good;
    ck_assert_int_eq(read_back(&reading, &good), 0);
    ck_assert_int_eq(reading, SOAK_ABSENT);
    write_book();
    ck_assert_int_eq(read_back(&reading, &good), WRITTEN);
    ck_assert_int_eq(reading, SOAK_PARTIAL);
}
END_TEST

START_TEST(file_cut_anywhere_gives_what_is_whole) {
    size_t length;
    write_book();
    unsigned char *bytes = bytes_of(&length);
    int before = 0;
    for (size_t cut = 0; cut <= length; cut++) {
        enum soak_reading reading;
        int64_t good;
        put_bytes(bytes, cut);
        int count = read_back(&reading, &good);
        ck_assert_int_ge(count, before);
        ck_assert_int_le(good, (int64_t)cut);
        ck_assert(reading == SOAK_PARTIAL || (reading == SOAK_ABSENT && count == 0));
        before = count;
    }
    ck_assert_int_eq(before, WRITTEN);
    free(bytes);
}
END_TEST

START_TEST(changed_byte_is_never_believed) {
    size_t length;
    write_book();
    unsigned char *bytes = bytes_of(&length);
    for (size_t at = 0; at < length; at++) {
        enum soak_reading reading;
        int64_t good;
        bytes[at] ^= 0x41;
        put_bytes(bytes, length);
        ck_assert_int_lt(read_back(&reading, &good), WRITTEN);
        ck_assert_int_eq(reading, at < MAGIC_BYTES ? SOAK_FOREIGN : SOAK_DAMAGED);
        bytes[at] ^= 0x41;
    }
    free(bytes);
}
END_TEST

START_TEST(writing_goes_on_behind_what_is_good) {
    size_t length;
    enum soak_reading reading;
    int64_t good;
    write_book();
    unsigned char *bytes = bytes_of(&length);
    put_bytes(bytes, length - 3);
    free(bytes);
    struct soak_journal book;
    soak_journal_init(&book, &plan);
    soak_journal_read(&book, SOAK_NO_SHARD, directory, "book", &good);
    ck_assert(!book.result[1].done);
    ck_assert_int_eq(soak_journal_keep(&book, directory, "book", good), 0);
    struct soak_result result = result_of(&book, 1);
    ck_assert_int_eq(soak_journal_add(&book, 1, &result), 0);
    soak_journal_free(&book);
    ck_assert_int_eq(read_back(&reading, &good), WRITTEN);
    free(bytes_of(&length));
    ck_assert_int_eq((int64_t)length, good);
}
END_TEST

START_TEST(book_of_another_plan_is_foreign) {
    enum soak_reading reading;
    int64_t good;
    write_book();
    free(plan.text);
    plan.keep = 3;
    soak_plan_write(&plan);
    ck_assert_int_eq(read_back(&reading, &good), 0);
    ck_assert_int_eq(reading, SOAK_FOREIGN);
}
END_TEST

/* The first two of the runs that jam (1 and 3 do), in whatever order they come. */
START_TEST(first_jammed_runs_are_kept) {
    struct soak_journal book;
    soak_journal_init(&book, &plan);
    for (uint64_t run = RUNS; run > 0; run--) {
        struct soak_result result = result_of(&book, run - 1);
        result.jams = 1;
        result.first_jam_tick = 1000;
        result.first_jam_since = 900;
        soak_journal_add(&book, run - 1, &result);
        soak_journal_audit(&book);
        ck_assert(soak_journal_keeps(&book, run - 1));
    }
    ck_assert(soak_journal_keeps(&book, 0) && soak_journal_keeps(&book, 1) &&
              !soak_journal_keeps(&book, 2));
    soak_journal_free(&book);
}
END_TEST

/* ---- values that no run can come to, under checksums that are right ---- */

static void be_in_the_past(struct soak_result *result) { result->ticks = -5; }
static void last_too_long(struct soak_result *result) { result->ticks = TICKS + 1; }
static void jam_before_time(struct soak_result *result) { result->first_jam_tick = -2; }
static void jam_without_time(struct soak_result *result) { result->first_jam_tick = NOT_GIVEN; }
static void jam_for_longer(struct soak_result *result) { result->jammed_ticks = TICKS + 1; }
static void end_more_jams(struct soak_result *result) { result->jams_ended = result->jams + 1; }
static void starve_less(struct soak_result *result) { result->starved_ticks = -1; }
static void starve_more(struct soak_result *result) { result->starved_ticks = 2 * TICKS; }
static void lose_a_window(struct soak_result *result) { result->window_count--; }
static void lose_the_series(struct soak_result *result) { result->series_width = 0; }
static void measure_less(struct soak_result *result) { result->value[1] = -0.5; }
static void measure_too_much(struct soak_result *result) { result->value[0] = INFINITY; }
static void recover_backwards(struct soak_result *result) { result->recovery_ticks = -1; }
static void be_quiet_late(struct soak_result *result) { result->quiet_from_tick = TICKS + 1; }

static void (*const spoil[])(struct soak_result *result) = {
    be_in_the_past, last_too_long,    jam_before_time,   jam_without_time, jam_for_longer,
    end_more_jams,  starve_less,      starve_more,       lose_a_window,    lose_the_series,
    measure_less,   measure_too_much, recover_backwards, be_quiet_late};
enum { SPOILS = sizeof spoil / sizeof *spoil };

START_TEST(values_that_no_run_has_are_damage) {
    struct soak_journal book;
    enum soak_reading reading;
    int64_t good;
    soak_journal_init(&book, &plan);
    ck_assert_int_eq(soak_journal_keep(&book, directory, "book", 0), 0);
    struct soak_result result = result_of(&book, 1);
    spoil[_i](&result);
    ck_assert_int_eq(soak_journal_add(&book, 1, &result), 0);
    soak_journal_free(&book);
    ck_assert_int_eq(read_back(&reading, &good), 0);
    ck_assert_int_eq(reading, SOAK_DAMAGED);
}
END_TEST

/* All results, as merge and --resume read them: nothing may be missing, and nothing come after. */
START_TEST(whole_results_are_all_of_them) {
    struct soak_journal book;
    enum soak_reading reading;
    int64_t good;
    soak_journal_init(&book, &plan);
    for (uint64_t run = 0; run < RUNS; run++) {
        struct soak_result result = result_of(&book, run);
        ck_assert_int_eq(soak_journal_add(&book, run, &result), 0);
    }
    struct bytes bytes = soak_journal_bytes(&book, SOAK_NO_SHARD);
    put_bytes(bytes.data, bytes.length);
    ck_assert_int_eq(read_back(&reading, &good), RUNS);
    ck_assert_int_eq(reading, SOAK_WHOLE);
    bytes_add(&bytes, 0, 1);
    put_bytes(bytes.data, bytes.length);
    read_back(&reading, &good);
    ck_assert_int_eq(reading, SOAK_DAMAGED);
    bytes_free(&bytes);
    soak_journal_free(&book);
}
END_TEST

START_TEST(plan_comes_back_from_its_text) {
    struct soak_plan read;
    struct faults faults = {0};
    ck_assert(soak_plan_read(&read, plan.text, strlen(plan.text), "plan", &faults));
    ck_assert_str_eq(read.text, plan.text);
    soak_plan_free(&read);
    ck_assert(!soak_plan_read(&read, "{}", 2, "plan", &faults));
    ck_assert(!soak_plan_read(&read, plan.text, strlen(plan.text) / 2, "plan", &faults));
    ck_assert_uint_eq(faults.error_count, 2);
    faults_free(&faults);
}
END_TEST

static bool reads_as_plan(const char *bytes) {
    struct soak_plan read;
    struct faults faults = {0};
    bool good = soak_plan_read(&read, bytes, strlen(bytes), "plan", &faults);
    faults_free(&faults);
    if (good)
        soak_plan_free(&read);
    return good;
}

/* Each byte of a plan changed, each in turn left out; a key added, a number changed. */
START_TEST(changed_plan_is_refused) {
    size_t length = strlen(plan.text);
    char *changed = require_memory(length + 64, 1);
    for (size_t at = 0; at < length; at++) {
        memcpy(changed, plan.text, length + 1);
        changed[at] ^= 1;
        ck_assert_msg(!reads_as_plan(changed), "at %zu: %.20s", at, changed + at);
        memmove(changed + at, plan.text + at + 1, length - at);
        ck_assert_msg(!reads_as_plan(changed), "without %zu: %.20s", at, changed + at);
    }
    snprintf(changed, length + 64, "{\n  \"more\": 1,%s", plan.text + 1);
    ck_assert(!reads_as_plan(changed));
    free(changed);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("soak_journal");
    TCase *tests = tcase_create("soak_journal");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, all_comes_back);
    tcase_add_test(tests, file_cut_anywhere_gives_what_is_whole);
    tcase_add_test(tests, changed_byte_is_never_believed);
    tcase_add_test(tests, writing_goes_on_behind_what_is_good);
    tcase_add_test(tests, book_of_another_plan_is_foreign);
    tcase_add_test(tests, first_jammed_runs_are_kept);
    tcase_add_loop_test(tests, values_that_no_run_has_are_damage, 0, SPOILS);
    tcase_add_test(tests, whole_results_are_all_of_them);
    tcase_add_test(tests, plan_comes_back_from_its_text);
    tcase_add_test(tests, changed_plan_is_refused);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
