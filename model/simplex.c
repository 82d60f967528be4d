/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/simplex.c - a dictionary: what is in the basis, told by what is not. */
#include "model/simplex.h"

#include <math.h>
#include <stdlib.h>

#include "sim/require.h"

static const double tiny = 1e-9; /* below this a number counts as 0; rates are near 1 */
enum { STALLS_MAX = 30 };        /* steps without gain before Bland's rule takes over */

static double *line_of(const struct simplex *simplex, uint32_t row) {
    return simplex->a + (size_t)row * (simplex->columns + 1);
}

static double *objective_of(const struct simplex *simplex, uint32_t objective) {
    return line_of(simplex, simplex->rows + objective);
}

void simplex_init(struct simplex *simplex, uint32_t rows, uint32_t columns) {
    *simplex = (struct simplex){.rows = rows, .columns = columns};
    size_t lines = (size_t)rows + SIMPLEX_OBJECTIVES;
    simplex->a = require_memory(lines * ((size_t)columns + 1), sizeof *simplex->a);
    simplex->basic = require_memory(rows, sizeof *simplex->basic);
    simplex->nonbasic = require_memory(columns, sizeof *simplex->nonbasic);
    for (uint32_t i = 0; i < rows; i++)
        simplex->basic[i] = columns + i;
    for (uint32_t j = 0; j < columns; j++)
        simplex->nonbasic[j] = j;
}

void simplex_free(struct simplex *simplex) {
    free(simplex->a);
    free(simplex->basic);
    free(simplex->nonbasic);
    *simplex = (struct simplex){0};
}

void simplex_add(struct simplex *simplex, uint32_t row, uint32_t x, double coefficient) {
    require(row < simplex->rows && x < simplex->columns);
    line_of(simplex, row)[x] += coefficient;
}

void simplex_aim(struct simplex *simplex, uint32_t objective, uint32_t x, double coefficient) {
    require(objective < SIMPLEX_OBJECTIVES && x < simplex->columns);
    objective_of(simplex, objective)[x] += coefficient;
}

void simplex_bound(struct simplex *simplex, uint32_t row, double bound) {
    require(row < simplex->rows && bound >= 0);
    line_of(simplex, row)[simplex->columns] = bound;
}

/* ---- steps ---- */

/* Column j comes into the basis, row i's variable leaves it. */
static void pivot(struct simplex *simplex, uint32_t i, uint32_t j) {
    uint32_t width = simplex->columns + 1;
    double *row = line_of(simplex, i), by = 1 / row[j];
    for (uint32_t k = 0; k < width; k++)
        row[k] *= by;
    row[j] = by;
    for (uint32_t l = 0; l < simplex->rows + SIMPLEX_OBJECTIVES; l++) {
        double *line = line_of(simplex, l), factor = line[j];
        if (l == i || factor == 0)
            continue;
        for (uint32_t k = 0; k < width; k++)
            line[k] -= factor * row[k];
        line[j] = -factor * by;
        for (uint32_t k = 0; k < width; k++)
            line[k] = fabs(line[k]) < 1e-13 ? 0 : line[k];
    }
    uint32_t came = simplex->nonbasic[j];
    simplex->nonbasic[j] = simplex->basic[i];
    simplex->basic[i] = came;
}

/* A column that would lower an objective raised before is shut. */
static bool is_shut(const struct simplex *simplex, uint32_t objective, uint32_t column) {
    for (uint32_t k = 0; k < objective; k++)
        if (objective_of(simplex, k)[column] < -tiny)
            return true;
    return false;
}

static uint32_t entering(const struct simplex *simplex, uint32_t objective, bool bland) {
    const double *aim = objective_of(simplex, objective);
    uint32_t best = UINT32_MAX;
    for (uint32_t j = 0; j < simplex->columns; j++) {
        if (aim[j] <= tiny || is_shut(simplex, objective, j))
            continue;
        bool better = best == UINT32_MAX ||
                      (bland ? simplex->nonbasic[j] < simplex->nonbasic[best] : aim[j] > aim[best]);
        best = better ? j : best;
    }
    return best;
}

static uint32_t leaving(const struct simplex *simplex, uint32_t column) {
    uint32_t best = UINT32_MAX;
    double least = INFINITY;
    for (uint32_t i = 0; i < simplex->rows; i++) {
        const double *row = line_of(simplex, i);
        if (row[column] <= tiny)
            continue;
        double ratio = row[simplex->columns] / row[column];
        ratio = ratio < 0 ? 0 : ratio;
        bool tied = ratio == least && simplex->basic[i] < simplex->basic[best];
        if (ratio < least || tied) {
            least = ratio;
            best = i;
        }
    }
    return best;
}

static bool raise_objective(struct simplex *simplex, uint32_t objective) {
    uint64_t left = 200 + 20 * ((uint64_t)simplex->rows + simplex->columns);
    uint32_t stalls = 0;
    while (left-- > 0) {
        uint32_t j = entering(simplex, objective, stalls > STALLS_MAX);
        if (j == UINT32_MAX)
            return true;
        uint32_t i = leaving(simplex, j);
        if (i == UINT32_MAX)
            return false;
        double before = simplex_value(simplex, objective);
        pivot(simplex, i, j);
        stalls = simplex_value(simplex, objective) > before + tiny ? 0 : stalls + 1;
    }
    return false;
}

bool simplex_solve(struct simplex *simplex) {
    for (uint32_t k = 0; k < SIMPLEX_OBJECTIVES; k++)
        if (!raise_objective(simplex, k))
            return false;
    return true;
}

/* ---- answers ---- */

double simplex_value(const struct simplex *simplex, uint32_t objective) {
    return -objective_of(simplex, objective)[simplex->columns];
}

double simplex_x(const struct simplex *simplex, uint32_t x) {
    for (uint32_t i = 0; i < simplex->rows; i++)
        if (simplex->basic[i] == x)
            return line_of(simplex, i)[simplex->columns];
    return 0;
}

double simplex_price(const struct simplex *simplex, uint32_t row) {
    const double *aim = objective_of(simplex, 1);
    for (uint32_t j = 0; j < simplex->columns; j++)
        if (simplex->nonbasic[j] == simplex->columns + row)
            return aim[j] < 0 ? -aim[j] : 0;
    return 0;
}
