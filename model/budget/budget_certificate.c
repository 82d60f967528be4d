/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_certificate.c - proofs that a lane can never fill.
 *
 * A proof is a list of bounds that together cover all items that may ride on the lane. With L the
 * longest of them, an item of length l can spoil l + L - 1 places for the head of another one;
 * while fewer than N places are spoilt, one is left, and whoever wants to place sees it within a
 * revolution. The bounds, each good at every moment:
 *
 * stock     Nothing brings or makes the items: in all there are no more than at the start and in
 *           drops. Also for several items of which stations make no more than they take (a carrier,
 *           empty or loaded).
 * drops     Nothing puts the item on but drops that come once.
 * belt gate Every feeder's gate counts the belt, below n. When n or more lie there, nobody picks:
 *           n - 1, and what was in hands when the last gate shut, and drops. Of gates joined by
 *           `all` one that counts is enough, with its n, the least of several; joined by `any` all
 *           must count, and the greatest n serves: only then the last of them is shut.
 * spaced    One feeder, one in its hand; places at least s steps apart; a taker that always accepts
 *           and is back before s steps: none passes it. On d cells between them lie at most
 *           d / s + 1. Not at one cell: there some are taken where they are put down and others
 *           ride a round, and what comes round is no longer apart from what is put down.
 * outpaced  A taker that always accepts is away for at most m steps for each hand, of at least one
 *           item; so of B items that come by in a revolution, with A more put on in it, it leaves
 *           at most A + m (B + 1) / (m + 1): never more than (m + 1) A + m, and drops.
 *
 * A taker always accepts when its chest is without bound, or when the chest has room for the
 * thresholds at which its feeders stop and for all that may be under way then. */
#include "model/budget/budget_certificate.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/budget/budget_gates.h"
#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "sim/require.h"
#include "sim/text_stream.h"

/* Some of the items of the scenario. */
struct item_set {
    bool *has;      /* [item] */
    uint32_t *item; /* those that it has, in the order in which they were added */
    uint32_t count;
};

struct prover {
    const struct scenario *scenario;
    const struct budget_net *net;
    uint32_t lane, longest;
    double rate, tps;
    int64_t cells;
    struct budget_certificate *certificate;
    struct item_set rides;   /* on the lane */
    struct item_set covered; /* by the bounds chosen so far */
    struct item_set group;   /* of the candidate in hand */
    struct item_set chosen;  /* of the best candidate */
    struct item_set bare;    /* without a bound */
    bool *supplied;          /* [item] by some supply */
    bool *chest_supplied;    /* [chest] by some supply */
    bool *arm_seen;          /* [arm]; all false between lists */
    uint32_t *feeder;        /* arms that put items of the group onto the lane */
    uint32_t feeder_count;
};

/* A bound in hand; at_most NOT_GIVEN: there is none. */
struct candidate {
    int64_t at_most;
    char why[320];
};

/* Above any lane's length; sums of a few stay within 64 bits. */
static const int64_t endless = INT64_C(1) << 50;

static int64_t capped(double number) {
    return number < (double)endless ? (int64_t)number : endless;
}

/* floor() that errs upward, or downward, by what rounding may have taken or added. */
static int64_t floor_up(double number) { return capped(floor(number * (1 + 1e-12) + 1e-9)); }
static int64_t floor_down(double number) {
    double down = floor(number * (1 - 1e-12) - 1e-9);
    return down > 0 ? capped(down) : 0;
}

static bool fixed_ticks(const struct span *span, int64_t *ticks) {
    *ticks = span->ticks;
    return span->kind == SPAN_FIXED;
}

static int64_t drops_of(const struct prover *prover, uint32_t item) {
    int64_t drops = budget_dropped(prover->scenario, prover->lane, item);
    return drops < endless ? drops : endless;
}

/* ---- sets of items ---- */

static void set_init(struct item_set *set, uint32_t items) {
    *set = (struct item_set){.has = require_memory(items, sizeof *set->has),
                             .item = require_memory(items, sizeof *set->item)};
}

static void set_free(struct item_set *set) {
    free(set->has);
    free(set->item);
}

static void set_add(struct item_set *set, uint32_t item) {
    if (set->has[item])
        return;
    set->has[item] = true;
    set->item[set->count++] = item;
}

static void set_clear(struct item_set *set) {
    while (set->count > 0)
        set->has[set->item[--set->count]] = false;
}

