/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget_greatest.c - the most of a product, the others at the rates needed of them.
 *
 * Unknowns are what each arm carries of each item, how many batches each station makes, what each
 * demand gets, and what crosses each lane's seam. What comes to a lane, line or station must leave
 * it; what comes to a chest may stay. Arms, stations, stretches and supplies have their bounds. What
 * limits the product is the bound whose price makes up most of it (by duality they add up); what
 * limits it next is found without that bound. */
#include "model/budget_net.h"

#include <math.h>
#include <stdlib.h>

#include "model/product.h"
#include "model/simplex.h"
#include "sim/require.h"

enum { NUMBERS_MAX = 30000000 }; /* of a dictionary: above, nothing is said */

enum owner_kind { OWNER_NONE, OWNER_STATION, OWNER_ARM, OWNER_TRACK, OWNER_SUPPLY };

struct owner {
    enum owner_kind kind;
    uint32_t index; /* of a supply: its chest * items + item */
};

/* A linear program in the making: terms are gathered first, because its size comes out last. */
struct term {
    uint32_t row, x;
    double coefficient;
};

struct draft {
    const struct budget *budget;
    uint32_t aim;         /* the product */
    struct owner without; /* whose bound is left away */
    bool has_demand;      /* the product has one */
    struct term *term;
    size_t term_count, term_room;
    double *bound;
    struct owner *owner;
    uint32_t rows, row_room;
    uint32_t first_station, first_met, first_seam, columns;
    uint32_t *met_place; /* [met] index of chest and item in the net's lists */
    uint32_t met_count;
};

static uint32_t add_row(struct draft *draft, double bound, enum owner_kind kind, uint32_t index) {
    if (draft->rows == draft->row_room) {
        draft->row_room = 2 * draft->row_room + 64;
        draft->bound = require_more_memory(draft->bound, draft->row_room, sizeof *draft->bound);
        draft->owner = require_more_memory(draft->owner, draft->row_room, sizeof *draft->owner);
    }
    draft->bound[draft->rows] = bound;
    draft->owner[draft->rows] = (struct owner){kind, index};
    return draft->rows++;
}

static void add_term(struct draft *draft, uint32_t row, uint32_t x, double coefficient) {
    if (draft->term_count == draft->term_room) {
        draft->term_room = 2 * draft->term_room + 256;
        draft->term = require_more_memory(draft->term, draft->term_room, sizeof *draft->term);
    }
    draft->term[draft->term_count++] = (struct term){row, x, coefficient};
}

static bool is_without(const struct draft *draft, enum owner_kind kind, uint32_t index) {
    return draft->without.kind == kind && draft->without.index == index;
}

/* ---- what comes and goes ---- */

/* Terms of an item at a place: what comes counts `sign`, what goes -`sign`. */
static void balance_arms(struct draft *draft, uint32_t row, uint32_t place, uint32_t item,
                         double sign) {
    const struct budget_net *net = &draft->budget->net;
    const struct scenario *scenario = net->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        bool from = budget_from(scenario, i) == place, to = budget_to(scenario, i) == place;
        for (uint32_t n = 0; from != to && n < scenario->arm[i].item_count; n++)
            if (scenario->arm[i].item[n] == item && budget_carries_on(net, i, n))
                add_term(draft, row, net->first[i] + n, to ? sign : -sign);
    }
}

static void balance_station(struct draft *draft, uint32_t row, uint32_t place, uint32_t item,
                            double sign) {
    const struct scenario *scenario = draft->budget->scenario;
    uint32_t station = place - scenario->chest_count;
    bool is_output = station < scenario->station_count;
    station = is_output ? station : station - scenario->station_count;
    double amount = is_output ? budget_makes(scenario, station, item)
                              : -budget_takes(scenario, station, item);
    if (amount != 0)
        add_term(draft, row, draft->first_station + station, sign * amount);
}

/* What comes must go. */
static void add_equal(struct draft *draft, uint32_t place, uint32_t item) {
    const struct scenario *scenario = draft->budget->scenario;
    bool is_station = place < budget_track_place(scenario, 0);
    for (double sign = -1; sign <= 1; sign += 2) {
        uint32_t row = add_row(draft, 0, OWNER_NONE, 0);
        balance_arms(draft, row, place, item, sign);
        if (is_station)
            balance_station(draft, row, place, item, sign);
    }
}

/* What goes must have come, or is supplied. */
static void add_chest(struct draft *draft, uint32_t chest, uint32_t item) {
    const struct budget_net *net = &draft->budget->net;
    size_t at = budget_at(net->scenario, chest, item);
    if (net->unlimited[at] || is_without(draft, OWNER_SUPPLY, (uint32_t)at))
        return;
    bool supplied = net->supply[at] > 0;
    uint32_t row = add_row(draft, net->supply[at], supplied ? OWNER_SUPPLY : OWNER_NONE,
                           (uint32_t)at);
    balance_arms(draft, row, chest, item, -1);
    for (uint32_t k = 0; k < draft->met_count; k++)
        if (draft->met_place[k] == at)
            add_term(draft, row, draft->first_met + k, 1);
}

