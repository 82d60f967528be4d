/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/shortage.c - a walk in depth, at each place first along the greatest wait: the first
 * end that it comes to is what limits, the others are reported after it. */
#include "model/cause/shortage.h"

#include <math.h>
#include <stdlib.h>

#include "model/engine/parts.h"
#include "model/scenario/layout.h"
#include "model/scenario/pairs.h"
#include "model/scenario/reach.h"
#include "sim/array.h"
#include "sim/require.h"

/* Waits of a smaller share are not followed; a part with at least the second share is busy all the
 * time; one with the third is a candidate after others. */
static const double least_share = 0.04, full_share = 0.96, candidate_share = 0.6;
/* An arm that is busy for a smaller share does not let items pass for want of time. */
static const double passing_share = 0.4;

/* Whether a track passes what is wanted. */
enum pace { PACE_UNKNOWN, PACE_ENOUGH, PACE_TOO_SLOW };

struct walk {
    struct shortage *shortage;
    const struct shortage_evidence *evidence;
    const struct activity *activity;
    const struct waits *waits;
    const struct scenario *scenario;
    struct reach reach;
    struct pairs seen; /* twice a vertex (and one: it is to take), and the item that is wanted */
    double factor;
    double *weight; /* of each root */
    uint32_t weight_capacity;
    bool led;                     /* the first way has come to its end: the chain is whole */
    struct shortage_link *circle; /* the first way that came back to itself */
    uint32_t circle_count;
    uint32_t passed_by; /* the arm farthest back that lets items pass; WAITS_NOBODY: none */
    enum pace *pace;    /* [track] as far as it has been asked for */
};

/* A wait to be followed, or an arm to be looked at. */
struct way {
    double share;
    enum activity_state state;
    uint32_t index; /* of the item that is waited for; of the arm */
};

static bool walk_source(struct walk *walk, uint32_t place, uint32_t item, double weight);
static bool walk_room(struct walk *walk, uint32_t place, uint32_t item, double weight);

/* ---- the chain ---- */

static struct shortage_link make_link(const struct walk *walk, uint32_t vertex, uint32_t item) {
    enum waits_kind kind = waits_thing(walk->waits, vertex).kind;
    struct shortage_link link = {.vertex = vertex, .item = item, .on = WAITS_NOBODY};
    link.has_shares = kind == WAITS_ARM || kind == WAITS_STATION;
    if (link.has_shares)
        link.shares = activity_shares(walk->activity, walk->waits, vertex);
    return link;
}

static void add_link(struct walk *walk, uint32_t vertex, uint32_t item) {
    struct shortage *shortage = walk->shortage;
    if (walk->led)
        return;
    shortage->chain = array_with_room(shortage->chain, shortage->chain_count,
                                      &shortage->chain_capacity, sizeof *shortage->chain);
    shortage->chain[shortage->chain_count++] = make_link(walk, vertex, item);
}

/* Takes links back that led nowhere. */
static void cut_chain(struct walk *walk, uint32_t count) {
    if (!walk->led)
        walk->shortage->chain_count = count;
}

static bool is_on_chain(const struct walk *walk, uint32_t vertex) {
    for (uint32_t i = 0; i < walk->shortage->chain_count; i++)
        if (walk->shortage->chain[i].vertex == vertex)
            return true;
    return false;
}

/* Where the walk comes to what it has come by: keeps the way, if it leads round in a circle. */
static void note_circle(struct walk *walk, uint32_t vertex) {
    const struct shortage *shortage = walk->shortage;
    if (walk->led || walk->circle != NULL || !is_on_chain(walk, vertex))
        return;
    walk->circle = require_memory(shortage->chain_count, sizeof *walk->circle);
    walk->circle_count = shortage->chain_count;
    for (uint32_t i = 0; i < shortage->chain_count; i++)
        walk->circle[i] = shortage->chain[i];
}

/* True for a vertex at which the walk has not looked for an item yet; `take`: for who takes it. */
static bool is_new(struct walk *walk, uint32_t vertex, uint32_t item, bool take) {
    if (pairs_add(&walk->seen, 2 * vertex + take, item, 0))
        return true;
    note_circle(walk, vertex);
    return false;
}

static uint32_t maker_of(const struct walk *walk, uint32_t item) {
    const struct scenario *scenario = walk->scenario;
    uint32_t best = NO_INDEX;
    double least = INFINITY;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++) {
            uint32_t vertex = waits_vertex(walk->waits, WAITS_STATION, i);
            double busy = activity_shares(walk->activity, walk->waits, vertex).share[ACTIVITY_BUSY];
            if (scenario->station[i].makes[j].item == item && busy < least) {
                least = busy;
                best = vertex;
            }
        }
    return best;
}

/* ---- roots ---- */

/* The root, a new one where it was not found before. */
static struct root *add_root(struct walk *walk, enum root_kind kind, struct part subject,
                             uint32_t item, double weight) {
    struct roots *roots = &walk->shortage->roots;
    for (uint32_t i = 0; i < roots->count; i++) {
        struct root *root = &roots->root[i];
        if (root->kind == kind && root->subject.kind == subject.kind &&
            root->subject.index == subject.index)
            return root;
    }
    roots->root = array_with_room(roots->root, roots->count, &roots->capacity, sizeof *roots->root);
    walk->weight =
        array_with_room(walk->weight, roots->count, &walk->weight_capacity, sizeof *walk->weight);
    walk->weight[roots->count] = weight;
    roots->root[roots->count++] = (struct root){.kind = kind,
                                                .subject = subject,
                                                .item = item,
                                                .since = NOT_GIVEN,
                                                .edge = NO_INDEX,
                                                .lane = NO_INDEX,
                                                .crowd = NO_INDEX,
                                                .deed = NO_EFFECT};
    return &roots->root[roots->count - 1];
}

