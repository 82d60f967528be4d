/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/roots.c - finds roots by a breadth-first search from the lane or station, so that
 * near ones come first. */
#include "model/cause/roots.h"

#include <math.h>
#include <stdlib.h>

#include "model/engine/arm.h"
#include "model/engine/gate.h"
#include "model/engine/parts.h"
#include "model/engine/track.h"
#include "model/scenario/layout.h"
#include "sim/array.h"
#include "sim/require.h"

/* ---- the walk ---- */

/* A vertex, and what is waited for there. */
struct search_node {
    uint32_t vertex;
    enum wait_reason why; /* of the wait that leads here */
    uint32_t item;
    uint32_t steps;
    uint32_t edge;       /* that leads here */
    uint32_t gate_owner; /* of the gate that waits for this chest's count to fall; else NO_INDEX */
    int64_t since;
};

/* One node leads to another. */
struct link {
    uint32_t from, to;
};

struct search {
    struct roots *roots;
    const struct waits *waits;
    const struct world *world;
    const struct scenario *scenario;
    const struct drops *drops;
    struct search_node *node;
    uint32_t node_count, node_capacity;
    uint32_t at; /* the node that is being expanded */
    struct link *link;
    uint32_t link_count, link_capacity;
    bool *emptied; /* tracks in which room is wanted */
};

static bool same_part(struct part a, struct part b) {
    return a.kind == b.kind && a.index == b.index;
}

static void add_root_of_part(struct search *search, enum root_kind kind, struct part subject,
                             uint32_t item, const struct search_node *at) {
    struct roots *roots = search->roots;
    for (uint32_t i = 0; i < roots->count; i++)
        if (roots->root[i].kind == kind && same_part(roots->root[i].subject, subject) &&
            roots->root[i].item == item)
            return;
    roots->root = array_with_room(roots->root, roots->count, &roots->capacity, sizeof *roots->root);
    roots->root[roots->count++] = (struct root){.kind = kind,
                                                .subject = subject,
                                                .item = item,
                                                .since = at->since,
                                                .edge = at->edge,
                                                .steps = at->steps,
                                                .lane = NO_INDEX,
                                                .crowd = NO_INDEX,
                                                .deed = NO_EFFECT};
}

static void add_root(struct search *search, enum root_kind kind, uint32_t vertex, uint32_t item,
                     const struct search_node *at) {
    add_root_of_part(search, kind, waits_part(search->waits, vertex), item, at);
}

static void add_root_on_lane(struct search *search, enum root_kind kind, uint32_t vertex,
                             uint32_t item, uint32_t track, const struct search_node *at) {
    uint32_t before = search->roots->count;
    add_root(search, kind, vertex, item, at);
    if (search->roots->count > before)
        search->roots->root[before].lane = track;
}

static bool same_node(const struct search_node *a, const struct search_node *b) {
    return a->vertex == b->vertex && a->why == b->why && a->item == b->item &&
           a->gate_owner == b->gate_owner;
}

static void link_to(struct search *search, uint32_t to) {
    search->link = array_with_room(search->link, search->link_count, &search->link_capacity,
                                   sizeof *search->link);
    search->link[search->link_count++] = (struct link){search->at, to};
}

static void push_node(struct search *search, struct search_node next) {
    for (uint32_t i = 0; i < search->node_count; i++)
        if (same_node(&search->node[i], &next)) {
            link_to(search, i);
            return;
        }
    search->node = array_with_room(search->node, search->node_count, &search->node_capacity,
                                   sizeof *search->node);
    if (search->node_count > 0)
        link_to(search, search->node_count);
    search->node[search->node_count++] = next;
}

/* Keeps an edge of the chain, each once: they are reported in this order. */
static void note_edge(struct roots *roots, uint32_t edge) {
    for (uint32_t i = 0; i < roots->chain_length; i++)
        if (roots->chain[i] == edge)
            return;
    roots->chain = array_with_room(roots->chain, roots->chain_length, &roots->chain_capacity,
                                   sizeof *roots->chain);
    roots->chain[roots->chain_length++] = edge;
}

static uint32_t number_of(const struct search *search, const struct waits_edge *edge) {
    return (uint32_t)(edge - search->waits->edge);
}

static void follow(struct search *search, const struct search_node *at,
                   const struct waits_edge *edge, uint32_t gate_owner) {
    note_edge(search->roots, number_of(search, edge));
    push_node(search, (struct search_node){edge->to, edge->why, edge->item, at->steps + 1,
                                           number_of(search, edge), gate_owner, edge->since});
}

/* True when room is what is wanted there: a thing must go, not come. */
static bool wants_room(enum wait_reason why) {
    return why == WAITS_FOR_CELL || why == WAITS_FOR_ROOM || why == WAITS_FOR_FALL;
}

/* What moves a track: its loop, or the line itself. */
static struct part belt_of(const struct search *search, uint32_t track) {
    struct place place = layout_track_as_place(search->scenario, track);
    if (place.kind == PLACE_LINE)
        return (struct part){PART_LINE, place.index};
    return (struct part){PART_LOOP, search->scenario->lane[track].loop};
}

/* ---- tracks ---- */

