/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_rules.c - the eight rules of the trade, one after the other. */
#include "model/budget/budget_gates.h"

#include <math.h>
#include <stdlib.h>

#include "sim/require.h"

struct judge {
    struct budget *budget;
    const struct scenario *scenario;
    struct budget_rule *rule; /* at which it is */
    struct budget_below below;
};

static const char *item_name(const struct judge *judge, uint32_t item) {
    return judge->scenario->item[item].name;
}

static const char *arm_name(const struct judge *judge, uint32_t arm) {
    return judge->scenario->arm[arm].name;
}

static const char *lane_name(const struct judge *judge, uint32_t lane) {
    return judge->scenario->lane[lane].full_name;
}

/* Lowers the verdict; texts of a milder one are forgotten. False: a graver one stands. */
static bool lower(struct judge *judge, enum budget_verdict verdict) {
    struct budget_rule *rule = judge->rule;
    if (verdict < rule->verdict)
        return false;
    if (verdict == rule->verdict)
        return true;
    struct budget_texts *list[] = {&rule->subjects, &rule->whys, &rule->mends};
    for (int k = 0; k < 3; k++)
        budget_texts_free(list[k]);
    rule->verdict = verdict;
    return true;
}

static void name_subject(struct judge *judge, const char *name) {
    budget_texts_add(&judge->rule->subjects, "%s", name);
}

/* ---- feeders-within-lane ---- */

static void judge_stretch(struct judge *judge, const struct budget_stretch *stretch, double rate) {
    double needed = stretch->needed, feeders = stretch->feeders;
    bool too_much = needed > rate * (1 + 1e-9);
    if ((feeders <= rate * (1 + 1e-9) && !too_much) || !lower(judge, BUDGET_BROKEN))
        return;
    name_subject(judge, lane_name(judge, stretch->track));
    budget_texts_add(&judge->rule->whys,
                     "from cell %u to %u of %s the feeders can put on %.4g cells a second, and "
                     "%.4g pass",
                     stretch->from_cell, stretch->to_cell, lane_name(judge, stretch->track),
                     feeders, rate);
    budget_texts_add(&judge->rule->mends,
                     "slower feeders, fewer of them, a faster belt or a second lane");
}

static void judge_feeders(struct judge *judge) {
    const struct budget *budget = judge->budget;
    for (uint32_t i = 0; i < budget->stretch_count; i++)
        if (budget->stretch[i].track < judge->scenario->lane_count)
            judge_stretch(judge, &budget->stretch[i], budget->track[budget->stretch[i].track].rate);
}

/* ---- takers-outpace-feeders ---- */

/* What a feeder can put on, no more than the station makes that it unloads. */
static double feeds_of(const struct judge *judge, uint32_t arm, uint32_t item) {
    double rate = judge->budget->arm[arm].greatest;
    struct place from = judge->scenario->arm[arm].from;
    if (from.kind != PLACE_STATION)
        return rate;
    return fmin(rate, judge->budget->station[from.index].greatest *
                          budget_makes(judge->scenario, from.index, item));
}

static void judge_pace(struct judge *judge, uint32_t lane, uint32_t item) {
    const struct budget *budget = judge->budget;
    double fed = 0, taken = 0;
    for (uint32_t i = 0; i < judge->scenario->arm_count; i++) {
        fed += budget_feeds(&budget->net, i, lane, item) ? feeds_of(judge, i, item) : 0;
        taken += budget_takes_off(&budget->net, i, lane, item) ? budget->arm[i].pace : 0;
    }
    if (fed <= 0 || taken > fed * (1 + 1e-9) || !lower(judge, BUDGET_BROKEN))
        return;
    name_subject(judge, item_name(judge, item));
    name_subject(judge, lane_name(judge, lane));
    budget_texts_add(&judge->rule->whys, "%s on %s: feeders %.4g a second, takers %.4g",
                     item_name(judge, item), lane_name(judge, lane), fed, taken);
    budget_texts_add(&judge->rule->mends, "a faster taker of %s, a larger hand, or a second one",
                     item_name(judge, item));
}

