/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/drain/drain_report.h - the result of one or more drains, as JSON and as text. */
#pragma once

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "tools/drain/drain_case.h"

/* The greatest flood from which the loop still recovers, in items on all lanes together: of each
 * seed the greatest, of these the median, the least and the greatest. */
struct drain_limit {
    bool known;
    bool every; /* every seed recovers from full lanes */
    uint32_t seeds;
    int64_t greatest, low, high;
};

/* What came of all that was tried. */
struct drain_outcome {
    const struct drain_order *order;
    const struct drain_found *worst; /* see drain_report_is_worse; of equals the first */
    uint64_t run_count, drained_count;
    bool many; /* --runs was given */
    struct drain_limit limit;
};

/* True when what was asked for came true in this one: drained, and recovered and restarted where
 * these were asked for. */
bool drain_report_found_holds(const struct drain_order *order, const struct drain_found *found);
/* True when one is worse than another: one that does not hold is worse than one that does, then the
 * one with more left, then the one that took longer. */
bool drain_report_is_worse(const struct drain_order *order, const struct drain_found *one,
                           const struct drain_found *other);

/* The text of drain.json, LF at its end; freed by the caller. */
char *drain_report_json(const struct drain_outcome *outcome);
/* Prints it to be read. `path`: the directory of the run, NULL: none was written; then `again` is
 * the command that writes one and explains it. */
void drain_report_print(const struct drain_outcome *outcome, const char *path, const char *again,
                        FILE *out);