static bool puts_on(const struct search *search, uint32_t arm, uint32_t track, uint32_t item) {
    const struct arm_plan *self = &search->world->arm[arm].plan;
    if (waits_vertex_of_place(search->waits, search->scenario->arm[arm].to) != track)
        return false;
    for (uint32_t i = 0; i < self->shape->likely_count; i++)
        if (arm_item_at(search->world, self, i) == item)
            return true;
    return false;
}

/* True when somebody has the item in its hand and waits for a cell of this track. */
static bool is_held_before(const struct search *search, uint32_t track, uint32_t item) {
    const struct waits *waits = search->waits;
    for (uint32_t i = 0; i < search->scenario->arm_count; i++) {
        uint32_t edge = waits->first[waits_vertex(waits, WAITS_ARM, i)];
        bool places = edge < waits->first[waits_vertex(waits, WAITS_ARM, i) + 1] &&
                      waits->edge[edge].why == WAITS_FOR_CELL;
        if (places && puts_on(search, i, track, item))
            return true;
    }
    return false;
}

/* When what lies on a track since then has fallen onto it; NOT_GIVEN: nothing has. */
static int64_t drop_on(const struct search *search, uint32_t track, uint32_t item) {
    uint32_t index = waits_thing(search->waits, track).index;
    return drops_lasting(search->drops, layout_track_as_place(search->scenario, index), item);
}

/* What holds less than so much of what holds most of a track has little to do with its being full.
 */
enum { CROWD_PART = 8 };

static bool crowds(const struct search *search, uint32_t track, uint32_t item) {
    const struct track_plan *self = &search->world->track[track].plan;
    uint64_t most = 0, held = 0;
    for (uint32_t i = 0; i < self->kind_count; i++) {
        const struct track_kind *kind = &search->world->kind[self->first_kind + i];
        uint64_t cells = (uint64_t)kind->count * kind->length;
        most = cells > most ? cells : most;
        held = kind->item == item ? cells : held;
    }
    return CROWD_PART * held >= most;
}

static void expand_track(struct search *search, const struct search_node *at) {
    const struct waits *waits = search->waits;
    bool room = wants_room(at->why);
    uint32_t track = waits_thing(waits, at->vertex).index;
    if (waits->status[at->vertex] == STATUS_STOPPED)
        add_root_of_part(search, ROOT_STOPPED, belt_of(search, track), NO_INDEX, at);
    if (room)
        search->emptied[at->vertex] = true;
    else if (is_held_before(search, at->vertex, at->item))
        push_node(search, (struct search_node){at->vertex, WAITS_FOR_CELL, NO_INDEX, at->steps,
                                               at->edge, NO_INDEX, at->since});
    for (uint32_t i = waits->first[at->vertex]; i < waits->first[at->vertex + 1]; i++) {
        const struct waits_edge *edge = &waits->edge[i];
        if ((edge->why == WAITS_TO_TAKE) != room || (!room && edge->item != at->item))
            continue;
        struct search_node here = *at;
        here.since = edge->since;
        here.edge = number_of(search, edge);
        if (edge->to != WAITS_NOBODY && (!room || crowds(search, track, edge->item)))
            follow(search, at, edge, NO_INDEX);
        else if (edge->to != WAITS_NOBODY)
            continue;
        else if (!room && !is_held_before(search, at->vertex, edge->item))
            add_root(search, ROOT_DEAD_SUPPLY, at->vertex, edge->item, &here);
        else if (!room)
            continue; /* somebody brings it, and waits for a cell */
        else if (drop_on(search, at->vertex, edge->item) == NOT_GIVEN)
            add_root(search, ROOT_NO_EXIT, at->vertex, edge->item, &here);
    }
}

/* ---- arms ---- */

static bool takes_off_track(const struct search *search, uint32_t arm) {
    enum place_kind kind = search->scenario->arm[arm].from.kind;
    return kind == PLACE_LANE || kind == PLACE_LINE;
}

/* A gate that keeps an arm from taking things off, or a station from using them, is an end of its
 * own when it can't open any more; that of a feeder does what it is there for. */
static uint32_t owner_if_exit(const struct search_node *at) {
    return at->why == WAITS_TO_TAKE || wants_room(at->why) ? at->vertex : NO_INDEX;
}

/* Whether a wait of an arm keeps it from what is wanted of it. */
static bool concerns(const struct search_node *at, const struct waits_edge *edge) {
    if (edge->why == WAITS_FOR_CELL || edge->why == WAITS_FOR_GATE)
        return true;
    return edge->item == at->item && !(edge->why == WAITS_FOR_ITEM && at->why == WAITS_TO_TAKE);
}

static bool lingers(const struct search *search, uint32_t arm) {
    return search->world->arm[arm].state.held > 0 &&
           arm_state_at(search->world, arm, search->world->progress.tick) == ARM_REACHING;
}

/* A taker that is under way while what it should take off fills its track. */
static void add_slow_arm(struct search *search, const struct search_node *at, uint32_t arm) {
    uint32_t before = search->roots->count;
    uint32_t track = layout_track(search->scenario, search->scenario->arm[arm].from);
    if (takes_off_track(search, arm) && crowds(search, track, at->item))
        add_root(search, ROOT_SLOW_TAKER, at->vertex, at->item, at);
    if (search->roots->count > before)
        search->roots->root[before].lingers = lingers(search, arm);
}