static bool shares_taker(const struct judge *judge, uint32_t lane, uint32_t arm, const bool *item) {
    const struct scenario_arm *taker = &judge->scenario->arm[arm];
    if (taker->from.kind != PLACE_LANE || taker->from.index != lane)
        return false;
    for (uint32_t n = 0; n < taker->item_count; n++)
        if (item[taker->item[n]] && budget_carries(&judge->budget->net, arm, n))
            return true;
    return false;
}

/* The items that hang together with one by takers that they share. */
static void grow_group(const struct judge *judge, uint32_t lane, bool *item) {
    bool changed = true;
    while (changed) {
        changed = false;
        for (uint32_t i = 0; i < judge->scenario->arm_count; i++) {
            if (!shares_taker(judge, lane, i, item))
                continue;
            for (uint32_t n = 0; n < judge->scenario->arm[i].item_count; n++) {
                uint32_t k = judge->scenario->arm[i].item[n];
                if (!item[k] && budget_rides(&judge->budget->net, lane, k))
                    changed = item[k] = true;
            }
        }
    }
}

/* Takers that share their items have to keep up with all of them at once. */
static void judge_group(struct judge *judge, uint32_t lane, const bool *item) {
    const struct budget *budget = judge->budget;
    double fed = 0, taken = 0;
    for (uint32_t i = 0; i < judge->scenario->arm_count; i++) {
        double own = 0;
        for (uint32_t n = 0; n < judge->scenario->arm[i].item_count; n++) {
            uint32_t k = judge->scenario->arm[i].item[n];
            if (item[k] && budget_feeds(&budget->net, i, lane, k))
                own += feeds_of(judge, i, k);
        }
        fed += fmin(own, budget->arm[i].greatest);
        taken += shares_taker(judge, lane, i, item) ? budget->arm[i].pace : 0;
    }
    if (fed <= 0 || taken > fed * (1 + 1e-9) || !lower(judge, BUDGET_CANNOT_SAY))
        return;
    name_subject(judge, lane_name(judge, lane));
    for (uint32_t k = 0; k < judge->scenario->item_count; k++)
        if (item[k])
            name_subject(judge, item_name(judge, k));
    budget_texts_add(&judge->rule->whys,
                     "each item by itself is outpaced, but these share takers that take %.4g a "
                     "second, and their feeders can put on %.4g",
                     taken, fed);
    budget_texts_add(&judge->rule->mends, "faster takers, larger hands, or more of them");
}

static void judge_takers(struct judge *judge) {
    uint32_t items = judge->scenario->item_count;
    bool *group = require_memory(items, sizeof *group), *seen = require_memory(items, sizeof *seen);
    for (uint32_t lane = 0; lane < judge->scenario->lane_count; lane++) {
        for (uint32_t i = 0; i < items; i++)
            seen[i] = false;
        for (uint32_t i = 0; i < items; i++) {
            if (!budget_rides(&judge->budget->net, lane, i))
                continue;
            judge_pace(judge, lane, i);
            if (seen[i])
                continue;
            for (uint32_t k = 0; k < items; k++)
                group[k] = k == i;
            grow_group(judge, lane, group);
            judge_group(judge, lane, group);
            for (uint32_t k = 0; k < items; k++)
                seen[k] = seen[k] || group[k];
        }
    }
    free(group);
    free(seen);
}

/* ---- exit-stays-open ---- */

enum exit_state { EXIT_SHUTS, EXIT_UNSURE, EXIT_OPEN };

/* A leaf that reads an item of a chest, or the chest's total. */
struct chest_leaf {
    uint32_t chest, item;
};

static bool reads_chest(const void *self, const struct scenario_gate *leaf) {
    const struct chest_leaf *wanted = self;
    return leaf->reads == READS_CHEST && leaf->subject == wanted->chest &&
           (leaf->item == NO_INDEX || leaf->item == wanted->item);
}