static void set_copy(struct item_set *set, const struct item_set *other) {
    set_clear(set);
    for (uint32_t i = 0; i < other->count; i++)
        set_add(set, other->item[i]);
}

static void group_only(struct prover *prover, uint32_t item) {
    set_clear(&prover->group);
    set_add(&prover->group, item);
}

static int64_t group_drops(const struct prover *prover) {
    int64_t all = 0;
    for (uint32_t i = 0; i < prover->group.count && all < endless; i++)
        all += drops_of(prover, prover->group.item[i]);
    return all;
}

/* Lists the arms that put items of the group onto the lane, each once. */
static void list_feeders(struct prover *prover) {
    const struct budget_net *net = prover->net;
    prover->feeder_count = 0;
    for (uint32_t i = 0; i < prover->group.count; i++) {
        uint32_t item = prover->group.item[i];
        for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
            if (prover->arm_seen[net->carrier[k]] || !budget_feeds(net, k, prover->lane))
                continue;
            prover->arm_seen[net->carrier[k]] = true;
            prover->feeder[prover->feeder_count++] = net->carrier[k];
        }
    }
    for (uint32_t i = 0; i < prover->feeder_count; i++)
        prover->arm_seen[prover->feeder[i]] = false;
}

/* ---- stock ---- */

static int64_t makes_most(const struct scenario *scenario, uint32_t station,
                          const struct item_set *group) {
    int64_t made = 0;
    for (uint32_t i = 0; i < scenario->station[station].makes_count; i++)
        if (group->has[scenario->station[station].makes[i].item])
            made += scenario->station[station].makes[i].count;
    return made;
}

static int64_t takes_all(const struct scenario *scenario, uint32_t station,
                         const struct item_set *group) {
    int64_t taken = 0;
    for (uint32_t i = 0; i < scenario->station[station].takes.count; i++)
        if (group->has[scenario->station[station].takes.entry[i].item])
            taken += scenario->station[station].takes.entry[i].count;
    return taken;
}

/* Adds what a station uses to make more of the group; false: nothing that is not supplied. */
static bool grow_stock(struct prover *prover, uint32_t station) {
    const struct item_counts *takes = &prover->scenario->station[station].takes;
    for (uint32_t i = 0; i < takes->count; i++) {
        uint32_t item = takes->entry[i].item;
        if (prover->group.has[item] || prover->supplied[item])
            continue;
        set_add(&prover->group, item);
        return true;
    }
    return false;
}

static int64_t all_drops(const struct scenario *scenario, const struct item_set *group) {
    int64_t all = 0;
    for (uint32_t i = 0; i < scenario->incident_count && all < endless; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_DROP && group->has[incident->item])
            all += incident->repeats ? endless : incident->count;
    }
    return all;
}

static int64_t stock_of(const struct prover *prover) {
    const struct scenario *scenario = prover->scenario;
    int64_t all = all_drops(scenario, &prover->group);
    for (uint32_t c = 0; c < scenario->chest_count && all < endless; c++)
        for (uint32_t i = 0; i < scenario->chest[c].start.count; i++)
            if (prover->group.has[scenario->chest[c].start.entry[i].item])
                all += scenario->chest[c].start.entry[i].count;
    return all;
}

static struct candidate by_stock(struct prover *prover, uint32_t item) {
    const struct scenario *scenario = prover->scenario;
    struct candidate none = {.at_most = NOT_GIVEN}, found = {.at_most = NOT_GIVEN};
    group_only(prover, item);
    if (prover->supplied[item])
        return none;
    for (uint32_t s = 0; s < scenario->station_count;) {
        if (makes_most(scenario, s, &prover->group) <= takes_all(scenario, s, &prover->group))
            s++;
        else if (grow_stock(prover, s))
            s = 0;
        else
            return none;
    }
    found.at_most = stock_of(prover);
    snprintf(found.why, sizeof found.why,
             "nothing delivers or makes more: %lld at the start and in drops",
             (long long)found.at_most);
    return found.at_most < endless ? found : none;
}

/* ---- drops ---- */

static bool has_feeder(const struct prover *prover, uint32_t item) {
    const struct budget_net *net = prover->net;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++)
        if (budget_feeds(net, k, prover->lane))
            return true;
    return false;
}

