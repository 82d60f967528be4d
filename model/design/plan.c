/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/plan.c - from lanes and their arms to stations, chests, belts and gates. */
#include "model/design/plan.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/design/lanes.h"
#include "model/scenario/layout.h"
#include "model/scenario/names.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"

/* Most orders that are kept on a shelf by the formula; seconds between takings of an outlet. */
enum { BASE_STOCK_MOST = 60, OUTLET_SECONDS = 10, FILL_SECONDS = 900 };
static const double hair = 1e-6;

/* What is worked out on the way. */
struct draw {
    struct plan *plan;
    const struct scenario *scenario;
    const struct may *may;
    const struct plan_choice *choice;
    struct design_need need;
    struct lanes lanes;
    struct names used;
    char **owned; /* names that were made */
    uint32_t owned_count;
    uint32_t *first_station; /* [recipe] its first one in plan.station */
    uint32_t *belt, *lane;   /* [lane of lanes] its belt, and its number there */
    uint32_t *bin, *shelf;   /* [item] chests; NO_INDEX: none */
    char *why;
};

/* ---- names ---- */

/* Copies a name that nothing has yet. */
static void name_it(struct draw *draw, char name[PLAN_NAME_BYTES], const char *format, ...)
    __attribute__((format(printf, 3, 4)));
static void name_it(struct draw *draw, char name[PLAN_NAME_BYTES], const char *format, ...) {
    char wanted[PLAN_NAME_BYTES - 8];
    va_list values;
    va_start(values, format);
    vsnprintf(wanted, sizeof wanted, format, values);
    va_end(values);
    wanted[60] = '\0'; /* with a number behind it still a name */
    snprintf(name, PLAN_NAME_BYTES, "%s", wanted);
    for (unsigned i = 2; names_find(&draw->used, name) != NO_INDEX; i++)
        snprintf(name, PLAN_NAME_BYTES, "%s-%u", wanted, i);
    draw->owned = require_more_memory(draw->owned, draw->owned_count + 1, sizeof *draw->owned);
    draw->owned[draw->owned_count] = require_text(name);
    names_add(&draw->used, draw->owned[draw->owned_count++], 0);
}

static void say(char why[PLAN_WHY_BYTES], const char *format, ...)
    __attribute__((format(printf, 2, 3)));
static void say(char why[PLAN_WHY_BYTES], const char *format, ...) {
    va_list values;
    va_start(values, format);
    vsnprintf(why, PLAN_WHY_BYTES, format, values);
    va_end(values);
}

static void say_more(char why[PLAN_WHY_BYTES], const char *format, ...)
    __attribute__((format(printf, 2, 3)));
static void say_more(char why[PLAN_WHY_BYTES], const char *format, ...) {
    size_t used = strlen(why);
    va_list values;
    va_start(values, format);
    vsnprintf(why + used, PLAN_WHY_BYTES - used, format, values);
    va_end(values);
}

/* What trials have made of a number that the rules give. */
static void say_factor(char why[PLAN_WHY_BYTES], double factor) {
    if (factor > 1 + hair)
        say_more(why, "; raised in trials, to %.3g times that", factor);
    else if (factor < 1 - hair)
        say_more(why, "; lowered in trials, to %.3g times that", factor);
}

static const char *item_name(const struct draw *draw, uint32_t item) {
    return draw->scenario->item[item].name;
}

/* ---- arms ---- */

static struct plan_arm *new_arm(struct draw *draw, uint32_t kind) {
    struct plan *plan = draw->plan;
    plan->arm = require_more_memory(plan->arm, plan->arm_count + 1, sizeof *plan->arm);
    struct plan_arm *arm = &plan->arm[plan->arm_count++];
    *arm = (struct plan_arm){.kind = kind};
    return arm;
}

static void arm_takes(struct plan_arm *arm, uint32_t item) {
    arm->item = require_more_memory(arm->item, arm->item_count + 1, sizeof *arm->item);
    arm->item[arm->item_count++] = item;
}

static void arm_looks(struct plan_arm *arm, struct plan_leaf leaf) {
    arm->leaf = require_more_memory(arm->leaf, arm->leaf_count + 1, sizeof *arm->leaf);
    arm->leaf[arm->leaf_count++] = leaf;
}

static double swing_of(const struct draw *draw, uint32_t kind) {
    return (double)draw->may->arm[kind].swing_ticks / (double)draw->scenario->ticks_per_second;
}

/* ---- stations ---- */

static void add_station(struct draw *draw, uint32_t recipe, uint32_t number) {
    struct plan *plan = draw->plan;
    const char *name = draw->scenario->station[recipe].name;
    plan->station =
        require_more_memory(plan->station, plan->station_count + 1, sizeof *plan->station);
    struct plan_station *station = &plan->station[plan->station_count++];
    *station = (struct plan_station){
        .recipe = recipe, .ahead = NOT_GIVEN, .chest = NO_INDEX, .item = NO_INDEX};
    if (draw->need.copies[recipe] > 1)
        name_it(draw, station->name, "%s-%u", name, number + 1);
    else
        snprintf(station->name, sizeof station->name, "%s", name);
    double rate = design_need_station_rate(draw->scenario, recipe);
    station->busy = draw->need.batches[recipe] / rate / draw->need.copies[recipe];
    say(station->why,
        "%.4g batches a minute are needed of %s, and one station makes %.4g: busy %.0f %%",
        60 * draw->need.batches[recipe], name, 60 * rate, 100 * station->busy);
    double least = fmax(ceil(draw->need.batches[recipe] / rate - hair), 1);
    if (draw->need.copies[recipe] > least &&
        draw->need.batches[recipe] / rate / least > DESIGN_BUSY_MOST)
        say_more(station->why, "; %.0f would have no time left to catch up after a stop", least);
    if (draw->choice->extra_station[recipe] > 0)
        say_more(station->why, "; trials wanted %u more than the rules do",
                 draw->choice->extra_station[recipe]);
}

static void add_stations(struct draw *draw) {
    for (uint32_t s = 0; s < draw->scenario->station_count; s++) {
        draw->first_station[s] = draw->plan->station_count;
        for (uint32_t i = 0; i < draw->need.copies[s]; i++)
            add_station(draw, s, i);
    }
}

static double takes_of(const struct draw *draw, uint32_t recipe, uint32_t item) {
    return (double)layout_batch_takes(draw->scenario, recipe, item);
}

static int64_t batch_made(const struct draw *draw, uint32_t recipe, uint32_t item) {
    const struct scenario_station *station = &draw->scenario->station[recipe];
    int64_t made = 0;
    for (uint32_t i = 0; i < station->makes_count; i++)
        made += station->makes[i].item == item ? station->makes[i].count : 0;
    return made;
}

/* ---- belts ---- */

static uint32_t longest_on(const struct draw *draw, const struct lane *lane) {
    uint32_t longest = 1;
    for (uint32_t f = 0; f < lane->flow_count; f++) {
        uint32_t length = draw->scenario->item[lane->flow[f].item].length;
        longest = length > longest ? length : longest;
    }
    return longest;
}

/* A cell for each arm, or for two on a loop with arms on both sides, and room for two of the
 * longest items. */
static uint32_t cells_for(const struct draw *draw, const struct lane *lane) {
    bool both = draw->choice->both_sides && !lane->is_line;
    uint32_t arms = both ? (lane->arms + 1) / 2 : lane->arms;
    uint32_t cells = arms * draw->choice->spacing;
    uint32_t least = 2 * longest_on(draw, lane) + (both ? 0 : 2);
    int64_t most = lane->is_line ? draw->may->line_cells_most : draw->may->loop_cells_most;
    cells = cells > least ? cells : least;
    return cells < most ? cells : (uint32_t)most;
}

