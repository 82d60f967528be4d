/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_rules.c - the eight rules of the trade, one after the other. */
#include "model/budget/budget_rules.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

#include "model/budget/budget_gates.h"
#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "sim/array.h"
#include "sim/require.h"

struct judge {
    struct budget *budget;
    const struct scenario *scenario;
    const struct budget_net *net;
    struct budget_rule *rule; /* that is being judged */
    struct budget_downstream downstream;
    bool *chest_has_outlet; /* [chest] */
    double *fills;   /* [chest] the most of all items together that it gets to hold; NAN: not yet
                        worked out */
    bool *in_group;  /* [item]; all false between groups */
    uint32_t *group; /* items that share takers, in the scenario's order */
    uint32_t group_count;
    bool *arm_seen;   /* [arm]; all false between groups */
    uint32_t *member; /* arms of a group, in declared order */
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
    struct budget_texts *list[] = {&rule->subjects, &rule->whys, &rule->advice};
    for (int k = 0; k < 3; k++)
        budget_texts_free(list[k]);
    rule->verdict = verdict;
    rule->finding_count = 0;
    return true;
}

static const struct budget_finding nothing = {NO_INDEX, NO_INDEX, NO_INDEX, NO_INDEX, NO_INDEX,
                                              NO_INDEX, 0,        0,        0};

/* Adds what was found, or to the same as found before the greater need. The next text that is added
 * to `whys` says it. */
static void add_finding(struct judge *judge, struct budget_finding found) {
    struct budget_rule *rule = judge->rule;
    struct budget_finding *last =
        rule->finding_count > 0 ? &rule->finding[rule->finding_count - 1] : NULL;
    if (last != NULL && budget_same_finding(last, &found)) {
        last->needs = fmax(last->needs, found.needs);
        return;
    }
    rule->finding = array_with_room(rule->finding, rule->finding_count, &rule->finding_capacity,
                                    sizeof *rule->finding);
    found.why = rule->whys.count;
    rule->finding[rule->finding_count++] = found;
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
    struct budget_finding found = nothing;
    found.lane = stretch->track;
    found.needs = fmax(needed, feeders);
    found.has = rate;
    add_finding(judge, found);
    name_subject(judge, lane_name(judge, stretch->track));
    budget_texts_add(&judge->rule->whys,
                     "from cell %u to %u of %s the feeders can put on %.4g cells a second, and "
                     "%.4g pass",
                     stretch->from_cell, stretch->to_cell, lane_name(judge, stretch->track),
                     feeders, rate);
    budget_texts_add(&judge->rule->advice,
                     "slower feeders, fewer of them, a faster belt or a second lane");
}

static void judge_feeders(struct judge *judge) {
    const struct budget *budget = judge->budget;
    for (uint32_t i = 0; i < budget->stretch_count; i++)
        if (budget->stretch[i].track < judge->scenario->lane_count)
            judge_stretch(judge, &budget->stretch[i], budget->track[budget->stretch[i].track].rate);
}

/* ---- takers-outpace-feeders ---- */

static void judge_pace(struct judge *judge, uint32_t lane, uint32_t item) {
    const struct budget *budget = judge->budget;
    const struct budget_net *net = judge->net;
    double fed = 0, taken = 0;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        uint32_t arm = net->carrier[k];
        fed += budget_feeds(net, k, lane) ? budget_feeds_of_item(budget, arm, item) : 0;
        taken += budget_takes_off(net, k, lane) ? budget->arm[arm].peak_rate : 0;
    }
    if (fed <= 0 || taken > fed * (1 + 1e-9) || !lower(judge, BUDGET_BROKEN))
        return;
    struct budget_finding found = nothing;
    found.lane = lane;
    found.item = item;
    found.needs = fed;
    found.has = taken;
    add_finding(judge, found);
    name_subject(judge, item_name(judge, item));
    name_subject(judge, lane_name(judge, lane));
    budget_texts_add(&judge->rule->whys, "%s on %s: feeders %.4g a second, takers %.4g",
                     item_name(judge, item), lane_name(judge, lane), fed, taken);
    budget_texts_add(&judge->rule->advice, "a faster taker of %s, a larger hand, or a second one",
                     item_name(judge, item));
}

static int by_number(const void *first, const void *second) {
    uint32_t a = *(const uint32_t *)first, b = *(const uint32_t *)second;
    return (a > b) - (a < b);
}

static void join_group(struct judge *judge, uint32_t item) {
    if (judge->in_group[item])
        return;
    judge->in_group[item] = true;
    judge->group[judge->group_count++] = item;
}

