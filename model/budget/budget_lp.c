/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_lp.c - rows and columns of GLPK count from 1. */
#include "model/budget/budget_lp.h"

#include <glpk.h>
#include <math.h>
#include <stdlib.h>

#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "sim/require.h"
#include "sim/solver.h"

enum { STEPS_MAX = 200000 };
enum { WORK_MAX = 2000000 };      /* of products times entries: some ten seconds */
static const double slack = 1e-9; /* of what the other demands get, when this one is raised */

/* What a column brings to a place, or takes from it (less than 0). */
struct flow {
    uint32_t pair; /* of place and item */
    int column;
    double amount;
};

/* What an arm puts on a lane or line (1) or takes off (-1). */
struct ride {
    uint32_t track, item, cell;
    int column;
    double sign;
};

struct budget_lp {
    const struct budget *budget;
    glp_prob *problem;
    struct budget_owner *row_owner, *column_owner;
    int row_room;
    int first_station, first_met, first_seam, first_load, columns;
    bool arms_sure;     /* bounds of arms are the rates that are sure, not the steady ones */
    int others;         /* the row of what the other demands get, in shares of what they ask */
    uint32_t *met_pair; /* [met] chest and item */
    uint32_t met_count;
    struct flow *flow;
    size_t flow_count;
    struct ride *ride;
    size_t ride_count;
    /* the row in hand: */
    int count;
    int *at; /* from 1, as GLPK takes it */
    double *coefficient;
    int *entry; /* [column] its place in `at`; 0: none yet */
};

static const struct scenario *scenario_of(const struct budget_lp *program) {
    return program->budget->scenario;
}

/* ---- rows ---- */

static void add(struct budget_lp *program, int column, double coefficient) {
    if (program->entry[column] == 0) {
        program->entry[column] = ++program->count;
        program->at[program->count] = column;
        program->coefficient[program->count] = 0;
    }
    program->coefficient[program->entry[column]] += coefficient;
}

static void grow_owners(struct budget_lp *program, int row) {
    if (row < program->row_room)
        return;
    program->row_room = 2 * row + 64;
    program->row_owner = require_more_memory(program->row_owner, (size_t)program->row_room,
                                             sizeof *program->row_owner);
}

/* The row in hand is done: `kind` is GLP_FX (equals the bound), GLP_UP or GLP_LO. */
static int end_row(struct budget_lp *program, int kind, double bound, struct budget_owner owner) {
    int row = glp_add_rows(program->problem, 1);
    glp_set_row_bnds(program->problem, row, kind, bound, bound);
    glp_set_mat_row(program->problem, row, program->count, program->at, program->coefficient);
    grow_owners(program, row);
    program->row_owner[row] = owner;
    for (int i = 1; i <= program->count; i++)
        program->entry[program->at[i]] = 0;
    program->count = 0;
    return row;
}

static const struct budget_owner nobody = {BOUND_NONE, 0};

/* ---- columns ---- */

static int flow_column(uint32_t entry) { return (int)(1 + entry); }

static int seam_column(const struct budget_lp *program, uint32_t lane, uint32_t item) {
    return program->first_seam + (int)(lane * scenario_of(program)->item_count + item);
}

static void list_demands(struct budget_lp *program) {
    const struct budget_net *net = program->budget->net;
    program->met_pair = require_memory(net->scenario->demand_count, sizeof *program->met_pair);
    for (uint32_t pair = 0; pair < net->pair_count; pair++)
        if (net->demand[pair] > 0)
            program->met_pair[program->met_count++] = pair;
}

static void add_columns(struct budget_lp *program) {
    const struct budget *budget = program->budget;
    const struct scenario *scenario = budget->scenario;
    program->first_station = (int)(1 + budget->net->first_entry[scenario->arm_count]);
    program->first_met = program->first_station + (int)scenario->station_count;
    program->first_seam = program->first_met + (int)program->met_count;
    program->first_load = program->first_seam + (int)(scenario->lane_count * scenario->item_count);
    program->columns = program->first_load + (int)budget->stretch_count - 1;
    if (program->columns > 0)
        glp_add_cols(program->problem, program->columns);
    for (int column = 1; column <= program->columns; column++)
        glp_set_col_bnds(program->problem, column, GLP_LO, 0, 0);
    size_t room = (size_t)program->columns + 2;
    program->column_owner = require_memory(room, sizeof *program->column_owner);
    program->at = require_memory(room, sizeof *program->at);
    program->coefficient = require_memory(room, sizeof *program->coefficient);
    program->entry = require_memory(room, sizeof *program->entry);
}

