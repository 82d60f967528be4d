/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_explode.c - what is demanded, taken back through the recipes to what must be
 * brought.
 *
 * Each station works for one of its outputs, or for none: the one that asks most of it. An item
 * that stations work for gives one equation, "what all stations make of it, less what they use, is
 * what is demanded", with one unknown, how hard those stations work for it (each in proportion to
 * what it can). Which items those are is found by trying: whatever is short and not supplied is
 * added, what comes in excess as a by-product is let go. Equations that have unknowns in common
 * form a block; each block is solved by LU. */
#include "model/budget/budget_explode.h"

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

#include "model/budget/budget_group.h"
#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "sim/require.h"

static const double tiny = 1e-9;

/* What a station that works for one item makes or takes of another, at full rate. */
struct coefficient {
    uint32_t row, column;
    double amount;
};

/* Equations that have unknowns in common, and none with others. */
struct block {
    const uint32_t *column; /* its columns, and rows */
    uint32_t size;
    const uint32_t *coefficient;
    uint32_t coefficient_count;
    gsl_matrix *a;
    gsl_vector *b;
};

struct explosion {
    struct budget *budget;
    uint32_t *driver; /* [station] item that it works for, NO_INDEX: none */
    uint32_t *column; /* [item] its equation, NO_INDEX: nobody works for it */
    uint32_t *tries;  /* [item] how often it was added */
    double *supply;   /* [item] at most, all chests together; INFINITY: unlimited */
    bool *spent;      /* [item] supplies are not enough */
    double *level;    /* [column] solution */
    uint32_t *item_of_column;
    uint32_t *block; /* [column] the first column of its block */
    uint32_t *place; /* [column] which row and column of its block it is */
    struct coefficient *coefficient;
    uint32_t coefficient_count;
    uint32_t columns;
};

enum { TRIES_MAX = 3 };

static size_t count_entries(const struct scenario *scenario) {
    size_t count = 0;
    for (uint32_t s = 0; s < scenario->station_count; s++)
        count += scenario->station[s].makes_count + scenario->station[s].takes.count;
    return count;
}

static void explosion_init(struct explosion *explosion, struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    *explosion = (struct explosion){.budget = budget};
    explosion->driver = require_memory(scenario->station_count, sizeof *explosion->driver);
    explosion->column = require_memory(scenario->item_count, sizeof *explosion->column);
    explosion->tries = require_memory(scenario->item_count, sizeof *explosion->tries);
    explosion->supply = require_memory(scenario->item_count, sizeof *explosion->supply);
    explosion->spent = require_memory(scenario->item_count, sizeof *explosion->spent);
    explosion->level = require_memory(scenario->item_count, sizeof *explosion->level);
    explosion->item_of_column =
        require_memory(scenario->item_count, sizeof *explosion->item_of_column);
    explosion->coefficient =
        require_memory(count_entries(scenario), sizeof *explosion->coefficient);
    explosion->block = require_memory(scenario->item_count, sizeof *explosion->block);
    explosion->place = require_memory(scenario->item_count, sizeof *explosion->place);
    for (uint32_t s = 0; s < scenario->station_count; s++)
        explosion->driver[s] = NO_INDEX;
    const struct budget_net *net = budget->net;
    for (uint32_t pair = 0; pair < net->pair_count; pair++) {
        uint32_t item = net->pair_item[pair];
        explosion->supply[item] += net->unlimited[pair] ? INFINITY : net->supply[pair];
        budget->item[item].demanded += net->demand[pair];
    }
}

static void explosion_free(struct explosion *explosion) {
    free(explosion->driver);
    free(explosion->column);
    free(explosion->tries);
    free(explosion->supply);
    free(explosion->spent);
    free(explosion->level);
    free(explosion->item_of_column);
    free(explosion->coefficient);
    free(explosion->block);
    free(explosion->place);
}

static double net_of(const struct scenario *scenario, uint32_t station, uint32_t item) {
    return budget_makes(scenario, station, item) - budget_takes(scenario, station, item);
}

static bool makes_at_all(const struct scenario_station *station, uint32_t item) {
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].item == item)
            return true;
    return false;
}

/* ---- the system of equations ---- */