/* One that is to bring something and waits for the rest of its hand, for as long as would starve a
 * station. */
static void add_lingering_arm(struct search *search, const struct search_node *at, uint32_t arm) {
    uint32_t before = search->roots->count;
    if (!takes_off_track(search, arm) || !lingers(search, arm) ||
        search->scenario->arm[arm].linger_ticks < search->scenario->watch.starved_after_ticks)
        return;
    add_root(search, ROOT_SLOW_TAKER, at->vertex, at->item, at);
    if (search->roots->count > before)
        search->roots->root[before].lingers = true;
}

/* What stands before a taker of a line and finds no room where it puts it, while others that have
 * room wait in the row: whoever has put so much of it on does not count what is under way. */
static void add_head_of_line(struct search *search, const struct search_node *at, uint32_t arm,
                             const struct waits_edge *edge) {
    const struct scenario *scenario = search->scenario;
    struct place from = scenario->arm[arm].from;
    if (from.kind != PLACE_LINE || edge->item == NO_INDEX || edge->item == at->item ||
        world_track_item(search->world, from, from.cell) != edge->item)
        return;
    uint32_t line = waits_vertex_of_place(search->waits, from);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (puts_on(search, i, line, edge->item) && scenario->arm[i].from.kind == PLACE_CHEST)
            add_root_on_lane(search, ROOT_UNGATED_FEEDER, waits_vertex(search->waits, WAITS_ARM, i),
                             edge->item, line, at);
}

static void expand_arm(struct search *search, const struct search_node *at) {
    const struct waits *waits = search->waits;
    uint32_t arm = waits_thing(waits, at->vertex).index;
    if (waits->status[at->vertex] == STATUS_STOPPED)
        add_root(search, ROOT_STOPPED, at->vertex, NO_INDEX, at);
    if (waits->status[at->vertex] == STATUS_ACTIVE && at->why == WAITS_TO_TAKE)
        add_slow_arm(search, at, arm);
    if (at->why == WAITS_TO_BRING)
        add_lingering_arm(search, at, arm);
    bool followed = false;
    for (uint32_t i = waits->first[at->vertex]; i < waits->first[at->vertex + 1]; i++)
        if (concerns(at, &waits->edge[i])) {
            follow(search, at, &waits->edge[i], owner_if_exit(at));
            followed = true;
        }
    for (uint32_t i = waits->first[at->vertex]; !followed && i < waits->first[at->vertex + 1]; i++)
        if (waits->edge[i].why == WAITS_FOR_ROOM) { /* there is none for what stands there */
            add_head_of_line(search, at, arm, &waits->edge[i]);
            follow(search, at, &waits->edge[i], owner_if_exit(at));
        }
}

/* ---- stations, supplies, demands, gates ---- */

static void expand_station(struct search *search, const struct search_node *at) {
    const struct waits *waits = search->waits;
    if (waits->status[at->vertex] == STATUS_STOPPED)
        add_root(search, ROOT_STOPPED, at->vertex, NO_INDEX, at);
    for (uint32_t i = waits->first[at->vertex]; i < waits->first[at->vertex + 1]; i++) {
        const struct waits_edge *edge = &waits->edge[i];
        if (edge->to == at->vertex && edge->why == at->why && edge->item == at->item)
            add_root(search, ROOT_DEAD_SUPPLY, at->vertex, edge->item,
                     at); /* it waits for itself */
        if (edge->to != WAITS_NOBODY)
            follow(search, at, edge, edge->why == WAITS_FOR_GATE ? at->vertex : NO_INDEX);
        else
            add_root(search, edge->why == WAITS_TO_TAKE ? ROOT_SURPLUS : ROOT_DEAD_SUPPLY,
                     at->vertex, edge->item, at);
    }
}

static void expand_supply(struct search *search, const struct search_node *at) {
    const struct waits *waits = search->waits;
    if (waits->status[at->vertex] == STATUS_STOPPED)
        add_root(search, ROOT_STOPPED, at->vertex, NO_INDEX, at);
    if (waits->status[at->vertex] == STATUS_ENDED)
        add_root(search, ROOT_DEAD_SUPPLY, at->vertex, at->item, at);
    for (uint32_t i = waits->first[at->vertex]; i < waits->first[at->vertex + 1]; i++)
        follow(search, at, &waits->edge[i], at->vertex);
}

static uint32_t owner_of_gate(const struct search *search, uint32_t vertex) {
    struct waits_thing thing = waits_thing(search->waits, vertex);
    enum waits_kind kind = thing.kind == WAITS_ARM_GATE       ? WAITS_ARM
                           : thing.kind == WAITS_STATION_GATE ? WAITS_STATION
                                                              : WAITS_SUPPLY;
    return waits_vertex(search->waits, kind, thing.index);
}

/* A station's gate that reads what the station itself makes, an unloader's that waits for more than
 * the station has room for: the chain runs in a circle through the gate. */