static uint32_t fastest(const struct may_rate *rate, uint32_t count) {
    uint32_t best = 0;
    for (uint32_t i = 1; i < count; i++) {
        double own = (double)rate[i].rate.numerator / (double)rate[i].rate.denominator;
        double most = (double)rate[best].rate.numerator / (double)rate[best].rate.denominator;
        best = own > most ? i : best;
    }
    return best;
}

static struct plan_belt *new_belt(struct draw *draw, bool is_line) {
    struct plan *plan = draw->plan;
    plan->belt = require_more_memory(plan->belt, plan->belt_count + 1, sizeof *plan->belt);
    struct plan_belt *belt = &plan->belt[plan->belt_count++];
    *belt = (struct plan_belt){
        .is_line = is_line,
        .given = NO_INDEX,
        .rate = is_line ? fastest(draw->may->line_rate, draw->may->line_rate_count)
                        : fastest(draw->may->loop_rate, draw->may->loop_rate_count)};
    return belt;
}

/* The next loop, or line, that the scenario has itself; NO_INDEX: there is none left. */
static uint32_t next_given(const struct draw *draw, bool is_line) {
    uint32_t before = 0;
    for (uint32_t b = 0; b + 1 < draw->plan->belt_count; b++)
        before += draw->plan->belt[b].is_line == is_line;
    uint32_t given = is_line ? draw->scenario->line_count : draw->scenario->loop_count;
    return before < given ? before : NO_INDEX;
}

static void name_belt(struct draw *draw, const struct lane *lane, struct plan_belt *belt) {
    belt->given = next_given(draw, lane->is_line);
    if (belt->given == NO_INDEX && lane->is_line) {
        name_it(draw, belt->name, "%s-line", item_name(draw, lane->flow[0].item));
    } else if (belt->given == NO_INDEX) {
        name_it(draw, belt->name, "ring");
    } else if (lane->is_line) {
        snprintf(belt->name, sizeof belt->name, "%s", draw->scenario->line[belt->given].name);
        belt->cells = draw->scenario->line[belt->given].cell_count;
    } else {
        snprintf(belt->name, sizeof belt->name, "%s", draw->scenario->loop[belt->given].name);
        belt->cells = draw->scenario->loop[belt->given].cell_count;
    }
    if (!lane->is_line && draw->choice->loops_open) {
        belt->given = NO_INDEX;
        belt->cells = 0;
    }
}

/* ---- counts of belts ---- */

static uint32_t arms_of_group(const struct draw *draw, const struct lane *lane,
                              const struct lane_group *group) {
    uint32_t arms = group->takers * draw->need.copies[group->recipe];
    for (uint32_t k = 0; k < group->new_count; k++) {
        const struct lane_flow *flow = &lane->flow[group->flow[k]];
        uint32_t copies = flow->source == SOURCE_STATIONS ? draw->need.copies[flow->recipe] : 1;
        arms += flow->feeders * copies;
    }
    return arms;
}

/* Cells from the first feeder of an item to its last taker, by the arms that stand there. */
static uint32_t ride_of(const struct draw *draw, const struct lane *lane, uint32_t item) {
    uint32_t ride = 0, arms = 0;
    for (uint32_t g = 0; g < lane->group_count; g++) {
        const struct lane_group *group = &lane->group[g];
        bool takes = false;
        for (uint32_t k = 0; k < group->flow_count; k++)
            takes = takes || lane->flow[group->flow[k]].item == item;
        arms += takes || ride > 0 ? arms_of_group(draw, lane, group) : 0;
        ride = takes ? arms : ride;
    }
    return ride * draw->choice->spacing;
}

/* At how many of a kind on a lane its feeders stop, where gates may count belts: twice as many as
 * ride at the rate that is needed from the first feeder to the last taker. */
static int64_t belt_threshold(const struct draw *draw, const struct lane *lane, uint32_t item) {
    double rate = 0, seconds = ride_of(draw, lane, item) / lane->rate;
    for (uint32_t f = 0; f < lane->flow_count; f++)
        rate += lane->flow[f].item == item ? lane->flow[f].rate : 0;
    return (int64_t)fmax(ceil(2 * draw->choice->threshold * rate * seconds - hair), 1) +
           draw->choice->belt_more;
}

/* Cells that all that may lie on a lane can spoil for the longest item, when every feeder has
 * stopped at its count, with a hand full each (model/budget/budget_certificate.c, "belt gate"). */
static double spoilt_by_all(const struct draw *draw, const struct lane *lane) {
    double spoilt = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++) {
        const struct lane_flow *flow = &lane->flow[f];
        bool first = true;
        double copies = flow->source == SOURCE_STATIONS ? draw->need.copies[flow->recipe] : 1;
        double items = flow->feeders * copies * draw->may->arm[flow->kind].hand;
        for (uint32_t k = 0; k < f; k++)
            first = first && lane->flow[k].item != flow->item;
        if (first)
            items += (double)belt_threshold(draw, lane, flow->item) - 1;
        spoilt += items * (draw->scenario->item[flow->item].length + longest_on(draw, lane) - 1);
    }
    return spoilt;
}

/* A lane is longer than what may lie on it, where its feeders count that, if it may be so long. */
static uint32_t cells_for_counts(const struct draw *draw, const struct lane *lane, uint32_t cells) {
    double spoilt = spoilt_by_all(draw, lane);
    if (spoilt < cells || spoilt + 1 > (double)draw->may->loop_cells_most)
        return cells;
    return (uint32_t)spoilt + 1;
}

static void put_lane(struct draw *draw, uint32_t index) {
    struct plan *plan = draw->plan;
    const struct lane *lane = &draw->lanes.lane[index];
    struct plan_belt *belt = plan->belt_count > 0 ? &plan->belt[plan->belt_count - 1] : NULL;
    uint32_t cells = cells_for(draw, lane);
    if (draw->may->belts && !lane->is_line)
        cells = cells_for_counts(draw, lane, cells);
    if (lane->is_line || belt == NULL || belt->is_line || belt->lanes == draw->may->lanes_most) {
        belt = new_belt(draw, lane->is_line);
        name_belt(draw, lane, belt);
    }
    draw->belt[index] = (uint32_t)(belt - plan->belt);
    draw->lane[index] = belt->lanes++;
    if (belt->given == NO_INDEX)
        belt->cells = cells > belt->cells ? cells : belt->cells;
}

static void explain_belt(struct draw *draw, uint32_t index) {
    struct plan_belt *belt = &draw->plan->belt[index];
    double feeders = 0;
    uint32_t arms = 0;
    for (uint32_t k = 0; k < draw->lanes.lane_count; k++) {
        const struct lane *lane = &draw->lanes.lane[k];
        if (draw->belt[k] != index)
            continue;
        arms = lane->arms > arms ? lane->arms : arms;
        for (uint32_t f = 0; f < lane->flow_count; f++)
            feeders += lane->flow[f].rate * draw->scenario->item[lane->flow[f].item].length;
    }
    say(belt->why, "%u arms stand along it, %s; %.3g cells a second are needed in all", arms,
        draw->choice->both_sides && !belt->is_line ? "two at a cell, one on each side"
                                                   : "a cell for each",
        feeders);
}

/* Lanes of loops first, so that they fill loops; lines last. */
static void put_lanes(struct draw *draw) {
    for (int line = 0; line < 2; line++)
        for (uint32_t k = 0; k < draw->lanes.lane_count; k++)
            if (draw->lanes.lane[k].is_line == (line == 1))
                put_lane(draw, k);
    for (uint32_t b = 0; b < draw->plan->belt_count; b++)
        explain_belt(draw, b);
}