static void bound_column(struct budget_lp *program, int column, double bound,
                         enum budget_bound_kind kind, uint32_t index) {
    glp_set_col_bnds(program->problem, column, bound > 0 ? GLP_DB : GLP_FX, 0, bound);
    program->column_owner[column] = (struct budget_owner){kind, index};
}

static void add_stations(struct budget_lp *program) {
    for (uint32_t s = 0; s < scenario_of(program)->station_count; s++)
        bound_column(program, program->first_station + (int)s, program->budget->station[s].greatest,
                     BOUND_STATION, s);
}

static void add_arms(struct budget_lp *program) {
    const struct budget_net *net = program->budget->net;
    for (uint32_t i = 0; i < net->scenario->arm_count; i++) {
        for (uint32_t entry = net->first_entry[i]; entry < net->first_entry[i + 1]; entry++)
            add(program, flow_column(entry), 1);
        end_row(program, GLP_UP, program->budget->arm[i].steady,
                (struct budget_owner){BOUND_ARM, i});
    }
}

/* ---- what comes and goes ---- */

static void note_flow(struct budget_lp *program, uint32_t pair, int column, double amount) {
    program->flow[program->flow_count++] = (struct flow){pair, column, amount};
}

static void note_arms(struct budget_lp *program) {
    const struct budget_net *net = program->budget->net;
    uint32_t entries = net->first_entry[net->scenario->arm_count];
    for (uint32_t entry = 0; entry < entries; entry++) {
        int column = flow_column(entry);
        if (!net->reachable_long_run[net->source_pair[entry]]) {
            glp_set_col_bnds(program->problem, column, GLP_FX, 0, 0);
            continue;
        }
        note_flow(program, net->source_pair[entry], column, -1);
        note_flow(program, net->target_pair[entry], column, 1);
    }
}

static void note_stations(struct budget_lp *program) {
    const struct budget_net *net = program->budget->net;
    for (uint32_t s = 0; s < net->scenario->station_count; s++) {
        const struct scenario_station *station = &net->scenario->station[s];
        uint32_t out = layout_output_place(net->scenario, s);
        uint32_t in = layout_input_place(net->scenario, s);
        int column = program->first_station + (int)s;
        for (uint32_t i = 0; i < station->makes_count; i++)
            note_flow(program, budget_place_item_index(net, out, station->makes[i].item), column,
                      budget_yield(&station->makes[i]));
        for (uint32_t i = 0; i < station->takes.count; i++)
            note_flow(program, budget_place_item_index(net, in, station->takes.entry[i].item),
                      column, -(double)station->takes.entry[i].count);
    }
}

static int by_place(const void *first, const void *second) {
    const struct flow *a = first, *b = second;
    if (a->pair != b->pair)
        return a->pair < b->pair ? -1 : 1;
    return (a->column > b->column) - (a->column < b->column);
}

/* How many entries arms and stations have in all. */
static size_t count_entries(const struct scenario *scenario) {
    size_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        count += scenario->arm[i].item_count;
    for (uint32_t s = 0; s < scenario->station_count; s++)
        count += scenario->station[s].makes_count + scenario->station[s].takes.count;
    return count + scenario->demand_count;
}

static void gather_flows(struct budget_lp *program) {
    program->flow = require_memory(2 * count_entries(scenario_of(program)), sizeof *program->flow);
    note_arms(program);
    note_stations(program);
    for (uint32_t k = 0; k < program->met_count; k++)
        program->flow[program->flow_count++] =
            (struct flow){program->met_pair[k], program->first_met + (int)k, -1};
    qsort(program->flow, program->flow_count, sizeof *program->flow, by_place);
}

/* Ends the row of all flows at a place: of a chest, what goes must have come or is supplied. */
static void end_balance(struct budget_lp *program, uint32_t pair) {
    const struct budget_net *net = program->budget->net;
    if (net->pair_place[pair] >= net->scenario->chest_count)
        end_row(program, GLP_FX, 0, nobody);
    else if (net->supply[pair] > 0)
        end_row(program, GLP_LO, -net->supply[pair], (struct budget_owner){BOUND_SUPPLY, pair});
    else
        end_row(program, GLP_LO, 0, nobody);
}