static struct candidate by_drops(struct prover *prover, uint32_t item) {
    struct candidate found = {.at_most = NOT_GIVEN};
    group_only(prover, item);
    int64_t drops = drops_of(prover, item);
    if (has_feeder(prover, item) || drops >= endless)
        return found;
    found.at_most = drops;
    snprintf(found.why, sizeof found.why, "no arm puts it on; drops bring %lld", (long long)drops);
    return found;
}

/* ---- gates that count the belt ---- */

/* A leaf that counts all items of the lane or its loop, or the one item. */
struct belt_leaf {
    uint32_t lane, loop, item;
};

static bool counts_belt(const void *self, const struct scenario_gate *leaf) {
    const struct belt_leaf *wanted = self;
    bool belt = (leaf->reads == READS_LANE && leaf->subject == wanted->lane) ||
                (leaf->reads == READS_LOOP && leaf->subject == wanted->loop);
    return belt && (leaf->item == NO_INDEX || leaf->item == wanted->item);
}

/* For the group: one item, or (item NO_INDEX) all that ride. */
static struct candidate by_belt_gate(struct prover *prover, uint32_t item) {
    const struct scenario *scenario = prover->scenario;
    struct candidate none = {.at_most = NOT_GIVEN}, found = {.at_most = NOT_GIVEN};
    struct belt_leaf leaf = {prover->lane, scenario->lane[prover->lane].loop, item};
    int64_t threshold = 0, hands = 0;
    if (item == NO_INDEX)
        set_copy(&prover->group, &prover->rides);
    else
        group_only(prover, item);
    list_feeders(prover);
    for (uint32_t i = 0; i < prover->feeder_count; i++) {
        const struct scenario_arm *feeder = &scenario->arm[prover->feeder[i]];
        int64_t below = budget_gate_below(scenario, feeder->gate, counts_belt, &leaf);
        if (below == 0 || below >= endless)
            return none;
        threshold = below > threshold ? below : threshold;
        hands += feeder->hand;
    }
    int64_t drops = group_drops(prover);
    if (threshold == 0 || drops >= endless || hands >= endless)
        return none;
    found.at_most = threshold - 1 + hands + drops;
    snprintf(found.why, sizeof found.why,
             "gates count the belt, below %lld: %lld, %lld in hands when they shut, %lld in drops",
             (long long)threshold, (long long)threshold - 1, (long long)hands, (long long)drops);
    return found;
}

/* ---- takers that always accept ---- */

/* Most positions of the belt that pass a taker unseen after each of its picks. */
static bool away_steps(const struct prover *prover, uint32_t arm, int64_t *steps) {
    int64_t swing;
    if (!fixed_ticks(&prover->scenario->arm[arm].swing, &swing))
        return false;
    *steps = swing <= 1 ? 0 : floor_up((double)(swing - 1) * prover->rate / prover->tps) + 1;
    return true;
}

/* Whether an arm may put an item onto the lane. */
static bool feeds(const struct prover *prover, uint32_t arm, uint32_t item) {
    struct place to = prover->scenario->arm[arm].to;
    uint32_t entry = budget_arm_item_index(prover->net, arm, item);
    return to.kind == PLACE_LANE && to.index == prover->lane && entry != NO_INDEX &&
           budget_carries(prover->net, entry);
}

/* Most that an unloader can get from its station in a time. */
static int64_t made_within(const struct prover *prover, uint32_t arm, double ticks) {
    const struct scenario *scenario = prover->scenario;
    struct place from = scenario->arm[arm].from;
    int64_t time, all = scenario->arm[arm].hand;
    if (from.kind != PLACE_STATION || !fixed_ticks(&scenario->station[from.index].time, &time))
        return endless;
    const struct scenario_station *station = &scenario->station[from.index];
    for (uint32_t i = 0; i < station->makes_count && all < endless; i++)
        if (feeds(prover, arm, station->makes[i].item))
            all = capped((double)all + (double)station->makes[i].room +
                         (double)station->makes[i].count * (floor(ticks / (double)time) + 2));
    return all;
}

/* Most that a feeder puts on within a revolution. */
static int64_t fed_by(const struct prover *prover, uint32_t arm) {
    const struct scenario_arm *feeder = &prover->scenario->arm[arm];
    double ticks = ((double)prover->cells + 1) * prover->tps / prover->rate + 2;
    int64_t swing, made = made_within(prover, arm, ticks), fed = endless;
    if (fixed_ticks(&feeder->swing, &swing) && swing > 0) {
        double hands = floor(ticks / (double)swing) + (feeder->hand == 1 ? 1 : 2);
        fed = capped(hands * feeder->hand);
    }
    return fed < made ? fed : made;
}

