/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_quantity.c - durations to the tick, against arithmetic done by hand, and decimals
 * against the C library's strtod, which rounds correctly. */
#include "model/scenario/quantity.h"

#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/limits.h"
#include "tests/common/suite.h"

#define POWER_18 INT64_C(1000000000000000000)
#define LENGTH(array) (sizeof(array) / sizeof *(array))

static int64_t ticks_of(const char *text, int64_t ticks_per_second) {
    struct duration duration;
    ck_assert_msg(quantity_duration(text, &duration) == QUANTITY_FITS, "%s", text);
    return quantity_ticks(&duration, ticks_per_second);
}

/* ---- durations ---- */
static const struct {
    const char *text;
    int64_t ticks_per_second, ticks;
} duration_table[] = {
    {"90", 100, 9000},
    {"1.5 s", 100, 150},
    {"1.5s", 100, 150},
    {"20min", 100, 120000},
    {"12h", 1, 43200},
    {"0.5 d", 1, 43200},
    {"250 ms", 100, 25},
    {"1:02:03.5", 100, 372350},
    {"0:00:00.01", 100, 1},
    {"100:00:00", 1, 360000},
    /* In binary the first is below the tie (1.005 = 1.00499...), the second too (0.285 * 100 is
     * 28.499...96); rounded from the decimal both go up. */
    {"1.005", 100, 101},
    {"0.285", 100, 29},
    {"1.0049999999999999", 100, 100},
    {"0.5", 1, 1},
    {"2.5", 1, 3},
    {"0.000000001", 1, 1}, /* positive: never less than a tick */
    {"0", 100, 0},
    {"0.000", 100, 0},
    {"0:00:00", 100, 0},
    {"9007199254740992", 1, INT64_C(9007199254740992)},
    {"9007199254740992.4", 1, INT64_C(9007199254740992)},
    {"9007199254740992.5", 1, NOT_GIVEN},
    {"9007199254740993", 1, NOT_GIVEN},
    {"9007199254.740992", 1000000, INT64_C(9007199254740992)},
    {"9007199254.740993", 1000000, NOT_GIVEN},
    {"999999999999999999 d", 1000000, NOT_GIVEN},
};

START_TEST(durations_become_ticks) {
    ck_assert_int_eq(ticks_of(duration_table[_i].text, duration_table[_i].ticks_per_second),
                     duration_table[_i].ticks);
}
END_TEST

static const struct {
    const char *text;
    enum quantity_fit fit;
} refused_table[] = {
    {"", QUANTITY_NO_NUMBER},
    {"s", QUANTITY_NO_NUMBER},
    {"1 hour", QUANTITY_NO_NUMBER},
    {"1  s", QUANTITY_NO_NUMBER},
    {"1 ", QUANTITY_NO_NUMBER},
    {" 1", QUANTITY_NO_NUMBER},
    {".5", QUANTITY_NO_NUMBER},
    {"5.", QUANTITY_NO_NUMBER},
    {"5. s", QUANTITY_NO_NUMBER},
    {"+1", QUANTITY_NO_NUMBER},
    {"01", QUANTITY_NO_NUMBER},
    {"1e3", QUANTITY_NO_NUMBER},
    {"1_000", QUANTITY_NO_NUMBER},
    {"0x10", QUANTITY_NO_NUMBER},
    {"1,5", QUANTITY_NO_NUMBER},
    {"inf", QUANTITY_NO_NUMBER},
    {"nan", QUANTITY_NO_NUMBER},
    {"1:02", QUANTITY_NO_NUMBER},
    {"1:2:03", QUANTITY_NO_NUMBER},
    {"1:60:00", QUANTITY_NO_NUMBER},
    {"1:00:60", QUANTITY_NO_NUMBER},
    {"1:00:00.", QUANTITY_NO_NUMBER},
    {"-1:00:00", QUANTITY_NO_NUMBER},
    {"1:00:00 s", QUANTITY_NO_NUMBER},
    {":00:00", QUANTITY_NO_NUMBER},
    {"1:00:000", QUANTITY_NO_NUMBER},
    {"1 S", QUANTITY_NO_NUMBER},
    {"1234567890123456789", QUANTITY_TOO_LARGE},
    {"123456789012345:00:00", QUANTITY_TOO_LARGE},
};

START_TEST(what_is_no_duration_is_refused) {
    struct duration duration;
    ck_assert_msg(quantity_duration(refused_table[_i].text, &duration) == refused_table[_i].fit,
                  "%s", refused_table[_i].text);
}
END_TEST

START_TEST(negative_durations_are_read_as_such) {
    struct duration duration;
    ck_assert_int_eq(quantity_duration("-1 s", &duration), QUANTITY_FITS);
    ck_assert(duration.number.negative);
}
END_TEST