static void add_balances(struct budget_lp *program) {
    gather_flows(program);
    for (size_t i = 0; i < program->flow_count;) {
        uint32_t pair = program->flow[i].pair;
        bool unlimited = program->budget->net->unlimited[pair];
        for (; i < program->flow_count && program->flow[i].pair == pair; i++)
            if (!unlimited)
                add(program, program->flow[i].column, program->flow[i].amount);
        if (!unlimited)
            end_balance(program, pair);
    }
}

/* ---- what passes ---- */

static void note_ride(struct budget_lp *program, struct place place, uint32_t item, int column,
                      double sign) {
    uint32_t track = layout_track(scenario_of(program), place);
    if (track != NO_INDEX)
        program->ride[program->ride_count++] = (struct ride){track, item, place.cell, column, sign};
}

static void gather_rides(struct budget_lp *program) {
    const struct scenario *scenario = scenario_of(program);
    const struct budget_net *net = program->budget->net;
    program->ride = require_memory(2 * count_entries(scenario), sizeof *program->ride);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        for (uint32_t entry = net->first_entry[i]; entry < net->first_entry[i + 1]; entry++) {
            int column = flow_column(entry);
            note_ride(program, scenario->arm[i].to, net->entry_item[entry], column, 1);
            note_ride(program, scenario->arm[i].from, net->entry_item[entry], column, -1);
        }
}

static int by_item(const void *first, const void *second) {
    const struct ride *a = first, *b = second;
    if (a->track != b->track)
        return a->track < b->track ? -1 : 1;
    if (a->item != b->item)
        return a->item < b->item ? -1 : 1;
    if (a->cell != b->cell)
        return a->cell < b->cell ? -1 : 1;
    return (a->column > b->column) - (a->column < b->column);
}

static int by_cell(const void *first, const void *second) {
    const struct ride *a = first, *b = second;
    if (a->track != b->track)
        return a->track < b->track ? -1 : 1;
    if (a->cell != b->cell)
        return a->cell < b->cell ? -1 : 1;
    return (a->column > b->column) - (a->column < b->column);
}

/* Of an item, from the seam up to and with the rides before `end`: what passes there. */
static void add_passing(struct budget_lp *program, const struct ride *ride, size_t begin,
                        size_t end) {
    if (ride[begin].track < scenario_of(program)->lane_count)
        add(program, seam_column(program, ride[begin].track, ride[begin].item), 1);
    for (size_t i = begin; i < end; i++)
        add(program, ride[i].column, ride[i].sign);
    end_row(program, GLP_LO, 0, nobody);
}

static bool same_item(const struct ride *a, const struct ride *b) {
    return a->track == b->track && a->item == b->item;
}

/* No taker takes more than comes by. Elsewhere what passes cannot sink, so it need not be asked. */
static void add_takers(struct budget_lp *program) {
    const struct ride *ride = program->ride;
    qsort(program->ride, program->ride_count, sizeof *ride, by_item);
    for (size_t begin = 0; begin < program->ride_count;) {
        size_t end = begin;
        for (; end < program->ride_count && same_item(&ride[begin], &ride[end]); end++) {
            bool last_of_cell = end + 1 == program->ride_count ||
                                !same_item(&ride[begin], &ride[end + 1]) ||
                                ride[end + 1].cell != ride[end].cell;
            if (last_of_cell)
                add_passing(program, ride, begin, end + 1);
        }
        begin = end;
    }
}

/* What passes on a stretch is what passes on the one before, and what its arms put on or take
 * off. */
static void add_loads(struct budget_lp *program) {
    const struct budget *budget = program->budget;
    const struct scenario *scenario = budget->scenario;
    qsort(program->ride, program->ride_count, sizeof *program->ride, by_cell);
    size_t next = 0;
    for (uint32_t k = 0; k < budget->stretch_count; k++) {
        const struct budget_stretch *stretch = &budget->stretch[k];
        const struct budget_track *track = &budget->track[stretch->track];
        int load = program->first_load + (int)k;
        bool is_first = k == track->first_stretch;
        add(program, load, -1);
        if (!is_first)
            add(program, load - 1, 1);
        for (uint32_t i = 0;
             is_first && stretch->track < scenario->lane_count && i < scenario->item_count; i++)
            add(program, seam_column(program, stretch->track, i), scenario->item[i].length);
        for (; next < program->ride_count && program->ride[next].track == stretch->track &&
               program->ride[next].cell <= stretch->from_cell;
             next++)
            add(program, program->ride[next].column,
                program->ride[next].sign * scenario->item[program->ride[next].item].length);
        end_row(program, GLP_FX, 0, nobody);
        bound_column(program, load, track->rate, BOUND_TRACK, stretch->track);
    }
}

