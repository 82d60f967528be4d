/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_csv.c - fields as RFC 4180 has them, numbers that read back, errors that are
 * kept. */
#include <check.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tools/base/csv.h"

enum { TEXT_BYTES = 128, MEBIBYTE = 1 << 20 };

/* ---- a directory to write in ---- */

static char place[] = "/tmp/test_csv_XXXXXX";
static int directory;

static void make_place(void) {
    strcpy(place, "/tmp/test_csv_XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(place));
    directory = open(place, O_RDONLY | O_DIRECTORY);
    ck_assert_int_ge(directory, 0);
}

static void remove_place(void) {
    unlinkat(directory, "t.csv", 0);
    close(directory);
    ck_assert_int_eq(rmdir(place), 0);
}

/* The bytes of t.csv; freed by the caller. */
static char *written(size_t *length) {
    int file = openat(directory, "t.csv", O_RDONLY);
    struct stat status;
    ck_assert(file >= 0 && fstat(file, &status) == 0);
    char *bytes = malloc((size_t)status.st_size + 1);
    ck_assert_int_eq(read(file, bytes, (size_t)status.st_size), status.st_size);
    bytes[status.st_size] = '\0';
    *length = (size_t)status.st_size;
    close(file);
    return bytes;
}

/* ---- fields ---- */

static const char *const field_pair[][2] = {
    /* RFC 4180, section 2, rules 5 to 7 */
    {"plain", "plain"},
    {"", ""},
    {"ring/outer@4; a b", "ring/outer@4; a b"},
    {"aaa,bbb", "\"aaa,bbb\""},
    {"b\"bb", "\"b\"\"bb\""},
    {"b\nbb", "\"b\nbb\""},
    {"b\rbb", "\"b\rbb\""},
    {"\"", "\"\"\"\""},
};

START_TEST(field_is_quoted_where_the_standard_says) {
    struct csv_text text = csv_text_field(field_pair[_i][0]);
    char copy[TEXT_BYTES] = "";
    char *end = csv_put_text(copy, &text);
    ck_assert_int_eq(end - copy, (int)strlen(field_pair[_i][1]));
    *end = '\0';
    ck_assert_str_eq(copy, field_pair[_i][1]);
    csv_text_free(&text);
}
END_TEST

/* ---- numbers: the C library prints the same ---- */

static void same_number(int64_t number) {
    char ours[TEXT_BYTES], theirs[TEXT_BYTES];
    *csv_put_number(ours, number) = '\0';
    snprintf(theirs, sizeof theirs, "%lld", (long long)number);
    ck_assert_str_eq(ours, theirs);
}

START_TEST(numbers_are_those_of_the_c_library) {
    for (int64_t number = 0; number < 20000; number++)
        same_number(number);
    for (int64_t power = 1; power < INT64_MAX / 10; power *= 10) {
        same_number(power - 1);
        same_number(power);
        same_number(power + 1);
    }
    same_number(INT64_MAX);
}
END_TEST

/* ---- decimals ---- */

static const struct {
    int64_t number, divisor;
    const char *text;
    uint8_t places_least;
} decimal[] = {
    {0, 100, "0", 0},
    {250, 100, "2.5", 0},
    {250340, 100, "2503.4", 0},
    {1, 1000000, "0.000001", 0},
    {1, 3, "0.333333333", 0}, /* no exact decimal: nine places, rounded */
    {2, 3, "0.666666667", 0},
    {1, 7, "0.142857143", 0},
    {1, 512, "0.001953125", 0},  /* just fits */
    {1, 1024, "0.000976563", 0}, /* 0.0009765625: a half goes up */
    {999999, 1000000, "0.999999", 0},
    {INT64_C(1) << 53, 1, "9007199254740992", 0},
    {(INT64_C(1) << 53) + 1, 1000000, "9007199254.740993", 0},
    {120, 120, "1", 0},
    {0, 100, "0.0", 1},
    {600, 1, "600.0", 1},
    {250, 100, "2.5", 1},
    {2048, 1024, "2.0", 1},
    {65536, 65536, "1.0", 1}, /* too many remainders for a table */
};

START_TEST(decimal_is_exact_or_rounded_to_nine_places) {
    struct csv_scale scale;
    char text[TEXT_BYTES];
    csv_scale_init(&scale, decimal[_i].divisor, decimal[_i].places_least);
    *csv_put_scaled(text, &scale, decimal[_i].number) = '\0';
    ck_assert_str_eq(text, decimal[_i].text);
    csv_scale_free(&scale);
}
END_TEST

static const int64_t tick_rate[] = {1,    2,     3,     7,     60,     100,    128,
                                    1000, 16384, 16385, 44100, 999983, 1000000};

/* The promise of the interface page: floor(time_s * ticks_per_second + 1/2) is the tick. The reader
 * of scenarios rounds the same way, in exact decimals, so it is asked. */
START_TEST(time_reads_back_to_its_tick) {
    int64_t rate = tick_rate[_i], ticks[] = {0, 1, 2, rate - 1, rate, rate + 1, 12345, 99999999, 0};
    struct csv_scale scale;
    csv_scale_init(&scale, rate, CSV_SECONDS_PLACES);
    for (int64_t k = 0; k < 3000; k++) {
        int64_t tick = k < 9 ? ticks[k] : k * k * 977 + k;
        char text[TEXT_BYTES];
        struct duration duration;
        *csv_put_scaled(text, &scale, tick) = '\0';
        ck_assert_int_eq(quantity_duration(text, &duration), QUANTITY_FITS);
        ck_assert_int_eq(quantity_ticks(&duration, rate), tick);
    }
    csv_scale_free(&scale);
}
END_TEST

/* ---- numbers with a comma: a short way for most, and the same bytes ---- */

enum { WHOLES = 12345 };
static struct csv_wholes wholes;

static void make_wholes(void) { wholes = csv_wholes_new(WHOLES); }
static void free_wholes(void) { csv_wholes_free(&wholes); }

static void same_count(int64_t number) {
    char ours[TEXT_BYTES], theirs[TEXT_BYTES];
    *csv_put_count(ours, &wholes, number) = '\0';
    snprintf(theirs, sizeof theirs, ",%lld", (long long)number);
    ck_assert_str_eq(ours, theirs);
}

START_TEST(there_are_as_many_short_numbers_as_fit) {
    struct csv_wholes one = csv_wholes_new(1), most = csv_wholes_new(INT64_MAX);
    char text[TEXT_BYTES];
    ck_assert_uint_eq(one.count, 1);
    *csv_put_count(text, &one, 1) = '\0';
    ck_assert_str_eq(text, ",1");
    *csv_put_count(text, &most, (int64_t)most.count - 1) = '\0';
    ck_assert_str_eq(text, ",65535");
    *csv_put_count(text, &most, (int64_t)most.count) = '\0';
    ck_assert_str_eq(text, ",65536");
    csv_wholes_free(&one);
    csv_wholes_free(&most);
}
END_TEST

START_TEST(count_is_shown_as_the_c_library_prints_it) {
    for (int64_t number = 0; number < 3 * (int64_t)WHOLES; number++)
        same_count(number);
    for (int64_t power = 1; power < INT64_MAX / 10; power *= 10) {
        same_count(power - 1);
        same_count(power);
    }
    same_count(INT64_MAX);
}
END_TEST

/* The whole part is that of a division, and the rest what a decimal without a comma shows. */
static void same_decimal(const struct csv_scale *scale, int64_t number) {
    char ours[TEXT_BYTES], wanted[2 * TEXT_BYTES] = ",", fraction[TEXT_BYTES];
    *csv_put_decimal(ours, &wholes, scale, number) = '\0';
    *csv_put_scaled(wanted + 1, scale, number) = '\0';
    ck_assert_str_eq(ours, wanted);
    *csv_put_scaled(fraction, scale, number % scale->divisor) = '\0';
    snprintf(wanted, sizeof wanted, ",%lld%s", (long long)(number / scale->divisor), fraction + 1);
    ck_assert_str_eq(ours, wanted);
}

static void same_around(const struct csv_scale *scale, int64_t seconds) {
    for (int64_t off = -2; off <= 2; off++)
        if (seconds * scale->divisor + off >= 0)
            same_decimal(scale, seconds * scale->divisor + off);
}

START_TEST(decimal_is_that_of_a_division) {
    struct csv_scale scale;
    csv_scale_init(&scale, tick_rate[_i], CSV_SECONDS_PLACES);
    csv_scale_shorten(&scale, &wholes);
    for (int64_t seconds = 0; seconds < 2 * (int64_t)WHOLES; seconds += 1 + seconds / 50)
        same_around(&scale, seconds);
    for (int64_t seconds = 1; seconds < (INT64_C(1) << 59) / tick_rate[_i]; seconds *= 7)
        same_around(&scale, seconds);
    same_around(&scale, WHOLES);
    csv_scale_free(&scale);
}
END_TEST

/* ---- a brief scale: the same bytes again ---- */

/* All of them have fractions of at most six places. */
static const int64_t brief_rate[] = {2, 5, 10, 64, 100, 125, 1000, 4000};

static void same_brief(const struct csv_brief *brief, const struct csv_scale *scale,
                       int64_t number) {
    char ours[TEXT_BYTES], wanted[TEXT_BYTES];
    *csv_put_brief(ours, brief, number) = '\0';
    *csv_put_decimal(wanted, &wholes, scale, number) = '\0';
    ck_assert_str_eq(ours, wanted);
    *csv_put_brief_count(ours, brief, number) = '\0';
    *csv_put_count(wanted, &wholes, number) = '\0';
    ck_assert_str_eq(ours, wanted);
}

START_TEST(a_brief_scale_puts_what_its_scale_does) {
    struct csv_scale scale;
    struct csv_brief brief;
    csv_scale_init(&scale, brief_rate[_i], CSV_SECONDS_PLACES);
    csv_scale_shorten(&scale, &wholes);
    ck_assert(csv_brief_init(&brief, &scale, &wholes));
    for (int64_t number = 0; number < 3 * brief_rate[_i]; number++) {
        same_brief(&brief, &scale, number);
        same_brief(&brief, &scale, number + (WHOLES - 2) * brief_rate[_i]); /* the last short one */
    }
    for (int64_t number = 1; number < INT64_C(1) << 61; number = number * 3 + number % 7)
        same_brief(&brief, &scale, number);
    csv_scale_free(&scale);
}
END_TEST

START_TEST(there_is_no_brief_scale_of_long_fractions) {
    static const int64_t rate[] = {1, 3, 60, 128, 4097, 5000, 1000000};
    for (size_t i = 0; i < sizeof rate / sizeof *rate; i++) {
        struct csv_scale scale;
        struct csv_brief brief;
        csv_scale_init(&scale, rate[i], CSV_SECONDS_PLACES);
        csv_scale_shorten(&scale, &wholes);
        ck_assert(!csv_brief_init(&brief, &scale, &wholes));
        csv_scale_free(&scale);
    }
}
END_TEST

/* ---- files ---- */

enum { ROWS = 200000 };

/* The file holds `rows` rows of a number and a name, and nothing else. */
static void find_rows(int rows) {
    size_t length;
    char *bytes = written(&length), *at = bytes;
    ck_assert(strncmp(at, "a,b\n", 4) == 0);
    at += 4;
    for (int i = 0; i < rows; i++) {
        char row[TEXT_BYTES];
        int bytes_of_row = snprintf(row, sizeof row, "%d,a-name-of-some-length\n", i);
        ck_assert(strncmp(at, row, (size_t)bytes_of_row) == 0);
        at += bytes_of_row;
    }
    ck_assert_uint_eq((size_t)(at - bytes), length);
    free(bytes);
}

START_TEST(rows_end_in_lf_and_nothing_is_lost_between_buffers) {
    struct csv csv;
    csv_open(&csv, directory, "t.csv", "a,b");
    struct csv_text middle = csv_text_of(",%s", "a-name-of-some-length");
    for (int i = 0; i < ROWS; i++) {
        char *at = csv_row(&csv, CSV_NUMBER_BYTES + csv_text_most(&middle));
        csv_row_end(&csv, csv_put_text(csv_put_number(at, i), &middle));
    }
    ck_assert_int_eq(csv_close(&csv), 0);
    csv_text_free(&middle);
    find_rows(ROWS);
}
END_TEST

/* Where the rows would not fit, the first one that does not must not be cut. */
START_TEST(rows_at_once_are_as_rows_one_by_one) {
    struct csv csv;
    struct csv_text middle = csv_text_of(",%s", "a-name-of-some-length");
    csv_open(&csv, directory, "t.csv", "a,b");
    for (int i = 0; i < ROWS;) {
        char *at = csv_row(&csv, 100 * (CSV_NUMBER_BYTES + csv_text_most(&middle)));
        for (int end = i + 100; i < end; i++) {
            at = csv_put_text(csv_put_number(at, i), &middle);
            *at++ = '\n';
        }
        csv_rows_end(&csv, at);
    }
    ck_assert_int_eq(csv_close(&csv), 0);
    csv_text_free(&middle);
    find_rows(ROWS);
}
END_TEST

START_TEST(row_may_be_longer_than_the_buffer) {
    struct csv csv;
    char *row = malloc(MEBIBYTE);
    memset(row, 'x', MEBIBYTE);
    csv_open(&csv, directory, "t.csv", "a");
    csv_long_row(&csv, row, MEBIBYTE);
    csv_long_row(&csv, "y", 1);
    ck_assert_int_eq(csv_close(&csv), 0);
    size_t length;
    char *bytes = written(&length);
    ck_assert_uint_eq(length, 2 + MEBIBYTE + 1 + 2);
    ck_assert(memcmp(bytes + 2, row, MEBIBYTE) == 0);
    ck_assert_str_eq(bytes + 2 + MEBIBYTE, "\ny\n");
    free(bytes);
    free(row);
}
END_TEST

/* A file that may not grow any more acts as a full disk does. */
START_TEST(first_error_of_a_full_disk_is_kept_to_the_end) {
    struct csv csv;
    struct rlimit limit = {MEBIBYTE, MEBIBYTE};
    signal(SIGXFSZ, SIG_IGN);
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    csv_open(&csv, directory, "t.csv", "a");
    for (int i = 0; i < MEBIBYTE; i++)
        csv_row_end(&csv, csv_put_number(csv_row(&csv, CSV_NUMBER_BYTES), i));
    ck_assert_int_eq(csv.error, EFBIG);
    ck_assert_int_eq(csv_close(&csv), EFBIG);
}
END_TEST

START_TEST(file_that_is_there_already_is_an_error) {
    struct csv csv;
    csv_open(&csv, directory, "t.csv", "a");
    ck_assert_int_eq(csv_close(&csv), 0);
    csv_open(&csv, directory, "t.csv", "a");
    csv_row_end(&csv, csv_put_number(csv_row(&csv, CSV_NUMBER_BYTES), 1));
    ck_assert_int_eq(csv_close(&csv), EEXIST);
}
END_TEST

static TCase *texts(void) {
    TCase *tests = tcase_create("texts");
    tcase_add_loop_test(tests, field_is_quoted_where_the_standard_says, 0,
                        sizeof field_pair / sizeof *field_pair);
    tcase_add_test(tests, numbers_are_those_of_the_c_library);
    tcase_add_loop_test(tests, decimal_is_exact_or_rounded_to_nine_places, 0,
                        sizeof decimal / sizeof *decimal);
    tcase_add_loop_test(tests, time_reads_back_to_its_tick, 0,
                        sizeof tick_rate / sizeof *tick_rate);
    return tests;
}

static TCase *numbers_with_a_comma(void) {
    TCase *tests = tcase_create("numbers with a comma");
    tcase_add_checked_fixture(tests, make_wholes, free_wholes);
    tcase_add_test(tests, there_are_as_many_short_numbers_as_fit);
    tcase_add_test(tests, count_is_shown_as_the_c_library_prints_it);
    tcase_add_loop_test(tests, a_brief_scale_puts_what_its_scale_does, 0,
                        sizeof brief_rate / sizeof *brief_rate);
    tcase_add_test(tests, there_is_no_brief_scale_of_long_fractions);
    tcase_add_loop_test(tests, decimal_is_that_of_a_division, 0,
                        sizeof tick_rate / sizeof *tick_rate);
    return tests;
}

START_TEST(a_closed_table_takes_no_row) {
    struct csv csv;
    csv_open(&csv, directory, "t.csv", "a");
    if (_i == 0)
        csv_discard(&csv);
    else
        csv_close(&csv);
    csv_row(&csv, 1);
}
END_TEST

static TCase *files(void) {
    TCase *tests = tcase_create("files");
    tcase_add_checked_fixture(tests, make_place, remove_place);
    tcase_add_test(tests, rows_end_in_lf_and_nothing_is_lost_between_buffers);
    tcase_add_test(tests, rows_at_once_are_as_rows_one_by_one);
    tcase_add_test(tests, row_may_be_longer_than_the_buffer);
    tcase_add_test(tests, first_error_of_a_full_disk_is_kept_to_the_end);
    tcase_add_test(tests, file_that_is_there_already_is_an_error);
    tcase_add_loop_exit_test(tests, a_closed_table_takes_no_row, REQUIRE_EXIT_STATUS, 0, 2);
    return tests;
}

int main(void) {
    Suite *suite = suite_begin("csv");
    suite_add_tcase(suite, texts());
    suite_add_tcase(suite, numbers_with_a_comma());
    suite_add_tcase(suite, files());
    return suite_end(suite);
}