/* The mean is rounded once, not each part: (0.3 + 0.4) / 2 = 0.35, and 1/3 of 1 is 0.333. */
START_TEST(means_are_rounded_once) {
    struct duration duration[3];
    ck_assert_int_eq(quantity_duration("0.3", &duration[0]), QUANTITY_FITS);
    ck_assert_int_eq(quantity_duration("400 ms", &duration[1]), QUANTITY_FITS);
    ck_assert_int_eq(quantity_mean_ticks(duration, 2, 10), 4); /* 3.5, up */
    ck_assert_int_eq(quantity_mean_ticks(duration, 2, 100), 35);
    ck_assert_int_eq(quantity_duration("0.3", &duration[2]), QUANTITY_FITS);
    ck_assert_int_eq(quantity_mean_ticks(duration, 3, 1000), 333);
}
END_TEST

START_TEST(means_of_the_longest_are_exact) {
    struct duration duration[3];
    for (int i = 0; i < 3; i++)
        ck_assert_int_eq(quantity_duration("9007199254.740992", &duration[i]), QUANTITY_FITS);
    ck_assert_int_eq(quantity_mean_ticks(duration, 3, 1000000), LIMIT_TICKS);
}
END_TEST

static bool rounds_much(const char *text, int64_t ticks_per_second) {
    struct duration duration;
    ck_assert_int_eq(quantity_duration(text, &duration), QUANTITY_FITS);
    return quantity_rounds_by_more(&duration, ticks_per_second, 200);
}

/* 1.005 s at 1 a second is off by 0.005 / 1.005 < 0.5 %, 0.995 s by 0.005 / 0.995 > 0.5 %. */
START_TEST(half_a_percent_is_told_to_the_digit) {
    ck_assert(!rounds_much("1.005", 1));
    ck_assert(rounds_much("1.005025125628140704", 1)); /* 1 / 0.995 is 1.0050251256281407035... */
    ck_assert(!rounds_much("1.005025125628140703", 1));
    ck_assert(rounds_much("0.995", 1));
    ck_assert(!rounds_much("0.8", 100));
    ck_assert(rounds_much("0.001", 100)); /* becomes 0.01 */
}
END_TEST

/* ---- decimals ---- */
START_TEST(decimals_are_ratios_in_lowest_terms) {
    static const struct {
        const char *text;
        int64_t numerator, denominator;
    } table[] = {{"7.5", 15, 2}, {"0.95", 19, 20}, {"8", 8, 1}, {"0.000000001", 1, 1000000000},
                 {"0", 0, 1},    {"4.0", 4, 1}};
    struct decimal decimal;
    struct ratio ratio;
    uint32_t places;
    for (size_t i = 0; i < LENGTH(table); i++) {
        ck_assert_int_eq(quantity_decimal(table[i].text, &decimal), QUANTITY_FITS);
        ck_assert(quantity_ratio(&decimal, INT64_MAX, &ratio, &places));
        ck_assert_uint_eq(places, decimal.places);
        ck_assert_int_eq(ratio.numerator, table[i].numerator);
        ck_assert_int_eq(ratio.denominator, table[i].denominator);
    }
    ck_assert_int_eq(quantity_decimal("-1", &decimal), QUANTITY_FITS);
    ck_assert(!quantity_ratio(&decimal, INT64_MAX, &ratio, &places));
}
END_TEST

/* Half up, to the most places with which both parts fit: 2^63 - 1 is 9.2 * 10^18. */
START_TEST(long_decimals_are_rounded_to_what_fits) {
    static const struct {
        const char *text;
        int64_t most;
        uint32_t places;
        int64_t numerator, denominator;
    } table[] = {{"99999999999.000000001", INT64_MAX, 8, 99999999999, 1},
                 {"0.3333333333333333333333", INT64_MAX, 18, 333333333333333333, POWER_18},
                 {"0.50000000000000000000000000", INT64_MAX, 18, 1, 2},
                 {"0.4999999999999999999", INT64_MAX, 18, 1, 2},
                 {"0.4999999999999999994", INT64_MAX, 18, 499999999999999999, POWER_18},
                 {"0.49999999999999999949", INT64_MAX, 18, 499999999999999999, POWER_18},
                 {"0.9999999999999999995", INT64_MAX, 18, 1, 1},
                 {"7.12345", 1000, 3, 7123, 1000},
                 {"7.1235", 1000, 3, 1781, 250}};
    struct decimal decimal;
    struct ratio ratio;
    uint32_t places;
    for (size_t i = 0; i < LENGTH(table); i++) {
        ck_assert_int_eq(quantity_decimal(table[i].text, &decimal), QUANTITY_FITS);
        ck_assert(quantity_ratio(&decimal, table[i].most, &ratio, &places));
        ck_assert_msg(places == table[i].places && ratio.numerator == table[i].numerator &&
                          ratio.denominator == table[i].denominator,
                      "%s: %lld / %lld, %u places", table[i].text, (long long)ratio.numerator,
                      (long long)ratio.denominator, places);
    }
}
END_TEST