/* Below which count of an item in a chest an arm still works; 0: it does not look. */
static int64_t works_below(const struct judge *judge, uint32_t arm, struct chest_leaf wanted) {
    int64_t own =
        budget_gate_below(judge->scenario, judge->scenario->arm[arm].gate, reads_chest, &wanted);
    return own > 0 ? own
                   : budget_gate_below(judge->scenario, budget_source_gate(judge->scenario, arm),
                                       reads_chest, &wanted);
}

/* What of an item may still come from a lane when the gates shut: hands, and what feeders put on
 * while one rides to the farthest taker and into the chest. */
static double under_way(const struct judge *judge, uint32_t lane, uint32_t item, uint32_t chest) {
    const struct scenario *scenario = judge->scenario;
    double all = 0, tps = (double)scenario->ticks_per_second;
    double rate = budget_track_rate(scenario, lane);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        if (!budget_feeds(&judge->budget->net, i, lane, item))
            continue;
        double longest = 0;
        for (uint32_t k = 0; k < scenario->arm_count; k++) {
            const struct scenario_arm *taker = &scenario->arm[k];
            if (!budget_takes_off(&judge->budget->net, k, lane, item) ||
                taker->to.kind != PLACE_CHEST || taker->to.index != chest)
                continue;
            double ride = budget_ahead(scenario, lane, scenario->arm[i].to.cell, taker->from.cell);
            longest =
                fmax(longest,
                     ride / rate + (double)(taker->swing.mean_ticks + taker->linger_ticks) / tps);
        }
        longest += (double)scenario->arm[i].swing.mean_ticks / tps;
        all += scenario->arm[i].hand + feeds_of(judge, i, item) * longest;
    }
    int64_t dropped = budget_dropped(scenario, lane, item);
    return all + (dropped == INT64_MAX ? 0 : (double)dropped);
}

/* The most items a second that an arm can bring into its chest: no more than comes onto the lane
 * from which it takes them. */
static double brings(const struct judge *judge, uint32_t arm, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    const struct place *from = &scenario->arm[arm].from;
    if (from->kind != PLACE_LANE)
        return feeds_of(judge, arm, item);
    double fed = budget_dropped(scenario, from->index, item) == INT64_MAX ? INFINITY : 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        fed +=
            budget_feeds(&judge->budget->net, i, from->index, item) ? feeds_of(judge, i, item) : 0;
    return fmin(fed, judge->budget->arm[arm].greatest);
}

/* All outlets of an item in a chest that go on for ever. */
struct outlets {
    double rate; /* items a second */
    double batch;
};

static struct outlets outlets_of(const struct judge *judge, uint32_t chest, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    struct outlets all = {0, 0};
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        if (!demand->outlet || demand->chest != chest || demand->item != item ||
            demand->until_tick != NO_LIMIT)
            continue;
        all.batch += (double)demand->batch;
        all.rate += budget_stream_rate(scenario, demand);
    }
    return all;
}

/* What comes into a chest between two takings of outlets that take away all that comes, hands
 * included; INFINITY: there are none, or they are too slow. */
static double between_outlets(const struct judge *judge, uint32_t chest, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    struct outlets outlets = outlets_of(judge, chest, item);
    double rate = judge->budget->net.supply[budget_at(scenario, chest, item)], hands = 0;
    for (uint32_t i = 0; i < scenario->arm_count && outlets.rate > 0; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (arm->to.kind != PLACE_CHEST || arm->to.index != chest ||
            !budget_carries_item(&judge->budget->net, i, item))
            continue;
        rate += brings(judge, i, item);
        hands += arm->hand;
    }
    bool keeps_up = outlets.rate > 0 && rate <= outlets.rate * (1 + 1e-9);
    return keeps_up ? hands + outlets.batch * rate / outlets.rate : INFINITY;
}

