/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_explode.c - what is demanded, taken back through the recipes to what must be
 * brought.
 *
 * Each station works for one of its outputs, or for none: the one that asks most of it. An item
 * that stations work for gives one equation, "what all stations make of it, less what they use, is
 * what is demanded", with one unknown, how hard those stations work for it (each in proportion to
 * what it can). Which items those are is found by trying: whatever is short and not supplied is
 * added, what comes in excess as a by-product is let go. The equations are solved by LU. */
#include "model/budget/budget_net.h"

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

#include "sim/require.h"

static const double tiny = 1e-9;

struct explosion {
    struct budget *budget;
    uint32_t *driver; /* [station] item that it works for, NO_INDEX: none */
    uint32_t *column; /* [item] its equation, NO_INDEX: nobody works for it */
    uint32_t *tries;  /* [item] how often it was added */
    double *supply;   /* [item] at most, all chests together; INFINITY: unlimited */
    bool *spent;      /* [item] supplies are not enough */
    double *level;    /* [column] solution */
    uint32_t columns;
};

enum { TRIES_MAX = 3 };

static void explosion_init(struct explosion *explosion, struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    *explosion = (struct explosion){.budget = budget};
    explosion->driver = require_memory(scenario->station_count, sizeof *explosion->driver);
    explosion->column = require_memory(scenario->item_count, sizeof *explosion->column);
    explosion->tries = require_memory(scenario->item_count, sizeof *explosion->tries);
    explosion->supply = require_memory(scenario->item_count, sizeof *explosion->supply);
    explosion->spent = require_memory(scenario->item_count, sizeof *explosion->spent);
    explosion->level = require_memory(scenario->item_count, sizeof *explosion->level);
    for (uint32_t s = 0; s < scenario->station_count; s++)
        explosion->driver[s] = NO_INDEX;
    for (uint32_t c = 0; c < scenario->chest_count; c++)
        for (uint32_t i = 0; i < scenario->item_count; i++) {
            size_t at = budget_at(scenario, c, i);
            explosion->supply[i] += budget->net.unlimited[at] ? INFINITY : budget->net.supply[at];
            budget->item[i].demanded += budget->net.demand[at];
        }
}

static void explosion_free(struct explosion *explosion) {
    free(explosion->driver);
    free(explosion->column);
    free(explosion->tries);
    free(explosion->supply);
    free(explosion->spent);
    free(explosion->level);
}

static double net_of(const struct scenario *scenario, uint32_t station, uint32_t item) {
    return budget_makes(scenario, station, item) - budget_takes(scenario, station, item);
}

/* ---- one system ---- */

static void number_columns(struct explosion *explosion) {
    const struct scenario *scenario = explosion->budget->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        explosion->column[i] = NO_INDEX;
    explosion->columns = 0;
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        uint32_t item = explosion->driver[s];
        if (item != NO_INDEX && explosion->column[item] == NO_INDEX)
            explosion->column[item] = explosion->columns++;
    }
}

static double wanted_of(const struct explosion *explosion, uint32_t item) {
    double supplied = explosion->spent[item] ? explosion->supply[item] : 0;
    return explosion->budget->item[item].demanded - supplied;
}

static void fill_system(const struct explosion *explosion, gsl_matrix *a, gsl_vector *b) {
    const struct scenario *scenario = explosion->budget->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        uint32_t row = explosion->column[i];
        if (row == NO_INDEX)
            continue;
        gsl_vector_set(b, row, wanted_of(explosion, i));
        for (uint32_t s = 0; s < scenario->station_count; s++) {
            if (explosion->driver[s] == NO_INDEX)
                continue;
            double *cell = gsl_matrix_ptr(a, row, explosion->column[explosion->driver[s]]);
            *cell += explosion->budget->station[s].greatest * net_of(scenario, s, i);
        }
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

/* The stations of the circle that a singular system has: those that the smallest singular value's
 * vector names. */
static void tell_circle(struct explosion *explosion, gsl_matrix *a) {
    struct budget *budget = explosion->budget;
    size_t n = a->size1;
    gsl_matrix *v = gsl_matrix_alloc(n, n);
    gsl_vector *s = gsl_vector_alloc(n), *work = gsl_vector_alloc(n);
    require(v != NULL && s != NULL && work != NULL);
    gsl_linalg_SV_decomp(a, v, s, work);
    for (uint32_t k = 0; k < budget->scenario->station_count; k++) {
        uint32_t item = explosion->driver[k];
        if (item == NO_INDEX || fabs(gsl_matrix_get(v, explosion->column[item], n - 1)) < 1e-6)
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

static bool solve_system(struct explosion *explosion, gsl_matrix *a, gsl_vector *b) {
    size_t n = a->size1;
    int sign;
    gsl_matrix *lu = gsl_matrix_alloc(n, n);
    gsl_permutation *order = gsl_permutation_alloc(n);
    gsl_vector *x = gsl_vector_alloc(n);
    require(lu != NULL && order != NULL && x != NULL);
    fill_system(explosion, a, b);
    scale_rows(a, b);
    gsl_matrix_memcpy(lu, a);
    bool solved = gsl_linalg_LU_decomp(lu, order, &sign) == GSL_SUCCESS && !is_singular(lu) &&
                  gsl_linalg_LU_solve(lu, order, b, x) == GSL_SUCCESS;
    for (size_t i = 0; solved && i < n; i++)
        explosion->level[i] = gsl_vector_get(x, i);
    gsl_matrix_free(lu);
    gsl_permutation_free(order);
    gsl_vector_free(x);
    return solved;
}

static bool solve(struct explosion *explosion) {
    number_columns(explosion);
    if (explosion->columns == 0)
        return true;
    gsl_matrix *a = gsl_matrix_calloc(explosion->columns, explosion->columns);
    gsl_vector *b = gsl_vector_calloc(explosion->columns);
    require(a != NULL && b != NULL);
    bool solved = solve_system(explosion, a, b);
    if (!solved)
        tell_circle(explosion, a);
    gsl_matrix_free(a);
    gsl_vector_free(b);
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
