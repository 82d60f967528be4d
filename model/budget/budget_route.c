/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_route.c - which arm carries how much of each item.
 *
 * Where several ways lead from where an item is to where it is needed, arms side by side share in
 * proportion to what they can do. That is what a net of conductors does: each arm conducts as much
 * as its rate, and only forward; places have potentials such that what flows in flows out. An
 * item's net is solved as a linear system, again and again without the arms through which it would
 * flow backward. A slight leak at every place keeps the system regular; what goes through it found
 * no way. */
#include "model/budget/budget_route.h"

#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "sim/array.h"
#include "sim/require.h"

/* Of the best conductor; of what flows. */
static const double leak = 1e-11, tiny = 1e-6, lost_share = 0.01;
enum { ROUNDS_MAX = 60, NODES_MAX = 3000 };

struct edge {
    uint32_t from, to; /* nodes */
    size_t entry;      /* in budget->flow; SIZE_MAX: from the supplies or to the end chests */
    double conducts;
    bool open;
};

struct router {
    struct budget *budget;
    uint32_t item;
    const uint32_t *pair; /* of the item, in the order of places */
    uint32_t pair_count;
    uint32_t *node;      /* [pair] its node, NO_INDEX: the item never is there in the long run */
    double *inject;      /* [node] items a second that begin here, less those that end */
    uint32_t node_count; /* the last two are the supplies and the ends of what is too much */
    struct edge *edge;
    uint32_t edge_count, edge_room;
    gsl_vector *potential;
    double best;   /* conductor */
    double amount; /* that flows, about */
};

static void add_edge(struct router *router, uint32_t from, uint32_t to, size_t entry,
                     double conducts) {
    router->edge =
        array_with_room(router->edge, router->edge_count, &router->edge_room, sizeof *router->edge);
    router->edge[router->edge_count++] = (struct edge){from, to, entry, conducts, true};
}

static void number_nodes(struct router *router) {
    const struct budget_net *net = router->budget->net;
    router->pair = net->by_item.member + net->by_item.first[router->item];
    router->pair_count = net->by_item.first[router->item + 1] - net->by_item.first[router->item];
    router->node_count = 0;
    for (uint32_t i = 0; i < router->pair_count; i++) {
        bool there = net->reachable_long_run[router->pair[i]];
        router->node[router->pair[i]] = there ? router->node_count++ : NO_INDEX;
    }
    router->node_count += 2;
    for (uint32_t i = 0; i < router->node_count; i++)
        router->inject[i] = 0;
}

static void add_arms(struct router *router) {
    const struct budget_net *net = router->budget->net;
    router->edge_count = 0;
    for (uint32_t k = net->first_carrier[router->item]; k < net->first_carrier[router->item + 1];
         k++) {
        uint32_t entry = net->carrier_entry[k];
        uint32_t from = router->node[net->source_pair[entry]];
        uint32_t to = router->node[net->target_pair[entry]];
        if (from != NO_INDEX && to != from)
            add_edge(router, from, to, entry, router->budget->arm[net->carrier[k]].steady);
    }
}

static uint32_t place_of(const struct router *router, uint32_t i) {
    return router->budget->net->pair_place[router->pair[i]];
}

/* Marks the chests, of the item's pairs, where it ends; all of them when arms take it on from
 * each. */
static void mark_ends(struct router *router, bool *is_end) {
    uint32_t chests = router->budget->scenario->chest_count;
    bool *leads_on = require_memory(router->node_count, sizeof *leads_on), found = false;
    for (uint32_t i = 0; i < router->edge_count; i++)
        leads_on[router->edge[i].from] = true;
    for (uint32_t i = 0; i < router->pair_count && place_of(router, i) < chests; i++) {
        uint32_t node = router->node[router->pair[i]];
        is_end[i] = node != NO_INDEX && !leads_on[node];
        found = found || is_end[i];
    }
    for (uint32_t i = 0; !found && i < router->pair_count && place_of(router, i) < chests; i++)
        is_end[i] = router->node[router->pair[i]] != NO_INDEX;
    free(leads_on);
}

static void add_ends(struct router *router) {
    const struct budget_net *net = router->budget->net;
    uint32_t supplies = router->node_count - 2, ends = router->node_count - 1;
    uint32_t chests = net->scenario->chest_count;
    bool *is_end = require_memory(router->pair_count, sizeof *is_end);
    mark_ends(router, is_end);
    for (uint32_t i = 0; i < router->pair_count && place_of(router, i) < chests; i++) {
        uint32_t pair = router->pair[i], node = router->node[pair];
        double supply = net->unlimited[pair] ? 1 : net->supply[pair];
        if (node == NO_INDEX)
            continue;
        router->inject[node] -= net->demand[pair];
        if (supply > 0)
            add_edge(router, supplies, node, SIZE_MAX, supply);
        else if (is_end[i])
            add_edge(router, node, ends, SIZE_MAX, 1);
    }
    free(is_end);
}

/* What stations make and take of it at their places. */
static void inject_at_stations(struct router *router) {
    const struct budget *budget = router->budget;
    const struct scenario *scenario = budget->scenario;
    uint32_t outputs = layout_output_place(scenario, 0), inputs = layout_input_place(scenario, 0);
    for (uint32_t i = 0; i < router->pair_count; i++) {
        uint32_t place = place_of(router, i), node = router->node[router->pair[i]];
        if (node == NO_INDEX || place < outputs || place >= layout_track_place(scenario, 0))
            continue;
        uint32_t station = place < inputs ? place - outputs : place - inputs;
        double batches = budget->station[station].needed;
        if (place < inputs)
            router->inject[node] += batches * budget_makes(scenario, station, router->item);
        else
            router->inject[node] -= batches * budget_takes(scenario, station, router->item);
    }
}

