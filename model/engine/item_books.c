/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/item_books.c - demands are found by their item in a sorted list. Totals of one item
 * that are set are those of its first demand. */
#include "model/engine/item_books.h"

#include <stdlib.h>

#include "sim/require.h"

/* Lists demands by item, those of one item in declared order. */
static void list_demands(struct world *world) {
    const struct scenario *scenario = world->scenario;
    uint32_t *begin = require_memory((size_t)scenario->item_count + 1, sizeof *begin);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        begin[scenario->demand[i].item + 1]++;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        begin[i + 1] += begin[i];
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        world->demand_by_item[begin[scenario->demand[i].item]++] = i;
    free(begin);
}

static void make_strays(struct world *world) {
    if (world->item_strays == NULL)
        world->item_strays =
            require_memory(world->scenario->item_count, sizeof *world->item_strays);
}

void item_books_init(struct world *world) {
    const struct scenario *scenario = world->scenario;
    world->item = require_memory(scenario->item_count, sizeof *world->item);
    world->demand_orders = require_memory(scenario->demand_count, sizeof *world->demand_orders);
    world->demand_by_item = require_memory(scenario->demand_count, sizeof *world->demand_by_item);
    list_demands(world);
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].kind == INCIDENT_DROP ||
            scenario->incident[i].kind == INCIDENT_CLEAR)
            make_strays(world);
}

/* The number in demand_by_item of the first demand of an item, or where it would stand. */
static uint32_t first_demand(const struct world *world, uint32_t item) {
    uint32_t low = 0, high = world->scenario->demand_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (world->scenario->demand[world->demand_by_item[middle]].item < item)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static bool is_demand_of(const struct world *world, uint32_t number, uint32_t item) {
    return number < world->scenario->demand_count &&
           world->scenario->demand[world->demand_by_item[number]].item == item;
}

struct item_totals item_books_totals(const struct world *world, uint32_t item) {
    const struct item_flow *flow = &world->item[item];
    struct item_totals totals = {
        .made = flow->made, .consumed = flow->consumed, .supplied = flow->supplied};
    for (uint32_t i = first_demand(world, item); is_demand_of(world, i, item); i++) {
        uint32_t demand = world->demand_by_item[i];
        const struct demand_orders *orders = &world->demand_orders[demand];
        totals.demanded += orders->demanded;
        totals.met += orders->met;
        totals.lost += orders->lost;
        totals.owed += world->scenario->demand[demand].outlet ? 0 : world->demand[demand].open;
    }
    if (world->item_strays != NULL) {
        totals.dropped = world->item_strays[item].dropped;
        totals.cleared = world->item_strays[item].cleared;
    }
    return totals;
}

static bool set_orders(struct world *world, uint32_t item, struct demand_orders orders) {
    uint32_t first = first_demand(world, item);
    if (!is_demand_of(world, first, item))
        return orders.demanded == 0 && orders.met == 0 && orders.lost == 0;
    for (uint32_t i = first; is_demand_of(world, i, item); i++)
        world->demand_orders[world->demand_by_item[i]] =
            i == first ? orders : (struct demand_orders){0};
    return true;
}

bool item_books_set(struct world *world, uint32_t item, const struct item_totals *totals) {
    world->item[item] = (struct item_flow){
        .made = totals->made, .consumed = totals->consumed, .supplied = totals->supplied};
    if (totals->dropped != 0 || totals->cleared != 0)
        make_strays(world);
    if (world->item_strays != NULL)
        world->item_strays[item] =
            (struct item_strays){.dropped = totals->dropped, .cleared = totals->cleared};
    return set_orders(world, item,
                      (struct demand_orders){
                          .demanded = totals->demanded, .met = totals->met, .lost = totals->lost});
}
