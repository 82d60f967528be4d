/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/enlarge.h - what a complete scenario needs to bring more of a product: its orders
 * are made more frequent, and where it cannot keep up, what limits it is mended, one change after
 * another. */
#pragma once

#include "model/design/design_need.h"
#include "tools/design/trials.h"

struct enlarge {
    bool found;
    uint32_t tries;
    char *text;
    char **changed; /* PATH=VALUE */
    uint32_t changed_count;
    struct trials trials;
    char why[DESIGN_WHY_BYTES]; /* "": what the trials say */
};

/* `wanted` is ITEM=N, N a minute. Returns STATUS_HOLDS, or the status that says what was wrong,
 * which was reported; then there is nothing to free. What it holds is the caller's. */
int enlarge_run(struct enlarge *enlarge, const struct scenario *scenario, const char *wanted,
                const struct trials_wish *wish, bool show_progress);