static bool waits_for_itself(const struct search *search, uint32_t gate) {
    const struct waits *waits = search->waits;
    uint32_t owner = owner_of_gate(search, gate);
    for (uint32_t i = waits->first[gate]; i < waits->first[gate + 1]; i++) {
        uint32_t place = waits->edge[i].to;
        for (uint32_t j = waits->first[place]; j < waits->first[place + 1]; j++)
            if (waits->edge[j].to == owner && waits->stuck[gate])
                return true;
    }
    return false;
}

/* A feeder that is held because enough has been made of something else than it brings halts as it
 * should: what then fills a lane is what goes on. */
static bool halts_rightly(const struct search *search, uint32_t owner,
                          const struct waits_edge *edge) {
    const struct scenario *scenario = search->scenario;
    struct waits_thing thing = waits_thing(search->waits, owner);
    if (thing.kind != WAITS_ARM || edge->why != WAITS_FOR_FALL || edge->item == NO_INDEX)
        return false;
    const struct scenario_arm *arm = &scenario->arm[thing.index];
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (arm->item[i] == edge->item && arm->item_count < scenario->item_count)
            return false;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++)
            if (scenario->station[i].makes[j].item == edge->item)
                return true;
    return false;
}

static void expand_gate(struct search *search, const struct search_node *at) {
    const struct waits *waits = search->waits;
    uint32_t owner = owner_of_gate(search, at->vertex);
    bool is_exit = at->gate_owner != NO_INDEX;
    if (is_exit && waits_for_itself(search, at->vertex))
        add_root(search, ROOT_GATE_SHUT, owner, NO_INDEX, at);
    for (uint32_t i = waits->first[at->vertex]; i < waits->first[at->vertex + 1]; i++)
        if (is_exit || !halts_rightly(search, owner, &waits->edge[i]))
            follow(search, at, &waits->edge[i], owner);
        else
            note_edge(search->roots, i);
}

/* ---- chests ---- */

/* A chest that lets nothing out: shut for good is the gate that reads it, full is one without room.
 * */
static void add_dead_end(struct search *search, const struct search_node *at, uint32_t item) {
    if (at->why == WAITS_FOR_FALL)
        add_root(search, ROOT_GATE_SHUT, at->gate_owner, NO_INDEX, at);
    else
        add_root(search, ROOT_FULL_CHEST, at->vertex, item, at);
}

static bool puts_where_room_is_wanted(const struct search *search, uint32_t arm_vertex) {
    const struct waits *waits = search->waits;
    for (uint32_t i = waits->first[arm_vertex]; i < waits->first[arm_vertex + 1]; i++)
        if (waits->edge[i].why == WAITS_FOR_CELL && search->emptied[waits->edge[i].to])
            return true;
    return false;
}

static void follow_outlet(struct search *search, const struct search_node *at,
                          const struct waits_edge *edge) {
    enum actor_status status = search->waits->status[edge->to];
    bool is_demand = waits_thing(search->waits, edge->to).kind == WAITS_DEMAND;
    bool moves = status == STATUS_ACTIVE || (is_demand && status == STATUS_WAITING);
    if (is_demand && status == STATUS_STOPPED)
        add_root(search, ROOT_STOPPED, edge->to, NO_INDEX, at);
    if (is_demand && status == STATUS_ENDED)
        add_dead_end(search, at, edge->item);
    if (at->why == WAITS_FOR_ROOM && (moves || puts_where_room_is_wanted(search, edge->to)))
        add_root(search, ROOT_FULL_CHEST, at->vertex, edge->item, at);
    if (!is_demand)
        follow(search, at, edge, NO_INDEX);
}

/* A gate that waits for what an ended supply should bring is an end of its own as well. */
static void follow_source(struct search *search, const struct search_node *at,
                          const struct waits_edge *edge) {
    bool is_supply = waits_thing(search->waits, edge->to).kind == WAITS_SUPPLY;
    if (at->why == WAITS_FOR_RISE && is_supply && search->waits->status[edge->to] == STATUS_ENDED)
        add_root(search, ROOT_GATE_SHUT, at->gate_owner, NO_INDEX, at);
    follow(search, at, edge, NO_INDEX);
}

/* Whether a supply brings an item to a chest and nothing holds it back. */
static bool is_supplied_freely(const struct search *search, uint32_t chest, uint32_t item) {
    const struct scenario *scenario = search->scenario;
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (scenario->supply[i].chest == chest && scenario->supply[i].item == item &&
            gate_is_open(search->world, scenario->supply[i].gate))
            return true;
    return false;
}

/* A shared chest whose places are taken, half of them at least, by another item than the one that
 * finds no room, and which goes on being delivered. */
static bool is_crowded_out(const struct search *search, const struct search_node *at,
                           uint32_t item) {
    uint32_t chest = waits_thing(search->waits, at->vertex).index;
    int64_t capacity = layout_chest_capacity(search->scenario, chest);
    if (at->why != WAITS_FOR_ROOM || at->item == NO_INDEX || item == at->item ||
        capacity == NO_LIMIT || world_chest_count(search->world, chest, NO_INDEX) < capacity)
        return false;
    return 2 * world_chest_count(search->world, chest, item) >= capacity &&
           is_supplied_freely(search, chest, item);
}