/* ---- all of it ---- */

static bool is_too_large(const struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    size_t entries = (size_t)scenario->lane_count * scenario->item_count + count_entries(scenario);
    return entries * budget->product_count > WORK_MAX;
}

struct budget_lp *budget_lp_new(const struct budget *budget) {
    if (is_too_large(budget))
        return NULL;
    struct budget_lp *program = require_memory(1, sizeof *program);
    program->budget = budget;
    solver_begin();
    program->problem = glp_create_prob();
    glp_set_obj_dir(program->problem, GLP_MAX);
    list_demands(program);
    add_columns(program);
    add_stations(program);
    add_arms(program);
    add_balances(program);
    gather_rides(program);
    add_takers(program);
    add_loads(program);
    program->others = end_row(program, GLP_FR, 0, nobody);
    return program;
}

void budget_lp_free(struct budget_lp *program) {
    if (program == NULL)
        return;
    glp_delete_prob(program->problem);
    free(program->row_owner);
    free(program->column_owner);
    free(program->met_pair);
    free(program->flow);
    free(program->ride);
    free(program->at);
    free(program->coefficient);
    free(program->entry);
    free(program);
}

/* ---- one question ---- */

static bool is_own(const struct budget_lp *program, uint32_t met, uint32_t item) {
    return program->budget->net->pair_item[program->met_pair[met]] == item;
}

static bool has_demand(const struct budget_lp *program, uint32_t item) {
    for (uint32_t k = 0; k < program->met_count; k++)
        if (is_own(program, k, item))
            return true;
    return false;
}

static double share_of(const struct budget_lp *program, uint32_t met) {
    return 1 / program->budget->net->demand[program->met_pair[met]];
}

/* The other demands get no more than they ask for; this one, as much as there is. */
static void bound_demands(struct budget_lp *program, uint32_t item) {
    for (uint32_t k = 0; k < program->met_count; k++) {
        int column = program->first_met + (int)k;
        bool own = is_own(program, k, item);
        glp_set_col_bnds(program->problem, column, own ? GLP_LO : GLP_DB, 0,
                         program->budget->net->demand[program->met_pair[k]]);
        if (!own)
            add(program, column, share_of(program, k));
    }
    glp_set_row_bnds(program->problem, program->others, GLP_FR, 0, 0);
    glp_set_mat_row(program->problem, program->others, program->count, program->at,
                    program->coefficient);
    for (int i = 1; i <= program->count; i++)
        program->entry[program->at[i]] = 0;
    program->count = 0;
}

static void aim_at_others(struct budget_lp *program, uint32_t item) {
    for (int column = 1; column <= program->columns; column++)
        glp_set_obj_coef(program->problem, column, 0);
    for (uint32_t k = 0; k < program->met_count; k++)
        if (!is_own(program, k, item))
            glp_set_obj_coef(program->problem, program->first_met + (int)k, share_of(program, k));
}

static void aim_at(struct budget_lp *program, uint32_t item) {
    const struct scenario *scenario = scenario_of(program);
    bool demanded = has_demand(program, item);
    for (int column = 1; column <= program->columns; column++)
        glp_set_obj_coef(program->problem, column, 0);
    for (uint32_t k = 0; k < program->met_count; k++)
        if (is_own(program, k, item))
            glp_set_obj_coef(program->problem, program->first_met + (int)k, 1);
    for (uint32_t s = 0; !demanded && s < scenario->station_count; s++)
        glp_set_obj_coef(program->problem, program->first_station + (int)s,
                         budget_makes(scenario, s, item));
}

static bool solve(struct budget_lp *program) {
    glp_smcp way;
    glp_init_smcp(&way);
    way.msg_lev = GLP_MSG_OFF;
    way.it_lim = STEPS_MAX;
    return glp_simplex(program->problem, &way) == 0 && glp_get_status(program->problem) == GLP_OPT;
}

