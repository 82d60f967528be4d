/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/fill.h - a scenario with arms: finds the numbers that it leaves open, makes numbers
 * smaller as long as it survives, or what is needed for more of a product. */
#pragma once

#include "model/design/design_need.h"
#include "model/reader/draft.h"
#include "tools/design/trials.h"

struct fill_order {
    struct draft *draft; /* borrowed, as the others */
    const struct trials_wish *wish;
    bool show_progress;
    const char *tune; /* paths with commas between; NULL: none */
    bool tighten;
    const char *for_demand; /* ITEM=N; NULL: none */
    const char *const *set; /* what the command line changed in the draft */
    uint32_t set_count;
};

struct fill {
    bool found;
    uint32_t tries;
    char *text;     /* the scenario as it came out, or the nearest */
    char **changed; /* PATH=VALUE */
    uint32_t changed_count;
    struct trials trials;
    char why[DESIGN_WHY_BYTES]; /* when nothing was found */
};

/* Does it. Returns STATUS_HOLDS when there is a result, found or not, else the status that says
 * what was wrong, which was reported. Freed with fill_free either way. */
int fill_run(struct fill *fill, const struct fill_order *order);
void fill_free(struct fill *fill);

/* Reads a complete scenario from a text that is known to be right. */
struct scenario *fill_read(const char *text);
