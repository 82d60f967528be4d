/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/orders.c - counts from the totals of a world. */
#include "tools/cause/orders.h"

#include <stdlib.h>

#include "model/scenario/layout.h"
#include "sim/require.h"

static void mark_products(struct orders *orders) {
    const struct scenario *scenario = orders->scenario;
    bool some = false;
    layout_mark_products(scenario, orders->product);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        some |= orders->product[i];
    for (uint32_t i = 0; i < scenario->demand_count && !some; i++)
        orders->product[scenario->demand[i].item] = !scenario->demand[i].outlet;
}

void orders_init(struct orders *orders, const struct scenario *scenario) {
    *orders = (struct orders){.scenario = scenario};
    orders->product = require_memory(scenario->item_count, sizeof *orders->product);
    orders->demanded = require_memory(scenario->item_count, sizeof *orders->demanded);
    orders->lost = require_memory(scenario->item_count, sizeof *orders->lost);
    mark_products(orders);
}

void orders_free(struct orders *orders) {
    free(orders->product);
    free(orders->demanded);
    free(orders->lost);
    *orders = (struct orders){0};
}

void orders_begin(struct orders *orders, const struct world *world) {
    for (uint32_t i = 0; i < orders->scenario->item_count; i++) {
        struct item_totals totals = world_item_totals(world, i);
        orders->demanded[i] = totals.demanded;
        orders->lost[i] = totals.lost;
    }
}

/* Owed of an item to all its demands but outlets. */
static int64_t owed(const struct orders *orders, const struct world *world, uint32_t item) {
    const struct scenario *scenario = orders->scenario;
    int64_t sum = 0;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (scenario->demand[i].item == item && !scenario->demand[i].outlet)
            sum += world_demand_owed(world, i);
    return sum;
}

void orders_count(const struct orders *orders, const struct world *world, uint32_t item,
                  int64_t *asked, int64_t *met) {
    struct item_totals totals = world_item_totals(world, item);
    int64_t open = owed(orders, world, item);
    *asked = totals.demanded - orders->demanded[item];
    open = open < *asked ? open : *asked;
    *met = *asked - open - (totals.lost - orders->lost[item]);
}

bool orders_is_short(const struct orders *orders, const struct world *world, uint32_t item) {
    int64_t asked, met;
    if (!orders->product[item])
        return false;
    orders_count(orders, world, item, &asked, &met);
    return asked > 0 && (double)met < ORDERS_MET * (double)asked;
}

bool orders_some_short(const struct orders *orders, const struct world *world) {
    for (uint32_t i = 0; i < orders->scenario->item_count; i++)
        if (orders_is_short(orders, world, i))
            return true;
    return false;
}