static int64_t fed_in_revolution(const struct prover *prover) {
    int64_t all = 0;
    for (uint32_t i = 0; i < prover->feeder_count && all < endless; i++)
        all += fed_by(prover, prover->feeder[i]);
    return all;
}

static struct candidate by_spacing(const struct prover *prover, uint32_t taker) {
    const struct scenario *scenario = prover->scenario;
    struct candidate found = {.at_most = NOT_GIVEN};
    int64_t swing, away;
    if (prover->feeder_count != 1)
        return found;
    uint32_t feeder = prover->feeder[0];
    if (scenario->arm[feeder].hand > 1 || group_drops(prover) > 0 ||
        scenario->arm[taker].hand > 1 || !fixed_ticks(&scenario->arm[feeder].swing, &swing) ||
        !away_steps(prover, taker, &away))
        return found;
    require(away >= 0);
    int64_t apart = floor_down((double)swing * prover->rate / prover->tps);
    if (apart <= away || scenario->arm[feeder].to.cell == scenario->arm[taker].from.cell)
        return found;
    int64_t ride = budget_ahead(scenario, prover->lane, scenario->arm[feeder].to.cell,
                                scenario->arm[taker].from.cell);
    found.at_most = ride / apart + 1;
    snprintf(found.why, sizeof found.why,
             "%s puts them %lld cells apart or more, %s is away for %lld at most, always accepts, "
             "and lets none pass: %lld on %lld cells",
             scenario->arm[feeder].name, (long long)apart, scenario->arm[taker].name,
             (long long)away, (long long)found.at_most, (long long)ride);
    return found;
}

static struct candidate by_pace(const struct prover *prover, uint32_t taker) {
    struct candidate found = {.at_most = NOT_GIVEN};
    int64_t away, fed = fed_in_revolution(prover), drops = group_drops(prover);
    if (!away_steps(prover, taker, &away) || away >= endless || fed >= endless || drops >= endless)
        return found;
    double most = ((double)away + 1) * (double)fed + (double)away + (double)drops;
    found.at_most = capped(most);
    snprintf(found.why, sizeof found.why,
             "%s always accepts and is away for %lld cells a hand; %lld are put on in a "
             "revolution: %lld, with %lld in drops",
             prover->scenario->arm[taker].name, (long long)away, (long long)fed,
             (long long)found.at_most, (long long)drops);
    return found;
}

static struct candidate by_taker(const struct prover *prover, uint32_t taker) {
    struct candidate spaced = by_spacing(prover, taker), paced = by_pace(prover, taker);
    if (spaced.at_most == NOT_GIVEN)
        return paced;
    return paced.at_most != NOT_GIVEN && paced.at_most < spaced.at_most ? paced : spaced;
}

/* A leaf that counts an item of a chest, or all of it. */
struct chest_leaf {
    uint32_t chest, item;
};

static bool counts_chest(const void *self, const struct scenario_gate *leaf) {
    const struct chest_leaf *wanted = self;
    return leaf->reads == READS_CHEST && leaf->subject == wanted->chest &&
           (leaf->item == NO_INDEX || leaf->item == wanted->item);
}

/* The most of an item that a chest and what is on the way to it hold together, when the taker
 * leaves at most `on_lane` on the lane; endless: a feeder does not look. */
static int64_t holds_most(const struct prover *prover, uint32_t taker, uint32_t item,
                          int64_t on_lane) {
    const struct scenario *scenario = prover->scenario;
    struct chest_leaf leaf = {scenario->arm[taker].to.index, item};
    int64_t threshold = 0, hands = scenario->arm[taker].hand;
    const struct budget_net *net = prover->net;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        const struct scenario_arm *feeder = &scenario->arm[net->carrier[k]];
        if (!budget_feeds(net, k, prover->lane))
            continue;
        int64_t below = budget_gate_below(scenario, feeder->gate, counts_chest, &leaf);
        if (below == 0 || below >= endless)
            return endless;
        threshold = below > threshold ? below : threshold;
        hands += feeder->hand;
    }
    int64_t start = layout_chest_start(scenario, leaf.chest, item);
    int64_t drops = drops_of(prover, item);
    int64_t before = start > threshold - 1 ? start : threshold - 1;
    return before < endless && drops < endless ? before + hands + on_lane + drops : endless;
}

