/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/carriers.h - which arms may carry an item into a place, found without looking at
 * those that put something else there: thousands may put onto one lane. */
#pragma once

#include <stdint.h>

#include "model/scenario/layout.h"
#include "model/scenario/pairs.h"

struct carriers {
    const struct scenario *scenario; /* borrowed */
    struct pairs put; /* place and item of arms whose items are written out; the value: where its
                         arms end in `arm`, those of the next begin */
    uint32_t *arm;
    struct layout_arms fitting; /* arms that carry whatever fits, by target */
};

/* Of a scenario, which must outlive it. Freed with carriers_free. */
struct carriers carriers_of(const struct scenario *scenario);
void carriers_free(struct carriers *carriers);

/* A walk through the arms that may carry an item into a place, numbered as in layout.h, in rising
 * order: `NO_INDEX` after the last. */
struct carriers_walk {
    const struct carriers *carriers;
    const uint32_t *arm, *end, *fitting, *fitting_end;
    uint32_t item;
};
struct carriers_walk carriers_walk(const struct carriers *carriers, uint32_t place, uint32_t item);
uint32_t carriers_next(struct carriers_walk *walk);
