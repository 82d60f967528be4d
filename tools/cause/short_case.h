/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/short_case.h - the products of a run of which too little came: how much was asked for
 * and met after the warm-up, and what limits. The run is repeated once for all of them. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/budget/budget.h"
#include "model/cause/activity.h"
#include "model/cause/shortage.h"
#include "model/cause/waits.h"
#include "model/engine/world.h"
#include "tools/cause/cause_case.h"

struct short_case {
    uint32_t item;
    int64_t asked, met; /* of orders due after the warm-up; at the end */
    struct shortage shortage;
    bool *proven; /* of each root: a change against it alone meets the demand */
};

struct short_cases {
    const struct scenario *scenario;
    struct short_case *short_case; /* in the order of items */
    uint32_t count;
    struct waits waits; /* at the end */
    struct activity activity;
    uint64_t moves;              /* picks and places of the run */
    const struct budget *budget; /* borrowed; NULL: none is known */
};

/* Runs a scenario from its start, or from where the world `begin` is (NULL: the start), and finds
 * out. Both must outlive it. `others` (NULL: not known) are the cases of the same run: where no
 * product is short by them, nothing is run. Starvations among them that have no root, because
 * their waits end with what is under way, get what limits while they last. Freed with
 * short_cases_free. False: a signal stopped it. */
bool short_cases_find(struct short_cases *cases, const struct scenario *scenario,
                      const struct world *begin, struct cause_cases *others);
void short_cases_free(struct short_cases *cases);

/* How much more was asked for than came, above 1; INFINITY: nothing came. */
double short_case_factor(const struct short_case *self);
/* What budget says of the item; NULL: nothing. */
const struct budget_product *short_cases_budget(const struct short_cases *cases, uint32_t item);
