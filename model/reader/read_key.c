/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_key.c - reads the value of a key within the bounds of its row in the catalogue;
 * what is left out or wrong gets the row's default. */
#include "model/reader/reading.h"
#include "sim/require.h"

static const struct catalogue_key *row_of(const struct fields *fields, const char *key,
                                          enum catalogue_type type) {
    const struct catalogue_key *row = catalogue_key(fields->map, key);
    require(row != NULL && row->type == type);
    return row;
}

static struct decimal default_number(const struct catalogue_key *row) {
    struct decimal decimal;
    require(quantity_decimal(row->preset, &decimal) == QUANTITY_FITS);
    return decimal;
}

bool read_key_count(struct reading *reading, const struct fields *fields, const char *key,
                    int64_t *count) {
    const struct catalogue_key *row = catalogue_key(fields->map, key);
    require(row != NULL && (row->type == WANTS_COUNT || row->type == WANTS_COUNT_OR_NULL ||
                            row->type == WANTS_ROOM));
    if (row->preset != NULL) {
        struct decimal number = default_number(row);
        require(quantity_integer(&number, count));
    }
    const struct node *node = reading_get(fields, key);
    if (row->type == WANTS_ROOM && node != NULL && node->kind == NODE_MAP)
        return false; /* counts of its own for some items: the default is for the others */
    return read_value_count(reading, node, key, row->least, row->most, count);
}

bool read_key_counts(struct reading *reading, const struct fields *fields, const char *key,
                     struct item_counts *counts) {
    const struct catalogue_key *row = row_of(fields, key, WANTS_COUNTS);
    return read_value_item_counts(reading, reading_get(fields, key), key, row->least, row->most,
                                  counts);
}

bool read_key_ratio(struct reading *reading, const struct fields *fields, const char *key,
                    int64_t denominator_most, struct ratio *ratio) {
    const struct catalogue_key *row = row_of(fields, key, WANTS_NUMBER);
    struct number_range range = {row->least, row->above_least, row->most, denominator_most};
    if (row->preset != NULL) {
        struct decimal number = default_number(row);
        uint32_t places;
        require(quantity_ratio(&number, denominator_most, ratio, &places));
    }
    return read_value_fraction(reading, reading_get(fields, key), key, &range, ratio);
}

bool read_key_flag(struct reading *reading, const struct fields *fields, const char *key,
                   bool *flag) {
    const struct catalogue_key *row = row_of(fields, key, WANTS_FLAG);
    *flag = row->preset != NULL && row->preset[0] == 't';
    return read_value_flag(reading, reading_get(fields, key), key, flag);
}

uint32_t read_key_word(struct reading *reading, const struct fields *fields, const char *key) {
    const struct catalogue_key *row = row_of(fields, key, WANTS_WORD);
    uint32_t count = 0, index = 0;
    while (count < CATALOGUE_WORDS_MAX && row->word[count] != NULL)
        count++;
    read_value_word(reading, reading_get(fields, key), key, row->word, count, &index);
    return index;
}

bool read_key_ticks(struct reading *reading, const struct fields *fields, const char *key,
                    int64_t *ticks) {
    const struct catalogue_key *row = row_of(fields, key, WANTS_DURATION);
    const struct node *node = reading_get(fields, key);
    struct duration duration;
    if (row->preset != NULL) {
        require(quantity_duration(row->preset, &duration) == QUANTITY_FITS);
        *ticks = quantity_ticks(&duration, reading->scenario->ticks_per_second);
    }
    if (!read_span_ticks(reading, node, key, ticks))
        return false;
    if (*ticks == 0 && row->above_least)
        reading_error(reading, node, "`%s` must be more than 0", key);
    return *ticks > 0 || !row->above_least;
}

bool read_key_span(struct reading *reading, const struct fields *fields, const char *key,
                   struct span *span) {
    const struct catalogue_key *row = row_of(fields, key, WANTS_SPAN);
    return read_span(reading, reading_get(fields, key), key,
                     row->above_least ? SPAN_POSITIVE : SPAN_MAY_BE_ZERO, span);
}