/* The items that are connected with one by takers that they share. */
static void find_group(struct judge *judge, uint32_t lane, uint32_t item) {
    const struct budget_net *net = judge->net;
    judge->group_count = 0;
    join_group(judge, item);
    for (uint32_t i = 0; i < judge->group_count; i++) {
        uint32_t own = judge->group[i];
        for (uint32_t k = net->first_carrier[own]; k < net->first_carrier[own + 1]; k++) {
            uint32_t arm = net->carrier[k], end = net->first_entry[arm + 1];
            if (!budget_takes_off(net, k, lane))
                continue;
            for (uint32_t entry = net->first_entry[arm]; entry < end; entry++)
                if (budget_rides(net, lane, net->entry_item[entry]))
                    join_group(judge, net->entry_item[entry]);
        }
    }
    qsort(judge->group, judge->group_count, sizeof *judge->group, by_number);
}

static void leave_group(struct judge *judge) {
    for (uint32_t i = 0; i < judge->group_count; i++)
        judge->in_group[judge->group[i]] = false;
}

/* Lists the arms that feed the lane with items of the group, or take them off, each once. */
static uint32_t list_members(struct judge *judge, uint32_t lane, bool feeders) {
    const struct budget_net *net = judge->net;
    uint32_t count = 0;
    for (uint32_t i = 0; i < judge->group_count; i++) {
        uint32_t item = judge->group[i];
        for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
            uint32_t arm = net->carrier[k];
            if (judge->arm_seen[arm] ||
                !(feeders ? budget_feeds(net, k, lane) : budget_takes_off(net, k, lane)))
                continue;
            judge->arm_seen[arm] = true;
            judge->member[count++] = arm;
        }
    }
    qsort(judge->member, count, sizeof *judge->member, by_number);
    for (uint32_t i = 0; i < count; i++)
        judge->arm_seen[judge->member[i]] = false;
    return count;
}

/* What one arm can put on of all items of the group. */
static double feeds_group(const struct judge *judge, uint32_t arm) {
    const struct budget_net *net = judge->net;
    double own = 0;
    for (uint32_t entry = net->first_entry[arm]; entry < net->first_entry[arm + 1]; entry++)
        if (judge->in_group[net->entry_item[entry]] && budget_carries(net, entry))
            own += budget_feeds_of_item(judge->budget, arm, net->entry_item[entry]);
    return fmin(own, judge->budget->arm[arm].greatest);
}

/* Takers that share their items have to keep up with all of them at once. */
static void judge_group(struct judge *judge, uint32_t lane) {
    double fed = 0, taken = 0;
    uint32_t feeders = list_members(judge, lane, true);
    for (uint32_t i = 0; i < feeders; i++)
        fed += feeds_group(judge, judge->member[i]);
    uint32_t takers = list_members(judge, lane, false);
    for (uint32_t i = 0; i < takers; i++)
        taken += judge->budget->arm[judge->member[i]].peak_rate;
    if (fed <= 0 || taken > fed * (1 + 1e-9) || !lower(judge, BUDGET_CANNOT_SAY))
        return;
    struct budget_finding found = nothing;
    found.lane = lane;
    found.item = judge->group[0];
    found.needs = fed;
    found.has = taken;
    add_finding(judge, found);
    name_subject(judge, lane_name(judge, lane));
    for (uint32_t i = 0; i < judge->group_count; i++)
        name_subject(judge, item_name(judge, judge->group[i]));
    budget_texts_add(&judge->rule->whys,
                     "each item by itself is outpaced, but these share takers that take %.4g a "
                     "second, and their feeders can put on %.4g",
                     taken, fed);
    budget_texts_add(&judge->rule->advice, "faster takers, larger hands, or more of them");
}

/* Judges the items of a lane one by one, and each group when its first item comes. */
static void judge_takers_of_lane(struct judge *judge, uint32_t lane, bool *seen) {
    const struct budget_net *net = judge->net;
    uint32_t place = layout_track_place(judge->scenario, lane);
    for (uint32_t pair = net->first_pair[place]; pair < net->first_pair[place + 1]; pair++)
        seen[net->pair_item[pair]] = false;
    for (uint32_t pair = net->first_pair[place]; pair < net->first_pair[place + 1]; pair++) {
        uint32_t item = net->pair_item[pair];
        if (!net->reachable[pair])
            continue;
        judge_pace(judge, lane, item);
        if (seen[item])
            continue;
        find_group(judge, lane, item);
        judge_group(judge, lane);
        leave_group(judge);
        for (uint32_t i = 0; i < judge->group_count; i++)
            seen[judge->group[i]] = true;
    }
}