/* floor(d * ticks + 1/2), whatever the number of digits: a hair below half a tick is none, and a
 * hair above nothing is one. */
START_TEST(durations_of_any_length_are_rounded_as_written) {
    static const struct {
        const char *text;
        int64_t ticks_per_second, ticks;
    } table[] = {
        {"1.0049999999999999999999999999", 100, 100},
        {"1.0050000000000000000000000000", 100, 101},
        {"0.0000000000000000000000000001", 100, 1},
        {"0.0000000000000000000000000000", 100, 0},
        /* 1/86400 d is 0.0000115740740740... d; half a tick of 10^-6 s is 5.787...*10^-12 d */
        {"0.00001157406828703703703703703703 d", 1000000, 999999},
        {"0.00001157406828703703703703703704 d", 1000000, 1000000},
        {"0:00:01.49999999999999999999999", 1, 1},
        {"0:00:01.50000000000000000000000", 1, 2}};
    struct duration duration;
    for (size_t i = 0; i < LENGTH(table); i++) {
        ck_assert_int_eq(quantity_duration(table[i].text, &duration), QUANTITY_FITS);
        ck_assert_msg(quantity_ticks(&duration, table[i].ticks_per_second) == table[i].ticks, "%s",
                      table[i].text);
    }
}
END_TEST

START_TEST(only_what_is_written_whole_is_whole) {
    struct decimal decimal;
    int64_t integer;
    ck_assert_int_eq(quantity_decimal("-12", &decimal), QUANTITY_FITS);
    ck_assert(quantity_integer(&decimal, &integer));
    ck_assert_int_eq(integer, -12);
    ck_assert_int_eq(quantity_decimal("4.0", &decimal), QUANTITY_FITS);
    ck_assert(!quantity_integer(&decimal, &integer));
}
END_TEST

START_TEST(ratios_compare_exactly) {
    struct ratio third = {1, 3}, near = {333333333, 1000000000};
    ck_assert_int_eq(quantity_compare(third, near), 1);
    ck_assert_int_eq(quantity_compare(near, third), -1);
    ck_assert_int_eq(quantity_compare((struct ratio){2, 6}, third), 0);
    struct ratio greatest = {INT64_MAX, 1}, least = {1, INT64_MAX};
    ck_assert_int_eq(quantity_compare(greatest, least), 1);
}
END_TEST

/* A decimal of a seeded sequence, with 1 to 18 digits on each side of the point. */
static void write_decimal(uint64_t *state, char *text) {
    char *at = text;
    for (int side = 0; side < 2; side++) {
        *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        int digits = 1 + (int)((*state >> 33) % (side == 0 ? 15 : 18));
        for (int i = 0; i < digits; i++) {
            *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            *at++ = (char)('0' + (*state >> 33) % 10);
        }
        *at++ = side == 0 ? '.' : '\0';
    }
    size_t zeros = strspn(text, "0");
    zeros -= text[zeros] == '.';
    memmove(text, text + zeros, strlen(text + zeros) + 1);
}

START_TEST(doubles_are_the_nearest) {
    uint64_t state = 7;
    for (int i = 0; i < 200000; i++) {
        char text[64];
        struct decimal decimal;
        write_decimal(&state, text);
        ck_assert_msg(quantity_decimal(text, &decimal) == QUANTITY_FITS, "%s", text);
        ck_assert_msg(quantity_double(&decimal) == strtod(text, NULL), "%s", text);
    }
}
END_TEST

START_TEST(durations_as_doubles_are_the_nearest) {
    static const struct {
        const char *text;
        double seconds;
    } table[] = {{"0.1 s", 0.1},  {"100 ms", 0.1},    {"1.1 min", 66.0}, {"0.3 h", 1080.0},
                 {"2 h", 7200.0}, {"0.7 ms", 0.0007}, {"0", 0.0}};
    struct duration duration;
    for (size_t i = 0; i < LENGTH(table); i++) {
        ck_assert_int_eq(quantity_duration(table[i].text, &duration), QUANTITY_FITS);
        ck_assert(quantity_duration_double(&duration) == table[i].seconds);
    }
}
END_TEST