static double wanted_of(const struct explosion *explosion, uint32_t item) {
    double supplied = explosion->spent[item] ? explosion->supply[item] : 0;
    return explosion->budget->item[item].demanded - supplied;
}

/* What a station makes of each item that has a row, less what it takes. */
static void list_coefficients(struct explosion *explosion, uint32_t station) {
    const struct scenario *scenario = explosion->budget->scenario;
    const struct scenario_station *fixed = &scenario->station[station];
    uint32_t column = explosion->column[explosion->driver[station]];
    for (uint32_t i = 0; i < fixed->makes_count + fixed->takes.count; i++) {
        bool made = i < fixed->makes_count;
        uint32_t item =
            made ? fixed->makes[i].item : fixed->takes.entry[i - fixed->makes_count].item;
        if (explosion->column[item] == NO_INDEX || (!made && makes_at_all(fixed, item)))
            continue; /* what it takes and makes was seen as an output */
        explosion->coefficient[explosion->coefficient_count++] = (struct coefficient){
            explosion->column[item], column,
            explosion->budget->station[station].greatest * net_of(scenario, station, item)};
    }
}

static void number_columns(struct explosion *explosion) {
    const struct scenario *scenario = explosion->budget->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        explosion->column[i] = NO_INDEX;
    explosion->columns = 0;
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        uint32_t item = explosion->driver[s];
        if (item == NO_INDEX || explosion->column[item] != NO_INDEX)
            continue;
        explosion->item_of_column[explosion->columns] = item;
        explosion->column[item] = explosion->columns++;
    }
    explosion->coefficient_count = 0;
    for (uint32_t s = 0; s < scenario->station_count; s++)
        if (explosion->driver[s] != NO_INDEX)
            list_coefficients(explosion, s);
}

static uint32_t block_of(struct explosion *explosion, uint32_t column) {
    uint32_t *block = explosion->block;
    for (; block[column] != column; column = block[column])
        block[column] = block[block[column]];
    return column;
}

/* Joins the rows and columns that have a coefficient in common; then each column names its block
 * at once. */
static void find_blocks(struct explosion *explosion) {
    for (uint32_t i = 0; i < explosion->columns; i++)
        explosion->block[i] = i;
    for (uint32_t i = 0; i < explosion->coefficient_count; i++) {
        uint32_t one = block_of(explosion, explosion->coefficient[i].row);
        uint32_t other = block_of(explosion, explosion->coefficient[i].column);
        explosion->block[one > other ? one : other] = one > other ? other : one;
    }
    for (uint32_t i = 0; i < explosion->columns; i++)
        explosion->block[i] = block_of(explosion, i);
}

static void fill_block(const struct explosion *explosion, const struct block *block) {
    for (uint32_t i = 0; i < block->size; i++)
        gsl_vector_set(block->b, i,
                       wanted_of(explosion, explosion->item_of_column[block->column[i]]));
    for (uint32_t i = 0; i < block->coefficient_count; i++) {
        const struct coefficient *entry = &explosion->coefficient[block->coefficient[i]];
        *gsl_matrix_ptr(block->a, explosion->place[entry->row], explosion->place[entry->column]) +=
            entry->amount;
    }
}

/* Rows of about the same size, so that a pivot near 0 means what it says. */
static void scale_rows(gsl_matrix *a, gsl_vector *b) {
    for (size_t i = 0; i < a->size1; i++) {
        double most = 0;
        for (size_t j = 0; j < a->size2; j++)
            most = fmax(most, fabs(gsl_matrix_get(a, i, j)));
        for (size_t j = 0; most > 0 && j < a->size2; j++)
            gsl_matrix_set(a, i, j, gsl_matrix_get(a, i, j) / most);
        if (most > 0)
            gsl_vector_set(b, i, gsl_vector_get(b, i) / most);
    }
}

static bool is_singular(const gsl_matrix *lu) {
    for (size_t i = 0; i < lu->size1; i++)
        if (fabs(gsl_matrix_get(lu, i, i)) < tiny)
            return true;
    return false;
}

/* The stations of the circle that a singular block has: those that the smallest singular value's
 * vector names. */
