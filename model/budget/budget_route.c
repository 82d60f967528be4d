/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_route.c - which arm carries how much of each item.
 *
 * Where several ways lead from where an item is to where it is needed, arms side by side share in
 * proportion to what they can do. That is what a net of conductors does: each arm conducts as much
 * as its rate, and only forward; places have potentials such that what flows in flows out. An
 * item's net is solved as a linear system, again and again without the arms through which it would
 * flow backward. A slight leak at every place keeps the system regular; what goes through it found
 * no way. */
#include "model/budget/budget_net.h"

#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

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
    uint32_t *node;      /* [place] its node, NO_INDEX: the item never is there */
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
    const struct budget_net *net = &router->budget->net;
    router->node_count = 0;
    for (uint32_t place = 0; place < net->place_count; place++) {
        bool there = net->lasts[budget_at(net->scenario, place, router->item)];
        router->node[place] = there ? router->node_count++ : NO_INDEX;
    }
    router->node_count += 2;
    for (uint32_t i = 0; i < router->node_count; i++)
        router->inject[i] = 0;
}

static void add_arms(struct router *router) {
    const struct budget_net *net = &router->budget->net;
    router->edge_count = 0;
    for (uint32_t k = net->first_carrier[router->item]; k < net->first_carrier[router->item + 1];
         k++) {
        uint32_t arm = net->carrier[k];
        uint32_t from = router->node[budget_from(net->scenario, arm)];
        uint32_t to = router->node[budget_to(net->scenario, arm)];
        if (from != NO_INDEX && to != from)
            add_edge(router, from, to, budget_entry(net, arm, router->item),
                     router->budget->arm[arm].steady);
    }
}

static bool ends_in(const struct router *router, uint32_t node) {
    for (uint32_t i = 0; i < router->edge_count; i++)
        if (router->edge[i].from == node)
            return false;
    return true;
}

/* Chests where the item ends; all chests when arms take it on from each. */
static bool has_ends(const struct router *router) {
    for (uint32_t c = 0; c < router->budget->scenario->chest_count; c++)
        if (router->node[c] != NO_INDEX && ends_in(router, router->node[c]))
            return true;
    return false;
}

static void add_ends(struct router *router) {
    const struct budget *budget = router->budget;
    uint32_t supplies = router->node_count - 2, ends = router->node_count - 1;
    uint32_t chests = budget->scenario->chest_count;
    bool anywhere = !has_ends(router);
    bool *is_end = require_memory(chests, sizeof *is_end);
    for (uint32_t c = 0; c < chests; c++)
        is_end[c] = router->node[c] != NO_INDEX && (anywhere || ends_in(router, router->node[c]));
    for (uint32_t c = 0; c < chests; c++) {
        size_t at = budget_at(budget->scenario, c, router->item);
        double supply = budget->net.unlimited[at] ? 1 : budget->net.supply[at];
        if (router->node[c] == NO_INDEX)
            continue;
        router->inject[router->node[c]] -= budget->net.demand[at];
        if (supply > 0)
            add_edge(router, supplies, router->node[c], SIZE_MAX, supply);
        else if (is_end[c])
            add_edge(router, router->node[c], ends, SIZE_MAX, 1);
    }
    free(is_end);
}

static void inject(struct router *router) {
    const struct budget *budget = router->budget;
    const struct scenario *scenario = budget->scenario;
    const struct budget_item *item = &budget->item[router->item];
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        uint32_t out = router->node[layout_output_place(scenario, s)];
        uint32_t in = router->node[layout_input_place(scenario, s)];
        double batches = budget->station[s].needed;
        if (out != NO_INDEX)
            router->inject[out] += batches * budget_makes(scenario, s, router->item);
        if (in != NO_INDEX)
            router->inject[in] -= batches * budget_takes(scenario, s, router->item);
    }
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

static void tell_lost(struct router *router) {
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
    tell_lost(router);
    gsl_vector_free(router->potential);
}

static void load_arms(struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct budget_arm *arm = &budget->arm[i];
        for (uint32_t n = 0; n < scenario->arm[i].item_count; n++)
            arm->needed += budget->flow[budget->net.first[i] + n];
        arm->utilisation = arm->steady > 0 ? arm->needed / arm->steady : 0;
    }
}

void budget_route(struct budget *budget) {
    struct router router = {.budget = budget};
    router.node = require_memory(budget->net.place_count, sizeof *router.node);
    router.inject = require_memory((size_t)budget->net.place_count + 2, sizeof *router.inject);
    for (uint32_t i = 0; i < budget->scenario->item_count; i++)
        route_item(&router, i);
    load_arms(budget);
    free(router.node);
    free(router.inject);
    free(router.edge);
}
