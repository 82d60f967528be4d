/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/product.c - made, and taken by the right hands. */
#include "model/scenario/product.h"

#include <stdlib.h>

#include "sim/require.h"

void product_mark(const struct scenario *scenario, bool *product) {
    bool *taken = require_memory(scenario->item_count, sizeof *taken);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        taken[scenario->demand[i].item] = true;
    for (uint32_t i = 0; i < scenario->station_count && scenario->demand_count == 0; i++)
        for (uint32_t j = 0; j < scenario->station[i].takes.count; j++)
            taken[scenario->station[i].takes.entry[j].item] = true;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        product[i] = false;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++) {
            uint32_t item = scenario->station[i].makes[j].item;
            product[item] = taken[item] == (scenario->demand_count > 0);
        }
    free(taken);
}