static bool is_only_filler(const struct prover *prover, uint32_t chest) {
    const struct layout_arms *into = &prover->net->by_target;
    return !prover->chest_supplied[chest] && into->first[chest + 1] - into->first[chest] == 1;
}

/* What a chest holds at the start of items that are not of the group. */
static int64_t other_start(const struct prover *prover, uint32_t chest) {
    const struct item_counts *start = &prover->scenario->chest[chest].start;
    int64_t all = 0;
    for (uint32_t i = 0; i < start->count; i++)
        all += prover->group.has[start->entry[i].item] ? 0 : start->entry[i].count;
    return all;
}

static void report_room(const struct prover *prover, uint32_t taker, uint32_t item, int64_t needs,
                        int64_t has, struct budget_texts *missing) {
    const struct scenario_arm *arm = &prover->scenario->arm[taker];
    const char *chest = prover->scenario->chest[arm->to.index].name;
    const char *what = item != NO_INDEX ? prover->scenario->item[item].name : "all its items";
    if (needs >= endless)
        budget_texts_add(missing,
                         "%s: nothing bounds how much of %s comes into %s, which has bounds: no "
                         "gate of all feeders counts it, or others fill it too",
                         arm->name, what, chest);
    else
        budget_texts_add(missing,
                         "%s: %s needs room for %lld of %s, what is under way when gates shut "
                         "included, and has %lld",
                         arm->name, chest, (long long)needs, what, (long long)has);
}

/* Adds to `missing` what there is too little of, or that there is no end to it; true: nothing. */
static bool chest_has_room(const struct prover *prover, uint32_t taker, int64_t on_lane,
                           struct budget_texts *missing) {
    const struct scenario *scenario = prover->scenario;
    uint32_t chest = scenario->arm[taker].to.index;
    int64_t capacity = layout_chest_capacity(scenario, chest);
    int64_t all = other_start(prover, chest);
    bool bounded = capacity != NO_LIMIT;
    for (uint32_t i = 0; i < prover->group.count; i++) {
        uint32_t item = prover->group.item[i];
        int64_t limit = layout_chest_limit(scenario, chest, item);
        if (!bounded && limit == NO_LIMIT)
            continue;
        int64_t most =
            is_only_filler(prover, chest) ? holds_most(prover, taker, item, on_lane) : endless;
        if (most >= endless || most > limit) {
            report_room(prover, taker, item, most, limit, missing);
            return false;
        }
        all += most;
    }
    if (bounded && all > capacity)
        report_room(prover, taker, NO_INDEX, all, capacity, missing);
    return !bounded || all <= capacity;
}

/* What a taker's bound needs besides, in words; true: nothing more. */
static bool is_free_taker(struct prover *prover, uint32_t taker, struct budget_texts *missing) {
    const struct scenario *scenario = prover->scenario;
    const struct scenario_arm *arm = &scenario->arm[taker];
    uint32_t loop = scenario->lane[prover->lane].loop;
    int64_t ticks;
    bool free_taker = true;
    const struct {
        bool wrong;
        const char *why;
    } check[] = {
        {arm->to.kind != PLACE_CHEST, "does not put into a chest"},
        {arm->gate != NO_INDEX, "has a gate"},
        {budget_may_stop(scenario, (struct part){PART_ARM, taker}), "may be stopped or break"},
        {!fixed_ticks(&arm->swing, &ticks), "swings at random"},
        {budget_may_stop(scenario, (struct part){PART_LOOP, loop}),
         "works on a loop that may stop"},
    };
    for (size_t i = 0; i < sizeof check / sizeof *check; i++)
        if (check[i].wrong) {
            budget_texts_add(missing, "%s %s", arm->name, check[i].why);
            free_taker = false;
        }
    return free_taker;
}

static struct candidate by_open_taker(struct prover *prover, uint32_t taker,
                                      struct budget_texts *missing) {
    struct candidate none = {.at_most = NOT_GIVEN};
    const struct scenario_arm *arm = &prover->scenario->arm[taker];
    set_clear(&prover->group);
    const struct budget_net *net = prover->net;
    for (uint32_t e = net->first_entry[taker]; e < net->first_entry[taker + 1]; e++)
        if (budget_carries(net, e))
            set_add(&prover->group, net->entry_item[e]);
    list_feeders(prover);
    if (!is_free_taker(prover, taker, missing))
        return none;
    struct candidate found = by_taker(prover, taker);
    if (found.at_most == NOT_GIVEN) {
        budget_texts_add(missing, "%s: the feeders of its items keep no fixed pace", arm->name);
        return none;
    }
    return chest_has_room(prover, taker, found.at_most, missing) ? found : none;
}

