/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/spread.c - which input rides where. */
#include "model/design/spread.h"

#include <stddef.h>

#include "model/scenario/layout.h"

double spread_length(const struct spread *spread, uint32_t item) {
    return spread->scenario->item[item].length;
}

bool spread_is_input(const struct spread *spread, uint32_t recipe, uint32_t item) {
    return spread->need->batches[recipe] > 0 &&
           (double)layout_batch_takes(spread->scenario, recipe, item) > 0 &&
           !spread->lanes->direct[item];
}

double spread_cells(const struct spread *spread, uint32_t item) {
    double used = 0;
    for (uint32_t r = 0; r < spread->scenario->station_count; r++)
        if (spread_is_input(spread, r, item))
            used +=
                spread->need->batches[r] * (double)layout_batch_takes(spread->scenario, r, item);
    return used * spread_length(spread, item);
}

uint32_t *spread_lane_of(struct spread *spread, uint32_t recipe, uint32_t item) {
    return &spread->lane_of[(size_t)recipe * spread->scenario->item_count + item];
}

bool spread_rides(const struct spread *spread, uint32_t recipe, uint32_t item, uint32_t lane) {
    uint32_t first = spread->lane_of[(size_t)recipe * spread->scenario->item_count + item];
    return first != NO_INDEX && lane >= first && lane < first + spread->ways[item];
}

void spread_put_recipe(struct spread *spread, uint32_t recipe, uint32_t lane) {
    struct lane *own = &spread->lanes->lane[lane];
    for (uint32_t r = 0; r < own->recipe_count; r++)
        if (own->recipe[r] == recipe)
            return;
    own->recipe[own->recipe_count++] = recipe;
}