static bool is_owner(struct budget_owner a, struct budget_owner b) {
    return a.kind != BOUND_NONE && a.kind == b.kind && a.index == b.index;
}

static double bound_of(const struct budget_lp *program, struct budget_owner owner) {
    const struct budget *budget = program->budget;
    switch (owner.kind) {
    case BOUND_STATION: return budget->station[owner.index].greatest;
    case BOUND_ARM:
        return program->arms_sure ? budget->arm[owner.index].sure : budget->arm[owner.index].steady;
    case BOUND_TRACK: return budget->track[owner.index].rate;
    case BOUND_SUPPLY: return budget->net->supply[owner.index];
    case BOUND_NONE: break;
    }
    return 0;
}

/* Sets all bounds, but for those of `without`, each a little above what it is, by its kind:
 * `ease`. */
static void set_bounds(struct budget_lp *program, struct budget_owner without,
                       const double ease[BOUND_SUPPLY + 1]) {
    for (int row = 1; row <= glp_get_num_rows(program->problem); row++) {
        struct budget_owner owner = program->row_owner[row];
        double bound = bound_of(program, owner) * ease[owner.kind];
        bool supply = owner.kind == BOUND_SUPPLY;
        if (owner.kind != BOUND_NONE)
            glp_set_row_bnds(program->problem, row,
                             is_owner(owner, without) ? GLP_FR
                             : supply                 ? GLP_LO
                                                      : GLP_UP,
                             supply ? -bound : 0, bound);
    }
    for (int column = 1; column <= program->columns; column++) {
        struct budget_owner owner = program->column_owner[column];
        if (is_owner(owner, without))
            glp_set_col_bnds(program->problem, column, GLP_LO, 0, 0);
        else if (owner.kind != BOUND_NONE)
            bound_column(program, column, bound_of(program, owner) * ease[owner.kind], owner.kind,
                         owner.index);
    }
}

struct dearest {
    struct budget_owner owner;
    double most;
};

static void weigh(const struct budget_lp *program, struct budget_owner owner, double price,
                  struct dearest *dearest) {
    double part = fabs(price) * bound_of(program, owner);
    if (owner.kind == BOUND_NONE || part <= dearest->most)
        return;
    *dearest = (struct dearest){owner, part * (1 + 1e-9)};
}

/* The bound that is most of what limits the product. */
static struct budget_owner limit_of(const struct budget_lp *program) {
    struct dearest dearest = {nobody, 1e-7};
    for (int column = 1; column <= program->columns; column++)
        weigh(program, program->column_owner[column], glp_get_col_dual(program->problem, column),
              &dearest);
    for (int row = 1; row <= glp_get_num_rows(program->problem); row++)
        weigh(program, program->row_owner[row], glp_get_row_dual(program->problem, row), &dearest);
    return dearest.owner;
}

/* Raises what the others get, then the item. */
static bool climb(struct budget_lp *program, uint32_t item) {
    bound_demands(program, item);
    aim_at_others(program, item);
    if (!solve(program))
        return false;
    double others = glp_get_obj_val(program->problem);
    glp_set_row_bnds(program->problem, program->others, GLP_LO, others * (1 - slack), 0);
    aim_at(program, item);
    return solve(program);
}

/* Where several bounds limit alike, the first of station, arm, lane and supply is named: the others
 * are eased a little when it is asked who limits. */
bool budget_lp_greatest(struct budget_lp *program, uint32_t item, struct budget_owner without,
                        double *greatest, struct budget_owner *limit) {
    static const double as_it_is[] = {1, 1, 1, 1, 1};
    static const double eased[] = {1, 1, 1 + 1e-6, 1 + 2e-6, 1 + 3e-6};
    set_bounds(program, without, as_it_is);
    if (!climb(program, item))
        return false;
    *greatest = glp_get_obj_val(program->problem);
    set_bounds(program, without, eased);
    if (!climb(program, item))
        return false;
    *limit = limit_of(program);
    return true;
}

bool budget_lp_sure(struct budget_lp *program, uint32_t item, double *sure) {
    static const double as_it_is[] = {1, 1, 1, 1, 1};
    program->arms_sure = true;
    set_bounds(program, nobody, as_it_is);
    bool found = climb(program, item);
    program->arms_sure = false;
    *sure = found ? glp_get_obj_val(program->problem) : 0;
    return found;
}