static struct plan_end belt_end(const struct draw *draw, uint32_t lane, uint32_t *cell) {
    struct plan_end end = {PLAN_BELT, draw->belt[lane], draw->lane[lane], *cell};
    if (draw->choice->both_sides && !draw->lanes.lane[lane].is_line)
        end.cell = *cell / 2 / draw->choice->spacing * draw->choice->spacing;
    *cell += draw->choice->spacing;
    uint32_t last = draw->plan->belt[end.index].cells - 1;
    end.cell = end.cell < last ? end.cell : last;
    return end;
}

/* Seconds in which a part goes from its feeder's pick into a station's stock. */
static double lead_of(const struct draw *draw, uint32_t index, const struct lane_flow *flow,
                      uint32_t taker) {
    const struct lane *lane = &draw->lanes.lane[index];
    double round = draw->plan->belt[draw->belt[index]].cells / lane->rate;
    return round + swing_of(draw, flow->kind) + swing_of(draw, taker);
}

/* ---- gates and trays ---- */

/* Items a second that other stations of the lane use of a kind, those of `recipe` but one. */
static double used_by_others(const struct draw *draw, uint32_t index, uint32_t item,
                             uint32_t recipe) {
    const struct lane *lane = &draw->lanes.lane[index];
    double used = 0;
    for (uint32_t r = 0; r < lane->recipe_count; r++) {
        uint32_t own = lane->recipe[r];
        double all = draw->need.batches[own] * takes_of(draw, own, item);
        double copies = draw->need.copies[own];
        used += own == recipe ? all * (copies - 1) / copies : all;
    }
    return used;
}

/* What comes to a lane of a kind: all that its feeders can put on, as far as stations make it. */
static double fed_to(const struct draw *draw, uint32_t index, uint32_t item) {
    const struct lane *lane = &draw->lanes.lane[index];
    double fed = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++)
        fed += lane->flow[f].item == item ? lane->flow[f].feeds : 0;
    return fed;
}

/* Batches that a station uses while the trays of others, which may stand before it, fill up again.
 * They sink while its own lasts and the gate is shut, for the time of a batch; then they take what
 * comes beyond what they use: with U used by them and F fed, that takes U / (F - U) batches. */
static double waits_for_others(const struct draw *draw, uint32_t index, uint32_t item,
                               uint32_t recipe) {
    enum { BATCHES_MOST = 8 };
    double used = used_by_others(draw, index, item, recipe);
    double left = fed_to(draw, index, item) - used;
    return left > used / BATCHES_MOST ? used / left : BATCHES_MOST;
}

/* One batch, what the station can use while a part is on its way, and while others fill up. */
static int64_t threshold_for(const struct draw *draw, uint32_t index, const struct lane_flow *flow,
                             const struct lane_group *group) {
    double takes = takes_of(draw, group->recipe, flow->item);
    double used = design_need_takes(draw->scenario, group->recipe, flow->item);
    double wait = ceil(used * lead_of(draw, index, flow, group->kind) - hair);
    if (flow->source == SOURCE_BIN && draw->need.made[flow->item] > 0)
        wait = 0; /* what stations make of it has the way first */
    else if (used_by_others(draw, index, flow->item, group->recipe) > 0)
        wait += ceil(takes * waits_for_others(draw, index, flow->item, group->recipe) - hair);
    return (int64_t)ceil(draw->choice->threshold * (takes + wait) - hair);
}

static int64_t limited(const struct draw *draw, const struct plan_station *station, uint32_t item,
                       int64_t threshold) {
    const struct scenario_station *recipe = &draw->scenario->station[station->recipe];
    if (!draw->choice->ahead_given[station->recipe])
        return threshold;
    int64_t most = recipe->ahead * (int64_t)takes_of(draw, station->recipe, item);
    return threshold < most ? threshold : most;
}

/* The heap of one kind for which a tray has room: half of the lane, as the largest of those that
 * fall in a disturbed night; on a lane of few kinds what a flood has of one, and half as much
 * again. */
static double heap_of(const struct draw *draw, uint32_t index, uint32_t item) {
    const struct lane *lane = &draw->lanes.lane[index];
    uint32_t kinds = 0;
    for (uint32_t f = 0; f < lane->flow_count; f++) {
        bool seen = false;
        for (uint32_t k = 0; k < f; k++)
            seen = seen || lane->flow[k].item == lane->flow[f].item;
        kinds += !seen;
    }
    double flood = (double)draw->may->flood.numerator / (double)draw->may->flood.denominator;
    double share = fmin(fmax(0.5, 1.5 * flood / kinds), 1);
    double cells = draw->plan->belt[draw->belt[index]].cells;
    return ceil(share * cells / draw->scenario->item[item].length - hair);
}

/* Makes the tray of a station large enough for what comes of a flow. */
static void size_tray(struct draw *draw, uint32_t index, const struct lane_flow *flow,
                      struct plan_station *station, const struct lane_group *group,
                      int64_t threshold) {
    double takes = takes_of(draw, station->recipe, flow->item);
    double cells = draw->plan->belt[draw->belt[index]].cells;
    double lead = lead_of(draw, index, flow, group->kind);
    double hands = flow->feeders * draw->may->arm[flow->kind].hand;
    double under_way = ceil(hands + fmin(flow->feeds * lead, cells));
    double heap = heap_of(draw, index, flow->item);
    double all = draw->choice->ahead * ((double)threshold - 1 + under_way + heap);
    int64_t ahead = (int64_t)fmax(ceil(all / takes - hair), 2);
    if (draw->choice->ahead_given[station->recipe] || ahead <= station->ahead)
        return;
    station->ahead = ahead;
    say(station->why_ahead,
        "its stock is its tray: of %s %lld at which the feeder stops, %.0f more under way then, "
        "and "
        "a heap of %.0f",
        item_name(draw, flow->item), (long long)threshold, under_way - 1, heap);
    say_factor(station->why_ahead, draw->choice->ahead);
}

/* The gate of a feeder: open while any station of its lane has too few. */
static void set_gate(struct draw *draw, uint32_t index, const struct lane_flow *flow,
                     struct plan_arm *arm) {
    const struct lane *lane = &draw->lanes.lane[index];
    for (uint32_t g = 0; g < lane->group_count; g++) {
        const struct lane_group *group = &lane->group[g];
        bool takes = false;
        for (uint32_t k = 0; k < group->flow_count; k++)
            takes = takes || &lane->flow[group->flow[k]] == flow;
        for (uint32_t c = 0; takes && c < draw->need.copies[group->recipe]; c++) {
            uint32_t number = draw->first_station[group->recipe] + c;
            struct plan_station *station = &draw->plan->station[number];
            int64_t threshold =
                limited(draw, station, flow->item, threshold_for(draw, index, flow, group));
            size_tray(draw, index, flow, station, group, threshold);
            arm_looks(arm, (struct plan_leaf){PLAN_STATION, number, threshold, false});
        }
    }
}

/* ---- feeders and takers ---- */

static struct plan_end source_of(const struct draw *draw, const struct lane_flow *flow,
                                 uint32_t copy) {
    if (flow->source == SOURCE_BIN)
        return (struct plan_end){PLAN_CHEST, draw->bin[flow->item], 0, 0};
    if (flow->source == SOURCE_SHELF)
        return (struct plan_end){PLAN_CHEST, draw->shelf[flow->item], 0, 0};
    return (struct plan_end){PLAN_STATION, draw->first_station[flow->recipe] + copy, 0, 0};
}