static void judge_takers(struct judge *judge) {
    bool *seen = require_memory(judge->scenario->item_count, sizeof *seen);
    for (uint32_t lane = 0; lane < judge->scenario->lane_count; lane++)
        judge_takers_of_lane(judge, lane, seen);
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

/* Seconds from a feeder's pick until the item is in the chest, by the taker that takes longest. */
static double longest_way(const struct judge *judge, uint32_t feeder, uint32_t lane, uint32_t item,
                          uint32_t chest) {
    const struct scenario *scenario = judge->scenario;
    const struct budget_net *net = judge->net;
    double longest = 0, tps = (double)scenario->ticks_per_second;
    double rate = budget_track_rate(scenario, lane);
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        const struct scenario_arm *taker = &scenario->arm[net->carrier[k]];
        if (!budget_takes_off(net, k, lane) || taker->to.kind != PLACE_CHEST ||
            taker->to.index != chest)
            continue;
        double ride = budget_ahead(scenario, lane, scenario->arm[feeder].to.cell, taker->from.cell);
        longest = fmax(longest,
                       ride / rate + (double)(taker->swing.mean_ticks + taker->linger_ticks) / tps);
    }
    return longest + (double)scenario->arm[feeder].swing.mean_ticks / tps;
}

/* What of an item may still come from a lane when the gates shut: hands, and what feeders put on
 * while one rides to the farthest taker and into the chest. */
static double under_way(const struct judge *judge, uint32_t lane, uint32_t item, uint32_t chest) {
    const struct budget_net *net = judge->net;
    double all = 0;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        uint32_t arm = net->carrier[k];
        if (budget_feeds(net, k, lane))
            all += judge->scenario->arm[arm].hand + budget_feeds_of_item(judge->budget, arm, item) *
                                                        longest_way(judge, arm, lane, item, chest);
    }
    int64_t dropped = budget_dropped(judge->scenario, lane, item);
    return all + (dropped == INT64_MAX ? 0 : (double)dropped);
}

/* The highest count in a chest below which some feeder of a lane still works; 0: one doesn't
 * look. */
static double feeders_work_below(const struct judge *judge, uint32_t lane, uint32_t item,
                                 uint32_t chest) {
    const struct budget_net *net = judge->net;
    double threshold = 0;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        if (!budget_feeds(net, k, lane))
            continue;
        int64_t below = works_below(judge, net->carrier[k], (struct chest_leaf){chest, item});
        if (below == 0)
            return INFINITY;
        threshold = fmax(threshold, (double)below);
    }
    return threshold;
}

/* The most items a second that an arm can bring into its chest: no more than comes onto the lane
 * from which it takes them. */
static double brings(const struct judge *judge, uint32_t arm, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    const struct budget_net *net = judge->net;
    const struct place *from = &scenario->arm[arm].from;
    if (from->kind != PLACE_LANE)
        return budget_feeds_of_item(judge->budget, arm, item);
    double fed = budget_dropped(scenario, from->index, item) == INT64_MAX ? INFINITY : 0;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++)
        if (budget_feeds(net, k, from->index))
            fed += budget_feeds_of_item(judge->budget, net->carrier[k], item);
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
    const struct budget_net *net = judge->net;
    struct outlets outlets = {0, 0};
    uint32_t pair = budget_place_item_index(net, chest, item);
    if (judge->chest_has_outlet[chest])
        outlets = outlets_of(judge, chest, item);
    if (outlets.rate <= 0 || pair == NO_INDEX)
        return INFINITY;
    double rate = net->supply[pair], hands = 0;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        if (net->target_pair[net->carrier_entry[k]] != pair ||
            !budget_carries(net, net->carrier_entry[k]))
            continue;
        rate += brings(judge, net->carrier[k], item);
        hands += judge->scenario->arm[net->carrier[k]].hand;
    }
    bool keeps_up = rate <= outlets.rate * (1 + 1e-9);
    return keeps_up ? hands + outlets.batch * rate / outlets.rate : INFINITY;
}

/* The most of an item that a chest gets to hold; INFINITY: something puts it in without looking. */
static double fills_to(const struct judge *judge, uint32_t pair) {
    const struct scenario *scenario = judge->scenario;
    const struct budget_net *net = judge->net;
    uint32_t chest = net->pair_place[pair], item = net->pair_item[pair];
    double start = (double)layout_chest_start(scenario, chest, item), threshold = 0, more = 0;
    double between = between_outlets(judge, chest, item);
    if (between < INFINITY)
        return start + between;
    if (net->supply[pair] > 0)
        return INFINITY;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        const struct scenario_arm *arm = &scenario->arm[net->carrier[k]];
        if (net->target_pair[net->carrier_entry[k]] != pair ||
            !budget_carries(net, net->carrier_entry[k]))
            continue;
        int64_t own = works_below(judge, net->carrier[k], (struct chest_leaf){chest, item});
        threshold = fmax(threshold, (double)own);
        more += arm->hand;
        if (own > 0)
            continue;
        if (arm->from.kind != PLACE_LANE)
            return INFINITY;
        threshold = fmax(threshold, feeders_work_below(judge, arm->from.index, item, chest));
        if (threshold == INFINITY)
            return INFINITY;
        more += under_way(judge, arm->from.index, item, chest);
    }
    return fmax(start, threshold - 1) + more;
}