/* The most of an item that a chest gets to hold; INFINITY: something puts it in without looking. */
static double fills_to(const struct judge *judge, uint32_t chest, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    double start = (double)layout_chest_start(scenario, chest, item), threshold = 0, more = 0;
    size_t at = budget_at(scenario, chest, item);
    double between = between_outlets(judge, chest, item);
    if (between < INFINITY)
        return start + between;
    if (judge->budget->net.supply[at] > 0)
        return INFINITY;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (arm->to.kind != PLACE_CHEST || arm->to.index != chest ||
            !budget_carries_item(&judge->budget->net, i, item))
            continue;
        int64_t own = works_below(judge, i, (struct chest_leaf){chest, item});
        threshold = fmax(threshold, (double)own);
        more += arm->hand;
        if (own > 0)
            continue;
        if (arm->from.kind != PLACE_LANE)
            return INFINITY;
        for (uint32_t k = 0; k < scenario->arm_count; k++) {
            if (!budget_feeds(&judge->budget->net, k, arm->from.index, item))
                continue;
            int64_t below = works_below(judge, k, (struct chest_leaf){chest, item});
            if (below == 0)
                return INFINITY;
            threshold = fmax(threshold, (double)below);
        }
        more += under_way(judge, arm->from.index, item, chest);
    }
    return fmax(start, threshold - 1) + more;
}

static bool is_unbounded(const struct judge *judge, uint32_t chest, uint32_t item) {
    return layout_chest_capacity(judge->scenario, chest) == NO_LIMIT &&
           layout_chest_limit(judge->scenario, chest, item) == NO_LIMIT;
}

static enum exit_state chest_exit(const struct judge *judge, uint32_t chest, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    if (is_unbounded(judge, chest, item))
        return EXIT_OPEN;
    double own = fills_to(judge, chest, item), all = 0;
    if (own == INFINITY)
        return EXIT_SHUTS;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (judge->budget->net.comes[budget_at(scenario, chest, i)])
            all += fmin(fills_to(judge, chest, i), (double)layout_chest_limit(scenario, chest, i));
    bool fits = own <= (double)layout_chest_limit(scenario, chest, item) &&
                all <= (double)layout_chest_capacity(scenario, chest);
    return fits ? EXIT_OPEN : EXIT_UNSURE;
}

static bool watches_below(const void *self, const struct scenario_gate *leaf) {
    const struct judge *judge = self;
    const struct scenario *scenario = judge->scenario;
    uint32_t place = NO_INDEX;
    switch (leaf->reads) {
    case READS_CHEST: place = leaf->subject; break;
    case READS_STATION_INPUT: place = layout_input_place(scenario, leaf->subject); break;
    case READS_STATION_OUTPUT: place = layout_output_place(scenario, leaf->subject); break;
    case READS_LINE:
        place = layout_track_place(scenario, scenario->lane_count + leaf->subject);
        break;
    case READS_LOOP:
    case READS_LANE: return false;
    }
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if ((leaf->item == NO_INDEX || leaf->item == i) &&
            judge->below.mark[budget_at(scenario, place, i)])
            return true;
    return false;
}

static bool watches_belt(const void *self, const struct scenario_gate *leaf) {
    (void)self;
    return leaf->reads == READS_LOOP || leaf->reads == READS_LANE;
}

/* Whether a feeder's gates watch what lies behind the lane, for an item; judge->below is set. */
static bool feeder_watches(struct judge *judge, uint32_t arm, uint32_t lane, uint32_t item) {
    struct place from = judge->scenario->arm[arm].from;
    budget_mark_below(&judge->below, layout_track_place(judge->scenario, lane), item, true);
    for (uint32_t i = 0; from.kind == PLACE_CHEST && i < judge->scenario->item_count; i++)
        judge->below.mark[budget_at(judge->scenario, from.index, i)] = false;
    return budget_gate_suits(judge->scenario, judge->scenario->arm[arm].gate, watches_below,
                             judge) ||
           budget_gate_suits(judge->scenario, budget_source_gate(judge->scenario, arm),
                             watches_below, judge);
}

static bool all_feeders_watch(struct judge *judge, uint32_t lane, uint32_t item) {
    for (uint32_t i = 0; i < judge->scenario->arm_count; i++)
        if (budget_feeds(&judge->budget->net, i, lane, item) &&
            !feeder_watches(judge, i, lane, item))
            return false;
    return true;
}

