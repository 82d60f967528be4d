/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/design_need.c - the explosion of demand, by GLPK, whose rows and columns count from
 * 1. */
#include "model/design/design_need.h"

#include <glpk.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/scenario/layout.h"
#include "sim/require.h"
#include "sim/solver.h"

static const double tiny = 1e-9; /* of a unit of the linear program */
/* What an item bought weighs beside a second of work at a station. */
static const double buying = 1e-3;

/* ---- rates ---- */

static double availability(const struct breaks *breaks) {
    double after = (double)breaks->after.mean_ticks, repair = (double)breaks->repair.mean_ticks;
    return breaks->present && after + repair > 0 ? after / (after + repair) : 1;
}

double design_need_station_rate(const struct scenario *scenario, uint32_t station) {
    const struct scenario_station *own = &scenario->station[station];
    double time = (double)(own->time.mean_ticks > 0 ? own->time.mean_ticks : 1);
    return (double)scenario->ticks_per_second / time * availability(own->breaks);
}

static double batch_makes(const struct scenario *scenario, uint32_t station, uint32_t item) {
    const struct scenario_station *own = &scenario->station[station];
    double made = 0;
    for (uint32_t i = 0; i < own->makes_count; i++)
        if (own->makes[i].item == item)
            made +=
                (double)own->makes[i].count * (own->makes[i].has_chance ? own->makes[i].chance : 1);
    return made;
}

/* While it is not broken. */
static double full_rate(const struct scenario *scenario, uint32_t station) {
    int64_t ticks = scenario->station[station].time.mean_ticks;
    return (double)scenario->ticks_per_second / (double)(ticks > 0 ? ticks : 1);
}

double design_need_takes(const struct scenario *scenario, uint32_t station, uint32_t item) {
    return (double)layout_batch_takes(scenario, station, item) * full_rate(scenario, station);
}

double design_need_makes(const struct scenario *scenario, uint32_t station, uint32_t item) {
    return batch_makes(scenario, station, item) * full_rate(scenario, station);
}

double design_need_stream_rate(const struct scenario *scenario,
                               const struct scenario_stream *stream) {
    double every = (double)(stream->every.mean_ticks > 0 ? stream->every.mean_ticks : 1);
    return (double)stream->batch * (double)scenario->ticks_per_second / every *
           availability(stream->breaks);
}

/* ---- the linear program ---- */

/* The unit of its rates, a power of two: GLPK takes what is much less than 1 for 0, so that one
 * item a day would need no station. */
static double unit_of(const struct design_need *need) {
    double least = INFINITY;
    int exponent;
    for (uint32_t i = 0; i < need->scenario->item_count; i++)
        if (need->demanded[i] > 0)
            least = fmin(least, need->demanded[i]);
    if (!isfinite(least))
        return 1;
    frexp(least, &exponent);
    return ldexp(1, exponent);
}

/* Columns: batches of each station, then items bought of each item. */
static void add_row(glp_prob *problem, const struct design_need *need, double unit, uint32_t item) {
    const struct scenario *scenario = need->scenario;
    int count = 0, *column = require_memory(scenario->station_count + 2, sizeof *column);
    double *amount = require_memory(scenario->station_count + 2, sizeof *amount);
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        double net = batch_makes(scenario, s, item) - (double)layout_batch_takes(scenario, s, item);
        if (net == 0)
            continue;
        column[++count] = (int)s + 1;
        amount[count] = net;
    }
    column[++count] = (int)(scenario->station_count + item) + 1;
    amount[count] = 1;
    int row = glp_add_rows(problem, 1);
    glp_set_row_bnds(problem, row, GLP_LO, need->demanded[item] / unit, 0);
    glp_set_mat_row(problem, row, count, column, amount);
    free(column);
    free(amount);
}

static glp_prob *program_of(const struct design_need *need, double unit, bool bounded) {
    const struct scenario *scenario = need->scenario;
    glp_prob *problem = glp_create_prob();
    glp_set_obj_dir(problem, GLP_MIN);
    glp_add_cols(problem, (int)(scenario->station_count + scenario->item_count));
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        glp_set_col_bnds(problem, (int)s + 1, GLP_LO, 0, 0);
        glp_set_obj_coef(problem, (int)s + 1, 1 / design_need_station_rate(scenario, s));
    }
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        int column = (int)(scenario->station_count + i) + 1;
        bool limited = bounded || need->supplied[i] == 0;
        double most = need->supplied[i] * (1 + 1e-6) / unit;
        glp_set_col_bnds(problem, column, !limited ? GLP_LO : most > 0 ? GLP_DB : GLP_FX, 0, most);
        glp_set_obj_coef(problem, column, buying);
    }
    for (uint32_t i = 0; i < scenario->item_count; i++)
        add_row(problem, need, unit, i);
    return problem;
}