static void report_circle(struct explosion *explosion, const struct block *block) {
    struct budget *budget = explosion->budget;
    size_t n = block->size;
    gsl_matrix *v = gsl_matrix_alloc(n, n);
    gsl_vector *s = gsl_vector_alloc(n), *work = gsl_vector_alloc(n);
    require(v != NULL && s != NULL && work != NULL);
    gsl_linalg_SV_decomp(block->a, v, s, work);
    for (uint32_t k = 0; k < budget->scenario->station_count; k++) {
        uint32_t item = explosion->driver[k];
        uint32_t column = item != NO_INDEX ? explosion->column[item] : NO_INDEX;
        if (column == NO_INDEX || explosion->block[column] != block->column[0] ||
            fabs(gsl_matrix_get(v, explosion->place[column], n - 1)) < 1e-6)
            continue;
        budget_texts_add(&budget->notes,
                         "%s is made in a circle that gives back no more of it than it uses: "
                         "%s cannot work up to the demand",
                         budget->scenario->item[item].name, budget->scenario->station[k].name);
    }
    gsl_matrix_free(v);
    gsl_vector_free(s);
    gsl_vector_free(work);
}

static bool solve_system(struct explosion *explosion, const struct block *block) {
    size_t n = block->size;
    int sign;
    gsl_matrix *lu = gsl_matrix_alloc(n, n);
    gsl_permutation *order = gsl_permutation_alloc(n);
    gsl_vector *x = gsl_vector_alloc(n);
    require(lu != NULL && order != NULL && x != NULL);
    fill_block(explosion, block);
    scale_rows(block->a, block->b);
    gsl_matrix_memcpy(lu, block->a);
    bool solved = gsl_linalg_LU_decomp(lu, order, &sign) == GSL_SUCCESS && !is_singular(lu) &&
                  gsl_linalg_LU_solve(lu, order, block->b, x) == GSL_SUCCESS;
    for (size_t i = 0; solved && i < n; i++)
        explosion->level[block->column[i]] = gsl_vector_get(x, i);
    gsl_matrix_free(lu);
    gsl_permutation_free(order);
    gsl_vector_free(x);
    return solved;
}

static bool solve_block(struct explosion *explosion, struct block *block) {
    block->a = gsl_matrix_calloc(block->size, block->size);
    block->b = gsl_vector_calloc(block->size);
    require(block->a != NULL && block->b != NULL);
    for (uint32_t i = 0; i < block->size; i++)
        explosion->place[block->column[i]] = i;
    bool solved = solve_system(explosion, block);
    if (!solved)
        report_circle(explosion, block);
    gsl_matrix_free(block->a);
    gsl_vector_free(block->b);
    return solved;
}

static bool solve(struct explosion *explosion) {
    number_columns(explosion);
    find_blocks(explosion);
    uint32_t *block_of_coefficient =
        require_memory(explosion->coefficient_count, sizeof *block_of_coefficient);
    for (uint32_t i = 0; i < explosion->coefficient_count; i++)
        block_of_coefficient[i] = explosion->block[explosion->coefficient[i].row];
    struct budget_groups column =
        budget_group_by(explosion->block, explosion->columns, explosion->columns);
    struct budget_groups coefficient =
        budget_group_by(block_of_coefficient, explosion->coefficient_count, explosion->columns);
    bool solved = true;
    for (uint32_t b = 0; b < explosion->columns; b++) {
        uint32_t first = column.first[b], own = coefficient.first[b];
        struct block block = {.column = column.member + first,
                              .size = column.first[b + 1] - first,
                              .coefficient = coefficient.member + own,
                              .coefficient_count = coefficient.first[b + 1] - own};
        solved = (block.size == 0 || solve_block(explosion, &block)) && solved;
    }
    budget_groups_free(&column);
    budget_groups_free(&coefficient);
    free(block_of_coefficient);
    return solved;
}

/* ---- what it means, and what to try next ---- */

static void set_stations(struct explosion *explosion) {
    struct budget *budget = explosion->budget;
    const struct scenario *scenario = budget->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        budget->item[i].made = budget->item[i].used = 0;
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        uint32_t item = explosion->driver[s];
        double level = item == NO_INDEX ? 0 : explosion->level[explosion->column[item]];
        double batches = budget->station[s].needed = level * budget->station[s].greatest;
        for (uint32_t i = 0; i < scenario->station[s].makes_count; i++) {
            const struct station_output *output = &scenario->station[s].makes[i];
            budget->item[output->item].made += batches * budget_yield(output);
        }
        for (uint32_t i = 0; i < scenario->station[s].takes.count; i++) {
            const struct item_count *input = &scenario->station[s].takes.entry[i];
            budget->item[input->item].used += batches * (double)input->count;
        }
    }
}