static void add_feeders(struct draw *draw, uint32_t index, const struct lane_flow *flow,
                        uint32_t *cell) {
    const struct lane *lane = &draw->lanes.lane[index];
    uint32_t copies = flow->source == SOURCE_STATIONS ? draw->need.copies[flow->recipe] : 1;
    for (uint32_t c = 0; c < copies; c++)
        for (uint32_t i = 0; i < flow->feeders; i++) {
            struct plan_arm *arm = new_arm(draw, flow->kind);
            name_it(draw, arm->name, "%s-feeder", item_name(draw, flow->item));
            arm->from = source_of(draw, flow, c);
            arm->to = belt_end(draw, index, cell);
            arm_takes(arm, flow->item);
            set_gate(draw, index, flow, arm);
            if (draw->may->belts && !lane->is_line)
                arm->belt_below = belt_threshold(draw, lane, flow->item);
            double lead = lead_of(draw, index, flow, flow->kind);
            say(arm->why,
                "%.4g %s a minute are needed here, and it can put on %.4g; it stops when each "
                "station has a batch and what it uses in the %.1f s that one is under way",
                60 * flow->rate, item_name(draw, flow->item),
                60 * flow->feeds / (copies * flow->feeders), lead);
            say_factor(arm->why, draw->choice->threshold);
        }
}

static void add_takers(struct draw *draw, uint32_t index, const struct lane_group *group,
                       uint32_t *cell) {
    const struct lane *lane = &draw->lanes.lane[index];
    for (uint32_t c = 0; c < draw->need.copies[group->recipe]; c++)
        for (uint32_t i = 0; i < group->takers; i++) {
            uint32_t station = draw->first_station[group->recipe] + c;
            struct plan_arm *arm = new_arm(draw, group->kind);
            name_it(draw, arm->name, "%s-taker", draw->plan->station[station].name);
            arm->from = belt_end(draw, index, cell);
            arm->to = (struct plan_end){PLAN_STATION, station, 0, 0};
            for (uint32_t k = 0; k < group->flow_count; k++)
                arm_takes(arm, lane->flow[group->flow[k]].item);
            say(arm->why,
                "takes %.4g parts a minute off at most, more than any of its feeders "
                "puts on",
                60 * lanes_arm_peak(&draw->lanes, group->kind) * group->takers);
        }
}

static void add_lane(struct draw *draw, uint32_t index) {
    const struct lane *lane = &draw->lanes.lane[index];
    uint32_t cell = 0;
    for (uint32_t g = 0; g < lane->group_count; g++) {
        const struct lane_group *group = &lane->group[g];
        for (uint32_t k = 0; k < group->new_count; k++)
            add_feeders(draw, index, &lane->flow[group->flow[k]], &cell);
        if (lane->is_line) { /* parts queue at the end */
            uint32_t takers = group->takers * draw->need.copies[group->recipe];
            uint32_t end = draw->plan->belt[draw->belt[index]].cells - takers;
            cell = cell > end ? cell : end;
        }
        add_takers(draw, index, group, &cell);
    }
}

/* Arms that hand a part from one station to the next. */
static void add_direct(struct draw *draw, uint32_t item) {
    const struct scenario *scenario = draw->scenario;
    uint32_t maker = NO_INDEX, user = NO_INDEX, count;
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        if (draw->need.copies[s] == 0)
            continue;
        maker = design_need_makes(scenario, s, item) > 0 ? s : maker;
        user = design_need_takes(scenario, s, item) > 0 ? s : user;
    }
    uint32_t kind = lanes_mover(draw->may, (double)scenario->ticks_per_second,
                                design_need_makes(scenario, maker, item), &count);
    for (uint32_t c = 0; c < draw->need.copies[maker] * count; c++) {
        struct plan_arm *arm = new_arm(draw, kind);
        name_it(draw, arm->name, "%s-mover", item_name(draw, item));
        arm->from = (struct plan_end){PLAN_STATION, draw->first_station[maker] + c / count, 0, 0};
        arm->to = (struct plan_end){PLAN_STATION, draw->first_station[user], 0, 0};
        arm_takes(arm, item);
        say(arm->why, "%s is used by one station alone, and needs no belt", item_name(draw, item));
    }
}

/* ---- shelves ---- */

/* True when the item has to go from its stations to a shelf: demanded, or too much is made. */
static bool is_shelved(const struct draw *draw, uint32_t item) { return draw->lanes.shelved[item]; }

int64_t plan_base_stock(double utilisation, double met) {
    if (utilisation <= 0 || met <= 0)
        return 1;
    if (utilisation >= 1 || met >= 1)
        return BASE_STOCK_MOST;
    double least = ceil(log(1 - met) / log(utilisation) - hair);
    return least < 1 ? 1 : least > BASE_STOCK_MOST ? BASE_STOCK_MOST : (int64_t)least;
}

struct orders {
    bool any, random;
    bool patient; /* all wait for what is missing */
    int64_t batch;
};

static struct orders orders_of(const struct draw *draw, uint32_t item) {
    struct orders orders = {false, false, true, 1};
    for (uint32_t i = 0; i < draw->scenario->demand_count; i++) {
        const struct scenario_stream *demand = &draw->scenario->demand[i];
        if (demand->outlet || demand->item != item)
            continue;
        orders.any = true;
        orders.patient = orders.patient && demand->when == WHEN_WAIT;
        orders.random = orders.random || span_is_random(&demand->every);
        orders.batch = demand->batch > orders.batch ? demand->batch : orders.batch;
    }
    return orders;
}

static double utilisation_of(const struct draw *draw, uint32_t recipe) {
    return draw->need.batches[recipe] / design_need_station_rate(draw->scenario, recipe) /
           draw->need.copies[recipe];
}

/* Orders that wait need no more than is made in some minutes, so that the shelf is soon full when
 * nobody orders. */
static int64_t capped_by_time(const struct draw *draw, uint32_t recipe, int64_t stock,
                              int64_t batch) {
    double rate = design_need_station_rate(draw->scenario, recipe) * draw->need.copies[recipe];
    double most = fmax(ceil(rate * FILL_SECONDS), (double)batch + 1);
    return (double)stock < most ? stock : (int64_t)most;
}

/* How much of a product is to lie on the shelf: for random orders the base stock, else an order
 * and what is used while the next is made. */
static int64_t shelf_stock(const struct draw *draw, uint32_t recipe, uint32_t item, char *why) {
    struct orders orders = orders_of(draw, item);
    const struct scenario_station *station = &draw->scenario->station[recipe];
    double met = (double)draw->may->met.numerator / (double)draw->may->met.denominator;
    double busy = utilisation_of(draw, recipe);
    bool random = orders.random || span_is_random(&station->time) || station->breaks->present;
    double time = (double)station->time.mean_ticks / (double)draw->scenario->ticks_per_second;
    double meanwhile = ceil(draw->need.demanded[item] * (time + swing_of(draw, 0)) - hair);
    int64_t stock =
        random ? plan_base_stock(busy, met) * orders.batch : orders.batch + (int64_t)meanwhile;
    int64_t batches = stock / orders.batch;
    stock = (int64_t)ceil((double)stock * draw->choice->shelf[item] - hair);
    if (orders.patient)
        stock = capped_by_time(draw, recipe, stock, orders.batch);
    if (random)
        say(why,
            "a base stock: with stations busy for %.0f %% of the time, %.4g^%lld = %.2g of the "
            "orders find none (M/M/1, make to stock)",
            100 * busy, busy, (long long)batches, pow(busy, (double)batches));
    else
        say(why, "one order of %lld, and the %.0f that are ordered while a batch is made",
            (long long)orders.batch, meanwhile);
    say_factor(why, draw->choice->shelf[item]);
    return stock > 1 ? stock : 1;
}

static double most_taken(const struct draw *draw, uint32_t item) {
    double most = 0;
    for (uint32_t s = 0; s < draw->scenario->station_count; s++)
        most = draw->need.copies[s] > 0 ? fmax(most, takes_of(draw, s, item)) : most;
    return most;
}

