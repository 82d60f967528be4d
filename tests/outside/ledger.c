/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/outside/ledger.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "sim/estimate.h"
#include "sim/require.h"
#include "tests/common/processor.h"

enum { SOURCES_MAX = 12, SAMPLE_LEAST = 20 };

static struct {
    const struct ledger_source *source[SOURCES_MAX]; /* of the group's rows, each once */
    size_t source_count;
    bool in_group;
    int rows, failed;
    bool skipped;
} ledger;

static void end_group(void) {
    for (size_t i = 0; i < ledger.source_count; i++)
        printf("\n*%s*: %s. %s.\n", ledger.source[i]->brief, ledger.source[i]->full,
               ledger.source[i]->known);
    ledger.source_count = 0;
}

/* A wrong engine may never come to what a group waits for: the limit then ends the program. */
enum { GROUP_SECONDS_MAX = 300 };

void ledger_group(const char *title, const char *setup) {
    end_group();
    processor_limit(GROUP_SECONDS_MAX);
    ledger.in_group = true;
    printf("\n## %s\n\n%s\n\n", title, setup);
    printf(
        "| check | source | expected | found | tolerance | verdict |\n|---|---|---|---|---|---|\n");
}

static void remember(const struct ledger_source *source) {
    require(ledger.in_group);
    for (size_t i = 0; i < ledger.source_count; i++)
        if (ledger.source[i] == source)
            return;
    require(ledger.source_count < SOURCES_MAX);
    ledger.source[ledger.source_count++] = source;
}

static void begin_row(const struct ledger_source *source, const char *check, va_list words) {
    remember(source);
    printf("| ");
    vprintf(check, words);
    printf(" | %s | ", source->brief);
}

static void end_row(bool holds) {
    printf(" | %s |\n", holds ? "holds" : "**FAILS**");
    fflush(stdout);
    ledger.rows++;
    ledger.failed += !holds;
}

void ledger_exact(const struct ledger_source *source, double expected, double found,
                  const char *check, ...) {
    va_list words;
    va_start(words, check);
    begin_row(source, check, words);
    va_end(words);
    printf("%.12g | %.12g | exact", expected, found);
    end_row(found == expected);
}

void ledger_near(const struct ledger_source *source, double expected, double found, double relative,
                 const char *why, const char *check, ...) {
    va_list words;
    va_start(words, check);
    begin_row(source, check, words);
    va_end(words);
    printf("%.10g | %.10g | %g of it: %s", expected, found, relative, why);
    end_row(fabs(found - expected) <= relative * fabs(expected));
}

static void within_four(double expected, double found, double error) {
    printf("%.7g | %.6g ± %.2g | 4 SE", expected, found, error);
}

void ledger_sample(const struct ledger_source *source, double expected, const double *value,
                   size_t count, double error_most, const char *check, ...) {
    require(count >= SAMPLE_LEAST);
    va_list words;
    va_start(words, check);
    begin_row(source, check, words);
    va_end(words);
    double error = estimate_deviation(value, count) / sqrt((double)count);
    double mean = estimate_average(value, count);
    within_four(expected, mean, error);
    printf(", SE ≤ %g", error_most);
    end_row(fabs(mean - expected) <= 4 * error && error <= error_most);
}

void ledger_variance(const struct ledger_source *source, double expected, const double *value,
                     size_t count, const char *check, ...) {
    require(count >= SAMPLE_LEAST);
    va_list words;
    va_start(words, check);
    begin_row(source, check, words);
    va_end(words);
    double deviation = estimate_deviation(value, count), variance = deviation * deviation;
    double error = expected * sqrt(2 / ((double)count - 1));
    within_four(expected, variance, error);
    end_row(fabs(variance - expected) <= 4 * error);
}

void ledger_skip(const char *why) {
    printf("| skipped: %s | | | | | |\n", why);
    ledger.skipped = true;
}

int ledger_end(void) {
    end_group();
    fflush(stdout);
    fprintf(stderr, "%d values, %d of them not as they should be\n", ledger.rows, ledger.failed);
    return ledger.failed == 0 && (ledger.rows > 0 || ledger.skipped) ? EXIT_SUCCESS : EXIT_FAILURE;
}
