/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/variables.h - numbers of a scenario that are looked for, each among its choices
 * (variable.h).
 *
 * Where the scenario is complete they begin as they are, and each is lowered, by halving, as long
 * as the trials hold. Where they are open, a few levels for all of them are raced first; while
 * none holds, one number after another is changed where that brings it nearer; then they are
 * lowered, and those that cost nothing are raised again, away from where they fail. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/reader/draft.h"
#include "tools/base/progress.h"
#include "tools/design/trials.h"
#include "tools/design/variable.h"

struct variables {
    const char *text; /* of the scenario, with stand-ins; borrowed */
    const struct trials_wish *wish;
    struct progress progress;
    struct variable *entry;
    uint32_t count;
    uint32_t tries;
};

void variables_init(struct variables *list, const char *text, const struct trials_wish *wish,
                    bool show_progress);
void variables_free(struct variables *list);

/* All that a draft leaves open. */
void variables_add_open(struct variables *list, const struct draft *draft);
/* A number that may become smaller. */
void variables_add_number(struct variables *list, const struct draft *draft, const char *path,
                          int64_t value);

/* Looks for values with which all trials hold. `open`: they have none to begin with. Sets `trials`
 * to those of what is in hand at the end. */
bool variables_solve(struct variables *list, bool open, struct trials *trials);

/* Whether one is no longer what it was; its PATH=VALUE. */
bool variables_differs(const struct variables *list, uint32_t index);
const char *variables_change(const struct variables *list, uint32_t index);