static enum exit_state exit_of(struct judge *judge, uint32_t arm, uint32_t lane, uint32_t item) {
    const struct scenario_arm *taker = &judge->scenario->arm[arm];
    enum exit_state state;
    if (taker->to.kind == PLACE_CHEST)
        state = chest_exit(judge, taker->to.index, item);
    else if (taker->to.kind == PLACE_STATION)
        state = all_feeders_watch(judge, lane, item) ? EXIT_UNSURE : EXIT_SHUTS;
    else
        state = EXIT_UNSURE;
    return state == EXIT_OPEN && taker->gate != NO_INDEX ? EXIT_UNSURE : state;
}

static void tell_exit(struct judge *judge, uint32_t lane, uint32_t item, enum exit_state best,
                      uint32_t takers) {
    if (!lower(judge, best == EXIT_SHUTS ? BUDGET_BROKEN : BUDGET_CANNOT_SAY))
        return;
    const char *name = item_name(judge, item), *where = lane_name(judge, lane);
    struct budget_rule *rule = judge->rule;
    name_subject(judge, name);
    name_subject(judge, where);
    if (takers == 0)
        budget_texts_add(&rule->whys, "nothing takes %s off %s", name, where);
    else if (best == EXIT_SHUTS)
        budget_texts_add(&rule->whys,
                         "%s leaves %s only into what can fill up while it is still put on", name,
                         where);
    else
        budget_texts_add(&rule->whys,
                         "%s leaves %s into what has room at times; that it always has is not "
                         "certain",
                         name, where);
    budget_texts_add(&rule->mends,
                     "a clearing taker of %s into a chest without a bound, or into one with room "
                     "for what is under way when its feeder's gate shuts",
                     name);
}

static void judge_exit(struct judge *judge, uint32_t lane, uint32_t item) {
    enum exit_state best = EXIT_SHUTS;
    uint32_t takers = 0;
    for (uint32_t i = 0; i < judge->scenario->arm_count; i++) {
        if (!budget_takes_off(&judge->budget->net, i, lane, item))
            continue;
        enum exit_state state = exit_of(judge, i, lane, item);
        takers++;
        best = state > best ? state : best;
        struct budget_item *entry = &judge->budget->item[item];
        entry->has_clearing_taker =
            entry->has_clearing_taker ||
            (state == EXIT_OPEN && takers > 1 && judge->scenario->arm[i].to.kind == PLACE_CHEST);
    }
    if (best != EXIT_OPEN) {
        judge->budget->item[item].exit_stays_open = false;
        tell_exit(judge, lane, item, best, takers);
    }
}

static void judge_exits(struct judge *judge) {
    for (uint32_t i = 0; i < judge->scenario->item_count; i++) {
        judge->budget->item[i].exit_stays_open = true;
        for (uint32_t lane = 0; lane < judge->scenario->lane_count; lane++)
            if (budget_rides(&judge->budget->net, lane, i))
                judge_exit(judge, lane, i);
    }
}

/* ---- gate-watches-end-chest, inputs-gated-on-outputs ---- */

static bool ends_unbounded(const struct judge *judge, uint32_t lane, uint32_t item) {
    bool found = false;
    for (uint32_t i = 0; i < judge->scenario->arm_count; i++) {
        const struct scenario_arm *arm = &judge->scenario->arm[i];
        if (!budget_takes_off(&judge->budget->net, i, lane, item))
            continue;
        if (arm->to.kind != PLACE_CHEST ||
            (!is_unbounded(judge, arm->to.index, item) &&
             between_outlets(judge, arm->to.index, item) == INFINITY))
            return false;
        found = true;
    }
    return found;
}