/* An end of the way: true. */
static bool found(struct walk *walk, enum root_kind kind, uint32_t vertex, uint32_t item,
                  double weight) {
    add_root(walk, kind, waits_part(walk->waits, vertex), item, weight);
    walk->led = true;
    return true;
}

static bool found_stop(struct walk *walk, uint32_t vertex, double weight) {
    return found(walk, ROOT_STOPPED, vertex, NO_INDEX, weight);
}

/* ---- what can be where ---- */

static bool carries(const struct walk *walk, uint32_t index, uint32_t item) {
    const struct scenario_arm *arm = &walk->scenario->arm[index];
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (arm->item[i] == item)
            return reach_comes_to(&walk->reach, layout_source(walk->scenario, arm->from), item);
    return false;
}

static bool ends_at(const struct walk *walk, struct place place, uint32_t vertex) {
    return waits_vertex_of_place(walk->waits, place) == vertex;
}

static double share_of(const struct walk *walk, uint32_t vertex, enum activity_state state) {
    return activity_shares(walk->activity, walk->waits, vertex).share[state];
}

/* True when a part that is busy for such a share is too slow for what is wanted even without a
 * wait. */
static bool is_too_slow(const struct walk *walk, double busy) {
    return busy >= full_share || (isfinite(walk->factor) && busy * walk->factor >= full_share);
}

/* Cells in the direction of travel from one place on a lane or line to another. */
static uint32_t cells_on(const struct walk *walk, struct place from, struct place to) {
    const struct scenario *scenario = walk->scenario;
    if (from.kind == PLACE_LINE)
        return to.cell >= from.cell ? to.cell - from.cell : UINT32_MAX;
    uint32_t cells = layout_track_cells(scenario, layout_track(scenario, from));
    return (to.cell + cells - from.cell) % cells;
}

/* Cells from where an arm puts things down to where another takes them. */
static uint32_t cells_between(const struct walk *walk, uint32_t feeder, uint32_t taker) {
    return cells_on(walk, walk->scenario->arm[feeder].to, walk->scenario->arm[taker].from);
}

static double cells_a_second(const struct scenario *scenario, struct place place) {
    struct ratio rate = layout_track_rate(scenario, layout_track(scenario, place));
    return (double)rate.numerator / (double)rate.denominator;
}

/* True when more lies on a lane than is under way to the arm (Little: rate times time): it comes
 * round again, so that the arm lacks time and not items. */
static bool lets_pass(const struct walk *walk, uint32_t taker, uint32_t item) {
    const struct scenario *scenario = walk->scenario;
    struct place from = scenario->arm[taker].from;
    uint32_t track = waits_vertex_of_place(walk->waits, from);
    double under_way = 0;
    if (!layout_is_track(from))
        return false;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (ends_at(walk, scenario->arm[i].to, track) && carries(walk, i, item) &&
            cells_between(walk, i, taker) != UINT32_MAX)
            under_way += activity_rate(walk->activity, i, item) * cells_between(walk, i, taker) /
                         cells_a_second(scenario, from);
    return activity_mean_on_track(walk->activity, track, item) > 1.5 * under_way + 1;
}

/* What an arm puts onto a track of one item: it rides on to the next arm that takes it. */
struct ride {
    struct place from;
    uint32_t cells;
    double flow; /* cells a second */
};

/* The cells to the nearest arm that takes an item off a track; UINT32_MAX: none does. */
static uint32_t cells_to_taker(const struct walk *walk, uint32_t feeder, uint32_t track,
                               uint32_t item) {
    const struct scenario *scenario = walk->scenario;
    uint32_t nearest = UINT32_MAX;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (ends_at(walk, scenario->arm[i].from, track) && carries(walk, i, item) &&
            cells_between(walk, feeder, i) < nearest)
            nearest = cells_between(walk, feeder, i);
    return nearest;
}

/* All rides on a track. Returns how many; to be freed. */
static uint32_t list_rides(const struct walk *walk, uint32_t track, struct ride **ride) {
    const struct scenario *scenario = walk->scenario;
    uint32_t count = 0, capacity = 0;
    *ride = NULL;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        bool puts = ends_at(walk, arm->to, track);
        for (uint32_t j = 0; j < arm->item_count && puts; j++) {
            uint32_t item = arm->item[j];
            if (!carries(walk, i, item))
                continue;
            *ride = array_with_room(*ride, count, &capacity, sizeof **ride);
            (*ride)[count++] =
                (struct ride){arm->to, cells_to_taker(walk, i, track, item),
                              activity_rate(walk->activity, i, item) * scenario->item[item].length};
        }
    }
    return count;
}

static bool find_whether_too_slow(const struct walk *walk, uint32_t track) {
    const struct scenario *scenario = walk->scenario;
    struct ride *ride;
    bool slow = false;
    uint32_t count = list_rides(walk, track, &ride);
    for (uint32_t i = 0; i < scenario->arm_count && !slow; i++) {
        struct place to = scenario->arm[i].to;
        double flow = 0;
        if (!ends_at(walk, to, track))
            continue;
        for (uint32_t j = 0; j < count; j++)
            flow += cells_on(walk, ride[j].from, to) < ride[j].cells ? ride[j].flow : 0;
        slow = flow * walk->factor >= 0.92 * cells_a_second(scenario, to);
    }
    free(ride);
    return slow;
}