/* ---- back to text ---- */
START_TEST(seconds_are_exact_or_rounded_to_nine_places) {
    char text[QUANTITY_TEXT_SIZE];
    ck_assert_str_eq(quantity_seconds(250340, 100, text), "2503.4");
    ck_assert_str_eq(quantity_seconds(0, 100, text), "0");
    ck_assert_str_eq(quantity_seconds(100, 100, text), "1");
    ck_assert_str_eq(quantity_seconds(1, 1000000, text), "0.000001");
    ck_assert_str_eq(quantity_seconds(1, 512, text), "0.001953125");  /* nine places, exact */
    ck_assert_str_eq(quantity_seconds(1, 1024, text), "0.000976563"); /* 0.0009765625, up */
    ck_assert_str_eq(quantity_seconds(1, 3, text), "0.333333333");
    ck_assert_str_eq(quantity_seconds(5, 3, text), "1.666666667");
    ck_assert_str_eq(quantity_seconds(999999, 999999, text), "1");
    ck_assert_str_eq(quantity_seconds(999998, 999999, text), "0.999999");
}
END_TEST

START_TEST(clock_times_have_two_digits_but_for_hours) {
    char text[QUANTITY_TEXT_SIZE];
    ck_assert_str_eq(quantity_clock(0, 100, text), "0:00:00");
    ck_assert_str_eq(quantity_clock(372350, 100, text), "1:02:03.5");
    ck_assert_str_eq(quantity_clock(360000, 1, text), "100:00:00");
    ck_assert_str_eq(quantity_clock(2, 3, text), "0:00:00.667");
    ck_assert_str_eq(quantity_clock(59, 60, text), "0:00:00.983");
    ck_assert_str_eq(quantity_clock(7, 8, text), "0:00:00.875");
    ck_assert_str_eq(quantity_clock(3, 44100, text), "0:00:00.00007");
    ck_assert_str_eq(quantity_clock(999999, 1000000, text), "0:00:00.999999");
}
END_TEST

/* The page on files: floor(time_s * ticks_per_second + 1/2) gives the tick back. */
START_TEST(times_read_back_to_their_tick) {
    static const int64_t rates[] = {1, 3, 7, 60, 100, 1024, 44100, 999983, 999999, 1000000};
    uint64_t state = 11;
    for (int i = 0; i < 100000; i++) {
        char text[QUANTITY_TEXT_SIZE];
        state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        int64_t ticks = (int64_t)(state >> (11 + i % 40)); /* up to 2^53, long and short */
        int64_t rate = rates[i % (int)LENGTH(rates)];
        ck_assert_int_eq(ticks_of(quantity_seconds(ticks, rate, text), rate), ticks);
        ck_assert_int_eq(ticks_of(quantity_clock(ticks, rate, text), rate), ticks);
    }
}
END_TEST

START_TEST(ratios_and_counts_are_written_as_people_do) {
    char text[QUANTITY_TEXT_SIZE];
    ck_assert_str_eq(quantity_ratio_text((struct ratio){49, 50}, text), "0.98");
    ck_assert_str_eq(quantity_ratio_text((struct ratio){150, 1}, text), "150");
    ck_assert_str_eq(quantity_ratio_text((struct ratio){15, 2}, text), "7.5");
    ck_assert_str_eq(quantity_grouped(0, text), "0");
    ck_assert_str_eq(quantity_grouped(999, text), "999");
    ck_assert_str_eq(quantity_grouped(1000, text), "1,000");
    ck_assert_str_eq(quantity_grouped(-123456, text), "-123,456");
    ck_assert_str_eq(quantity_grouped(INT64_C(1000000000000), text), "1,000,000,000,000");
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("quantity");
    TCase *tests = tcase_create("quantity");
    tcase_add_loop_test(tests, durations_become_ticks, 0, LENGTH(duration_table));
    tcase_add_loop_test(tests, what_is_no_duration_is_refused, 0, LENGTH(refused_table));
    tcase_add_test(tests, negative_durations_are_read_as_such);
    tcase_add_test(tests, means_are_rounded_once);
    tcase_add_test(tests, means_of_the_longest_are_exact);
    tcase_add_test(tests, half_a_percent_is_told_to_the_digit);
    tcase_add_test(tests, decimals_are_ratios_in_lowest_terms);
    tcase_add_test(tests, long_decimals_are_rounded_to_what_fits);
    tcase_add_test(tests, durations_of_any_length_are_rounded_as_written);
    tcase_add_test(tests, only_what_is_written_whole_is_whole);
    tcase_add_test(tests, ratios_compare_exactly);
    tcase_add_test(tests, doubles_are_the_nearest);
    tcase_add_test(tests, durations_as_doubles_are_the_nearest);
    tcase_add_test(tests, seconds_are_exact_or_rounded_to_nine_places);
    tcase_add_test(tests, clock_times_have_two_digits_but_for_hours);
    tcase_add_test(tests, times_read_back_to_their_tick);
    tcase_add_test(tests, ratios_and_counts_are_written_as_people_do);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