/* Whether a station lies behind the lane for this item; judge->below is set with products. */
static uint32_t station_behind(const struct judge *judge, uint32_t item) {
    for (uint32_t s = 0; s < judge->scenario->station_count; s++)
        if (judge->below
                .mark[budget_at(judge->scenario, layout_input_place(judge->scenario, s), item)] &&
            budget_takes(judge->scenario, s, item) > 0)
            return s;
    return NO_INDEX;
}

static bool watches_only_belt(const struct judge *judge, uint32_t arm) {
    return budget_gate_suits(judge->scenario, judge->scenario->arm[arm].gate, watches_belt, judge);
}

static void tell_gate(struct judge *judge, uint32_t arm, uint32_t item, const char *behind) {
    bool belt = watches_only_belt(judge, arm);
    if (!lower(judge, belt ? BUDGET_CANNOT_SAY : BUDGET_BROKEN))
        return;
    name_subject(judge, arm_name(judge, arm));
    if (belt)
        budget_texts_add(&judge->rule->whys,
                         "%s watches the belt, not where %s ends: it stops with a belt that is not "
                         "empty",
                         arm_name(judge, arm), item_name(judge, item));
    else
        budget_texts_add(&judge->rule->whys, "%s goes on with %s whatever lies in %s",
                         arm_name(judge, arm), item_name(judge, item), behind);
    budget_texts_add(&judge->rule->mends, "a gate for %s: below some count of what lies in %s",
                     arm_name(judge, arm), behind);
}

static void judge_gates(struct judge *judge, bool of_stations) {
    const struct scenario *scenario = judge->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        for (uint32_t n = 0;
             scenario->arm[i].to.kind == PLACE_LANE && n < scenario->arm[i].item_count; n++) {
            uint32_t lane = scenario->arm[i].to.index, item = scenario->arm[i].item[n];
            if (!budget_carries(&judge->budget->net, i, n) || feeder_watches(judge, i, lane, item))
                continue;
            uint32_t station = station_behind(judge, item);
            if (of_stations && station != NO_INDEX)
                tell_gate(judge, i, item, scenario->station[station].name);
            else if (!of_stations && !ends_unbounded(judge, lane, item))
                tell_gate(judge, i, item, "the chest in which it ends");
        }
}

static void judge_end_gates(struct judge *judge) { judge_gates(judge, false); }
static void judge_input_gates(struct judge *judge) { judge_gates(judge, true); }

/* ---- outputs-have-exit ---- */

static bool station_looks(const struct judge *judge, uint32_t station, uint32_t chest,
                          uint32_t item) {
    struct chest_leaf wanted = {chest, item};
    return budget_gate_suits(judge->scenario, judge->scenario->station[station].gate, reads_chest,
                             &wanted);
}

/* Whether a place reached is a true end for an output: used, demanded, without bound, watched, or
 * emptied by an outlet. */
static bool is_exit(const struct judge *judge, uint32_t station, uint32_t place, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    bool surplus = judge->budget->item[item].surplus > 1e-9;
    if (place < scenario->chest_count)
        return is_unbounded(judge, place, item) || station_looks(judge, station, place, item) ||
               between_outlets(judge, place, item) < INFINITY ||
               (judge->budget->net.demand[budget_at(scenario, place, item)] > 0 && !surplus);
    return place >= layout_input_place(scenario, 0) && place < layout_track_place(scenario, 0) &&
           !surplus;
}

static void tell_output(struct judge *judge, uint32_t station, uint32_t item, bool taken) {
    if (!lower(judge, BUDGET_BROKEN))
        return;
    const char *name = judge->scenario->station[station].name;
    name_subject(judge, name);
    name_subject(judge, item_name(judge, item));
    budget_texts_add(&judge->rule->whys,
                     taken ? "what %s makes of %s ends in a chest that fills and that nothing "
                             "empties fast enough"
                           : "no arm takes from %s what it makes of %s",
                     name, item_name(judge, item));
    budget_texts_add(&judge->rule->mends,
                     "an arm or a demand that takes %s away, or a gate for %s on its chest",
                     item_name(judge, item), name);
}

