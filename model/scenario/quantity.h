/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/quantity.h - numbers as people write them, kept exact: decimals, durations, and
 * back again.
 *
 * Nothing here goes through binary floating point before it has been rounded once, in integers: a
 * duration of d seconds is floor(d * ticks_per_second + 1/2) ticks, a positive one at least 1. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

/* A decimal number, with its sign. It borrows the text that it was read from. */
struct decimal {
    bool negative;
    uint32_t places;   /* digits that were written after the point */
    int64_t whole;     /* 0 .. 10^18 - 1 */
    const char *digit; /* [places] those digits */
};

/* How a text fared as a number. */
enum quantity_fit {
    QUANTITY_FITS,
    QUANTITY_NO_NUMBER, /* not written as a number */
    QUANTITY_TOO_LARGE  /* more than 18 digits before the point */
};

/* Reads "-12.5": no exponent, no leading zero or +, digits on both sides of a point. */
enum quantity_fit quantity_decimal(const char *text, struct decimal *decimal);

/* True when a decimal is a whole number, then in *integer. "4.0" is not: it has a place. */
bool quantity_integer(const struct decimal *decimal, int64_t *integer);

/* The decimal as a fraction in lowest terms whose denominator is at most `denominator_most`,
 * rounded half up to as many places as that allows, at most LIMIT_PLACES: so many are then in
 * *places. False when it is negative. */
bool quantity_ratio(const struct decimal *decimal, int64_t denominator_most, struct ratio *ratio,
                    uint32_t *places);

/* The double nearest to a decimal that was rounded half up to LIMIT_PLACES places, the same on
 * every machine. */
double quantity_double(const struct decimal *decimal);

/* The sign of a - b. Both denominators and numerators must be as struct ratio says. */
int quantity_compare(struct ratio a, struct ratio b);

/* A duration: `number` times `unit_ms` milliseconds. */
struct duration {
    struct decimal number;
    int64_t unit_ms;
};

/* Reads a number of seconds ("90"), a number with a unit ms, s, min, h or d ("1.5 s", "12h"), or a
 * clock time H:MM:SS[.fff]. Negative ones are read too, for the caller to refuse. */
enum quantity_fit quantity_duration(const char *text, struct duration *duration);

/* True for 0 of any unit. */
bool quantity_is_zero(const struct duration *duration);

/* Ticks of a duration that is not negative; NOT_GIVEN when they are more than LIMIT_TICKS. */
int64_t quantity_ticks(const struct duration *duration, int64_t ticks_per_second);

/* Ticks of the mean of `count` (1 .. 3) durations, rounded once; NOT_GIVEN as above. */
int64_t quantity_mean_ticks(const struct duration *duration, uint32_t count,
                            int64_t ticks_per_second);

/* The sign of a - b, for durations that quantity_ticks accepts, each rounded to LIMIT_PLACES places
 * of its unit. */
int quantity_compare_durations(const struct duration *a, const struct duration *b);

/* Seconds of a duration that quantity_ticks accepts, as the nearest double. */
double quantity_duration_double(const struct duration *duration);

/* True when rounding to ticks changes a positive duration by more than 1 / `part` of it. */
bool quantity_rounds_by_more(const struct duration *duration, int64_t ticks_per_second,
                             int64_t part);

/* ---- back to text; every one ends with a NUL and gives `buffer` back ---- */
enum { QUANTITY_TEXT_SIZE = 48 };

/* Seconds of `ticks` (>= 0): the exact decimal where there is one of at most 9 places, else rounded
 * to 9 places; no zeros at the end. Reads back to the same tick. */
char *quantity_seconds(int64_t ticks, int64_t ticks_per_second, char buffer[QUANTITY_TEXT_SIZE]);

/* The same as a clock time for people, H:MM:SS[.fff]: rounded to milliseconds, and where ticks are
 * shorter to as many digits as tell them apart. It reads back to the same tick too. */
char *quantity_clock(int64_t ticks, int64_t ticks_per_second, char buffer[QUANTITY_TEXT_SIZE]);

/* A ratio that came from a decimal, as that decimal. */
char *quantity_ratio_text(struct ratio ratio, char buffer[QUANTITY_TEXT_SIZE]);

/* A whole number with a comma between thousands: "1,000,000". */
char *quantity_grouped(int64_t number, char buffer[QUANTITY_TEXT_SIZE]);