static void add_small_room(struct search *search, const struct search_node *at, uint32_t crowd) {
    uint32_t before = search->roots->count;
    add_root(search, ROOT_SMALL_ROOM, at->vertex, at->item, at);
    if (search->roots->count > before)
        search->roots->root[before].crowd = crowd;
}

static void expand_chest(struct search *search, const struct search_node *at) {
    const struct waits *waits = search->waits;
    bool room = wants_room(at->why);
    for (uint32_t i = waits->first[at->vertex]; i < waits->first[at->vertex + 1]; i++) {
        const struct waits_edge *edge = &waits->edge[i];
        if ((edge->why == WAITS_TO_TAKE) != room || (!room && edge->item != at->item))
            continue;
        if (at->why == WAITS_FOR_FALL && at->item != NO_INDEX && edge->item != at->item)
            continue;
        if (room && is_crowded_out(search, at, edge->item))
            add_small_room(search, at, edge->item);
        if (room && edge->to == WAITS_NOBODY)
            add_dead_end(search, at, edge->item);
        else if (edge->to == WAITS_NOBODY && at->why == WAITS_FOR_RISE)
            add_root(search, ROOT_GATE_SHUT, at->gate_owner, NO_INDEX, at);
        else if (edge->to == WAITS_NOBODY)
            add_root(search, ROOT_DEAD_SUPPLY, at->vertex, edge->item, at);
        else if (room)
            follow_outlet(search, at, edge);
        else
            follow_source(search, at, edge);
    }
}

static void expand(struct search *search, const struct search_node *at) {
    switch (waits_thing(search->waits, at->vertex).kind) {
    case WAITS_TRACK: expand_track(search, at); break;
    case WAITS_ARM: expand_arm(search, at); break;
    case WAITS_STATION: expand_station(search, at); break;
    case WAITS_CHEST: expand_chest(search, at); break;
    case WAITS_ARM_GATE:
    case WAITS_STATION_GATE:
    case WAITS_SUPPLY_GATE: expand_gate(search, at); break;
    case WAITS_SUPPLY: expand_supply(search, at); break;
    case WAITS_DEMAND: break;
    }
}

/* ---- what has filled a lane ---- */

double root_rate_of_arm(const struct scenario *scenario, uint32_t index) {
    const struct scenario_arm *arm = &scenario->arm[index];
    int64_t ticks = arm->swing.kind == SPAN_FIXED ? arm->swing.ticks : arm->swing.mean_ticks;
    return (double)arm->hand * (double)scenario->ticks_per_second / (double)(ticks > 0 ? ticks : 1);
}

/* Items a second that arms put onto a track at best: those that take from another track bring no
 * more than is put onto that one. Tracks that are `seen` bring nothing new. */
static double rate_onto(const struct search *search, uint32_t track, uint32_t item, bool *seen) {
    const struct scenario *scenario = search->scenario;
    double rate = 0;
    seen[track] = true;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (puts_on(search, i, track, item) && scenario->arm[i].from.kind != PLACE_LANE &&
            scenario->arm[i].from.kind != PLACE_LINE)
            rate += root_rate_of_arm(scenario, i);
    for (uint32_t from = 0; from < search->world->track_count; from++) {
        uint32_t source = waits_vertex(search->waits, WAITS_TRACK, from);
        double brought = 0;
        for (uint32_t i = 0; i < scenario->arm_count; i++)
            if (puts_on(search, i, track, item) &&
                waits_vertex_of_place(search->waits, scenario->arm[i].from) == source)
                brought += root_rate_of_arm(scenario, i);
        if (brought > 0 && !seen[source])
            rate += fmin(brought, rate_onto(search, source, item, seen));
    }
    return rate;
}

static double fed_rate(const struct search *search, uint32_t track, uint32_t item) {
    bool *seen = require_memory(waits_vertices(search->waits), sizeof *seen);
    double rate = rate_onto(search, track, item, seen);
    free(seen);
    return rate;
}

/* Whether a station makes more of an item than it takes: a carrier that it gives back is none. */
static bool makes_more(const struct scenario_station *station, uint32_t item) {
    int64_t more = 0;
    for (uint32_t i = 0; i < station->makes_count; i++)
        more += station->makes[i].item == item ? station->makes[i].count : 0;
    for (uint32_t i = 0; i < station->takes.count; i++)
        more -= station->takes.entry[i].item == item ? station->takes.entry[i].count : 0;
    return more > 0;
}

/* Whether a gate counts all that lies on a track, and so lets one kind fill it. */
static bool counts_all_on(const struct search *search, uint32_t gate, uint32_t track) {
    if (gate == NO_INDEX)
        return false;
    const struct scenario_gate *self = &search->scenario->gate[gate];
    struct place place =
        layout_track_as_place(search->scenario, waits_thing(search->waits, track).index);
    if (self->kind != GATE_BELOW || self->item != NO_INDEX)
        return false;
    if (self->reads == READS_LOOP)
        return place.kind == PLACE_LANE &&
               search->scenario->lane[place.index].loop == self->subject;
    return self->reads == (place.kind == PLACE_LINE ? READS_LINE : READS_LANE) &&
           self->subject == place.index;
}