/* How much of a by-product that stations use stays for them before the rest is taken away: by the
 * rule of a base stock in which what is made serves what is used, so many batches that nearly all
 * find one. Those who order it as well have their own. */
static int64_t kept_for_stations(const struct draw *draw, uint32_t item, char *why) {
    double met = (double)draw->may->met.numerator / (double)draw->may->met.denominator;
    double taken = most_taken(draw, item), share = draw->need.used[item] / draw->need.made[item];
    int64_t batches = plan_base_stock(share, met);
    if (taken <= 0)
        return 0;
    say(why,
        ", %lld batches for the stations that use %.0f %% of it: %.4g^%lld = %.2g of their batches "
        "find none (M/M/1, make to stock)",
        (long long)batches, 100 * share, share, (long long)batches, pow(share, (double)batches));
    say_factor(why, draw->choice->shelf[item]);
    return (int64_t)ceil((double)batches * taken * draw->choice->shelf[item] - hair);
}

/* What is ordered of an item while a drain watches how often it is made, ten minutes from the
 * warm-up on: the mean of a Poisson count and three deviations. */
static int64_t ordered_at_first(const struct draw *draw, uint32_t item) {
    enum { WATCHED_SECONDS = 600 };
    const struct scenario *scenario = draw->scenario;
    double ticks = (double)(scenario->warm_up_ticks + WATCHED_SECONDS * scenario->ticks_per_second);
    double all = 0;
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        double mean = ticks / (double)(demand->every.mean_ticks > 0 ? demand->every.mean_ticks : 1);
        double most = span_is_random(&demand->every) ? ceil(mean + 3 * sqrt(mean)) : ceil(mean);
        if (demand->item == item && !demand->outlet)
            all += most * (double)demand->batch;
    }
    return (int64_t)fmin(all, 1e9);
}

/* A product that is ordered less often than once in five minutes cannot be made nine times, as
 * often as in ten minutes, within the hour that a restart has. So much more of it lies on the
 * shelf at first that it is not made in the ten minutes, and not waited for. */
static bool is_seldom(const struct draw *draw, uint32_t item) {
    enum { SELDOM_SECONDS = 300 };
    double seldom = (double)(SELDOM_SECONDS * draw->scenario->ticks_per_second), orders = 0;
    for (uint32_t i = 0; i < draw->scenario->demand_count; i++) {
        const struct scenario_stream *demand = &draw->scenario->demand[i];
        if (demand->item == item && !demand->outlet && demand->every.mean_ticks > 0)
            orders += seldom / (double)demand->every.mean_ticks;
    }
    return orders > 0 && orders < 1;
}

/* What may still come to the shelf when the gate shuts: each station has a batch at work, and
 * outputs in its stock and in hands. */
static int64_t under_way_to(const struct draw *draw, uint32_t recipe, uint32_t item) {
    const struct scenario_station *station = &draw->scenario->station[recipe];
    int64_t all = 0;
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].item == item)
            all += (station->makes[i].room + station->makes[i].count) * draw->need.copies[recipe];
    return all;
}

static struct plan_chest *new_chest(struct draw *draw, const char *name) {
    struct plan *plan = draw->plan;
    plan->chest = require_more_memory(plan->chest, plan->chest_count + 1, sizeof *plan->chest);
    struct plan_chest *chest = &plan->chest[plan->chest_count++];
    *chest = (struct plan_chest){.capacity = NOT_GIVEN, .given = NO_INDEX};
    if (name != NULL)
        name_it(draw, chest->name, "%s", name);
    return chest;
}

static int64_t stocks_of(const struct plan_chest *chest) {
    int64_t all = 0;
    for (uint32_t i = 0; i < chest->stock_count; i++)
        all += chest->stock[i].limit;
    return all;
}

/* ---- chests that are there ---- */

static int64_t count_in(const struct item_counts *counts, uint32_t item) {
    for (uint32_t i = 0; i < counts->count; i++)
        if (counts->entry[i].item == item)
            return counts->entry[i].count;
    return NOT_GIVEN;
}

/* Whether some supply or demand, of an item or of any (NO_INDEX), is at a chest. */
static bool has_stream(const struct scenario_stream *stream, uint32_t count, uint32_t chest,
                       uint32_t item) {
    for (uint32_t i = 0; i < count; i++)
        if (stream[i].chest == chest && (item == NO_INDEX || stream[i].item == item))
            return true;
    return false;
}

static bool is_meant_for(const struct scenario *scenario, uint32_t chest, uint32_t item) {
    return has_stream(scenario->supply, scenario->supply_count, chest, item) ||
           has_stream(scenario->demand, scenario->demand_count, chest, item) ||
           count_in(&scenario->chest[chest].start, item) != NOT_GIVEN ||
           count_in(&scenario->chest[chest].limits, item) != NOT_GIVEN;
}

static bool is_meant_for_some(const struct scenario *scenario, uint32_t chest) {
    return has_stream(scenario->supply, scenario->supply_count, chest, NO_INDEX) ||
           has_stream(scenario->demand, scenario->demand_count, chest, NO_INDEX) ||
           scenario->chest[chest].start.count > 0 || scenario->chest[chest].limits.count > 0;
}

static uint32_t plan_chest_of(const struct draw *draw, uint32_t given) {
    for (uint32_t c = 0; c < draw->plan->chest_count; c++)
        if (draw->plan->chest[c].given == given)
            return c;
    return NO_INDEX;
}

static uint32_t use_given_chest(struct draw *draw, uint32_t given) {
    uint32_t known = plan_chest_of(draw, given);
    if (known != NO_INDEX)
        return known;
    struct plan_chest *chest = new_chest(draw, NULL);
    chest->given = given;
    chest->capacity = draw->scenario->chest[given].capacity;
    snprintf(chest->name, sizeof chest->name, "%s", draw->scenario->chest[given].name);
    return draw->plan->chest_count - 1;
}

/* A chest of the scenario that says that it is for an item; NO_INDEX: none does. */
static uint32_t meant_chest(struct draw *draw, uint32_t item) {
    for (uint32_t c = 0; c < draw->choice->chests_given; c++)
        if (is_meant_for(draw->scenario, c, item))
            return use_given_chest(draw, c);
    return NO_INDEX;
}

/* One of the scenario that is for nothing yet and has room; NO_INDEX: there is none. */
static uint32_t free_chest(struct draw *draw, int64_t room) {
    for (uint32_t c = 0; c < draw->choice->chests_given; c++)
        if (!is_meant_for_some(draw->scenario, c) && plan_chest_of(draw, c) == NO_INDEX &&
            (draw->scenario->chest[c].capacity == NO_LIMIT ||
             draw->scenario->chest[c].capacity >= room))
            return use_given_chest(draw, c);
    return NO_INDEX;
}

/* What a chest can hold in all. */
static int64_t most_in(const struct draw *draw, const struct plan_chest *chest) {
    if (chest->given == NO_INDEX)
        return draw->may->capacity_most;
    return chest->capacity == NO_LIMIT ? INT64_MAX / 2 : chest->capacity;
}

/* A stock in a chest of the scenario is as that says, as far as it says something. */
static void keep_given(const struct draw *draw, const struct plan_chest *chest,
                       struct plan_stock *stock) {
    const struct scenario_chest *given = &draw->scenario->chest[chest->given];
    int64_t limit = count_in(&given->limits, stock->item);
    int64_t start = count_in(&given->start, stock->item);
    int64_t room = most_in(draw, chest) - stocks_of(chest);
    stock->limit = limit != NOT_GIVEN ? limit : stock->limit < room ? stock->limit : room;
    stock->limit = stock->limit > 1 ? stock->limit : 1;
    stock->start = start != NOT_GIVEN ? start : stock->start;
}

/* The chest of the scenario that is for an item; else the last one of a kind if it has room, one
 * of the scenario that is free, or a new one. */