static void judge_output(struct judge *judge, uint32_t station, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    uint32_t from = layout_output_place(scenario, station);
    bool taken = false, rides = false, ends = false;
    budget_mark_below(&judge->below, from, item, false);
    for (uint32_t place = 0; place < judge->budget->net.place_count; place++) {
        if (place == from || !judge->below.mark[budget_at(scenario, place, item)])
            continue;
        taken = true;
        rides = rides || (place >= layout_track_place(scenario, 0) &&
                          place < layout_track_place(scenario, scenario->lane_count));
        ends = ends || is_exit(judge, station, place, item);
    }
    bool alone = scenario->station[station].makes_count == 1 && !rides && taken;
    if (!ends && !alone)
        tell_output(judge, station, item, taken);
}

static void judge_outputs(struct judge *judge) {
    for (uint32_t s = 0; s < judge->scenario->station_count; s++)
        for (uint32_t i = 0; i < judge->scenario->station[s].makes_count; i++)
            if (budget_yield(&judge->scenario->station[s].makes[i]) > 0)
                judge_output(judge, s, judge->scenario->station[s].makes[i].item);
}

/* ---- supplied-bin-keeps-room ---- */

static bool supply_leaves_room(const struct judge *judge, const struct scenario_stream *supply) {
    struct chest_leaf wanted = {supply->chest, supply->item};
    int64_t capacity = layout_chest_capacity(judge->scenario, supply->chest);
    int64_t below = budget_gate_below(judge->scenario, supply->gate, reads_chest, &wanted);
    return layout_chest_limit(judge->scenario, supply->chest, supply->item) < capacity ||
           (below > 0 && below - 1 + supply->batch < capacity);
}

/* Who else puts something into a supplied chest; NULL: nobody. */
static const char *other_filler(const struct judge *judge, const struct scenario_stream *supply) {
    const struct scenario *scenario = judge->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        for (uint32_t n = 0;
             scenario->arm[i].to.kind == PLACE_CHEST &&
             scenario->arm[i].to.index == supply->chest && n < scenario->arm[i].item_count;
             n++)
            if (budget_carries(&judge->budget->net, i, n))
                return scenario->arm[i].name;
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (scenario->supply[i].chest == supply->chest && scenario->supply[i].item != supply->item)
            return scenario->supply[i].name;
    return NULL;
}

static void judge_bins(struct judge *judge) {
    for (uint32_t i = 0; i < judge->scenario->supply_count; i++) {
        const struct scenario_stream *supply = &judge->scenario->supply[i];
        const char *other = other_filler(judge, supply);
        const char *chest = judge->scenario->chest[supply->chest].name;
        if (other == NULL || layout_chest_capacity(judge->scenario, supply->chest) == NO_LIMIT ||
            supply_leaves_room(judge, supply) || !lower(judge, BUDGET_BROKEN))
            continue;
        name_subject(judge, chest);
        budget_texts_add(&judge->rule->whys, "%s can fill %s, and then %s finds no room there",
                         supply->name, chest, other);
        budget_texts_add(&judge->rule->mends,
                         "a limit for %s in %s below its capacity, or a gate "
                         "for %s",
                         item_name(judge, supply->item), chest, supply->name);
    }
}

/* ---- bulk-on-a-line ---- */

/* The most cells a second that an item needs on a stretch of a lane. */
static double needs_on(const struct judge *judge, uint32_t lane, uint32_t item, bool *known) {
    const struct scenario *scenario = judge->scenario;
    double needed = 0, feeders = 0;
    const struct budget_net *net = &judge->budget->net;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        uint32_t arm = net->carrier[k];
        if (!budget_feeds(net, arm, lane, item))
            continue;
        needed += judge->budget->flow[budget_entry(net, arm, item)];
        feeders += feeds_of(judge, arm, item);
    }
    bool asked = scenario_has_orders(scenario);
    *known =
        asked || feeders * scenario->item[item].length <= budget_track_rate(scenario, lane) / 3;
    return (asked ? needed : feeders) * scenario->item[item].length;
}