/* True when a lane or line passes too slowly for what is wanted even if each cell were used. */
static bool is_track_too_slow(const struct walk *walk, uint32_t track) {
    enum pace *pace = &walk->pace[waits_thing(walk->waits, track).index];
    if (!isfinite(walk->factor))
        return false;
    if (*pace == PACE_UNKNOWN)
        *pace = find_whether_too_slow(walk, track) ? PACE_TOO_SLOW : PACE_ENOUGH;
    return *pace == PACE_TOO_SLOW;
}

/* ---- ways ---- */

static int way_order(const void *a, const void *b) {
    const struct way *x = a, *y = b;
    if (x->share != y->share)
        return x->share > y->share ? -1 : 1;
    return x->state != y->state ? (x->state > y->state ? 1 : -1)
                                : (x->index > y->index) - (x->index < y->index);
}

static void sort_ways(struct way *way, uint32_t count) {
    if (count > 0)
        qsort(way, count, sizeof *way, way_order);
}

/* ---- gates ---- */

static enum waits_kind kind_of_gate(enum waits_kind owner) {
    return owner == WAITS_ARM ? WAITS_ARM_GATE
                              : (owner == WAITS_STATION ? WAITS_STATION_GATE : WAITS_SUPPLY_GATE);
}

/* Demands that were stopped, so that a chest was not emptied. */
static bool walk_stopped_demands(struct walk *walk, uint32_t chest, uint32_t item, double weight) {
    const struct scenario *scenario = walk->scenario;
    bool led = false;
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        uint32_t vertex = waits_vertex(walk->waits, WAITS_DEMAND, i);
        double stopped = share_of(walk, vertex, ACTIVITY_STOPPED);
        if (waits_vertex(walk->waits, WAITS_CHEST, scenario->demand[i].chest) == chest &&
            (item == NO_INDEX || scenario->demand[i].item == item) && stopped >= least_share)
            led = found(
                walk, walk->waits->status[vertex] == STATUS_ENDED ? ROOT_FULL_CHEST : ROOT_STOPPED,
                walk->waits->status[vertex] == STATUS_ENDED ? chest : vertex, NO_INDEX,
                weight * stopped);
    }
    return led;
}

/* A gate that waits for a count to rise waits for those who bring, one that waits for a count to
 * fall for those who take; else its threshold is too low, or it never opens again. */
static bool walk_gate(struct walk *walk, uint32_t owner, double weight) {
    struct waits_thing thing = waits_thing(walk->waits, owner);
    uint32_t gate = waits_vertex(walk->waits, kind_of_gate(thing.kind), thing.index);
    const struct activity_wait *wait = activity_gate_wait(walk->activity, gate);
    bool shut = walk->waits->stuck[gate], led = false;
    add_link(walk, gate, wait != NULL ? wait->item : NO_INDEX);
    if (wait != NULL && wait->why == WAITS_FOR_RISE && wait->item != NO_INDEX && !shut)
        led = walk_source(walk, wait->to, wait->item, weight);
    if (wait != NULL && wait->why == WAITS_FOR_FALL && !shut)
        led = walk_stopped_demands(walk, wait->to, wait->item, weight);
    return found(walk, shut ? ROOT_GATE_SHUT : ROOT_LOW_THRESHOLD, owner, NO_INDEX,
                 led ? weight / 2 : weight);
}

/* ---- arms ---- */

/* How much of its time an arm waits for this item, whatever else it carries. */
static double lacks(const struct walk *walk, uint32_t vertex, uint32_t item) {
    double all = share_of(walk, vertex, ACTIVITY_ITEM);
    double any = activity_wait_share(walk->activity, vertex, WAITS_FOR_ITEM, NO_INDEX);
    double this = activity_wait_share(walk->activity, vertex, WAITS_FOR_ITEM, item);
    double under_way = all > any ? all - any : 0;
    return this + under_way < all ? this + under_way : all;
}

static bool follow_arm(struct walk *walk, uint32_t index, const struct way *way, double weight) {
    const struct scenario_arm *arm = &walk->scenario->arm[index];
    uint32_t vertex = waits_vertex(walk->waits, WAITS_ARM, index);
    switch (way->state) {
    case ACTIVITY_ITEM:
        return walk_source(walk, waits_vertex_of_place(walk->waits, arm->from), way->index, weight);
    case ACTIVITY_ROOM:
        return walk_room(walk, waits_vertex_of_place(walk->waits, arm->to), way->index, weight);
    case ACTIVITY_GATE: return arm->gate != NO_INDEX && walk_gate(walk, vertex, weight);
    case ACTIVITY_STOPPED: return found_stop(walk, vertex, weight);
    case ACTIVITY_BUSY: break;
    }
    return false;
}

/* `brings`: the item is waited for where the arm puts it, so that the arm may lack it; else it is
 * waited for the arm to take the item away, which is there. */