static uint32_t chest_for(struct draw *draw, uint32_t *last, const char *name, uint32_t item,
                          int64_t room) {
    struct plan *plan = draw->plan;
    uint32_t meant = meant_chest(draw, item);
    if (meant != NO_INDEX)
        return meant;
    bool fits = *last != NO_INDEX &&
                stocks_of(&plan->chest[*last]) + room <= most_in(draw, &plan->chest[*last]);
    if (!fits)
        *last = free_chest(draw, room);
    if (*last == NO_INDEX) {
        new_chest(draw, name);
        *last = plan->chest_count - 1;
    }
    return *last;
}

/* Puts an item into a chest. Its limit is cut to what that can hold. Returns the chest. */
static uint32_t put_stock(struct draw *draw, uint32_t *last, const char *name,
                          struct plan_stock stock) {
    int64_t most = draw->may->capacity_most;
    int64_t room = stock.limit < most ? stock.limit : most;
    uint32_t at = chest_for(draw, last, name, stock.item, room);
    struct plan_chest *chest = &draw->plan->chest[at];
    if (chest->given != NO_INDEX)
        keep_given(draw, chest, &stock);
    else
        stock.limit = room;
    stock.start = stock.start < stock.limit ? stock.start : stock.limit;
    chest->stock = require_more_memory(chest->stock, chest->stock_count + 1, sizeof *chest->stock);
    chest->stock[chest->stock_count++] = stock;
    if (chest->given == NO_INDEX)
        chest->capacity = may_capacity_for(draw->may, stocks_of(chest));
    require(chest->capacity != NOT_GIVEN);
    return at;
}

/* The stations of a recipe stop while enough of its product lies on the shelf. */
static void gate_stations(struct draw *draw, uint32_t recipe, uint32_t item, int64_t below,
                          const char *why) {
    for (uint32_t c = 0; c < draw->need.copies[recipe]; c++) {
        struct plan_station *station = &draw->plan->station[draw->first_station[recipe] + c];
        if (draw->choice->gate_given[recipe] || station->chest != NO_INDEX)
            continue;
        station->chest = draw->shelf[item];
        station->item = item;
        station->below = below;
        say_more(station->why, "; it stops at %lld on the shelf: %s", (long long)below, why);
    }
}

static void add_outlet(struct draw *draw, uint32_t item, double rate) {
    struct plan *plan = draw->plan;
    plan->outlet = require_more_memory(plan->outlet, plan->outlet_count + 1, sizeof *plan->outlet);
    struct plan_outlet *outlet = &plan->outlet[plan->outlet_count++];
    *outlet = (struct plan_outlet){.chest = draw->shelf[item],
                                   .item = item,
                                   .batch = (int64_t)ceil(1.2 * rate * OUTLET_SECONDS + 1),
                                   .every_seconds = OUTLET_SECONDS};
    name_it(draw, outlet->name, "%s-outlet", item_name(draw, item));
}

/* All that its recipes can make of an item at full speed. */
static double most_made(const struct draw *draw, uint32_t item) {
    double all = 0;
    for (uint32_t s = 0; s < draw->scenario->station_count; s++)
        all += draw->need.copies[s] * design_need_makes(draw->scenario, s, item);
    return all;
}

/* A surplus of what is also wanted goes on to a chest of its own, and from there out. */
static void add_overflow(struct draw *draw, uint32_t item, int64_t from, const char *why,
                         uint32_t *last) {
    uint32_t count, wanted = draw->shelf[item];
    uint32_t kind = lanes_mover(draw->may, (double)draw->scenario->ticks_per_second,
                                most_made(draw, item), &count);
    double rate = 0;
    struct plan_arm *arm = NULL;
    for (uint32_t i = 0; i < count; i++) {
        arm = new_arm(draw, kind);
        name_it(draw, arm->name, "%s-overflow", item_name(draw, item));
        arm->from = (struct plan_end){PLAN_CHEST, wanted, 0, 0};
        arm_takes(arm, item);
        arm_looks(arm, (struct plan_leaf){PLAN_CHEST, wanted, from, true});
        say(arm->why, "more %s is made than wanted: what is above %lld goes%s",
            item_name(draw, item), (long long)from - 1, why);
        rate += lanes_arm_peak(&draw->lanes, kind);
    }
    struct plan_stock stock = {.item = item, .limit = (int64_t)(rate * OUTLET_SECONDS * 1.2) + 8};
    say(stock.why, "what comes between two takings of its outlet");
    draw->shelf[item] = put_stock(draw, last, "surplus", stock);
    add_outlet(draw, item, rate);
    for (uint32_t i = 0; i < count; i++)
        draw->plan->arm[draw->plan->arm_count - 1 - i].to =
            (struct plan_end){PLAN_CHEST, draw->shelf[item], 0, 0};
    draw->shelf[item] = wanted;
}

static uint32_t main_maker(const struct draw *draw, uint32_t item) {
    for (uint32_t s = 0; s < draw->scenario->station_count; s++)
        if (draw->need.batches[s] > 0 && design_need_makes(draw->scenario, s, item) > 0)
            return s;
    return NO_INDEX;
}

/* The count from which a surplus goes, as far below the limit that the shelf got as what is under
 * way needs. */
static int64_t cut_to_room(const struct draw *draw, uint32_t item, int64_t from, int64_t coming) {
    const struct plan_chest *chest = &draw->plan->chest[draw->shelf[item]];
    int64_t most = chest->stock[chest->stock_count - 1].limit - coming + 1;
    require(chest->stock[chest->stock_count - 1].item == item);
    return from < most ? from : most > 1 ? most : 1;
}

static void add_shelf_of(struct draw *draw, uint32_t item, uint32_t *last, uint32_t *surplus) {
    uint32_t recipe = main_maker(draw, item);
    double left = design_need_surplus(&draw->need, item);
    bool wanted = draw->need.demanded[item] > 0 || draw->need.used[item] > 0;
    struct plan_stock stock = {.item = item};
    int64_t coming = under_way_to(draw, recipe, item), below = 1, ahead = 0;
    char why[PLAN_WHY_BYTES] = "", kept[PLAN_WHY_BYTES] = "";
    if (wanted)
        below = shelf_stock(draw, recipe, item, why);
    if (wanted && left > 0)
        below += kept_for_stations(draw, item, kept);
    if (wanted)
        stock.start = (int64_t)floor((double)below * draw->choice->shelf_start + hair);
    if (wanted && left == 0 && (draw->choice->head_start[item] || is_seldom(draw, item)))
        ahead = ordered_at_first(draw, item);
    if (left > 0)
        coming += (int64_t)ceil(most_made(draw, item) * OUTLET_SECONDS * 1.5) + 8;
    stock.start += ahead;
    stock.limit = below - 1 + (coming > ahead ? coming : ahead + 1);
    if (left > 0)
        say(stock.why, "%lld kept, and %lld that may come before the rest is taken away",
            (long long)below - 1, (long long)coming);
    else
        say(stock.why, "%lld at which its stations stop, and %lld more that are under way then",
            (long long)below, (long long)coming - 1);
    if (ahead > 0)
        say_more(stock.why, "; it begins with %lld more, which are ordered before any is made",
                 (long long)ahead);
    draw->shelf[item] = put_stock(draw, last, "shelf", stock);
    if (left > 0 && wanted)
        add_overflow(draw, item, cut_to_room(draw, item, below, coming), kept, surplus);
    else if (left > 0)
        add_outlet(draw, item, most_made(draw, item));
    else
        gate_stations(draw, recipe, item, below, why);
}

/* ---- carriers ---- */