static void inject(struct router *router) {
    const struct budget_item *item = &router->budget->item[router->item];
    inject_at_stations(router);
    router->inject[router->node_count - 2] += item->supplied + item->lacking;
    router->inject[router->node_count - 1] -= item->surplus;
}

/* ---- potentials ---- */

static void add_conductor(gsl_matrix *a, const struct edge *edge, double best) {
    double conducts = edge->conducts / best;
    *gsl_matrix_ptr(a, edge->from, edge->from) += conducts;
    *gsl_matrix_ptr(a, edge->to, edge->to) += conducts;
    *gsl_matrix_ptr(a, edge->from, edge->to) -= conducts;
    *gsl_matrix_ptr(a, edge->to, edge->from) -= conducts;
}

static void measure(struct router *router) {
    router->best = router->amount = 0;
    for (uint32_t i = 0; i < router->edge_count; i++)
        router->best = fmax(router->best, router->edge[i].conducts);
    for (uint32_t i = 0; i < router->node_count; i++)
        router->amount = fmax(router->amount, fabs(router->inject[i]));
}

static void solve_potentials(struct router *router, gsl_matrix *a, gsl_vector *b,
                             gsl_permutation *order) {
    int sign;
    gsl_matrix_set_zero(a);
    for (uint32_t i = 0; i < router->node_count; i++) {
        gsl_matrix_set(a, i, i, leak);
        gsl_vector_set(b, i, router->inject[i]);
    }
    for (uint32_t i = 0; i < router->edge_count; i++)
        if (router->edge[i].open)
            add_conductor(a, &router->edge[i], router->best);
    gsl_linalg_LU_decomp(a, order, &sign);
    require(gsl_linalg_LU_solve(a, order, b, router->potential) == GSL_SUCCESS);
}

static double drop_over(const struct router *router, const struct edge *edge) {
    return gsl_vector_get(router->potential, edge->from) -
           gsl_vector_get(router->potential, edge->to);
}

/* Opens and shuts arms by the way their items would flow; true: some changed. */
static bool turn_valves(struct router *router) {
    bool changed = false;
    for (uint32_t i = 0; i < router->edge_count; i++) {
        bool open = drop_over(router, &router->edge[i]) > -tiny * router->amount;
        changed = changed || open != router->edge[i].open;
        router->edge[i].open = open;
    }
    return changed;
}

static void solve_net(struct router *router) {
    gsl_matrix *a = gsl_matrix_alloc(router->node_count, router->node_count);
    gsl_vector *b = gsl_vector_alloc(router->node_count);
    router->potential = gsl_vector_alloc(router->node_count);
    gsl_permutation *order = gsl_permutation_alloc(router->node_count);
    require(a != NULL && b != NULL && order != NULL && router->potential != NULL);
    int left = ROUNDS_MAX;
    do
        solve_potentials(router, a, b, order);
    while (turn_valves(router) && left-- > 0);
    gsl_matrix_free(a);
    gsl_vector_free(b);
    gsl_permutation_free(order);
}

static void read_flows(struct router *router) {
    double *flow = router->budget->flow;
    for (uint32_t i = 0; i < router->edge_count; i++) {
        const struct edge *edge = &router->edge[i];
        double amount = edge->open ? edge->conducts / router->best * drop_over(router, edge) : 0;
        if (edge->entry != SIZE_MAX)
            flow[edge->entry] = amount > tiny * router->amount ? amount : 0;
    }
}

static void report_lost(struct router *router) {
    double lost = 0;
    for (uint32_t i = 0; i < router->node_count; i++)
        lost += fabs(leak * gsl_vector_get(router->potential, i));
    if (lost <= lost_share * router->amount)
        return;
    struct budget *budget = router->budget;
    budget->demand_met = false;
    budget_texts_add(&budget->notes, "no arms lead %s from where it is to where it is needed",
                     budget->scenario->item[router->item].name);
}

static void route_item(struct router *router, uint32_t item) {
    const struct budget_item *balance = &router->budget->item[item];
    router->item = item;
    number_nodes(router);
    if (balance->demanded + balance->made + balance->used <= 0 || router->node_count > NODES_MAX)
        return;
    add_arms(router);
    add_ends(router);
    inject(router);
    measure(router);
    if (router->amount <= 0)
        return;
    solve_net(router);
    read_flows(router);
    report_lost(router);
    gsl_vector_free(router->potential);
}

static void load_arms(struct budget *budget) {
    const struct budget_net *net = budget->net;
    for (uint32_t i = 0; i < net->scenario->arm_count; i++) {
        struct budget_arm *arm = &budget->arm[i];
        for (uint32_t entry = net->first_entry[i]; entry < net->first_entry[i + 1]; entry++)
            arm->needed += budget->flow[entry];
        arm->utilisation = arm->steady > 0 ? arm->needed / arm->steady : 0;
    }
}

void budget_route(struct budget *budget) {
    struct router router = {.budget = budget};
    router.node = require_memory(budget->net->pair_count, sizeof *router.node);
    router.inject = require_memory((size_t)budget->net->place_count + 2, sizeof *router.inject);
    for (uint32_t i = 0; i < budget->scenario->item_count; i++)
        route_item(&router, i);
    load_arms(budget);
    free(router.node);
    free(router.inject);
    free(router.edge);
}
