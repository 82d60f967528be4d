/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_value.c - reads numbers, words, lists and counts, each strictly of its type. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

#define GROUPED(number) quantity_grouped(number, (char[QUANTITY_TEXT_SIZE]){0})

/* Tells that a node is not of the wanted type. */
static void tell_wrong_type(struct reading *reading, const struct node *node, const char *key,
                            const char *wanted) {
    struct fault *fault = reading_error(reading, node, "`%s` wants %s, not %s", key, wanted,
                                        reading_found(node).text);
    struct decimal number;
    if (node->kind != NODE_SCALAR)
        return;
    if (!node->plain && quantity_decimal(node->text, &number) == QUANTITY_FITS)
        fault_help(fault, "remove the quotes");
    else if (node->plain && strpbrk(node->text, "0123456789") != NULL &&
             quantity_decimal(node->text, &number) == QUANTITY_NO_NUMBER)
        fault_note(fault, "a number is written with digits and at most one point between them");
    reading_comma_help(fault, node->text);
}

static void tell_range(struct reading *reading, const struct node *node, const char *key,
                       int64_t least, bool above_least, int64_t most) {
    struct fault *fault = reading_error(reading, node, "`%s` is out of range: %s", key,
                                        yaml_tree_shown(node->text).text);
    if (above_least)
        fault_note(fault, "allowed: more than %s, at most %s", GROUPED(least), GROUPED(most));
    else
        fault_note(fault, "allowed: %s to %s", GROUPED(least), GROUPED(most));
}

/* Reads a plain number; what can't be kept is reported. */
static bool read_number(struct reading *reading, const struct node *node, const char *key,
                        const char *wanted, int64_t most, struct decimal *decimal) {
    if (reading_told(node))
        return false;
    enum quantity_fit fit = QUANTITY_NO_NUMBER;
    if (node->kind == NODE_SCALAR && node->plain)
        fit = quantity_decimal(node->text, decimal);
    if (fit == QUANTITY_NO_NUMBER)
        tell_wrong_type(reading, node, key, wanted);
    else if (fit == QUANTITY_TOO_LARGE)
        fault_note(reading_error(reading, node, "`%s` is out of range: %s", key,
                                 yaml_tree_shown(node->text).text),
                   "at most %s", GROUPED(most));
    return fit == QUANTITY_FITS;
}

void read_value_note_places(struct reading *reading, const struct node *node, const char *key,
                            uint32_t places) {
    fault_note(
        reading_warning(reading, node, "`%s` has more digits after the point than are kept", key),
        "it is rounded to %" PRIu32, places);
}

bool read_value_count(struct reading *reading, const struct node *node, const char *key,
                      int64_t least, int64_t most, int64_t *count) {
    struct decimal decimal;
    int64_t number;
    if (!read_number(reading, node, key, "a whole number", most, &decimal))
        return false;
    if (!quantity_integer(&decimal, &number)) {
        tell_wrong_type(reading, node, key, "a whole number");
        return false;
    }
    if (number < least || number > most) {
        tell_range(reading, node, key, least, false, most);
        return false;
    }
    *count = number;
    return true;
}

bool read_value_fraction(struct reading *reading, const struct node *node, const char *key,
                         const struct number_range *range, struct ratio *ratio) {
    struct decimal decimal;
    struct ratio number;
    uint32_t places;
    if (!read_number(reading, node, key, "a number", range->most, &decimal))
        return false;
    bool in_range = decimal.whole <= range->most &&
                    quantity_ratio(&decimal, range->denominator_most, &number, &places);
    int from_least = in_range ? quantity_compare(number, (struct ratio){range->least, 1}) : -1;
    if (from_least < 0 || (from_least == 0 && range->above_least) ||
        quantity_compare(number, (struct ratio){range->most, 1}) > 0) {
        tell_range(reading, node, key, range->least, range->above_least, range->most);
        return false;
    }
    if (places < decimal.places)
        read_value_note_places(reading, node, key, places);
    *ratio = number;
    return true;
}

bool read_value_ratio(struct reading *reading, const struct node *node, const char *key,
                      int64_t least, bool above_least, int64_t most, struct ratio *ratio) {
    struct number_range range = {least, above_least, most, INT64_MAX};
    return read_value_fraction(reading, node, key, &range, ratio);
}

bool read_value_decimal(struct reading *reading, const struct node *node, const char *key,
                        struct decimal *decimal) {
    if (!read_number(reading, node, key, "a number", INT64_C(1000000000000), decimal))
        return false;
    if (decimal->places > LIMIT_PLACES)
        read_value_note_places(reading, node, key, LIMIT_PLACES);
    return true;
}

bool read_value_flag(struct reading *reading, const struct node *node, const char *key,
                     bool *flag) {
    if (reading_told(node))
        return false;
    bool plain = node->kind == NODE_SCALAR && node->plain;
    *flag = plain && strcmp(node->text, "true") == 0;
    if (*flag || (plain && strcmp(node->text, "false") == 0))
        return true;
    tell_wrong_type(reading, node, key, "true or false");
    return false;
}

static const char *listed_word(const void *from, uint32_t index) {
    const char *const *word = from;
    return word[index];
}

bool read_value_word(struct reading *reading, const struct node *node, const char *key,
                     const char *const *word, uint32_t count, uint32_t *index) {
    if (reading_told(node))
        return false;
    for (uint32_t i = 0; i < count && node->kind == NODE_SCALAR; i++)
        if (strcmp(node->text, word[i]) == 0) {
            *index = i;
            return true;
        }
    struct fault *fault = reading_error(reading, node, "`%s` wants one of its words, not %s", key,
                                        reading_found(node).text);
    reading_suggest(reading, fault, node->kind == NODE_SCALAR ? node->text : "", listed_word, word,
                    count);
    return false;
}

bool read_value_list(struct reading *reading, const struct node *node, const char *key, bool some) {
    if (reading_told(node))
        return false;
    if (node->kind != NODE_LIST) {
        struct fault *fault = reading_error(reading, node, "`%s` wants a list, not %s", key,
                                            reading_found(node).text);
        if (node->kind == NODE_SCALAR && node->count > 0)
            fault_help(fault, "a list of one is written [%s]", yaml_tree_shown(node->text).text);
        return false;
    }
    if (some && node->count == 0)
        reading_error(reading, node, "`%s` is an empty list", key);
    return !some || node->count > 0;
}

bool read_value_item_counts(struct reading *reading, const struct node *node, const char *key,
                            int64_t least, int64_t most, struct item_counts *counts) {
    if (reading_told(node))
        return false;
    if (node->kind != NODE_MAP) {
        tell_wrong_type(reading, node, key, "a map of items and counts");
        return false;
    }
    bool good = true;
    counts->entry = require_memory(node->count, sizeof *counts->entry);
    for (uint32_t i = 0; i < node->count; i++) {
        const struct node *name = node->child[2 * i], *number = node->child[2 * i + 1];
        struct item_count entry = {.item = reading_item(reading, name, key)};
        bool counted = read_value_count(reading, number, yaml_tree_shown(name->text).text, least,
                                        most, &entry.count);
        if (entry.item != NO_INDEX && counted)
            counts->entry[counts->count++] = entry;
        else
            good = false;
    }
    return good;
}