static void take_solution(struct design_need *need, double unit, glp_prob *problem) {
    const struct scenario *scenario = need->scenario;
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        double batches = glp_get_col_prim(problem, (int)s + 1);
        need->batches[s] = batches > tiny ? batches * unit : 0;
    }
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        double bought = glp_get_col_prim(problem, (int)(scenario->station_count + i) + 1);
        need->bought[i] = bought > tiny ? bought * unit : 0;
        need->used[i] = need->made[i] = 0;
        for (uint32_t s = 0; s < scenario->station_count; s++) {
            need->used[i] += need->batches[s] * (double)layout_batch_takes(scenario, s, i);
            need->made[i] += need->batches[s] * batch_makes(scenario, s, i);
        }
    }
}

static bool solve(struct design_need *need, bool bounded) {
    solver_begin();
    double unit = unit_of(need);
    glp_prob *problem = program_of(need, unit, bounded);
    glp_smcp way;
    glp_init_smcp(&way);
    way.msg_lev = GLP_MSG_OFF;
    way.presolve = GLP_ON;
    bool solved = glp_simplex(problem, &way) == 0 && glp_get_status(problem) == GLP_OPT;
    if (solved)
        take_solution(need, unit, problem);
    glp_delete_prob(problem);
    return solved;
}

/* ---- what is short ---- */

static bool explain_supply(const struct design_need *need, char why[DESIGN_WHY_BYTES]) {
    const struct scenario *scenario = need->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (need->bought[i] > need->supplied[i] * (1 + 1e-6)) {
            snprintf(why, DESIGN_WHY_BYTES,
                     "the demands need %.4g %s a minute, and the supplies bring %.4g",
                     60 * need->bought[i], scenario->item[i].name, 60 * need->supplied[i]);
            return true;
        }
    return false;
}

static bool find_batches(struct design_need *need, char why[DESIGN_WHY_BYTES]) {
    if (solve(need, true))
        return true;
    if (!solve(need, false) || !explain_supply(need, why))
        snprintf(why, DESIGN_WHY_BYTES,
                 "what is demanded cannot be made of what is supplied by these recipes, at any "
                 "rate");
    return false;
}

/* ---- stations ---- */

static bool count_stations(struct design_need *need, const struct may *may, const uint32_t *extra,
                           char why[DESIGN_WHY_BYTES]) {
    const struct scenario *scenario = need->scenario;
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        double rate = design_need_station_rate(scenario, s);
        if (need->batches[s] == 0)
            continue;
        double least = ceil(need->batches[s] / rate - 1e-6);
        if (least > (double)may->stations_most) {
            snprintf(why, DESIGN_WHY_BYTES,
                     "%s has to make %.4g batches a minute; one station makes %.4g, so that %.0f "
                     "are needed, and at most %lld may be used",
                     scenario->station[s].name, 60 * need->batches[s], 60 * rate, least,
                     (long long)may->stations_most);
            return false;
        }
        double busy = need->batches[s] / rate / fmax(least, 1);
        uint32_t copies =
            (uint32_t)fmax(least, 1) + (busy > DESIGN_BUSY_MOST) + (extra != NULL ? extra[s] : 0);
        need->copies[s] = copies < may->stations_most ? copies : (uint32_t)may->stations_most;
    }
    return true;
}

/* ---- all of it ---- */

bool design_need_init(struct design_need *need, const struct scenario *scenario,
                      const struct may *may, const uint32_t *extra, char why[DESIGN_WHY_BYTES]) {
    uint32_t items = scenario->item_count, stations = scenario->station_count;
    *need = (struct design_need){.scenario = scenario,
                                 .batches = require_memory(stations, sizeof(double)),
                                 .copies = require_memory(stations, sizeof(uint32_t)),
                                 .demanded = require_memory(items, sizeof(double)),
                                 .used = require_memory(items, sizeof(double)),
                                 .made = require_memory(items, sizeof(double)),
                                 .bought = require_memory(items, sizeof(double)),
                                 .supplied = require_memory(items, sizeof(double))};
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!scenario->demand[i].outlet)
            need->demanded[scenario->demand[i].item] +=
                design_need_stream_rate(scenario, &scenario->demand[i]);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        need->supplied[scenario->supply[i].item] +=
            design_need_stream_rate(scenario, &scenario->supply[i]);
    if (!scenario_has_orders(scenario)) {
        snprintf(why, DESIGN_WHY_BYTES, "nothing is demanded: there is nothing to design for");
        return false;
    }
    return find_batches(need, why) && count_stations(need, may, extra, why);
}

void design_need_free(struct design_need *need) {
    free(need->batches);
    free(need->copies);
    free(need->demanded);
    free(need->used);
    free(need->made);
    free(need->bought);
    free(need->supplied);
    *need = (struct design_need){0};
}

double design_need_surplus(const struct design_need *need, uint32_t item) {
    double left = need->made[item] + need->bought[item] - need->used[item] - need->demanded[item];
    double whole = need->made[item] + need->bought[item];
    return left > 1e-6 * (whole > 0 ? whole : 1) ? left : 0;
}
