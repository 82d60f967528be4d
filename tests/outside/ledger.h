/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/ledger.h - a table of expected and found values: a row for each value from outside,
 * printed in Markdown. docs/checks.md is made of these tables.
 *
 * Rows belong to groups. A group says how its values were set up; under its table its sources
 * are listed. There is one ledger in a program. */
#pragma once

#include <stddef.h>

/* Where a value comes from, and how it is known: read there, worked out by which program, or
 * recalled and worked out again. */
struct ledger_source {
    const char *brief; /* "Flory 1939": what a row shows */
    const char *full;  /* author, title, place, year */
    const char *known;
};

/* Begins a group: its heading, and in a sentence or two what is run and what bounds the error. */
void ledger_group(const char *title, const char *setup);

/* A value that must come out as it is. */
void ledger_exact(const struct ledger_source *source, double expected, double found,
                  const char *check, ...) __attribute__((format(printf, 4, 5)));

/* A value that must come out within `relative` of it; `why` gives the reason in a few words. */
void ledger_near(const struct ledger_source *source, double expected, double found, double relative,
                 const char *why, const char *check, ...) __attribute__((format(printf, 6, 7)));

/* The mean of a sample of independent values (at least 20) must lie within four standard errors of
 * the value, and the standard error must not be above `error_most`. */
void ledger_sample(const struct ledger_source *source, double expected, const double *value,
                   size_t count, double error_most, const char *check, ...)
    __attribute__((format(printf, 6, 7)));

/* The variance of a sample, likewise: its standard error is taken as sqrt(2/(n-1)) of the value. */
void ledger_variance(const struct ledger_source *source, double expected, const double *value,
                     size_t count, const char *check, ...) __attribute__((format(printf, 5, 6)));

/* What a group compares with is not on this machine; `why` says so in its place. */
void ledger_skip(const char *why);

/* Ends the last group and says how many rows there were; the status to end the program with:
 * failure when a value is not as it should be, or when nothing was looked at and nothing
 * skipped. */
int ledger_end(void);