static bool is_unbounded(const struct judge *judge, uint32_t chest, uint32_t item) {
    return layout_chest_capacity(judge->scenario, chest) == NO_LIMIT &&
           layout_chest_limit(judge->scenario, chest, item) == NO_LIMIT;
}

/* The most of all items together that a chest gets to hold. */
static double fills_with_all(const struct judge *judge, uint32_t chest) {
    const struct budget_net *net = judge->net;
    if (!isnan(judge->fills[chest]))
        return judge->fills[chest];
    double all = 0;
    for (uint32_t pair = net->first_pair[chest]; pair < net->first_pair[chest + 1]; pair++)
        if (net->reachable[pair])
            all += fmin(fills_to(judge, pair),
                        (double)layout_chest_limit(judge->scenario, chest, net->pair_item[pair]));
    return judge->fills[chest] = all;
}

static enum exit_state chest_exit(const struct judge *judge, uint32_t chest, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    if (is_unbounded(judge, chest, item))
        return EXIT_OPEN;
    double own = fills_to(judge, budget_place_item_index(judge->net, chest, item));
    if (own == INFINITY)
        return EXIT_SHUTS;
    bool fits = own <= (double)layout_chest_limit(scenario, chest, item) &&
                fills_with_all(judge, chest) <= (double)layout_chest_capacity(scenario, chest);
    return fits ? EXIT_OPEN : EXIT_UNSURE;
}

/* Whether any item, or the one, is marked at a place. */
static bool is_marked(const struct judge *judge, uint32_t place, uint32_t item) {
    const struct budget_net *net = judge->net;
    if (item != NO_INDEX)
        return budget_downstream_has(&judge->downstream, place, item);
    for (uint32_t pair = net->first_pair[place]; pair < net->first_pair[place + 1]; pair++)
        if (judge->downstream.mark[pair])
            return true;
    return false;
}

static bool watches_downstream(const void *self, const struct scenario_gate *leaf) {
    const struct judge *judge = self;
    const struct scenario *scenario = judge->scenario;
    switch (leaf->reads) {
    case READS_CHEST: return is_marked(judge, leaf->subject, leaf->item);
    case READS_STATION_INPUT:
        return is_marked(judge, layout_input_place(scenario, leaf->subject), leaf->item);
    case READS_STATION_OUTPUT:
        return is_marked(judge, layout_output_place(scenario, leaf->subject), leaf->item);
    case READS_LINE: {
        struct place line = {PLACE_LINE, leaf->subject, 0};
        return is_marked(judge, layout_target(scenario, line), leaf->item);
    }
    case READS_LOOP:
    case READS_LANE: break;
    }
    return false;
}

/* Also when some of the gates of `any` watch the belt and others what comes after it: then all are
 * shut at last, though with a belt that is not empty. */
static bool watches_belt(const void *self, const struct scenario_gate *leaf) {
    return leaf->reads == READS_LOOP || leaf->reads == READS_LANE || watches_downstream(self, leaf);
}

/* Whether a feeder's gates watch what comes after the lane, for an item; marks what does. What lies
 * in the chest from which it takes doesn't count. */
static bool feeder_watches(struct judge *judge, uint32_t arm, uint32_t lane, uint32_t item) {
    const struct budget_net *net = judge->net;
    struct place from = judge->scenario->arm[arm].from;
    budget_downstream_mark(&judge->downstream, layout_track_place(judge->scenario, lane), item,
                           true);
    if (from.kind == PLACE_CHEST)
        for (uint32_t pair = net->first_pair[from.index]; pair < net->first_pair[from.index + 1];
             pair++)
            judge->downstream.mark[pair] = false;
    return budget_gate_suits(judge->scenario, judge->scenario->arm[arm].gate, watches_downstream,
                             judge) ||
           budget_gate_suits(judge->scenario, budget_source_gate(judge->scenario, arm),
                             watches_downstream, judge);
}

static bool all_feeders_watch(struct judge *judge, uint32_t lane, uint32_t item) {
    const struct budget_net *net = judge->net;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++)
        if (budget_feeds(net, k, lane) && !feeder_watches(judge, net->carrier[k], lane, item))
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

/* What of an item takers on a lane can do, the best of them. */
struct way_off {
    uint32_t takers;
    enum exit_state best;
    uint32_t chest; /* to which the best one puts; NO_INDEX: to none */
};

/* How much a chest must have room for, and has, by the bound that is too small; one without a bound
 * has infinite room. */