/* Those who put an item onto a track without being held. */
static void find_feeders(struct search *search, uint32_t track, uint32_t item,
                         const struct search_node *at) {
    const struct scenario *scenario = search->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        if (!puts_on(search, i, track, item))
            continue;
        const struct scenario_arm *arm = &scenario->arm[i];
        uint32_t arm_vertex = waits_vertex(search->waits, WAITS_ARM, i);
        if (arm->from.kind == PLACE_STATION &&
            makes_more(&scenario->station[arm->from.index], item))
            add_root_on_lane(search, ROOT_SURPLUS,
                             waits_vertex(search->waits, WAITS_STATION, arm->from.index), item,
                             track, at);
        else if (arm->from.kind == PLACE_CHEST &&
                 (gate_is_open(search->world, arm->gate) ||
                  counts_all_on(search, arm->gate, track)) &&
                 search->waits->status[arm_vertex] != STATUS_STOPPED)
            add_root_on_lane(search, ROOT_UNGATED_FEEDER, arm_vertex, item, track, at);
    }
}

/* Whether an arm finds no room for an item where it puts: then it is refused, not slow. */
static bool is_refused(const struct search *search, uint32_t arm, uint32_t item) {
    const struct waits *waits = search->waits;
    uint32_t vertex = waits_vertex(waits, WAITS_ARM, arm);
    for (uint32_t i = waits->first[vertex]; i < waits->first[vertex + 1]; i++)
        if (waits->edge[i].why == WAITS_FOR_ROOM && waits->edge[i].item == item)
            return true;
    return false;
}

static void find_slow_taker(struct search *search, const struct track_kind *kind, uint32_t track,
                            const struct search_node *at) {
    double taken = 0, least = 0;
    uint32_t slowest = NO_INDEX;
    bool refused = false;
    for (uint32_t i = 0; i < track_kind_taker_count(kind); i++) {
        uint32_t arm = search->world->taker[kind->first_taker + i].arm;
        double rate = root_rate_of_arm(search->scenario, arm);
        refused |= is_refused(search, arm, kind->item);
        taken += rate;
        if (slowest == NO_INDEX || rate < least) {
            slowest = arm;
            least = rate;
        }
    }
    uint32_t before = search->roots->count;
    if (slowest != NO_INDEX && taken < fed_rate(search, track, kind->item))
        add_root_on_lane(search, ROOT_SLOW_TAKER, waits_vertex(search->waits, WAITS_ARM, slowest),
                         kind->item, track, at);
    if (search->roots->count > before)
        search->roots->root[before].is_refused = refused;
}

/* What lies on a track in which room is wanted: who has brought it? */
static void find_fillers(struct search *search, uint32_t vertex, uint32_t steps) {
    uint32_t index = waits_thing(search->waits, vertex).index;
    const struct track_plan *track = &search->world->track[index].plan;
    for (uint32_t i = 0; i < track->kind_count; i++) {
        const struct track_kind *kind = &search->world->kind[track->first_kind + i];
        struct search_node at = {
            .vertex = vertex, .since = NOT_GIVEN, .edge = NO_INDEX, .steps = steps};
        if (kind->count == 0)
            continue;
        int64_t drop = drop_on(search, vertex, kind->item);
        if (crowds(search, index, kind->item)) {
            find_feeders(search, vertex, kind->item, &at);
            find_slow_taker(search, kind, vertex, &at);
        }
        if (drop != NOT_GIVEN) {
            at.since = drop;
            add_root_on_lane(search, ROOT_FOREIGN_ITEM, vertex, kind->item, vertex, &at);
        }
    }
}

/* ---- all of it ---- */

static void rate_roots(struct search *search) {
    for (uint32_t i = 0; i < search->roots->count; i++) {
        struct root *root = &search->roots->root[i];
        uint32_t track = root->lane;
        if (root->kind == ROOT_SLOW_TAKER)
            track = waits_vertex_of_place(search->waits,
                                          search->scenario->arm[root->subject.index].from);
        if (track != NO_INDEX && (root->kind == ROOT_SLOW_TAKER || root->kind == ROOT_SURPLUS))
            root->fed = fed_rate(search, track, root->item);
    }
}

static int64_t cells_of(const struct search *search, const struct root *root) {
    if (root->lane == NO_INDEX)
        return 0;
    const struct track_plan *track =
        &search->world->track[waits_thing(search->waits, root->lane).index].plan;
    for (uint32_t i = 0; i < track->kind_count; i++) {
        const struct track_kind *kind = &search->world->kind[track->first_kind + i];
        if (kind->item == root->item)
            return (int64_t)kind->count * kind->length;
    }
    return 0;
}

/* By kind; then what is near; then what holds more of the lane. */
static bool stands_before(const struct search *search, const struct root *a, const struct root *b) {
    if (a->is_refused != b->is_refused)
        return b->is_refused;
    if (a->kind != b->kind)
        return a->kind < b->kind;
    if (a->steps != b->steps)
        return a->steps < b->steps;
    return cells_of(search, a) > cells_of(search, b);
}

static void sort_roots(struct search *search) {
    struct roots *roots = search->roots;
    for (uint32_t i = 1; i < roots->count; i++) {
        struct root root = roots->root[i];
        uint32_t at = i;
        for (; at > 0 && stands_before(search, &root, &roots->root[at - 1]); at--)
            roots->root[at] = roots->root[at - 1];
        roots->root[at] = root;
    }
}

