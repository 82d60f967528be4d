/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/quantity.c - digits in, exact numbers out. Durations are reckoned in units of
 * 10^-21 s, in 128 bits: 2^53 ticks at any rate stay below 10^37; their ticks, digit by digit. */
#include "model/scenario/quantity.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "model/scenario/limits.h"
#include "sim/require.h"

__extension__ typedef unsigned __int128 wide;

#define DECIMAL_SCALE INT64_C(1000000000000000000)    /* 10^18 */
#define SECOND ((wide)1000 * (uint64_t)DECIMAL_SCALE) /* in units of 10^-21 s */
enum { DIGITS_MAX = LIMIT_PLACES, SECONDS_PLACES = 9 };
#define SECONDS_SCALE INT64_C(1000000000) /* 10^9, for SECONDS_PLACES */

/* A number that is not negative, in 128 bits. */
static wide widen(int64_t number) {
    require(number >= 0);
    return (uint64_t)number;
}

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* The number that `count` digits spell; count is at most DIGITS_MAX. */
static int64_t digits_value(const char *digit, size_t count) {
    int64_t value = 0;
    for (size_t i = 0; i < count; i++)
        value = 10 * value + (digit[i] - '0');
    return value;
}

static size_t digits_count(const char *text) {
    size_t count = 0;
    while (is_digit(text[count]))
        count++;
    return count;
}

/* Ten to the power of `places`, 0 .. DIGITS_MAX. */
static int64_t power_of_ten(uint32_t places) {
    int64_t power = 1;
    while (places-- > 0)
        power *= 10;
    return power;
}

/* The digit at a place after the point, from 0; beyond the last one that is written, 0. */
static int64_t digit_at(const struct decimal *decimal, uint32_t place) {
    return place < decimal->places ? decimal->digit[place] - '0' : 0;
}

/* The fraction in units of 10^-places, rounded half up: from 0 to 10^places. */
static int64_t rounded_fraction(const struct decimal *decimal, uint32_t places) {
    int64_t value = 0;
    for (uint32_t i = 0; i < places; i++)
        value = 10 * value + digit_at(decimal, i);
    return value + (digit_at(decimal, places) >= 5);
}

/* Reads ".375" at *text into a decimal's fraction and moves on past it; nothing there is 0. */
static enum quantity_fit read_fraction(const char **text, struct decimal *decimal) {
    decimal->places = 0;
    decimal->digit = *text;
    if (**text != '.')
        return QUANTITY_FITS;
    size_t count = digits_count(*text + 1);
    if (count == 0)
        return QUANTITY_NO_NUMBER;
    decimal->places = (uint32_t)count;
    decimal->digit = *text + 1;
    *text += 1 + count;
    return QUANTITY_FITS;
}

/* Reads a decimal at *text and moves on past it. */
static enum quantity_fit read_decimal(const char **text, struct decimal *decimal) {
    *decimal = (struct decimal){.negative = **text == '-'};
    *text += decimal->negative;
    size_t count = digits_count(*text);
    if (count == 0 || (count > 1 && **text == '0'))
        return QUANTITY_NO_NUMBER;
    const char *whole = *text;
    *text += count;
    enum quantity_fit fit = read_fraction(text, decimal);
    if (fit == QUANTITY_FITS && count > DIGITS_MAX)
        return QUANTITY_TOO_LARGE;
    if (fit == QUANTITY_FITS)
        decimal->whole = digits_value(whole, count);
    return fit;
}

enum quantity_fit quantity_decimal(const char *text, struct decimal *decimal) {
    enum quantity_fit fit = read_decimal(&text, decimal);
    bool stopped_early = fit == QUANTITY_FITS || fit == QUANTITY_TOO_LARGE;
    return stopped_early && *text != '\0' ? QUANTITY_NO_NUMBER : fit;
}

bool quantity_integer(const struct decimal *decimal, int64_t *integer) {
    *integer = decimal->negative ? -decimal->whole : decimal->whole;
    return decimal->places == 0;
}