/* Those that lie at a station: three batches of each that takes an item, or makes it. */
static double at_stations(const struct draw *draw, uint32_t item) {
    enum { BATCHES = 3 };
    double all = 0;
    for (uint32_t s = 0; s < draw->scenario->station_count; s++)
        if (draw->need.batches[s] > 0)
            all += BATCHES * draw->need.copies[s] *
                   (takes_of(draw, s, item) + (double)batch_made(draw, s, item));
    return all;
}

/* How many are under way at once (Little's law): at the stations that take and make them, at those
 * between, and for two revolutions of each belt. */
static int64_t carriers_of(const struct draw *draw, uint32_t item) {
    const struct scenario *scenario = draw->scenario;
    double all = at_stations(draw, item), seconds = 0;
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        const struct scenario_station *station = &scenario->station[s];
        bool takes = takes_of(draw, s, item) > 0;
        if (draw->need.batches[s] == 0 || (!takes && batch_made(draw, s, item) == 0))
            continue;
        seconds += (double)station->time.mean_ticks / (double)scenario->ticks_per_second;
        for (uint32_t k = 0; k < station->makes_count && takes; k++)
            if (draw->need.demanded[station->makes[k].item] == 0)
                all += at_stations(draw, station->makes[k].item);
    }
    for (uint32_t b = 0; b < draw->plan->belt_count; b++)
        seconds += 2 * (draw->plan->belt[b].cells / draw->lanes.lane[0].rate + swing_of(draw, 0));
    return (int64_t)ceil(draw->choice->threshold * (all + draw->need.used[item] * seconds));
}

static void add_carriers_of(struct draw *draw, uint32_t item, uint32_t *last, uint32_t *surplus) {
    int64_t count = carriers_of(draw, item);
    double made = most_made(draw, item);
    struct plan_stock stock = {
        .item = item, .limit = count + (int64_t)ceil(made * OUTLET_SECONDS) + 8, .start = count};
    say(stock.why, "%lld go round, and none is made of anything else", (long long)count);
    draw->shelf[item] = put_stock(draw, last, "carriers", stock);
    if (draw->may->disturb || draw->may->flood.numerator > 0)
        add_overflow(draw, item, count + 1, "", surplus);
}

/* `store` is the chest for products, too; NO_INDEX: they have their own. */
static void add_shelves(struct draw *draw, uint32_t store) {
    uint32_t last = store, surplus = NO_INDEX, carriers = NO_INDEX;
    for (uint32_t i = 0; i < draw->scenario->item_count; i++)
        if (draw->lanes.carrier[i])
            add_carriers_of(draw, i, &carriers, &surplus);
        else if (is_shelved(draw, i))
            add_shelf_of(draw, i, &last, &surplus);
}

/* ---- bins ---- */

static double first_of(const struct draw *draw, const struct scenario_stream *supply) {
    double tps = (double)draw->scenario->ticks_per_second;
    if (supply->first_tick != NOT_GIVEN)
        return (double)supply->first_tick / tps;
    return (double)supply->every.mean_ticks / tps;
}

/* Seconds that a bin has to last: from delivery to delivery, longer where these are random or
 * fail. */
static double lasts_for(const struct draw *draw, uint32_t item) {
    double tps = (double)draw->scenario->ticks_per_second, longest = 0;
    for (uint32_t i = 0; i < draw->scenario->supply_count; i++) {
        const struct scenario_stream *supply = &draw->scenario->supply[i];
        if (supply->item != item)
            continue;
        double every = (double)supply->every.mean_ticks / tps;
        every *= span_is_random(&supply->every) ? 3 : 1;
        if (supply->breaks->present)
            every += 3 * (double)supply->breaks->repair.mean_ticks / tps;
        longest = fmax(longest, fmax(every, first_of(draw, supply)));
    }
    return longest;
}

/* Deliveries that a bin has to hold where they come by chance: with a share `need / supply` of what
 * comes used, by the rule of a base stock in which the bin is what is served. */
static int64_t deliveries_for(const struct draw *draw, uint32_t item) {
    double met = (double)draw->may->met.numerator / (double)draw->may->met.denominator;
    for (uint32_t i = 0; i < draw->scenario->supply_count; i++) {
        const struct scenario_stream *supply = &draw->scenario->supply[i];
        if (supply->item == item && (span_is_random(&supply->every) || supply->breaks->present))
            return plan_base_stock(draw->need.bought[item] / draw->need.supplied[item],
                                   1 - (1 - met) / 4);
    }
    return 1;
}

static void add_bin_of(struct draw *draw, uint32_t item, uint32_t *last) {
    int64_t batch = 0;
    for (uint32_t i = 0; i < draw->scenario->supply_count; i++)
        if (draw->scenario->supply[i].item == item && draw->scenario->supply[i].batch > batch)
            batch = draw->scenario->supply[i].batch;
    batch *= deliveries_for(draw, item);
    double meanwhile = ceil(draw->need.bought[item] * lasts_for(draw, item) + 2 - hair);
    double limit = ceil(draw->choice->bin * ((double)batch + meanwhile));
    struct plan_stock stock = {
        .item = item, .limit = (int64_t)fmin(limit, 1e9), .start = (int64_t)fmin(meanwhile, 1e9)};
    say(stock.why, "deliveries of %lld in all, and the %.0f that are used until the next",
        (long long)batch, meanwhile);
    say_factor(stock.why, draw->choice->bin);
    draw->bin[item] = put_stock(draw, last, draw->choice->one_store ? "store" : "bin", stock);
}

/* Returns the last chest. */
static uint32_t add_bins(struct draw *draw) {
    uint32_t last = NO_INDEX;
    for (uint32_t i = 0; i < draw->scenario->item_count; i++)
        if (draw->need.supplied[i] > 0)
            add_bin_of(draw, i, &last);
    return last;
}

/* What all trays take of an item until they are full. */
static int64_t tray_room(const struct draw *draw, uint32_t item) {
    int64_t room = 0;
    for (uint32_t s = 0; s < draw->plan->station_count; s++) {
        const struct plan_station *station = &draw->plan->station[s];
        int64_t own = draw->scenario->station[station->recipe].ahead;
        int64_t batches = station->ahead != NOT_GIVEN ? station->ahead : own;
        room += batches * (int64_t)takes_of(draw, station->recipe, item);
    }
    return room;
}

/* Bins begin with what the trays take, as far as it fits, where supplies alone would be long about
 * it. */
static void fill_trays(struct draw *draw) {
    for (uint32_t c = 0; c < draw->plan->chest_count && draw->choice->full_trays; c++) {
        struct plan_chest *chest = &draw->plan->chest[c];
        for (uint32_t i = 0; i < chest->stock_count; i++) {
            struct plan_stock *stock = &chest->stock[i];
            int64_t more = tray_room(draw, stock->item);
            int64_t left = draw->may->capacity_most - stocks_of(chest);
            if (draw->bin[stock->item] != c || more == 0 || chest->given != NO_INDEX)
                continue;
            more = more < left ? more : left;
            stock->start += more;
            stock->limit += more;
            say_more(stock->why, "; it begins with %lld for the trays", (long long)more);
        }
        if (chest->given == NO_INDEX)
            chest->capacity = may_capacity_for(draw->may, stocks_of(chest));
    }
}

/* ---- shelvers ---- */