/* ---- the circle ---- */

/* The nodes as vertices, that is each vertex for each thing that is waited for there: so that a
 * circle is one of waits that have to do with each other. */
static void make_graph(const struct search *search, struct graph *graph) {
    graph_init(graph, search->node_count);
    for (uint32_t i = 0; i < search->link_count; i++)
        graph_add(graph, search->link[i].from, search->link[i].to, 1);
    graph_sort(graph);
}

/* Stops come in the order of their distance: the first that lies on a circle begins it. */
static uint32_t nearest_ring(const struct search *search, const struct graph *graph,
                             uint32_t *ring) {
    uint32_t *component = require_memory(graph->vertex_count, sizeof *component);
    uint32_t *size = require_memory(graph->vertex_count, sizeof *size), length = 0;
    bool *stuck = require_memory(graph->vertex_count, sizeof *stuck);
    graph_components(graph, component);
    for (uint32_t i = 0; i < graph->vertex_count; i++) {
        stuck[i] = search->waits->stuck[search->node[i].vertex];
        size[component[i]]++;
    }
    for (uint32_t i = 0; i < graph->vertex_count && length == 0; i++)
        if (stuck[i] && size[component[i]] > 1)
            length = graph_ring(graph, i, stuck, ring);
    free(component);
    free(size);
    free(stuck);
    return length;
}

static bool is_gate(const struct search *search, uint32_t vertex) {
    enum waits_kind kind = waits_thing(search->waits, vertex).kind;
    return kind == WAITS_ARM_GATE || kind == WAITS_STATION_GATE || kind == WAITS_SUPPLY_GATE;
}

/* A gate on a circle, if it keeps something from leaving that ought to leave (wherever the walk
 * came by it so): it waits for what waits for it, and cannot open any more. */
static void add_root_on_ring(struct search *search, uint32_t vertex) {
    for (uint32_t i = 0; is_gate(search, vertex) && i < search->node_count; i++)
        if (search->node[i].vertex == vertex && search->node[i].gate_owner != NO_INDEX)
            add_root(search, ROOT_GATE_SHUT, owner_of_gate(search, vertex), NO_INDEX,
                     &search->node[i]);
}

/* A vertex that comes twice running, for two things that are waited for there, comes once. */
static void find_ring(struct search *search) {
    struct roots *roots = search->roots;
    struct graph graph;
    make_graph(search, &graph);
    roots->ring = require_memory(graph.vertex_count, sizeof *roots->ring);
    uint32_t length = nearest_ring(search, &graph, roots->ring), kept = 0;
    for (uint32_t i = 0; i < length; i++) {
        uint32_t vertex = search->node[roots->ring[i]].vertex;
        add_root_on_ring(search, vertex);
        if (kept == 0 || roots->ring[kept - 1] != vertex)
            roots->ring[kept++] = vertex;
    }
    while (kept > 1 && roots->ring[kept - 1] == roots->ring[0])
        kept--;
    roots->ring_length = kept;
    graph_free(&graph);
}

/* ---- a circle is always a root ---- */

/* Where somebody in a circle wants room: in a chest, or for the output of a station. */
static void add_room_on_ring(struct search *search, const struct search_node *at) {
    const struct waits *waits = search->waits;
    enum waits_kind kind = waits_thing(waits, at->vertex).kind;
    for (uint32_t i = waits->first[at->vertex]; i < waits->first[at->vertex + 1]; i++) {
        const struct waits_edge *edge = &waits->edge[i];
        if (edge->why == WAITS_TO_TAKE && kind == WAITS_CHEST)
            add_root(search, ROOT_FULL_CHEST, at->vertex, edge->item, at);
        if (edge->why == WAITS_TO_TAKE && kind == WAITS_STATION)
            add_root(search, ROOT_SURPLUS, at->vertex, edge->item, at);
    }
}

/* Where somebody in a circle wants an item that goes round in it alone: nobody brings any more. A
 * chest could have had a supply, so that it comes first. */
static void add_lack_on_ring(struct search *search, const struct search_node *at, bool in_chest) {
    enum waits_kind kind = waits_thing(search->waits, at->vertex).kind;
    bool place = in_chest ? kind == WAITS_CHEST : kind == WAITS_STATION || kind == WAITS_TRACK;
    if (place && at->item != NO_INDEX && (at->why == WAITS_FOR_ITEM || at->why == WAITS_FOR_RISE))
        add_root(search, ROOT_DEAD_SUPPLY, at->vertex, at->item, at);
}

static void add_roots_of_ring(struct search *search, int pass, const struct search_node *at) {
    if (pass == 0)
        add_room_on_ring(search, at);
    else if (pass == 1 && is_gate(search, at->vertex))
        add_root(search, ROOT_GATE_SHUT, owner_of_gate(search, at->vertex), NO_INDEX, at);
    else if (pass >= 2)
        add_lack_on_ring(search, at, pass == 2);
}

/* Where the walk has found no end: what closes the circle is full; or the gate in it is shut; or
 * what is wanted comes from nowhere. */