static wide greatest_divisor(wide a, wide b) {
    while (b != 0) {
        wide rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

static wide decimal_units(const struct decimal *decimal) {
    return widen(decimal->whole) * widen(DECIMAL_SCALE) +
           widen(rounded_fraction(decimal, DIGITS_MAX));
}

/* The fraction that a decimal is when it is rounded to so many places; false: it does not fit. */
static bool ratio_of_places(const struct decimal *decimal, uint32_t places, int64_t most,
                            struct ratio *ratio) {
    wide denominator = widen(power_of_ten(places));
    wide numerator = widen(decimal->whole) * denominator + widen(rounded_fraction(decimal, places));
    wide common = greatest_divisor(numerator, denominator);
    if (numerator / common > (wide)INT64_MAX || denominator / common > widen(most))
        return false;
    *ratio = (struct ratio){(int64_t)(numerator / common), (int64_t)(denominator / common)};
    return true;
}

bool quantity_ratio(const struct decimal *decimal, int64_t denominator_most, struct ratio *ratio,
                    uint32_t *places) {
    require(denominator_most > 0);
    if (decimal->negative)
        return false;
    *places = decimal->places < DIGITS_MAX ? decimal->places : DIGITS_MAX;
    while (!ratio_of_places(decimal, *places, denominator_most, ratio))
        --*places; /* with none it fits: a whole number over 1 */
    return true;
}

/* numerator / denominator to the nearest double, ties to even: 61 bits or more of the quotient and
 * one that says whether anything is left, rounded once by the conversion. denominator < 2^120. */
static double nearest_double(wide numerator, wide denominator) {
    if (numerator == 0)
        return 0;
    wide quotient = numerator / denominator, rest = numerator % denominator;
    require(quotient <= UINT64_MAX);
    uint64_t bits = (uint64_t)quotient;
    int shift = 0;
    while (bits < UINT64_C(1) << 60) {
        rest *= 2;
        bits = 2 * bits + (rest >= denominator);
        rest -= rest >= denominator ? denominator : 0;
        shift++;
    }
    return ldexp((double)(bits | (rest != 0)), -shift);
}

double quantity_double(const struct decimal *decimal) {
    double size = nearest_double(decimal_units(decimal), widen(DECIMAL_SCALE));
    return decimal->negative ? -size : size;
}

static int order_of(wide a, wide b) { return (a > b) - (a < b); }

int quantity_compare(struct ratio a, struct ratio b) {
    return order_of(widen(a.numerator) * widen(b.denominator),
                    widen(b.numerator) * widen(a.denominator));
}

/* Two digits of a clock time, 00 .. 59, after a colon; -1 when they are not there. */
static int64_t clock_part(const char *text) {
    if (text[0] != ':' || !is_digit(text[1]) || !is_digit(text[2]) || text[1] > '5')
        return -1;
    return digits_value(text + 1, 2);
}

/* Reads H:MM:SS[.fff]. */
static enum quantity_fit read_clock(const char *text, struct duration *duration) {
    size_t hour_digits = digits_count(text);
    const char *behind = text + hour_digits;
    int64_t minutes = hour_digits > 0 ? clock_part(behind) : -1;
    int64_t seconds = minutes >= 0 ? clock_part(behind + 3) : -1;
    if (seconds < 0)
        return QUANTITY_NO_NUMBER;
    behind += 6;
    enum quantity_fit fit = read_fraction(&behind, &duration->number);
    if (fit != QUANTITY_FITS || *behind != '\0')
        return fit != QUANTITY_FITS ? fit : QUANTITY_NO_NUMBER;
    if (hour_digits > DIGITS_MAX - 4)
        return QUANTITY_TOO_LARGE;
    duration->number.negative = false;
    duration->number.whole = digits_value(text, hour_digits) * 3600 + minutes * 60 + seconds;
    duration->unit_ms = 1000;
    return QUANTITY_FITS;
}

static const struct {
    const char *name;
    int64_t milliseconds;
} unit_table[] = {{"", 1000},     {"ms", 1},      {"s", 1000},
                  {"min", 60000}, {"h", 3600000}, {"d", 86400000}};

/* Milliseconds of a unit, 0 when there is none of that name. */
static int64_t unit_value(const char *name) {
    for (size_t i = 0; i < sizeof unit_table / sizeof *unit_table; i++)
        if (strcmp(name, unit_table[i].name) == 0)
            return unit_table[i].milliseconds;
    return 0;
}

enum quantity_fit quantity_duration(const char *text, struct duration *duration) {
    if (strchr(text, ':') != NULL)
        return read_clock(text, duration);
    enum quantity_fit fit = read_decimal(&text, &duration->number);
    if (fit == QUANTITY_NO_NUMBER)
        return fit;
    bool has_blank = *text == ' ';
    text += has_blank;
    duration->unit_ms = has_blank && *text == '\0' ? 0 : unit_value(text);
    return duration->unit_ms == 0 ? QUANTITY_NO_NUMBER : fit;
}

bool quantity_is_zero(const struct duration *duration) {
    bool zero = duration->number.whole == 0;
    for (uint32_t i = 0; i < duration->number.places && zero; i++)
        zero = digit_at(&duration->number, i) == 0;
    return zero;
}

/* Longer than LIMIT_TICKS seconds, so longer than LIMIT_TICKS ticks at any rate. */
static bool beyond_all_clocks(const struct duration *duration) {
    return widen(duration->number.whole) * widen(duration->unit_ms) > widen(LIMIT_TICKS) * 1000;
}

/* In units of 10^-21 s; not for one beyond all clocks. */
static wide duration_units(const struct duration *duration) {
    require(!duration->number.negative && !beyond_all_clocks(duration));
    return decimal_units(&duration->number) * widen(duration->unit_ms);
}

/* floor(2 * ticks) of the sum of durations, before any rounding: from the last digit to the first,
 * so that what is carried is whole and exact at any length. */
static wide half_ticks(const struct duration *duration, uint32_t count, int64_t ticks_per_second) {
    uint32_t places = 0;
    for (uint32_t i = 0; i < count; i++)
        places = duration[i].number.places > places ? duration[i].number.places : places;
    int64_t carried = 0;
    while (places-- > 0) {
        for (uint32_t i = 0; i < count; i++)
            carried +=
                digit_at(&duration[i].number, places) * duration[i].unit_ms * 2 * ticks_per_second;
        carried /= 10;
    }
    wide sum = widen(carried);
    for (uint32_t i = 0; i < count; i++)
        sum += widen(duration[i].number.whole) * widen(duration[i].unit_ms) * 2 *
               widen(ticks_per_second);
    return sum; /* in thousandths */
}

int64_t quantity_mean_ticks(const struct duration *duration, uint32_t count,
                            int64_t ticks_per_second) {
    require(count >= 1 && count <= 3);
    bool zero = true;
    for (uint32_t i = 0; i < count; i++) {
        if (beyond_all_clocks(&duration[i]))
            return NOT_GIVEN;
        zero = zero && quantity_is_zero(&duration[i]);
    }
    wide half = 1000 * count; /* of a tick, in thousandths of half a tick of `count` durations */
    wide ticks = (half_ticks(duration, count, ticks_per_second) + half) / (2 * half);
    if (ticks == 0 && !zero)
        return 1;
    return ticks > widen(LIMIT_TICKS) ? NOT_GIVEN : (int64_t)ticks;
}

int64_t quantity_ticks(const struct duration *duration, int64_t ticks_per_second) {
    return quantity_mean_ticks(duration, 1, ticks_per_second);
}

int quantity_compare_durations(const struct duration *a, const struct duration *b) {
    return order_of(duration_units(a), duration_units(b));
}

double quantity_duration_double(const struct duration *duration) {
    return nearest_double(duration_units(duration), SECOND);
}

bool quantity_rounds_by_more(const struct duration *duration, int64_t ticks_per_second,
                             int64_t part) {
    wide written = duration_units(duration) * widen(ticks_per_second);
    wide rounded = widen(quantity_ticks(duration, ticks_per_second)) * SECOND;
    wide change = written > rounded ? written - rounded : rounded - written;
    return change * widen(part) > written;
}

/* Appends ".fff" for a fraction of 10^places, no zeros at the end, nothing for 0. */
static void append_fraction(char *buffer, int64_t fraction, int places) {
    if (fraction == 0)
        return;
    char *point = buffer + strlen(buffer);
    for (; fraction % 10 == 0; fraction /= 10)
        places--;
    point[places + 1] = '\0';
    for (; places > 0; fraction /= 10)
        point[places--] = (char)('0' + fraction % 10);
    *point = '.';
}

/* The part of a second in `ticks`, in 1 / scale s, to the nearest. It stays below a second where a
 * tick is at least so long. */
static int64_t fraction_of(int64_t ticks, int64_t ticks_per_second, int64_t scale) {
    int64_t rest = ticks % ticks_per_second;
    return (rest * scale + ticks_per_second / 2) / ticks_per_second;
}

char *quantity_seconds(int64_t ticks, int64_t ticks_per_second, char buffer[QUANTITY_TEXT_SIZE]) {
    require(ticks >= 0 && ticks_per_second > 0);
    snprintf(buffer, QUANTITY_TEXT_SIZE, "%" PRId64, ticks / ticks_per_second);
    append_fraction(buffer, fraction_of(ticks, ticks_per_second, SECONDS_SCALE), SECONDS_PLACES);
    return buffer;
}

char *quantity_clock(int64_t ticks, int64_t ticks_per_second, char buffer[QUANTITY_TEXT_SIZE]) {
    require(ticks >= 0 && ticks_per_second > 0);
    int64_t seconds = ticks / ticks_per_second;
    snprintf(buffer, QUANTITY_TEXT_SIZE, "%" PRId64 ":%02d:%02d", seconds / 3600,
             (int)(seconds / 60 % 60), (int)(seconds % 60));
    int places = 3;
    int64_t scale = 1000;
    for (; scale < ticks_per_second; places++)
        scale *= 10;
    append_fraction(buffer, fraction_of(ticks, ticks_per_second, scale), places);
    return buffer;
}

char *quantity_ratio_text(struct ratio ratio, char buffer[QUANTITY_TEXT_SIZE]) {
    wide rest = widen(ratio.numerator % ratio.denominator);
    int length =
        snprintf(buffer, QUANTITY_TEXT_SIZE, "%" PRId64, ratio.numerator / ratio.denominator);
    if (rest != 0)
        buffer[length++] = '.';
    for (int place = 0; rest != 0 && place < LIMIT_PLACES; place++) {
        rest *= 10;
        buffer[length++] = (char)('0' + (int)(rest / widen(ratio.denominator)));
        rest %= widen(ratio.denominator);
    }
    buffer[length] = '\0';
    return buffer;
}

char *quantity_grouped(int64_t number, char buffer[QUANTITY_TEXT_SIZE]) {
    char plain[QUANTITY_TEXT_SIZE];
    int length = snprintf(plain, sizeof plain, "%" PRId64, number);
    int at = 0;
    for (int i = 0; i < length; i++) {
        if (i > 0 && (length - i) % 3 == 0 && plain[i - 1] != '-')
            buffer[at++] = ',';
        buffer[at++] = plain[i];
    }
    buffer[at] = '\0';
    return buffer;
}