static void add_balances(struct draft *draft) {
    const struct budget_net *net = &draft->budget->net;
    const struct scenario *scenario = net->scenario;
    for (uint32_t place = 0; place < net->place_count; place++)
        for (uint32_t item = 0; item < scenario->item_count; item++) {
            bool there = net->lasts[budget_at(scenario, place, item)];
            uint32_t station = place - scenario->chest_count - scenario->station_count;
            bool is_input = place >= budget_input_place(scenario, 0) &&
                            place < budget_track_place(scenario, 0);
            if (place < scenario->chest_count)
                add_chest(draft, place, item);
            else if (there || (is_input && budget_takes(scenario, station, item) > 0))
                add_equal(draft, place, item);
        }
}

/* ---- bounds ---- */

static void add_arms(struct draft *draft) {
    const struct budget *budget = draft->budget;
    for (uint32_t i = 0; i < budget->scenario->arm_count; i++) {
        if (is_without(draft, OWNER_ARM, i))
            continue;
        uint32_t row = add_row(draft, budget->arm[i].steady, OWNER_ARM, i);
        for (uint32_t n = 0; n < budget->scenario->arm[i].item_count; n++)
            if (budget_carries_on(&budget->net, i, n))
                add_term(draft, row, budget->net.first[i] + n, 1);
    }
}

static void add_stations(struct draft *draft) {
    const struct budget *budget = draft->budget;
    for (uint32_t s = 0; s < budget->scenario->station_count; s++)
        if (!is_without(draft, OWNER_STATION, s))
            add_term(draft, add_row(draft, budget->station[s].greatest, OWNER_STATION, s),
                     draft->first_station + s, 1);
}

/* What of an item passes a cell: the seam's flow, and what arms up to there put on, less what they
 * took off. */
static void passing(struct draft *draft, uint32_t row, uint32_t track, uint32_t cell,
                    uint32_t item, double factor) {
    const struct budget_net *net = &draft->budget->net;
    const struct scenario *scenario = net->scenario;
    if (track < scenario->lane_count)
        add_term(draft, row, draft->first_seam + track * scenario->item_count + item, factor);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        bool to = budget_track(scenario, arm->to) == track && arm->to.cell <= cell;
        bool from = budget_track(scenario, arm->from) == track && arm->from.cell <= cell;
        for (uint32_t n = 0; to != from && n < arm->item_count; n++)
            if (arm->item[n] == item && budget_carries_on(net, i, n))
                add_term(draft, row, net->first[i] + n, to ? factor : -factor);
    }
}

static void add_track(struct draft *draft, uint32_t track) {
    const struct budget *budget = draft->budget;
    const struct scenario *scenario = budget->scenario;
    const struct budget_track *row_of = &budget->track[track];
    for (uint32_t k = 0; k < row_of->stretch_count; k++) {
        uint32_t cell = budget->stretch[row_of->first_stretch + k].from_cell;
        bool bounded = !is_without(draft, OWNER_TRACK, track);
        uint32_t all = bounded ? add_row(draft, row_of->rate, OWNER_TRACK, track) : NO_INDEX;
        for (uint32_t item = 0; item < scenario->item_count; item++) {
            if (!budget->net.lasts[budget_at(scenario, budget_track_place(scenario, track), item)])
                continue;
            uint32_t row = add_row(draft, 0, OWNER_NONE, 0);
            passing(draft, row, track, cell, item, -1);
            if (bounded)
                passing(draft, all, track, cell, item, scenario->item[item].length);
        }
    }
}

static void add_demands(struct draft *draft) {
    const struct budget *budget = draft->budget;
    for (uint32_t k = 0; k < draft->met_count; k++) {
        uint32_t item = draft->met_place[k] % budget->scenario->item_count;
        if (item != draft->aim)
            add_term(draft, add_row(draft, budget->net.demand[draft->met_place[k]], OWNER_NONE, 0),
                     draft->first_met + k, 1);
    }
}

static void list_demands(struct draft *draft) {
    const struct budget_net *net = &draft->budget->net;
    size_t count = (size_t)net->scenario->chest_count * net->scenario->item_count;
    draft->met_place = require_memory(net->scenario->demand_count, sizeof *draft->met_place);
    for (size_t at = 0; at < count; at++)
        if (net->demand[at] > 0) {
            draft->has_demand = draft->has_demand ||
                                at % net->scenario->item_count == draft->aim;
            draft->met_place[draft->met_count++] = (uint32_t)at;
        }
}

static void draft_rows(struct draft *draft) {
    const struct budget *budget = draft->budget;
    const struct scenario *scenario = budget->scenario;
    list_demands(draft);
    draft->first_station = budget->net.first[scenario->arm_count];
    draft->first_met = draft->first_station + scenario->station_count;
    draft->first_seam = draft->first_met + draft->met_count;
    draft->columns = draft->first_seam + scenario->lane_count * scenario->item_count;
    add_stations(draft);
    add_arms(draft);
    for (uint32_t track = 0; track < budget->track_count; track++)
        add_track(draft, track);
    add_balances(draft);
    add_demands(draft);
}