/* The arms that bring what a station makes for shelves to its chest. */
static void add_shelvers_of(struct draw *draw, uint32_t number, uint32_t chest) {
    const struct plan_station *station = &draw->plan->station[number];
    const struct scenario_station *recipe = &draw->scenario->station[station->recipe];
    double made = 0;
    uint32_t count;
    for (uint32_t i = 0; i < recipe->makes_count; i++)
        if (draw->shelf[recipe->makes[i].item] == chest)
            made += design_need_makes(draw->scenario, station->recipe, recipe->makes[i].item);
    if (made <= 0)
        return;
    uint32_t kind = lanes_mover(draw->may, (double)draw->scenario->ticks_per_second, made, &count);
    for (uint32_t k = 0; k < count; k++) {
        struct plan_arm *arm = new_arm(draw, kind);
        name_it(draw, arm->name, "%s-shelver", station->name);
        arm->from = (struct plan_end){PLAN_STATION, number, 0, 0};
        arm->to = (struct plan_end){PLAN_CHEST, chest, 0, 0};
        for (uint32_t i = 0; i < recipe->makes_count; i++)
            if (draw->shelf[recipe->makes[i].item] == chest)
                arm_takes(arm, recipe->makes[i].item);
        say(arm->why, "%s makes up to %.4g a minute, and it can bring away %.4g", station->name,
            60 * made, 60 * lanes_arm_peak(&draw->lanes, kind) * count);
    }
}

static void add_shelvers(struct draw *draw) {
    for (uint32_t s = 0; s < draw->plan->station_count; s++)
        for (uint32_t c = 0; c < draw->plan->chest_count; c++)
            add_shelvers_of(draw, s, c);
}

/* ---- supplies and demands ---- */

static void place_streams(struct draw *draw) {
    const struct scenario *scenario = draw->scenario;
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        draw->plan->supply_chest[i] = draw->bin[scenario->supply[i].item];
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        uint32_t item = scenario->demand[i].item;
        draw->plan->demand_chest[i] =
            draw->shelf[item] != NO_INDEX ? draw->shelf[item] : draw->bin[item];
    }
}

/* ---- all of it ---- */

static void use_names(struct draw *draw) {
    const struct scenario *scenario = draw->scenario;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        names_add(&draw->used, scenario->station[i].name, 0);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        names_add(&draw->used, scenario->supply[i].name, 0);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        names_add(&draw->used, scenario->demand[i].name, 0);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        names_add(&draw->used, scenario->loop[i].name, 0);
    for (uint32_t i = 0; i < scenario->line_count; i++)
        names_add(&draw->used, scenario->line[i].name, 0);
    for (uint32_t i = 0; i < draw->choice->chests_given; i++)
        names_add(&draw->used, scenario->chest[i].name, 0);
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].name != NULL)
            names_add(&draw->used, scenario->incident[i].name, 0);
}

static void put_together(struct draw *draw) {
    use_names(draw);
    add_stations(draw);
    put_lanes(draw);
    uint32_t bins = add_bins(draw);
    add_shelves(draw, draw->choice->one_store ? bins : NO_INDEX);
    for (uint32_t k = 0; k < draw->lanes.lane_count; k++)
        add_lane(draw, k);
    fill_trays(draw);
    for (uint32_t i = 0; i < draw->scenario->item_count; i++)
        if (draw->lanes.direct[i])
            add_direct(draw, i);
    add_shelvers(draw);
    for (uint32_t c = 0; c < draw->choice->chests_given; c++)
        use_given_chest(draw, c);
    place_streams(draw);
}

static void use_given_loops(struct may *may, const struct scenario *scenario) {
    const struct scenario_loop *slowest = &scenario->loop[0];
    may->loops_most = scenario->loop_count;
    may->lanes_most = LANES_OF_LOOP_MAX;
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        const struct scenario_loop *loop = &scenario->loop[i];
        slowest = quantity_compare(loop->rate, slowest->rate) < 0 ? loop : slowest;
        may->lanes_most = loop->lane_count < may->lanes_most ? loop->lane_count : may->lanes_most;
        if (i == 0 || loop->cell_count < may->loop_cells_most)
            may->loop_cells_most = loop->cell_count;
    }
    char text[QUANTITY_TEXT_SIZE];
    for (uint32_t i = 0; i < may->loop_rate_count; i++)
        free(may->loop_rate[i].text);
    may->loop_rate_count = 0;
    may_add_loop_rate(may, slowest->rate, quantity_ratio_text(slowest->rate, text));
}

static void use_given_lines(struct may *may, const struct scenario *scenario) {
    const struct scenario_line *slowest = &scenario->line[0];
    for (uint32_t i = 0; i < scenario->line_count; i++) {
        const struct scenario_line *line = &scenario->line[i];
        slowest = quantity_compare(line->rate, slowest->rate) < 0 ? line : slowest;
        if (i == 0 || line->cell_count < may->line_cells_most)
            may->line_cells_most = line->cell_count;
    }
    char text[QUANTITY_TEXT_SIZE];
    for (uint32_t i = 0; i < may->line_rate_count; i++)
        free(may->line_rate[i].text);
    may->line_rate_count = 0;
    may_add_line_rate(may, slowest->rate, quantity_ratio_text(slowest->rate, text));
}

void plan_use_given_belts(struct may *may, const struct scenario *scenario, bool loops) {
    if (loops && scenario->loop_count > 0)
        use_given_loops(may, scenario);
    if (scenario->line_count > 0)
        use_given_lines(may, scenario);
}

static uint32_t *no_indices(uint32_t count) {
    uint32_t *list = require_memory(count, sizeof *list);
    for (uint32_t i = 0; i < count; i++)
        list[i] = NO_INDEX;
    return list;
}

double plan_idle_share(const struct plan *plan, uint32_t item) {
    double busy = 0;
    for (uint32_t s = 0; s < plan->station_count; s++) {
        const struct scenario_station *recipe = &plan->scenario->station[plan->station[s].recipe];
        for (uint32_t k = 0; k < recipe->makes_count; k++)
            if (recipe->makes[k].item == item && plan->station[s].busy > busy)
                busy = plan->station[s].busy;
    }
    return 1 - busy;
}

bool plan_init(struct plan *plan, const struct scenario *scenario, const struct may *may,
               const struct plan_choice *choice, char why[DESIGN_WHY_BYTES]) {
    *plan = (struct plan){.scenario = scenario,
                          .may = may,
                          .supply_chest = no_indices(scenario->supply_count),
                          .demand_chest = no_indices(scenario->demand_count)};
    struct draw draw = {.plan = plan,
                        .scenario = scenario,
                        .may = may,
                        .choice = choice,
                        .first_station = no_indices(scenario->station_count),
                        .bin = no_indices(scenario->item_count),
                        .shelf = no_indices(scenario->item_count),
                        .why = why};
    struct lanes_wish wish = {.feeder_margin = choice->feeder_margin,
                              .lanes_least = choice->lanes_least,
                              .lines_given = scenario->line_count,
                              .extra_taker = choice->extra_taker};
    bool good = design_need_init(&draw.need, scenario, may, choice->extra_station, why) &&
                lanes_init(&draw.lanes, &draw.need, may, &wish, why);
    if (good) {
        draw.belt = no_indices(draw.lanes.lane_count);
        draw.lane = no_indices(draw.lanes.lane_count);
        put_together(&draw);
    }
    lanes_free(&draw.lanes);
    design_need_free(&draw.need);
    names_free(&draw.used);
    for (uint32_t i = 0; i < draw.owned_count; i++)
        free(draw.owned[i]);
    free(draw.owned);
    free(draw.first_station);
    free(draw.belt);
    free(draw.lane);
    free(draw.bin);
    free(draw.shelf);
    return good;
}

void plan_free(struct plan *plan) {
    for (uint32_t i = 0; i < plan->arm_count; i++) {
        free(plan->arm[i].item);
        free(plan->arm[i].leaf);
    }
    for (uint32_t i = 0; i < plan->chest_count; i++)
        free(plan->chest[i].stock);
    free(plan->station);
    free(plan->chest);
    free(plan->belt);
    free(plan->arm);
    free(plan->outlet);
    free(plan->supply_chest);
    free(plan->demand_chest);
    *plan = (struct plan){0};
}