static bool walk_arm(struct walk *walk, uint32_t index, uint32_t item, bool brings, double weight) {
    uint32_t vertex = waits_vertex(walk->waits, WAITS_ARM, index);
    uint32_t before = walk->shortage->chain_count, count = 0;
    if (!is_new(walk, vertex, item, !brings))
        return false;
    struct activity_shares shares = activity_shares(walk->activity, walk->waits, vertex);
    double busy = shares.share[ACTIVITY_BUSY];
    struct way way[] = {{lacks(walk, vertex, item), ACTIVITY_ITEM, item},
                        {shares.share[ACTIVITY_ROOM], ACTIVITY_ROOM, item},
                        {shares.share[ACTIVITY_GATE], ACTIVITY_GATE, item},
                        {shares.share[ACTIVITY_STOPPED], ACTIVITY_STOPPED, item}};
    bool passes = brings && busy >= passing_share && lets_pass(walk, index, item);
    if (!brings)
        way[0].share = 0;
    count = sizeof way / sizeof *way;
    sort_ways(way, count);
    add_link(walk, vertex, item);
    bool led = false;
    for (uint32_t i = 0; i < count && way[i].share >= least_share; i++)
        led = follow_arm(walk, index, &way[i], weight * way[i].share) || led;
    if (is_too_slow(walk, busy) || busy >= candidate_share || passes || (!led && busy >= 0.2))
        led = found(walk, ROOT_SLOW_ARM, vertex, item, weight * busy);
    if (passes && walk->passed_by == WAITS_NOBODY)
        walk->passed_by = vertex;
    if (!led)
        cut_chain(walk, before);
    return led;
}

/* ---- stations ---- */

static uint32_t ways_of_station(const struct walk *walk, uint32_t index, struct way *way) {
    const struct scenario_station *station = &walk->scenario->station[index];
    uint32_t vertex = waits_vertex(walk->waits, WAITS_STATION, index), count = 0;
    struct activity_shares shares = activity_shares(walk->activity, walk->waits, vertex);
    double starved = activity_wait_share(walk->activity, vertex, WAITS_FOR_ITEM, NO_INDEX);
    double blocked = activity_wait_share(walk->activity, vertex, WAITS_TO_TAKE, NO_INDEX);
    for (uint32_t i = 0; i < station->takes.count && starved > 0; i++) {
        uint32_t item = station->takes.entry[i].item;
        double share = activity_wait_share(walk->activity, vertex, WAITS_FOR_ITEM, item) / starved;
        way[count++] = (struct way){share * shares.share[ACTIVITY_ITEM], ACTIVITY_ITEM, item};
    }
    for (uint32_t i = 0; i < station->makes_count && blocked > 0; i++) {
        uint32_t item = station->makes[i].item;
        double share = activity_wait_share(walk->activity, vertex, WAITS_TO_TAKE, item) / blocked;
        way[count++] = (struct way){share * shares.share[ACTIVITY_ROOM], ACTIVITY_ROOM, item};
    }
    way[count++] = (struct way){shares.share[ACTIVITY_GATE], ACTIVITY_GATE, NO_INDEX};
    way[count++] = (struct way){shares.share[ACTIVITY_STOPPED], ACTIVITY_STOPPED, NO_INDEX};
    return count;
}

/* The arms that bring an item to a place, or take it away, those that wait most first; false: none
 * of them limits. */
static bool walk_arms_at(struct walk *walk, uint32_t place, uint32_t item, bool bring,
                         double weight) {
    const struct scenario *scenario = walk->scenario;
    struct way *way = require_memory(scenario->arm_count, sizeof *way);
    uint32_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        double busy = share_of(walk, waits_vertex(walk->waits, WAITS_ARM, i), ACTIVITY_BUSY);
        if (ends_at(walk, bring ? arm->to : arm->from, place) && carries(walk, i, item))
            way[count++] = (struct way){1 - busy, ACTIVITY_BUSY, i};
    }
    sort_ways(way, count);
    bool led = false;
    for (uint32_t i = 0; i < count; i++)
        led = walk_arm(walk, way[i].index, item, bring, weight) || led;
    free(way);
    return led;
}

/* Whether an arm takes an item from a station, or brings it there. */
static bool has_arm(const struct walk *walk, uint32_t vertex, uint32_t item, bool brings) {
    for (uint32_t i = 0; i < walk->scenario->arm_count; i++) {
        const struct scenario_arm *arm = &walk->scenario->arm[i];
        if (ends_at(walk, brings ? arm->to : arm->from, vertex) && carries(walk, i, item))
            return true;
    }
    return false;
}

static bool follow_station(struct walk *walk, uint32_t index, const struct way *way,
                           double weight) {
    const struct scenario_station *station = &walk->scenario->station[index];
    uint32_t vertex = waits_vertex(walk->waits, WAITS_STATION, index);
    switch (way->state) {
    case ACTIVITY_ITEM:
        return walk_arms_at(walk, vertex, way->index, true, weight) ||
               (!has_arm(walk, vertex, way->index, true) &&
                found(walk, ROOT_DEAD_SUPPLY, vertex, way->index, weight));
    case ACTIVITY_ROOM:
        return walk_arms_at(walk, vertex, way->index, false, weight) ||
               (!has_arm(walk, vertex, way->index, false) &&
                found(walk, ROOT_SURPLUS, vertex, way->index, weight));
    case ACTIVITY_GATE: return station->gate != NO_INDEX && walk_gate(walk, vertex, weight);
    case ACTIVITY_STOPPED: return found_stop(walk, vertex, weight);
    case ACTIVITY_BUSY: break;
    }
    return false;
}

