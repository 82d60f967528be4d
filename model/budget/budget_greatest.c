/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_greatest.c - the most of each product, the others at the rates needed of
 * them, and what limits it: the bound that makes up most of it; and next, when that bound is taken
 * away. */
#include "model/budget/budget_greatest.h"

#include <math.h>
#include <stdlib.h>

#include "model/budget/budget_lp.h"
#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "model/scenario/layout.h"
#include "sim/require.h"

static const char *supply_name(const struct budget_net *net, uint32_t pair) {
    const struct scenario *scenario = net->scenario;
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (scenario->supply[i].chest == net->pair_place[pair] &&
            scenario->supply[i].item == net->pair_item[pair])
            return scenario->supply[i].name;
    return NULL;
}

static const char *owner_name(const struct budget *budget, struct budget_owner owner) {
    const struct scenario *scenario = budget->scenario;
    switch (owner.kind) {
    case BOUND_NONE: return NULL;
    case BOUND_STATION: return scenario->station[owner.index].name;
    case BOUND_ARM: return scenario->arm[owner.index].name;
    case BOUND_TRACK: return layout_track_name(scenario, owner.index);
    case BOUND_SUPPLY: return supply_name(budget->net, owner.index);
    }
    return NULL;
}

/* An input that a station which makes the product never gets in the long run. */
static const char *missing_input(const struct budget *budget, uint32_t item) {
    const struct scenario *scenario = budget->scenario;
    for (uint32_t s = 0; s < scenario->station_count; s++)
        for (uint32_t i = 0; i < scenario->station[s].takes.count; i++) {
            uint32_t input = scenario->station[s].takes.entry[i].item;
            if (budget_makes(scenario, s, item) > 0 &&
                !budget_is_reachable_long_run(budget->net, layout_input_place(scenario, s), input))
                return scenario->item[input].name;
        }
    return NULL;
}

static void name_limits(const struct budget *budget, struct budget_lp *program,
                        struct budget_product *product, struct budget_owner limit) {
    struct budget_owner next;
    double more;
    product->bottleneck = owner_name(budget, limit);
    if (product->greatest <= 0)
        product->bottleneck = missing_input(budget, product->item);
    else if (limit.kind != BOUND_NONE &&
             budget_lp_greatest(program, product->item, limit, &more, &next))
        product->next = owner_name(budget, next);
}

static void find_sure(struct budget_lp *program, struct budget_product *product) {
    if (product->is_known && budget_lp_sure(program, product->item, &product->sure))
        product->sure = fmin(product->sure < 1e-9 ? 0 : product->sure, product->greatest);
}

static bool has_unsure_arms(const struct budget *budget) {
    for (uint32_t i = 0; i < budget->scenario->arm_count; i++)
        if (budget->arm[i].sure < budget->arm[i].steady)
            return true;
    return false;
}

static void find_greatest(struct budget *budget, struct budget_lp *program,
                          struct budget_product *product) {
    const struct scenario *scenario = budget->scenario;
    struct budget_owner limit;
    product->needed =
        budget->item[product->item].demanded > 0 ? budget->item[product->item].demanded : NAN;
    product->is_known = program != NULL && budget_lp_greatest(program, product->item,
                                                              (struct budget_owner){BOUND_NONE, 0},
                                                              &product->greatest, &limit);
    if (!product->is_known)
        return;
    product->greatest = product->greatest < 1e-9 ? 0 : product->greatest;
    product->sure = product->greatest;
    name_limits(budget, program, product, limit);
    if (product->needed > product->greatest * (1 + 1e-7)) {
        budget->demand_met = false;
        budget_texts_add(&budget->notes, "%s: %.4g a minute are needed, %.4g can be had",
                         scenario->item[product->item].name, 60 * product->needed,
                         60 * product->greatest);
    }
}

static void look(const struct budget_watcher *watcher, uint32_t done, uint32_t count) {
    if (watcher != NULL)
        watcher->look(watcher->self, done, count);
}

void budget_greatest(struct budget *budget, const struct budget_watcher *watcher) {
    const struct scenario *scenario = budget->scenario;
    bool *product = require_memory(scenario->item_count, sizeof *product);
    layout_mark_products(scenario, product);
    budget->product = require_memory(scenario->item_count, sizeof *budget->product);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (product[i])
            budget->product[budget->product_count++].item = i;
    struct budget_lp *program = budget_lp_new(budget);
    if (program == NULL)
        budget_texts_add(&budget->notes, "there are too many products and arms to work out the "
                                         "greatest rates within seconds");
    uint32_t count = budget->product_count, rounds = has_unsure_arms(budget) ? 2 : 1;
    for (uint32_t i = 0; i < count; i++) {
        look(watcher, i, rounds * count);
        find_greatest(budget, program, &budget->product[i]);
    }
    for (uint32_t i = 0; i < count && rounds == 2; i++) {
        look(watcher, count + i, rounds * count);
        find_sure(program, &budget->product[i]);
    }
    budget_lp_free(program);
    free(product);
}
