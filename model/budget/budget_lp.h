/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_lp.h - a scenario as a linear program: what can flow through it in the long
 * run.
 *
 * Unknowns are what each arm carries of each item, how many batches each station makes, what each
 * demand gets, what crosses each lane's seam, and what passes on each stretch. What comes to a
 * lane, line or station must leave it; what comes to a chest may stay. Arms, stations, stretches
 * and supplies have their bounds. It is solved by the simplex method of GLPK, which goes on from
 * one question to the next. */
#pragma once

#include "model/budget/budget_figures.h"

enum budget_bound_kind { BOUND_NONE, BOUND_STATION, BOUND_ARM, BOUND_TRACK, BOUND_SUPPLY };

/* Whose bound it is. */
struct budget_owner {
    enum budget_bound_kind kind;
    uint32_t index; /* of a supply: its pair of chest and item, see budget_net.h */
};

struct budget_lp;

/* The budget is borrowed; its net, its rates and its stretches must be there. NULL: it is too large
 * to be solved within seconds. Freed with budget_lp_free, which takes NULL. */
struct budget_lp *budget_lp_new(const struct budget *budget);
void budget_lp_free(struct budget_lp *program);

/* The most of an item that demands get (or, where none asks for it, that stations make) a second,
 * while the other demands get as much as they can; `without` has no bound, if it is any. *limit is
 * the bound that makes up most of what limits it: by duality the bounds, each with its price, add
 * up to the rate. False: there is no end to it, or none was found. */
bool budget_lp_greatest(struct budget_lp *program, uint32_t item, struct budget_owner without,
                        double *greatest, struct budget_owner *limit);
/* The same, arms at the rates that are sure. False: none was found. */
bool budget_lp_sure(struct budget_lp *program, uint32_t item, double *sure);