static bool walk_station(struct walk *walk, uint32_t index, double weight) {
    const struct scenario_station *station = &walk->scenario->station[index];
    uint32_t vertex = waits_vertex(walk->waits, WAITS_STATION, index);
    uint32_t before = walk->shortage->chain_count;
    if (!is_new(walk, vertex, NO_INDEX, false))
        return false;
    struct way *way =
        require_memory((size_t)station->takes.count + station->makes_count + 2, sizeof *way);
    uint32_t count = ways_of_station(walk, index, way);
    double busy = share_of(walk, vertex, ACTIVITY_BUSY);
    sort_ways(way, count);
    add_link(walk, vertex, way[0].share >= least_share ? way[0].index : NO_INDEX);
    bool led = false;
    for (uint32_t i = 0; i < count && way[i].share >= least_share; i++)
        led = follow_station(walk, index, &way[i], weight * way[i].share) || led;
    if (is_too_slow(walk, busy) || busy >= candidate_share || (!led && busy >= 0.2))
        led = found(walk, ROOT_SLOW_STATION, vertex, NO_INDEX, weight * busy);
    free(way);
    if (!led)
        cut_chain(walk, before);
    return led;
}

/* ---- supplies, chests ---- */

/* The other item that takes up more than half of a chest; NO_INDEX: none does. */
static uint32_t crowd_of(const struct walk *walk, uint32_t chest, uint32_t item) {
    int64_t capacity = layout_chest_capacity(walk->scenario, chest);
    for (uint32_t i = 0; i < walk->scenario->item_count && capacity != NO_LIMIT; i++)
        if (i != item && world_chest_count(walk->evidence->world, chest, i) > capacity / 2)
            return i;
    return NO_INDEX;
}

/* A delivery waits for room. */
static bool found_no_room(struct walk *walk, const struct scenario_stream *supply, double weight) {
    struct part chest = {PART_CHEST, supply->chest};
    struct root *root = add_root(walk, ROOT_SMALL_ROOM, chest, supply->item, weight);
    root->crowd = crowd_of(walk, supply->chest, supply->item);
    return walk->led = true;
}

static bool walk_supply(struct walk *walk, uint32_t index, double weight) {
    const struct scenario_stream *supply = &walk->scenario->supply[index];
    uint32_t vertex = waits_vertex(walk->waits, WAITS_SUPPLY, index);
    uint32_t before = walk->shortage->chain_count;
    struct activity_shares shares = activity_shares(walk->activity, walk->waits, vertex);
    bool led = false;
    add_link(walk, vertex, supply->item);
    if (walk->waits->status[vertex] == STATUS_ENDED)
        led = found(walk, ROOT_DEAD_SUPPLY, vertex, supply->item, weight);
    else if (shares.share[ACTIVITY_STOPPED] >= least_share)
        led = found_stop(walk, vertex, weight * shares.share[ACTIVITY_STOPPED]);
    if (shares.share[ACTIVITY_GATE] >= 0.5)
        led = walk_gate(walk, vertex, weight * shares.share[ACTIVITY_GATE]) || led;
    if (shares.share[ACTIVITY_ROOM] >= 0.5)
        led = found_no_room(walk, supply, weight * shares.share[ACTIVITY_ROOM]);
    if (shares.share[ACTIVITY_BUSY] >= 0.5)
        led = found(walk, ROOT_SHORT_SUPPLY, vertex, supply->item,
                    weight * shares.share[ACTIVITY_BUSY]);
    if (!led)
        cut_chain(walk, before);
    return led;
}

static bool walk_chest(struct walk *walk, uint32_t place, uint32_t item, double weight) {
    const struct scenario *scenario = walk->scenario;
    bool led = walk_arms_at(walk, place, item, true, weight), some = led;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        some |= ends_at(walk, scenario->arm[i].to, place) && carries(walk, i, item);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (waits_vertex(walk->waits, WAITS_CHEST, scenario->supply[i].chest) == place &&
            scenario->supply[i].item == item) {
            some = true;
            led = walk_supply(walk, i, weight) || led;
        }
    return some ? led : found(walk, ROOT_DEAD_SUPPLY, place, item, weight);
}

/* What holds less of a track than one in so many cells is not what makes it slow; if it is taken
 * off in time, no less than a larger part. */
enum { LITTER_PART = 8, CROWD_PART = 4 };

/* True when far more of an item lies on a loop than is under way to the nearest taker (Little: rate
 * times time): it comes round again and again. */
static bool comes_round(const struct walk *walk, uint32_t track, uint32_t item) {
    const struct scenario *scenario = walk->scenario;
    double under_way = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (ends_at(walk, scenario->arm[i].to, track) && carries(walk, i, item)) {
            uint32_t cells = cells_to_taker(walk, i, track, item);
            under_way += cells == UINT32_MAX ? 0
                                             : activity_rate(walk->activity, i, item) * cells /
                                                   cells_a_second(scenario, scenario->arm[i].to);
        }
    return activity_mean_on_track(walk->activity, track, item) > 2 * under_way + 1;
}

/* Of an item that crowds a loop: a taker that is stopped, else who puts most of it on. */
static bool find_crowd(struct walk *walk, uint32_t track, uint32_t item, double weight) {
    const struct scenario *scenario = walk->scenario;
    uint32_t feeder = WAITS_NOBODY;
    double most = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        uint32_t arm = waits_vertex(walk->waits, WAITS_ARM, i);
        if (!carries(walk, i, item))
            continue;
        if (ends_at(walk, scenario->arm[i].from, track) &&
            walk->waits->status[arm] == STATUS_STOPPED)
            return found_stop(walk, arm, weight);
        double rate = activity_rate(walk->activity, i, item);
        if (ends_at(walk, scenario->arm[i].to, track) && rate > most) {
            most = rate;
            feeder = arm;
        }
    }
    if (feeder == WAITS_NOBODY)
        return false;
    uint32_t index = waits_part(walk->waits, feeder).index;
    add_root(walk, ROOT_UNGATED_FEEDER, (struct part){PART_ARM, index}, item, weight)->lane = track;
    return walk->led = true;
}