static void room_for(const struct judge *judge, uint32_t chest, uint32_t item,
                     struct budget_finding *found) {
    double own = fills_to(judge, budget_place_item_index(judge->net, chest, item));
    double limit = (double)layout_chest_limit(judge->scenario, chest, item);
    found->chest = chest;
    found->needs = ceil(own > limit ? own : fills_with_all(judge, chest));
    if (found->needs >= (double)NO_LIMIT)
        found->needs = INFINITY;
    found->has = own > limit ? limit : (double)layout_chest_capacity(judge->scenario, chest);
    if (is_unbounded(judge, chest, item))
        found->has = INFINITY;
}

static void report_room(struct judge *judge, const struct budget_finding *found) {
    const char *chest = judge->scenario->chest[found->chest].name;
    if (found->needs <= found->has) /* what is unsure is its taker's gate */
        budget_texts_add(&judge->rule->whys,
                         "%s leaves %s into %s, which has room, but through a gate",
                         item_name(judge, found->item), lane_name(judge, found->lane), chest);
    else if (isfinite(found->needs))
        budget_texts_add(&judge->rule->whys,
                         "%s leaves %s into %s, which needs room for %.0f, and has %.0f",
                         item_name(judge, found->item), lane_name(judge, found->lane), chest,
                         found->needs, found->has);
    else
        budget_texts_add(&judge->rule->whys,
                         "%s leaves %s into %s, which has room for %.0f, and which others fill "
                         "without an end",
                         item_name(judge, found->item), lane_name(judge, found->lane), chest,
                         found->has);
}

static void report_exit(struct judge *judge, uint32_t lane, uint32_t item, struct way_off way) {
    if (!lower(judge, way.best == EXIT_SHUTS ? BUDGET_BROKEN : BUDGET_CANNOT_SAY))
        return;
    const char *name = item_name(judge, item), *where = lane_name(judge, lane);
    struct budget_rule *rule = judge->rule;
    struct budget_finding found = nothing;
    found.lane = lane;
    found.item = item;
    if (way.chest != NO_INDEX && way.best == EXIT_UNSURE)
        room_for(judge, way.chest, item, &found);
    add_finding(judge, found);
    name_subject(judge, name);
    name_subject(judge, where);
    if (way.takers == 0)
        budget_texts_add(&rule->whys, "nothing takes %s off %s", name, where);
    else if (way.best == EXIT_SHUTS)
        budget_texts_add(&rule->whys,
                         "%s leaves %s only into what can fill up while it is still put on", name,
                         where);
    else if (found.chest != NO_INDEX)
        report_room(judge, &found);
    else
        budget_texts_add(&rule->whys,
                         "%s leaves %s into what has room at times; that it always has is not "
                         "certain",
                         name, where);
    budget_texts_add(&rule->advice,
                     "a clearing taker of %s into a chest without a bound, or into one with room "
                     "for what is under way when its feeder's gate shuts",
                     name);
}

static void judge_exit(struct judge *judge, uint32_t lane, uint32_t item) {
    const struct budget_net *net = judge->net;
    struct way_off way = {0, EXIT_SHUTS, NO_INDEX};
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        if (!budget_takes_off(net, k, lane))
            continue;
        uint32_t arm = net->carrier[k];
        bool to_chest = judge->scenario->arm[arm].to.kind == PLACE_CHEST;
        enum exit_state state = exit_of(judge, arm, lane, item);
        way.takers++;
        if (state > way.best || (state == way.best && way.chest == NO_INDEX))
            way.chest = to_chest ? judge->scenario->arm[arm].to.index : NO_INDEX;
        way.best = state > way.best ? state : way.best;
        struct budget_item *entry = &judge->budget->item[item];
        entry->has_clearing_taker =
            entry->has_clearing_taker || (state == EXIT_OPEN && way.takers > 1 && to_chest);
    }
    if (way.best != EXIT_OPEN) {
        judge->budget->item[item].exit_stays_open = false;
        report_exit(judge, lane, item, way);
    }
}

static void judge_exits(struct judge *judge) {
    for (uint32_t i = 0; i < judge->scenario->item_count; i++) {
        judge->budget->item[i].exit_stays_open = true;
        for (uint32_t lane = 0; lane < judge->scenario->lane_count; lane++)
            if (budget_rides(judge->net, lane, i))
                judge_exit(judge, lane, i);
    }
}

/* ---- gate-watches-end-chest, inputs-gated-on-outputs ---- */

static bool ends_unbounded(const struct judge *judge, uint32_t lane, uint32_t item) {
    const struct budget_net *net = judge->net;
    bool found = false;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        struct place to = judge->scenario->arm[net->carrier[k]].to;
        if (!budget_takes_off(net, k, lane))
            continue;
        if (to.kind != PLACE_CHEST || (!is_unbounded(judge, to.index, item) &&
                                       between_outlets(judge, to.index, item) == INFINITY))
            return false;
        found = true;
    }
    return found;
}