/* ---- the sum ---- */

/* Places that `count` of the group can spoil. */
static int64_t spoils(const struct prover *prover, int64_t count) {
    int64_t most = 0;
    for (uint32_t i = 0; i < prover->group.count; i++) {
        uint32_t item = prover->group.item[i];
        if (prover->rides.has[item] && prover->scenario->item[item].length > most)
            most = prover->scenario->item[item].length;
    }
    return capped((double)count * (double)(most + prover->longest - 1));
}

static int by_number(const void *first, const void *second) {
    uint32_t a = *(const uint32_t *)first, b = *(const uint32_t *)second;
    return (a > b) - (a < b);
}

/* The names of those of a set that ride, in the scenario's order; the set is sorted for it. */
static char *set_names(const struct prover *prover, struct item_set *set) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    const char *between = "";
    qsort(set->item, set->count, sizeof *set->item, by_number);
    for (uint32_t i = 0; i < set->count; i++)
        if (prover->rides.has[set->item[i]]) {
            fprintf(out, "%s%s", between, prover->scenario->item[set->item[i]].name);
            between = " ";
        }
    return text_stream_end(&stream);
}

static void add_bound(struct prover *prover, const struct candidate *found, int64_t cells) {
    struct budget_certificate *certificate = prover->certificate;
    certificate->bound = require_more_memory(certificate->bound, certificate->bound_count + 1,
                                             sizeof *certificate->bound);
    certificate->bound[certificate->bound_count++] = (struct budget_bound){
        set_names(prover, &prover->chosen), require_text(found->why), found->at_most, cells};
    certificate->at_most += found->at_most;
    certificate->cells += cells;
}

/* Keeps a candidate if it is the best so far. */
static void weigh(struct prover *prover, struct candidate found, struct candidate *best,
                  int64_t *best_cells) {
    if (found.at_most == NOT_GIVEN)
        return;
    int64_t cells = spoils(prover, found.at_most);
    if (best->at_most != NOT_GIVEN && cells >= *best_cells)
        return;
    *best = found;
    *best_cells = cells;
    set_copy(&prover->chosen, &prover->group);
}

/* Covers an item by the smallest bound that there is for it. What speaks against bounds of takers
 * is gathered in `missing`. */
static void cover(struct prover *prover, uint32_t item, struct budget_texts *missing) {
    struct candidate best = {.at_most = NOT_GIVEN};
    struct budget_texts objections = {0};
    int64_t cells = 0;
    weigh(prover, by_stock(prover, item), &best, &cells);
    weigh(prover, by_drops(prover, item), &best, &cells);
    weigh(prover, by_belt_gate(prover, item), &best, &cells);
    const struct budget_net *net = prover->net;
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++)
        if (budget_takes_off(net, k, prover->lane))
            weigh(prover, by_open_taker(prover, net->carrier[k], &objections), &best, &cells);
    bool is_bare = best.at_most == NOT_GIVEN;
    for (uint32_t i = 0; is_bare && i < objections.count; i++)
        budget_texts_add(missing, "%s", objections.text[i]);
    budget_texts_free(&objections);
    if (is_bare) {
        set_add(&prover->bare, item);
        return;
    }
    add_bound(prover, &best, cells);
    for (uint32_t i = 0; i < prover->chosen.count; i++)
        set_add(&prover->covered, prover->chosen.item[i]);
}

/* True when each item that may ride has a bound; else says for which there is none, and why. */
static bool cover_all(struct prover *prover) {
    struct budget_texts missing = {0};
    set_clear(&prover->bare);
    for (uint32_t i = 0; i < prover->rides.count; i++)
        if (!prover->covered.has[prover->rides.item[i]])
            cover(prover, prover->rides.item[i], &missing);
    bool all_covered = prover->bare.count == 0;
    if (!all_covered) {
        char *names = set_names(prover, &prover->bare);
        budget_texts_add(&prover->certificate->missing,
                         "%s: no gate of all feeders counts the belt, and no taker is known to "
                         "keep up",
                         names);
        free(names);
    }
    for (uint32_t i = 0; i < missing.count; i++)
        budget_texts_add(&prover->certificate->missing, "%s", missing.text[i]);
    budget_texts_free(&missing);
    return all_covered;
}

