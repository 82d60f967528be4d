/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz_quantity.c - any text as a number or a duration. What is read is worked out again
 * in integers of 128 bits, which none of it can overflow, and what is written reads back. */
#include "model/scenario/quantity.h"

#include <string.h>

#include "model/scenario/limits.h"
#include "tests/fuzz/fuzz.h"

__extension__ typedef unsigned __int128 wide;

static wide widen(int64_t number) { return (wide)number; }

enum { TEXT_MAX = 63, WIDE_PLACES = 9 };

/* A decimal of at most nine places in billionths. */
static wide billionths(const struct decimal *decimal) {
    wide sum = widen(decimal->whole);
    for (uint32_t i = 0; i < WIDE_PLACES; i++)
        sum = sum * 10 + widen(i < decimal->places ? decimal->digit[i] - '0' : 0);
    return sum;
}

static void check_decimal(const char *text) {
    struct decimal decimal;
    struct ratio ratio;
    uint32_t places;
    int64_t integer;
    if (quantity_decimal(text, &decimal) != QUANTITY_FITS)
        return;
    fuzz_check(decimal.whole >= 0 && decimal.whole < INT64_C(1000000000000000000));
    if (quantity_integer(&decimal, &integer))
        fuzz_check(integer == (decimal.negative ? -decimal.whole : decimal.whole));
    double real = quantity_double(&decimal), parsed = strtod(text, NULL);
    if (decimal.places <= LIMIT_PLACES)
        fuzz_check(real == parsed);
    if (!quantity_ratio(&decimal, INT64_C(1000000000), &ratio, &places))
        fuzz_check(decimal.negative);
    else if (decimal.places <= WIDE_PLACES && places >= decimal.places)
        fuzz_check(widen(ratio.numerator) * widen(1000000000) ==
                   billionths(&decimal) * widen(ratio.denominator));
}

/* floor(seconds * ticks_per_second + 1/2), a positive one at least 1 (quantity.h). */
static void check_ticks(const struct duration *duration, int64_t ticks_per_second) {
    int64_t ticks = quantity_ticks(duration, ticks_per_second);
    char text[QUANTITY_TEXT_SIZE];
    fuzz_check(ticks == NOT_GIVEN || (ticks >= 0 && ticks <= LIMIT_TICKS));
    if (ticks == NOT_GIVEN)
        return;
    fuzz_check(quantity_is_zero(duration) == (ticks == 0));
    quantity_duration_double(duration);
    quantity_rounds_by_more(duration, ticks_per_second, 200);
    struct duration again;
    fuzz_check(quantity_duration(quantity_seconds(ticks, ticks_per_second, text), &again) ==
               QUANTITY_FITS);
    fuzz_check(quantity_ticks(&again, ticks_per_second) == ticks);
    fuzz_check(quantity_duration(quantity_clock(ticks, ticks_per_second, text), &again) ==
               QUANTITY_FITS);
    fuzz_check(quantity_ticks(&again, ticks_per_second) == ticks);
    if (duration->number.places > WIDE_PLACES || duration->number.whole > LIMIT_COUNT)
        return;
    wide scale = widen(1000) * widen(1000000000);
    wide exact = billionths(&duration->number) * widen(duration->unit_ms) * widen(ticks_per_second);
    wide rounded = (2 * exact + scale) / (2 * scale);
    fuzz_check(widen(ticks) == (rounded == 0 && exact > 0 ? widen(1) : rounded));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length) {
    static const int64_t rate[] = {1, 7, 60, 100, 997, 1000, 65537, LIMIT_TICKS_PER_SECOND};
    char text[TEXT_MAX + 1] = {0};
    struct duration duration;
    if (length < 2)
        return 0;
    memcpy(text, data + 1, length - 1 < TEXT_MAX ? length - 1 : TEXT_MAX);
    check_decimal(text);
    if (quantity_duration(text, &duration) == QUANTITY_FITS && !duration.number.negative)
        check_ticks(&duration, rate[data[0] % 8]);
    return 0;
}
