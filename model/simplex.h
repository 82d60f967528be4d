/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/simplex.h - the most of a linear objective below linear bounds: max c x, A x <= b, x >= 0.
 *
 * All b are >= 0, so that x = 0 is allowed and nothing has to be found first. Two objectives may be
 * given: the second is raised only as far as the first stays at its greatest. Deterministic: same
 * numbers in, same numbers out. Source: G. B. Dantzig, "Linear Programming and Extensions" (1963),
 * ch. 5, in the form of a dictionary; R. G. Bland, "New finite pivoting rules for the simplex
 * method", Math. Oper. Res. 2 (1977) 103-107, where steps would go in circles. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

enum { SIMPLEX_OBJECTIVES = 2 };

struct simplex {
    uint32_t rows, columns;
    double *a;         /* rows + objectives lines of columns + 1; the last is b or the value */
    uint32_t *basic;   /* of each row: x (below columns) or the slack of row (columns + row) */
    uint32_t *nonbasic; /* of each column */
};

/* All numbers 0: to be filled in with simplex_add, simplex_bound and simplex_aim. */
void simplex_init(struct simplex *simplex, uint32_t rows, uint32_t columns);
void simplex_free(struct simplex *simplex);

/* Adds to the coefficient of x in a row; to an objective (0 or 1); sets a row's bound (>= 0). */
void simplex_add(struct simplex *simplex, uint32_t row, uint32_t x, double coefficient);
void simplex_aim(struct simplex *simplex, uint32_t objective, uint32_t x, double coefficient);
void simplex_bound(struct simplex *simplex, uint32_t row, double bound);

/* Raises both objectives. False: the second has no bound, or no end was found. */
bool simplex_solve(struct simplex *simplex);

/* Behind simplex_solve: the value of an objective, of x, and what one more of a row's bound would add
 * to the second objective. */
double simplex_value(const struct simplex *simplex, uint32_t objective);
double simplex_x(const struct simplex *simplex, uint32_t x);
double simplex_price(const struct simplex *simplex, uint32_t row);