static void draft_free(struct draft *draft) {
    free(draft->term);
    free(draft->bound);
    free(draft->owner);
    free(draft->met_place);
}

/* ---- solving ---- */

static void aim(const struct draft *draft, struct simplex *simplex) {
    const struct budget *budget = draft->budget;
    const struct scenario *scenario = budget->scenario;
    for (uint32_t k = 0; k < draft->met_count; k++) {
        bool own = draft->met_place[k] % scenario->item_count == draft->aim;
        simplex_aim(simplex, own ? 1 : 0, draft->first_met + k,
                    own ? 1 : 1 / budget->net.demand[draft->met_place[k]]);
    }
    for (uint32_t s = 0; !draft->has_demand && s < scenario->station_count; s++)
        simplex_aim(simplex, 1, draft->first_station + s, budget_makes(scenario, s, draft->aim));
}

/* The bound that is most of what limits the product. */
static struct owner limit_of(const struct draft *draft, const struct simplex *simplex) {
    struct owner best = {OWNER_NONE, 0};
    double most = 1e-7;
    for (uint32_t row = 0; row < draft->rows; row++) {
        double part = simplex_price(simplex, row) * draft->bound[row];
        if (draft->owner[row].kind == OWNER_NONE || part <= most)
            continue;
        most = part * (1 + 1e-9);
        best = draft->owner[row];
    }
    return best;
}

static bool greatest_of(const struct budget *budget, uint32_t item, struct owner without,
                        double *greatest, struct owner *limit) {
    struct draft draft = {.budget = budget, .aim = item, .without = without};
    draft_rows(&draft);
    bool solved = (double)draft.rows * draft.columns <= NUMBERS_MAX;
    if (solved) {
        struct simplex simplex;
        simplex_init(&simplex, draft.rows, draft.columns);
        for (size_t i = 0; i < draft.term_count; i++)
            simplex_add(&simplex, draft.term[i].row, draft.term[i].x, draft.term[i].coefficient);
        for (uint32_t row = 0; row < draft.rows; row++)
            simplex_bound(&simplex, row, draft.bound[row]);
        aim(&draft, &simplex);
        solved = simplex_solve(&simplex);
        *greatest = simplex_value(&simplex, 1);
        *limit = limit_of(&draft, &simplex);
        simplex_free(&simplex);
    }
    draft_free(&draft);
    return solved;
}

static const char *supply_name(const struct scenario *scenario, uint32_t at) {
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (budget_at(scenario, scenario->supply[i].chest, scenario->supply[i].item) == at)
            return scenario->supply[i].name;
    return NULL;
}

static const char *owner_name(const struct scenario *scenario, struct owner owner) {
    switch (owner.kind) {
    case OWNER_NONE: return NULL;
    case OWNER_STATION: return scenario->station[owner.index].name;
    case OWNER_ARM: return scenario->arm[owner.index].name;
    case OWNER_TRACK: return budget_track_name(scenario, owner.index);
    case OWNER_SUPPLY: return supply_name(scenario, owner.index);
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
                !budget->net.lasts[budget_at(scenario, budget_input_place(scenario, s), input)])
                return scenario->item[input].name;
        }
    return NULL;
}

static void find_greatest(struct budget *budget, struct budget_product *product) {
    const struct scenario *scenario = budget->scenario;
    struct owner limit, next;
    double more;
    product->needed = budget->item[product->item].demanded > 0
                          ? budget->item[product->item].demanded : NAN;
    product->is_known = greatest_of(budget, product->item, (struct owner){OWNER_NONE, 0},
                                    &product->greatest, &limit);
    if (!product->is_known)
        return;
    product->greatest = product->greatest < 1e-9 ? 0 : product->greatest;
    product->bottleneck = owner_name(scenario, limit);
    if (product->greatest <= 0)
        product->bottleneck = missing_input(budget, product->item);
    else if (limit.kind != OWNER_NONE && greatest_of(budget, product->item, limit, &more, &next))
        product->next = owner_name(scenario, next);
    if (product->needed > product->greatest * (1 + 1e-7)) {
        budget->demand_met = false;
        budget_texts_add(&budget->notes, "%s: %.4g a minute are needed, %.4g can be had",
                         scenario->item[product->item].name, 60 * product->needed,
                         60 * product->greatest);
    }
}

void budget_greatest(struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    bool *product = require_memory(scenario->item_count, sizeof *product);
    product_mark(scenario, product);
    budget->product = require_memory(scenario->item_count, sizeof *budget->product);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (product[i])
            budget->product[budget->product_count++].item = i;
    for (uint32_t i = 0; i < budget->product_count; i++)
        find_greatest(budget, &budget->product[i]);
    free(product);
}