/* The first station that takes this item after the lane; NO_INDEX: none. What comes after it is
 * marked. */
static uint32_t station_after(const struct judge *judge, uint32_t item) {
    const struct budget_net *net = judge->net;
    uint32_t inputs = layout_input_place(judge->scenario, 0);
    for (uint32_t k = net->by_item.first[item]; k < net->by_item.first[item + 1]; k++) {
        uint32_t pair = net->by_item.member[k], place = net->pair_place[pair];
        if (judge->downstream.mark[pair] && place >= inputs &&
            place < inputs + judge->scenario->station_count &&
            budget_takes(judge->scenario, place - inputs, item) > 0)
            return place - inputs;
    }
    return NO_INDEX;
}

static bool watches_only_belt(const struct judge *judge, uint32_t arm) {
    return budget_gate_suits(judge->scenario, judge->scenario->arm[arm].gate, watches_belt, judge);
}

static void report_gate(struct judge *judge, uint32_t arm, uint32_t item, const char *after) {
    bool belt = watches_only_belt(judge, arm);
    if (!lower(judge, belt ? BUDGET_CANNOT_SAY : BUDGET_BROKEN))
        return;
    struct budget_finding found = nothing;
    found.arm = arm;
    found.lane = judge->scenario->arm[arm].to.index;
    found.item = item;
    add_finding(judge, found);
    name_subject(judge, arm_name(judge, arm));
    if (belt)
        budget_texts_add(&judge->rule->whys,
                         "%s watches the belt, not where %s ends: it stops with a belt that is not "
                         "empty",
                         arm_name(judge, arm), item_name(judge, item));
    else
        budget_texts_add(&judge->rule->whys, "%s goes on with %s whatever lies in %s",
                         arm_name(judge, arm), item_name(judge, item), after);
    budget_texts_add(&judge->rule->advice, "a gate for %s: below some count of what lies in %s",
                     arm_name(judge, arm), after);
}

static void judge_gate(struct judge *judge, uint32_t arm, uint32_t item, bool of_stations) {
    uint32_t lane = judge->scenario->arm[arm].to.index;
    if (feeder_watches(judge, arm, lane, item))
        return;
    uint32_t station = station_after(judge, item);
    if (of_stations && station != NO_INDEX)
        report_gate(judge, arm, item, judge->scenario->station[station].name);
    else if (!of_stations && !ends_unbounded(judge, lane, item))
        report_gate(judge, arm, item, "the chest in which it ends");
}

static void judge_gates(struct judge *judge, bool of_stations) {
    const struct budget_net *net = judge->net;
    for (uint32_t i = 0; i < judge->scenario->arm_count; i++)
        for (uint32_t entry = net->first_entry[i]; entry < net->first_entry[i + 1]; entry++)
            if (judge->scenario->arm[i].to.kind == PLACE_LANE && budget_carries(net, entry))
                judge_gate(judge, i, net->entry_item[entry], of_stations);
}

static void judge_end_gates(struct judge *judge) { judge_gates(judge, false); }
static void judge_input_gates(struct judge *judge) { judge_gates(judge, true); }

/* ---- outputs-have-exit ---- */

/* How many of an item a chest may hold, by its own limit or by that of all. */
static int64_t chest_room(const struct judge *judge, uint32_t chest, uint32_t item) {
    int64_t limit = layout_chest_limit(judge->scenario, chest, item);
    int64_t capacity = layout_chest_capacity(judge->scenario, chest);
    return limit < capacity ? limit : capacity;
}

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
               (judge->net->demand[budget_place_item_index(judge->net, place, item)] > 0 &&
                !surplus);
    return place >= layout_input_place(scenario, 0) && place < layout_track_place(scenario, 0) &&
           !surplus;
}

/* The chest with the most room, in which what was marked ends; NO_INDEX: none. All are bounded. */
static uint32_t end_chest(const struct judge *judge, uint32_t item) {
    uint32_t found = NO_INDEX;
    int64_t most = -1;
    for (uint32_t i = 0; i < judge->downstream.count; i++) {
        uint32_t chest = judge->net->pair_place[judge->downstream.reached[i]];
        if (chest >= judge->scenario->chest_count)
            continue;
        int64_t room = chest_room(judge, chest, item);
        if (room > most) {
            found = chest;
            most = room;
        }
    }
    return found;
}

/* With numbers: what is made a minute at most, and what it needs; an outlet takes all of it, since
 * it must keep up also while nobody uses any. */