/* What lies on a track and is never taken off, or what comes round again, keeps cells from all
 * others. */
static bool find_litter(struct walk *walk, uint32_t vertex, uint32_t wanted, double weight) {
    const struct world *world = walk->evidence->world;
    uint32_t index = waits_thing(walk->waits, vertex).index;
    const struct track_plan *track = &world->track[index].plan;
    bool led = false;
    for (uint32_t i = 0; i < track->kind_count && !track->is_line; i++) {
        const struct track_kind *kind = &world->kind[track->first_kind + i];
        int64_t cells = (int64_t)kind->count * kind->length;
        if (LITTER_PART * cells < track->cell_count)
            continue;
        if (track_kind_taker_count(kind) > 0) {
            bool crowds = kind->item != wanted && CROWD_PART * cells >= track->cell_count &&
                          comes_round(walk, vertex, kind->item);
            led = (crowds && find_crowd(walk, vertex, kind->item, weight)) || led;
            continue;
        }
        struct place place = layout_track_as_place(walk->scenario, index);
        bool fell = drops_lasting(walk->evidence->drops, place, kind->item) != NOT_GIVEN;
        led = found(walk, fell ? ROOT_FOREIGN_ITEM : ROOT_NO_EXIT, vertex, kind->item, weight);
    }
    return led;
}

/* Where an item is lacking: who ought to have brought it. */
static bool walk_source(struct walk *walk, uint32_t place, uint32_t item, double weight) {
    struct waits_thing thing = waits_thing(walk->waits, place);
    uint32_t before = walk->shortage->chain_count;
    bool led = false;
    if (thing.kind == WAITS_STATION)
        return walk_station(walk, thing.index, weight);
    if (!is_new(walk, place, item, false))
        return false;
    add_link(walk, place, item);
    if (thing.kind == WAITS_CHEST)
        led = walk_chest(walk, place, item, weight);
    if (thing.kind == WAITS_TRACK) {
        led = find_litter(walk, place, item, weight);
        if (is_track_too_slow(walk, place))
            led = found(walk, ROOT_FULL_LANE, place, NO_INDEX, weight);
        led = walk_arms_at(walk, place, item, true, weight) || led;
    }
    if (!led)
        cut_chain(walk, before);
    return led;
}

/* ---- room ---- */

/* The roots of a lane on which nothing can move are those of its jam, those of a station that is
 * starved for good those of its starvation. */
static bool walk_jam(struct walk *walk, uint32_t vertex, double weight) {
    struct roots roots = {0};
    roots_find(&roots, walk->waits, walk->evidence->world, walk->evidence->drops, vertex);
    for (uint32_t i = 0; i < roots.count; i++) {
        const struct root *root = &roots.root[i];
        struct root *added = add_root(walk, root->kind, root->subject, root->item, weight);
        added->lane = root->lane;
        added->fed = root->fed;
        added->since = root->since;
    }
    bool some = roots.count > 0;
    roots_free(&roots);
    walk->led = walk->led || some;
    return some;
}

/* No cell is free: it is jammed, passes too slowly, or is not emptied fast enough. */
static bool walk_full_track(struct walk *walk, uint32_t track, uint32_t item, double weight) {
    if (walk->waits->stuck[track] && walk_jam(walk, track, weight))
        return true;
    find_litter(walk, track, item, weight);
    bool led = !is_track_too_slow(walk, track) && walk_arms_at(walk, track, item, false, weight);
    return found(walk, ROOT_FULL_LANE, track, NO_INDEX, led ? weight / 2 : weight);
}

static bool walk_full_chest(struct walk *walk, uint32_t chest, uint32_t item, double weight) {
    if (walk->waits->stuck[chest])
        return found(walk, ROOT_FULL_CHEST, chest, item, weight);
    bool led = walk_arms_at(walk, chest, item, false, weight);
    return found(walk, ROOT_SMALL_ROOM, chest, item, led ? weight / 2 : weight);
}

/* Where room is lacking: who ought to have taken something away. */
static bool walk_room(struct walk *walk, uint32_t place, uint32_t item, double weight) {
    enum waits_kind kind = waits_thing(walk->waits, place).kind;
    if (kind == WAITS_STATION) /* it has enough of it */
        return false;
    add_link(walk, place, item);
    return kind == WAITS_TRACK ? walk_full_track(walk, place, item, weight)
                               : walk_full_chest(walk, place, item, weight);
}

/* ---- all of it ---- */

static bool is_own_pace(enum root_kind kind) {
    return kind == ROOT_SLOW_ARM || kind == ROOT_SLOW_STATION || kind == ROOT_SHORT_SUPPLY;
}

static uint32_t vertex_of(const struct walk *walk, const struct root *root) {
    return shortage_vertex(walk->waits, root->subject);
}

static void swap_roots(struct walk *walk, uint32_t a, uint32_t b) {
    struct root *root = walk->shortage->roots.root, kept = root[a];
    double weight = walk->weight[a];
    root[a] = root[b];
    walk->weight[a] = walk->weight[b];
    root[b] = kept;
    walk->weight[b] = weight;
}

