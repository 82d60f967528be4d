/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/suggest.c - optimal string alignment distance: insertions, deletions, substitutions
 * and swaps of neighbours, each 1, upper and lower case alike (L. Boytsov, "Indexing methods for
 * approximate dictionary searching", ACM J. Experimental Algorithmics 16 (2011), section 2.2). */
#include "model/reader/suggest.h"

#include <stddef.h>
#include <string.h>

enum { WORD_MAX = 64 };

static unsigned char lower(char c) {
    return (unsigned char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
}

static uint32_t least(uint32_t a, uint32_t b) { return a < b ? a : b; }

/* One row of the table of distances between the first i letters of a and the first j of b, from the
 * two rows before it. Returns the least of the row. */
static uint32_t fill_row(const char *a, size_t i, const char *b, size_t b_length,
                         const uint32_t *two_before, const uint32_t *before, uint32_t *row) {
    row[0] = (uint32_t)i;
    uint32_t least_of_row = row[0];
    for (size_t j = 1; j <= b_length; j++) {
        uint32_t differs = lower(a[i - 1]) != lower(b[j - 1]);
        row[j] = least(least(before[j], row[j - 1]) + 1, before[j - 1] + differs);
        if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) &&
            lower(a[i - 2]) == lower(b[j - 1]))
            row[j] = least(row[j], two_before[j - 2] + 1);
        least_of_row = least(least_of_row, row[j]);
    }
    return least_of_row;
}

/* The distance, or any number of at least `bound` when it is at least that. */
static uint32_t distance_below(const char *a, size_t a_length, const char *b, size_t b_length,
                               uint32_t bound) {
    uint32_t table[3][WORD_MAX + 1];
    for (size_t j = 0; j <= b_length; j++)
        table[0][j] = (uint32_t)j;
    uint32_t least_before = 0;
    for (size_t i = 1; i <= a_length; i++) {
        uint32_t least_of_row =
            fill_row(a, i, b, b_length, table[(i + 1) % 3], table[(i + 2) % 3], table[i % 3]);
        if (least_of_row >= bound && least_before >= bound)
            return bound; /* a swap reaches back two rows, no further */
        least_before = least_of_row;
    }
    return table[a_length % 3][b_length];
}

struct suggestion suggest_start(const char *wanted) {
    uint32_t allowed = (uint32_t)strlen(wanted) / 3;
    return (struct suggestion){.wanted = wanted, .distance = (allowed > 1 ? allowed : 1) + 1};
}

void suggest_look(struct suggestion *nearest, const char *word) {
    size_t wanted_length = strlen(nearest->wanted), length = strlen(word);
    size_t apart = wanted_length > length ? wanted_length - length : length - wanted_length;
    if (wanted_length > WORD_MAX || length > WORD_MAX || apart > nearest->distance)
        return;
    uint32_t distance =
        distance_below(nearest->wanted, wanted_length, word, length, nearest->distance + 1);
    if (distance > nearest->distance || (distance == nearest->distance && nearest->word == NULL))
        return;
    nearest->tied = distance == nearest->distance && strcmp(word, nearest->word) != 0;
    if (distance < nearest->distance)
        nearest->word = word;
    nearest->distance = distance;
}

const char *suggest_word(const struct suggestion *nearest) {
    return nearest->tied ? NULL : nearest->word;
}