static void tell_output(struct judge *judge, const struct budget_finding *found, bool taken) {
    const char *name = judge->scenario->station[found->station].name;
    const char *item = item_name(judge, found->item);
    struct budget_texts *whys = &judge->rule->whys, *advice = &judge->rule->advice;
    double batches = 60 * judge->budget->station[found->station].greatest;
    double each = budget_makes(judge->scenario, found->station, found->item);
    double made = batches * each, used = 60 * found->has;
    if (found->chest != NO_INDEX) {
        const char *chest = judge->scenario->chest[found->chest].name;
        bool others = 60 * found->needs > made * (1 + 1e-9);
        budget_texts_add(whys,
                         "%s makes up to %.4g %s a minute (%.4g batches of %.4g), at the demanded "
                         "rates %.4g are used of all that is made, and %s has room for %" PRId64,
                         name, made, item, batches, each, used, chest,
                         chest_room(judge, found->chest, found->item));
        budget_texts_add(advice,
                         "an outlet at %s, or an arm from it into a chest without a bound, that "
                         "takes at least %.4g %s a minute%s, or a gate for %s on %s",
                         chest, 60 * found->needs, item,
                         others ? ", which is what all stations make that put into it" : "", name,
                         chest);
    } else {
        budget_texts_add(whys,
                         taken ? "%s makes up to %.4g %s a minute (%.4g batches of %.4g), and "
                                 "nothing takes them from where they are put"
                               : "%s makes up to %.4g %s a minute (%.4g batches of %.4g), and no "
                                 "arm takes them from it",
                         name, made, item, batches, each);
        budget_texts_add(advice,
                         "an arm that takes at least %.4g %s a minute into a chest without a bound",
                         made, item);
    }
}

/* What a station makes of an item a second at best. */
static double makes_at_best(const struct judge *judge, uint32_t station, uint32_t item) {
    return judge->budget->station[station].greatest * budget_makes(judge->scenario, station, item);
}

/* What all stations make at best of an item that ends in a chest. What was marked is forgotten. */
static double comes_to(struct judge *judge, uint32_t chest, uint32_t item) {
    double all = 0;
    for (uint32_t s = 0; s < judge->scenario->station_count; s++) {
        double made = makes_at_best(judge, s, item);
        if (made <= 0)
            continue;
        budget_downstream_mark(&judge->downstream, layout_output_place(judge->scenario, s), item,
                               false);
        all += budget_downstream_has(&judge->downstream, chest, item) ? made : 0;
    }
    return all;
}

static void report_output(struct judge *judge, uint32_t station, uint32_t item, bool taken) {
    if (!lower(judge, BUDGET_BROKEN))
        return;
    struct budget_finding found = nothing;
    found.station = station;
    found.item = item;
    found.chest = end_chest(judge, item);
    found.needs = found.chest != NO_INDEX ? comes_to(judge, found.chest, item)
                                          : makes_at_best(judge, station, item);
    found.has = judge->budget->item[item].used + judge->budget->item[item].demanded;
    add_finding(judge, found);
    name_subject(judge, judge->scenario->station[station].name);
    name_subject(judge, item_name(judge, item));
    tell_output(judge, &found, taken);
}