static void judge_bulk_item(struct judge *judge, uint32_t lane, uint32_t item) {
    bool known;
    double rate = budget_track_rate(judge->scenario, lane);
    double needs = needs_on(judge, lane, item, &known);
    if (needs <= rate / 3 || !lower(judge, known ? BUDGET_BROKEN : BUDGET_CANNOT_SAY))
        return;
    name_subject(judge, item_name(judge, item));
    name_subject(judge, lane_name(judge, lane));
    budget_texts_add(&judge->rule->whys,
                     known ? "%s needs %.4g of the %.4g cells a second of %s, which it shares"
                           : "%s may use %.4g of the %.4g cells a second of %s; without a demand "
                             "it is not said how much it needs",
                     item_name(judge, item), needs, rate, lane_name(judge, lane));
    budget_texts_add(&judge->rule->mends, "a lane or line of its own for %s",
                     item_name(judge, item));
}

static void judge_bulk(struct judge *judge) {
    for (uint32_t lane = 0; lane < judge->scenario->lane_count; lane++) {
        uint32_t kinds = 0;
        for (uint32_t i = 0; i < judge->scenario->item_count; i++)
            kinds += budget_rides(&judge->budget->net, lane, i);
        for (uint32_t i = 0; kinds > 1 && i < judge->scenario->item_count; i++)
            if (budget_rides(&judge->budget->net, lane, i))
                judge_bulk_item(judge, lane, i);
    }
}

/* ---- all of them ---- */

static const struct rule_row {
    const char *name;
    void (*judge)(struct judge *judge);
    const char *holds; /* why, when it does */
} rule_row[BUDGET_RULES] = {
    [RULE_FEEDERS_WITHIN_LANE] = {"feeders-within-lane", judge_feeders,
                                  "on no stretch can the feeders put on more than passes"},
    [RULE_TAKERS_OUTPACE_FEEDERS] = {"takers-outpace-feeders", judge_takers,
                                     "every item's takers are faster than its feeders"},
    [RULE_EXIT_STAYS_OPEN] = {"exit-stays-open", judge_exits,
                              "every item on a loop has a way off that stays open"},
    [RULE_GATE_WATCHES_END_CHEST] = {"gate-watches-end-chest", judge_end_gates,
                                     "every feeder stops when enough lies where its items end, or "
                                     "there is room without end"},
    [RULE_OUTPUTS_HAVE_EXIT] = {"outputs-have-exit", judge_outputs,
                                "every output goes where it is used, or has room"},
    [RULE_INPUTS_GATED_ON_OUTPUTS] = {"inputs-gated-on-outputs", judge_input_gates,
                                      "what stops the outputs stops the inputs"},
    [RULE_SUPPLIED_BIN_KEEPS_ROOM] = {"supplied-bin-keeps-room", judge_bins,
                                      "no supply can fill a chest that others need"},
    [RULE_BULK_ON_A_LINE] = {"bulk-on-a-line", judge_bulk,
                             "no item needs more than a third of a lane that it shares"},
};

const char *budget_rule_name(enum budget_rule_kind rule) { return rule_row[rule].name; }

const char *budget_verdict_name(enum budget_verdict verdict) {
    switch (verdict) {
    case BUDGET_HOLDS: return "holds";
    case BUDGET_CANNOT_SAY: return "cannot say";
    case BUDGET_BROKEN: return "broken";
    }
    return NULL;
}

void budget_rules(struct budget *budget) {
    struct judge judge = {.budget = budget, .scenario = budget->scenario};
    budget_below_init(&judge.below, &budget->net);
    budget->rules_hold = true;
    for (int i = 0; i < BUDGET_RULES; i++) {
        judge.rule = &budget->rule[i];
        rule_row[i].judge(&judge);
        if (judge.rule->verdict == BUDGET_HOLDS)
            budget_texts_add(&judge.rule->whys, "%s", rule_row[i].holds);
        budget->rules_hold = budget->rules_hold && judge.rule->verdict != BUDGET_BROKEN;
    }
    budget_below_free(&judge.below);
}