/* Lets go of items that come in excess even if nobody works for them. */
static bool let_go(struct explosion *explosion) {
    bool changed = false;
    for (uint32_t s = 0; s < explosion->budget->scenario->station_count; s++) {
        uint32_t item = explosion->driver[s];
        if (item == NO_INDEX || explosion->level[explosion->column[item]] >= -tiny)
            continue;
        explosion->driver[s] = NO_INDEX;
        changed = true;
    }
    return changed;
}

static double short_of(const struct explosion *explosion, uint32_t item) {
    const struct budget_item *balance = &explosion->budget->item[item];
    return balance->demanded + balance->used - balance->made;
}

/* Puts the stations that make more of an item than they use to work for it; false: there is none,
 * or it was tried too often, which means that each try asks for more than it brings. */
static bool work_for(struct explosion *explosion, uint32_t item) {
    const struct scenario *scenario = explosion->budget->scenario;
    bool found = false;
    if (explosion->column[item] != NO_INDEX || explosion->tries[item]++ >= TRIES_MAX)
        return false;
    for (uint32_t s = 0; s < scenario->station_count; s++)
        if (net_of(scenario, s, item) > tiny) {
            explosion->driver[s] = item;
            found = true;
        }
    explosion->spent[item] = found && explosion->supply[item] > 0;
    return found;
}

/* Whether it was never worked for, and no station that makes it works for another one. */
static bool is_apart(const struct explosion *explosion, uint32_t item) {
    const struct scenario *scenario = explosion->budget->scenario;
    for (uint32_t s = 0; s < scenario->station_count; s++)
        if (explosion->driver[s] != NO_INDEX && net_of(scenario, s, item) > tiny)
            return false;
    return explosion->tries[item] == 0;
}

/* The first item that is short is worked for, and with it those that are apart from all others:
 * else a system would be solved for each of them. False: none is short, or nothing helps. */
static bool take_up(struct explosion *explosion) {
    bool taken = false;
    for (uint32_t i = 0; i < explosion->budget->scenario->item_count; i++)
        if (short_of(explosion, i) > explosion->supply[i] + tiny &&
            (!taken || is_apart(explosion, i)))
            taken = work_for(explosion, i) || taken;
    return taken;
}

static void settle_items(struct explosion *explosion) {
    struct budget *budget = explosion->budget;
    for (uint32_t i = 0; i < budget->scenario->item_count; i++) {
        struct budget_item *item = &budget->item[i];
        double short_by = short_of(explosion, i);
        item->surplus = short_by < -tiny ? -short_by : 0;
        item->supplied = short_by > tiny ? fmin(short_by, explosion->supply[i]) : 0;
        item->lacking = short_by - item->supplied > tiny ? short_by - item->supplied : 0;
        if (item->lacking <= 0)
            continue;
        budget->demand_met = false;
        budget_texts_add(&budget->notes, "%.4g %s a minute are needed that nothing can bring",
                         60 * item->lacking, budget->scenario->item[i].name);
    }
}

void budget_explode(struct budget *budget) {
    struct explosion explosion;
    explosion_init(&explosion, budget);
    uint32_t left = 4 * (budget->scenario->item_count + budget->scenario->station_count) + 8;
    bool solved = true;
    do {
        solved = solve(&explosion);
        if (!solved)
            break;
        if (let_go(&explosion))
            continue;
        set_stations(&explosion);
        if (!take_up(&explosion))
            break;
    } while (left-- > 0);
    if (!solved) {
        budget->demand_met = false;
        for (uint32_t s = 0; s < budget->scenario->station_count; s++)
            budget->station[s].needed = 0;
    }
    settle_items(&explosion);
    for (uint32_t s = 0; s < budget->scenario->station_count; s++)
        budget->station[s].utilisation = budget->station[s].needed / budget->station[s].greatest;
    explosion_free(&explosion);
}