/* Where items come round again, what holds their feeders back is not the limit: the arm is that
 * lets them pass. */
static bool choose_passed_by(struct walk *walk) {
    const struct roots *roots = &walk->shortage->roots;
    enum root_kind first = roots->root[0].kind;
    if (walk->passed_by == WAITS_NOBODY || !is_on_chain(walk, walk->passed_by) ||
        (first != ROOT_LOW_THRESHOLD && first != ROOT_FULL_LANE && first != ROOT_SMALL_ROOM))
        return false;
    for (uint32_t i = 0; i < roots->count; i++)
        if (roots->root[i].kind == ROOT_SLOW_ARM &&
            vertex_of(walk, &roots->root[i]) == walk->passed_by) {
            swap_roots(walk, 0, i);
            return true;
        }
    return false;
}

/* Of several on the way whose own pace may limit, the one with the longest mean active period. An
 * arm at a lane waits a little before each swing, so that its periods say nothing of it. */
static void choose_first(struct walk *walk) {
    struct roots *roots = &walk->shortage->roots;
    double longest = 0;
    uint32_t first = 0;
    if (roots->count == 0)
        return;
    if (choose_passed_by(walk) || !is_own_pace(roots->root[0].kind))
        return;
    for (uint32_t i = 0; i < roots->count; i++) {
        const struct root *root = &roots->root[i];
        if (!is_own_pace(root->kind) || !is_on_chain(walk, vertex_of(walk, root)) ||
            !is_too_slow(walk, share_of(walk, vertex_of(walk, root), ACTIVITY_BUSY)))
            continue;
        double period = activity_mean_period(walk->activity, vertex_of(walk, root));
        if (period > longest) {
            longest = period;
            first = i;
        }
    }
    swap_roots(walk, 0, first);
}

/* A gate that was shut for a smaller share than is missing of the demand: had it been open all the
 * time, there would still be too little. */
static bool is_shut_too_seldom(const struct walk *walk, const struct root *root) {
    double missing = 1 - 1 / walk->factor;
    return root->kind == ROOT_LOW_THRESHOLD && isfinite(walk->factor) &&
           share_of(walk, vertex_of(walk, root), ACTIVITY_GATE) < missing;
}

/* Beside what limits first, which the greatest waits have led to. */
static void leave_out_open_gates(struct walk *walk) {
    struct roots *roots = &walk->shortage->roots;
    uint32_t kept = roots->count > 0 ? 1 : 0;
    for (uint32_t i = kept; i < roots->count; i++) {
        if (is_shut_too_seldom(walk, &roots->root[i]))
            continue;
        roots->root[kept] = roots->root[i];
        walk->weight[kept++] = walk->weight[i];
    }
    roots->count = kept;
}

static void sort_others(struct walk *walk) {
    uint32_t count = walk->shortage->roots.count;
    for (uint32_t i = 2; i < count; i++)
        for (uint32_t j = i; j > 1 && walk->weight[j] > walk->weight[j - 1]; j--)
            swap_roots(walk, j, j - 1);
}

/* The chain ends with what limits. */
static void end_chain(struct walk *walk) {
    struct shortage *shortage = walk->shortage;
    if (shortage->roots.count == 0)
        return;
    uint32_t vertex = vertex_of(walk, &shortage->roots.root[0]);
    for (uint32_t i = 0; i < shortage->chain_count; i++)
        if (shortage->chain[i].vertex == vertex && is_own_pace(shortage->roots.root[0].kind))
            shortage->chain_count = i + 1;
}

/* The busiest part of the chain: nothing else on it takes any time. */
static void find_busiest(struct walk *walk) {
    const struct shortage *shortage = walk->shortage;
    const struct shortage_link *busiest = NULL;
    for (uint32_t i = 0; i < shortage->chain_count; i++) {
        const struct shortage_link *link = &shortage->chain[i];
        double busy = link->has_shares ? link->shares.share[ACTIVITY_BUSY] : 0;
        if (busy > 0 && (busiest == NULL || busy > busiest->shares.share[ACTIVITY_BUSY]))
            busiest = link;
    }
    if (busiest == NULL)
        return;
    bool is_arm = waits_thing(walk->waits, busiest->vertex).kind == WAITS_ARM;
    found(walk, is_arm ? ROOT_SLOW_ARM : ROOT_SLOW_STATION, busiest->vertex, busiest->item, 1);
}

/* Where each way ends in a circle: what stands still for good has the roots of the starvation of a
 * station in it, else the circle goes round no faster than its busiest part. */
static void walk_circle(struct walk *walk) {
    struct shortage *shortage = walk->shortage;
    if (shortage->roots.count > 0 || walk->circle == NULL)
        return;
    bool some = false;
    free(shortage->chain);
    shortage->chain = walk->circle;
    shortage->chain_count = shortage->chain_capacity = walk->circle_count;
    walk->circle = NULL;
    for (uint32_t i = 0; i < shortage->chain_count && !some; i++) {
        uint32_t vertex = shortage->chain[i].vertex;
        some = waits_thing(walk->waits, vertex).kind == WAITS_STATION &&
               walk->waits->stuck[vertex] && walk_jam(walk, vertex, 1);
    }
    if (!some)
        find_busiest(walk);
}