static void judge_output(struct judge *judge, uint32_t station, uint32_t item) {
    const struct scenario *scenario = judge->scenario;
    uint32_t from = layout_output_place(scenario, station);
    bool taken = false, rides = false, ends = false;
    budget_downstream_mark(&judge->downstream, from, item, false);
    for (uint32_t i = 0; i < judge->downstream.count; i++) {
        uint32_t place = judge->net->pair_place[judge->downstream.reached[i]];
        if (place == from)
            continue;
        taken = true;
        rides = rides || (place >= layout_track_place(scenario, 0) &&
                          place < layout_track_place(scenario, scenario->lane_count));
        ends = ends || is_exit(judge, station, place, item);
    }
    bool alone = scenario->station[station].makes_count == 1 && !rides && taken;
    if (!ends && !alone)
        report_output(judge, station, item, taken);
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
    const struct budget_net *net = judge->net;
    const struct layout_arms *into = &net->by_target;
    for (uint32_t k = into->first[supply->chest]; k < into->first[supply->chest + 1]; k++)
        for (uint32_t entry = net->first_entry[into->arm[k]];
             entry < net->first_entry[into->arm[k] + 1]; entry++)
            if (budget_carries(net, entry))
                return scenario->arm[into->arm[k]].name;
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
        struct budget_finding found = nothing;
        found.supply = i;
        found.chest = supply->chest;
        found.item = supply->item;
        found.has = (double)layout_chest_capacity(judge->scenario, supply->chest);
        add_finding(judge, found);
        name_subject(judge, chest);
        budget_texts_add(&judge->rule->whys,
                         "%s can fill all %.0f places of %s, and then %s finds no room there",
                         supply->name, found.has, chest, other);
        budget_texts_add(&judge->rule->advice,
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
    const struct budget_net *net = judge->net;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        if (!budget_feeds(net, k, lane))
            continue;
        needed += judge->budget->flow[net->carrier_entry[k]];
        feeders += budget_feeds_of_item(judge->budget, net->carrier[k], item);
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
    struct budget_finding found = nothing;
    found.lane = lane;
    found.item = item;
    found.needs = 3 * needs;
    found.has = rate;
    add_finding(judge, found);
    name_subject(judge, item_name(judge, item));
    name_subject(judge, lane_name(judge, lane));
    budget_texts_add(&judge->rule->whys,
                     known ? "%s needs %.4g of the %.4g cells a second of %s, which it shares"
                           : "%s may use %.4g of the %.4g cells a second of %s; without a demand "
                             "it is not known how much it needs",
                     item_name(judge, item), needs, rate, lane_name(judge, lane));
    budget_texts_add(&judge->rule->advice, "a lane or line of its own for %s",
                     item_name(judge, item));
}

static void judge_bulk(struct judge *judge) {
    for (uint32_t lane = 0; lane < judge->scenario->lane_count; lane++) {
        uint32_t kinds = 0;
        for (uint32_t i = 0; i < judge->scenario->item_count; i++)
            kinds += budget_rides(judge->net, lane, i);
        for (uint32_t i = 0; kinds > 1 && i < judge->scenario->item_count; i++)
            if (budget_rides(judge->net, lane, i))
                judge_bulk_item(judge, lane, i);
    }
}

/* ---- all of them ---- */

static const struct rule_row {
    void (*judge)(struct judge *judge);
    const char *holds; /* why, when it does */
} rule_row[BUDGET_RULES] = {
    [RULE_FEEDERS_WITHIN_LANE] =
        {judge_feeders, "on no stretch can the feeders put on more than the lane carries"},
    [RULE_TAKERS_OUTPACE_FEEDERS] = {judge_takers,
                                     "every item's takers are faster than its feeders"},
    [RULE_EXIT_STAYS_OPEN] = {judge_exits, "every item on a loop has an exit that stays open"},
    [RULE_GATE_WATCHES_END_CHEST] = {judge_end_gates,
                                     "every feeder stops when enough lies where its items end, or "
                                     "there is unlimited room"},
    [RULE_OUTPUTS_HAVE_EXIT] = {judge_outputs, "every output goes where it is used, or has room"},
    [RULE_INPUTS_GATED_ON_OUTPUTS] = {judge_input_gates, "what stops the outputs stops the inputs"},
    [RULE_SUPPLIED_BIN_KEEPS_ROOM] = {judge_bins, "no supply can fill a chest that others need"},
    [RULE_BULK_ON_A_LINE] = {judge_bulk,
                             "no item needs more than a third of a lane that it shares"},
};

static struct judge *judge_new(struct budget *budget) {
    struct judge *judge = require_memory(1, sizeof *judge);
    const struct scenario *scenario = budget->scenario;
    judge->budget = budget;
    judge->scenario = scenario;
    judge->net = budget->net;
    judge->chest_has_outlet =
        require_memory(scenario->chest_count, sizeof *judge->chest_has_outlet);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (scenario->demand[i].outlet)
            judge->chest_has_outlet[scenario->demand[i].chest] = true;
    judge->fills = require_memory(scenario->chest_count, sizeof *judge->fills);
    judge->in_group = require_memory(scenario->item_count, sizeof *judge->in_group);
    judge->group = require_memory(scenario->item_count, sizeof *judge->group);
    judge->arm_seen = require_memory(scenario->arm_count, sizeof *judge->arm_seen);
    judge->member = require_memory(scenario->arm_count, sizeof *judge->member);
    for (uint32_t c = 0; c < scenario->chest_count; c++)
        judge->fills[c] = NAN;
    budget_downstream_init(&judge->downstream, budget->net);
    return judge;
}

static void judge_free(struct judge *judge) {
    budget_downstream_free(&judge->downstream);
    free(judge->chest_has_outlet);
    free(judge->fills);
    free(judge->in_group);
    free(judge->group);
    free(judge->arm_seen);
    free(judge->member);
    free(judge);
}

void budget_rules(struct budget *budget) {
    struct judge *judge = judge_new(budget);
    budget->rules_hold = true;
    for (int i = 0; i < BUDGET_RULES; i++) {
        judge->rule = &budget->rule[i];
        rule_row[i].judge(judge);
        if (judge->rule->verdict == BUDGET_HOLDS)
            budget_texts_add(&judge->rule->whys, "%s", rule_row[i].holds);
        budget->rules_hold = budget->rules_hold && judge->rule->verdict != BUDGET_BROKEN;
    }
    judge_free(judge);
}