static void find_root_of_ring(struct search *search) {
    const struct roots *roots = search->roots;
    for (int pass = 0; pass < 4; pass++)
        for (uint32_t i = 0; i < roots->ring_length && roots->count == 0; i++)
            for (uint32_t j = 0; j < search->node_count && roots->count == 0; j++)
                if (search->node[j].vertex == roots->ring[i])
                    add_roots_of_ring(search, pass, &search->node[j]);
}

/* The walk, and whoever waits for a cell where it began. */
static void mark_walked(const struct search *search) {
    const struct waits *waits = search->waits;
    search->roots->walked = require_memory(waits_vertices(waits), sizeof *search->roots->walked);
    for (uint32_t i = 0; i < search->node_count; i++)
        search->roots->walked[search->node[i].vertex] = true;
    for (uint32_t i = 0; i < waits->edge_count; i++)
        if (waits->edge[i].why == WAITS_FOR_CELL && waits->edge[i].to == search->node[0].vertex)
            search->roots->walked[waits->edge[i].from] = true;
}

/* Roots that are kept: beyond, they are far away and the same again. */
enum { ROOTS_MOST = 32 };

void roots_find(struct roots *roots, const struct waits *waits, const struct world *world,
                const struct drops *drops, uint32_t vertex) {
    struct search search = {.roots = roots,
                            .waits = waits,
                            .world = world,
                            .scenario = waits->scenario,
                            .drops = drops};
    bool is_track = waits_thing(waits, vertex).kind == WAITS_TRACK;
    search.emptied = require_memory(waits_vertices(waits), sizeof *search.emptied);
    push_node(&search, (struct search_node){vertex, is_track ? WAITS_FOR_CELL : WAITS_FOR_ITEM,
                                            NO_INDEX, 0, NO_INDEX, NO_INDEX, NOT_GIVEN});
    for (uint32_t i = 0; i < search.node_count; i++) {
        struct search_node at = search.node[i]; /* the list may move */
        search.at = i;
        expand(&search, &at);
        if (waits_thing(waits, at.vertex).kind == WAITS_TRACK && wants_room(at.why))
            find_fillers(&search, at.vertex, at.steps);
    }
    find_ring(&search);
    find_root_of_ring(&search);
    mark_walked(&search);
    sort_roots(&search);
    roots->count = roots->count < ROOTS_MOST ? roots->count : ROOTS_MOST;
    rate_roots(&search);
    free(search.node);
    free(search.link);
    free(search.emptied);
}

void roots_free(struct roots *roots) {
    free(roots->root);
    free(roots->chain);
    free(roots->ring);
    free(roots->walked);
    *roots = (struct roots){0};
}

bool root_is_same(const struct root *root, const struct root *other) {
    return root->kind == other->kind && root->item == other->item &&
           same_part(root->subject, other->subject);
}

/* ---- deeds ---- */

uint32_t root_gate(const struct scenario *scenario, struct part subject) {
    switch (subject.kind) {
    case PART_ARM: return scenario->arm[subject.index].gate;
    case PART_STATION: return scenario->station[subject.index].gate;
    case PART_SUPPLY: return scenario->supply[subject.index].gate;
    case PART_LOOP:
    case PART_LINE:
    case PART_DEMAND:
    case PART_CHEST:
    case PART_LANE: break;
    }
    return NO_INDEX;
}

static struct lasting_effect deed_behind(const struct root *root, const struct scenario *scenario,
                                         const struct incident_log *deeds) {
    uint32_t gate = NO_INDEX;
    switch (root->kind) {
    case ROOT_STOPPED: return incident_log_stop(deeds, root->subject);
    case ROOT_SMALL_ROOM:
    case ROOT_FULL_CHEST: return deeds->room[root->subject.index];
    case ROOT_LOW_THRESHOLD:
    case ROOT_GATE_SHUT:
    case ROOT_UNGATED_FEEDER: gate = root_gate(scenario, root->subject); break;
    case ROOT_FOREIGN_ITEM:
    case ROOT_DEAD_SUPPLY:
    case ROOT_NO_EXIT:
    case ROOT_SURPLUS:
    case ROOT_SLOW_TAKER:
    case ROOT_SLOW_ARM:
    case ROOT_SLOW_STATION:
    case ROOT_SHORT_SUPPLY:
    case ROOT_FULL_LANE: break;
    }
    if (gate == NO_INDEX || deeds->gate[gate].tick != NOT_GIVEN)
        return gate != NO_INDEX ? deeds->gate[gate] : NO_EFFECT;
    const struct scenario_gate *self = &scenario->gate[gate];
    bool reads_chest = self->first_child == NO_INDEX && self->reads == READS_CHEST;
    return reads_chest ? deeds->room[self->subject] : NO_EFFECT;
}

void roots_find_deeds(struct roots *roots, const struct scenario *scenario,
                      const struct incident_log *deeds) {
    for (uint32_t i = 0; i < roots->count; i++) {
        struct root *root = &roots->root[i];
        root->deed = deed_behind(root, scenario, deeds);
        if (root->kind != ROOT_STOPPED)
            continue;
        root->since = root->deed.tick;
        root->edge = NO_INDEX;
    }
}