static void forget_bounds(struct budget_certificate *certificate) {
    for (uint32_t i = 0; i < certificate->bound_count; i++) {
        free(certificate->bound[i].items);
        free(certificate->bound[i].why);
    }
    budget_texts_free(&certificate->missing);
    certificate->bound_count = 0;
    certificate->at_most = certificate->cells = 0;
}

/* One gate over all items may prove more than many bounds. */
static void try_whole(struct prover *prover, bool all_covered) {
    struct candidate best = {.at_most = NOT_GIVEN};
    int64_t cells = 0;
    weigh(prover, by_belt_gate(prover, NO_INDEX), &best, &cells);
    if (best.at_most == NOT_GIVEN || (all_covered && cells >= prover->certificate->cells))
        return;
    forget_bounds(prover->certificate);
    add_bound(prover, &best, cells);
}

static void look_at_feeders(struct prover *prover) {
    const struct layout_arms *into = &prover->net->by_target;
    uint32_t place = layout_track_place(prover->scenario, prover->lane);
    for (uint32_t i = into->first[place]; i < into->first[place + 1]; i++)
        if (budget_may_stop(prover->scenario, (struct part){PART_ARM, into->arm[i]}))
            budget_texts_add(&prover->certificate->missing,
                             "%s may be stopped while it waits for a place",
                             prover->scenario->arm[into->arm[i]].name);
}

static void prove(struct prover *prover) {
    struct budget_certificate *certificate = prover->certificate;
    const struct budget_net *net = prover->net;
    uint32_t place = layout_track_place(prover->scenario, prover->lane);
    prover->longest = 0;
    set_clear(&prover->rides);
    set_clear(&prover->covered);
    for (uint32_t pair = net->first_pair[place]; pair < net->first_pair[place + 1]; pair++) {
        uint32_t item = net->pair_item[pair];
        if (!net->reachable[pair])
            continue;
        set_add(&prover->rides, item);
        if (prover->scenario->item[item].length > prover->longest)
            prover->longest = prover->scenario->item[item].length;
    }
    try_whole(prover, cover_all(prover));
    if (certificate->missing.count == 0 && certificate->cells >= prover->cells)
        budget_texts_add(&certificate->missing,
                         "the bounds add up to %lld places, and the lane has %lld",
                         (long long)certificate->cells, (long long)prover->cells);
    look_at_feeders(prover);
    certificate->certified = certificate->missing.count == 0;
}

static void prover_init(struct prover *prover, const struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    *prover = (struct prover){
        .scenario = scenario, .net = budget->net, .tps = (double)scenario->ticks_per_second};
    struct item_set *const set[] = {&prover->rides, &prover->covered, &prover->group,
                                    &prover->chosen, &prover->bare};
    for (size_t k = 0; k < sizeof set / sizeof *set; k++)
        set_init(set[k], scenario->item_count);
    prover->supplied = require_memory(scenario->item_count, sizeof *prover->supplied);
    prover->chest_supplied = require_memory(scenario->chest_count, sizeof *prover->chest_supplied);
    prover->arm_seen = require_memory(scenario->arm_count, sizeof *prover->arm_seen);
    prover->feeder = require_memory(scenario->arm_count, sizeof *prover->feeder);
    for (uint32_t i = 0; i < scenario->supply_count; i++) {
        prover->supplied[scenario->supply[i].item] = true;
        prover->chest_supplied[scenario->supply[i].chest] = true;
    }
}

static void prover_free(struct prover *prover) {
    struct item_set *const set[] = {&prover->rides, &prover->covered, &prover->group,
                                    &prover->chosen, &prover->bare};
    for (size_t k = 0; k < sizeof set / sizeof *set; k++)
        set_free(set[k]);
    free(prover->supplied);
    free(prover->chest_supplied);
    free(prover->arm_seen);
    free(prover->feeder);
}

void budget_certify(struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    struct prover prover;
    prover_init(&prover, budget);
    for (prover.lane = 0; prover.lane < scenario->lane_count; prover.lane++) {
        prover.rate = budget_track_rate(scenario, prover.lane);
        prover.cells = layout_track_cells(scenario, prover.lane);
        prover.certificate = &budget->certificate[prover.lane];
        prove(&prover);
    }
    prover_free(&prover);
}