/* Where all ways go round without anybody on them being busy: what there is goes round elsewhere,
 * and nobody brings any more. */
static void find_no_inflow(struct walk *walk, uint32_t chest, uint32_t item) {
    cut_chain(walk, 0);
    add_link(walk, chest, item);
    found(walk, ROOT_DEAD_SUPPLY, chest, item, 1);
}

static void walk_begin(struct walk *walk, struct shortage *shortage,
                       const struct shortage_evidence *evidence, double factor) {
    *walk = (struct walk){.shortage = shortage,
                          .evidence = evidence,
                          .activity = evidence->activity,
                          .waits = evidence->waits,
                          .scenario = evidence->waits->scenario,
                          .factor = factor,
                          .passed_by = WAITS_NOBODY};
    walk->reach = reach_of(walk->scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    walk->pace = require_memory(layout_track_count(walk->scenario), sizeof *walk->pace);
}

static void walk_end(struct walk *walk) {
    walk_circle(walk);
    choose_first(walk);
    leave_out_open_gates(walk);
    sort_others(walk);
    end_chain(walk);
    reach_free(&walk->reach);
    pairs_free(&walk->seen);
    free(walk->circle);
    free(walk->weight);
    free(walk->pace);
}

/* Each link leads on to the next. */
static void join_chain(struct shortage *shortage) {
    for (uint32_t i = 0; i < shortage->chain_count; i++)
        shortage->chain[i].on =
            i + 1 < shortage->chain_count ? shortage->chain[i + 1].vertex : WAITS_NOBODY;
}

static bool same_root(const struct shortage *a, const struct shortage *b) {
    if (a->roots.count == 0 || b->roots.count == 0)
        return false;
    const struct root *x = &a->roots.root[0], *y = &b->roots.root[0];
    return x->kind == y->kind && x->subject.kind == y->subject.kind &&
           x->subject.index == y->subject.index;
}

static void replace_chain(struct shortage *shortage, struct shortage *other) {
    free(shortage->chain);
    shortage->chain = other->chain;
    shortage->chain_count = other->chain_count;
    shortage->chain_capacity = other->chain_capacity;
    other->chain = NULL;
}

/* The station of a maker alone, in the place of the chest where the way back began. */
static void put_maker_first(struct walk *walk, uint32_t maker) {
    struct shortage *shortage = walk->shortage;
    if (shortage->chain_count == 0)
        return;
    shortage->chain[0] = make_link(walk, maker, NO_INDEX);
}

static void find_from_station(struct shortage *shortage, const struct shortage_evidence *evidence,
                              uint32_t station, double factor) {
    struct walk walk;
    walk_begin(&walk, shortage, evidence, factor);
    walk_station(&walk, station, 1);
    walk_end(&walk);
}

/* The chain begins with the station that makes the item: what comes before it on the way back goes.
 * Where the way back ends before it, the way from the station on is used. */
static void begin_chain_at_maker(struct walk *walk, uint32_t item) {
    struct shortage *shortage = walk->shortage, other = {0};
    uint32_t first = 0, maker = maker_of(walk, item);
    while (first < shortage->chain_count &&
           waits_thing(walk->waits, shortage->chain[first].vertex).kind != WAITS_STATION)
        first++;
    if (first < shortage->chain_count) {
        shortage->chain_count -= first;
        for (uint32_t i = 0; i < shortage->chain_count; i++)
            shortage->chain[i] = shortage->chain[first + i];
    } else if (maker != NO_INDEX) {
        find_from_station(&other, walk->evidence, waits_thing(walk->waits, maker).index,
                          walk->factor);
        if (same_root(shortage, &other))
            replace_chain(shortage, &other);
        else
            put_maker_first(walk, maker);
        shortage_free(&other);
    }
}

void shortage_find_item(struct shortage *shortage, const struct shortage_evidence *evidence,
                        uint32_t chest, uint32_t item, double factor) {
    struct walk walk;
    walk_begin(&walk, shortage, evidence, factor);
    uint32_t vertex = waits_vertex(walk.waits, WAITS_CHEST, chest);
    walk_source(&walk, vertex, item, 1);
    walk_circle(&walk);
    if (shortage->roots.count == 0)
        find_no_inflow(&walk, vertex, item);
    walk_end(&walk);
    begin_chain_at_maker(&walk, item);
    join_chain(shortage);
}

void shortage_find_station(struct shortage *shortage, const struct shortage_evidence *evidence,
                           uint32_t station) {
    find_from_station(shortage, evidence, station, INFINITY);
    join_chain(shortage);
}

uint32_t shortage_vertex(const struct waits *waits, struct part part) {
    static const enum waits_kind kind[] = {[PART_ARM] = WAITS_ARM,
                                           [PART_STATION] = WAITS_STATION,
                                           [PART_SUPPLY] = WAITS_SUPPLY,
                                           [PART_DEMAND] = WAITS_DEMAND,
                                           [PART_CHEST] = WAITS_CHEST};
    if (part.kind == PART_LOOP)
        return WAITS_NOBODY;
    if (part.kind == PART_LANE)
        return waits_vertex(waits, WAITS_TRACK, part.index);
    if (part.kind == PART_LINE)
        return waits_vertex(waits, WAITS_TRACK, waits->scenario->lane_count + part.index);
    return waits_vertex(waits, kind[part.kind], part.index);
}

void shortage_free(struct shortage *shortage) {
    roots_free(&shortage->roots);
    free(shortage->chain);
    *shortage = (struct shortage){0};
}
